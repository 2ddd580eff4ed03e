"""Cross references: what a project names must be there, and of the right kind.

Each function looks at one subject and yields faults with paths from the project on.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain, pairwise

from shaftscore.base.errors import Fault
from shaftscore.base.tolerance import over
from shaftscore.base.wording import did_you_mean, plain
from shaftscore.model.fit import band_too_wide, unknown_level
from shaftscore.model.flow import Channel, Diverter, Flow
from shaftscore.model.gearing import gearing_faults
from shaftscore.model.materials import materials_of
from shaftscore.model.project import Project
from shaftscore.model.rules import Exclusive, LevelState, Requires, State


def reference_faults(project: Project, guessed: Collection[str] = ()) -> Iterator[Fault]:
    """Yield every reference of a project that leads nowhere or to the wrong thing.

    guessed: ids of lanes whose levels are not known, because they are at fault themselves; what names
    their levels is passed over.
    """
    yield from chain.from_iterable(look(project) for look in LOOKS)
    for path, state in _all_states(project):
        if _with_levels(project, state.lane) not in guessed:
            yield from _state_faults(project, path, state)
    yield from _seen_levels(project, guessed)


def _hinted(what: str, word: str, choices: Collection[str]) -> str:
    hint = did_you_mean(word, choices)
    return f"{what}; {hint}" if hint else what


def _missing(word: str, what: str, choices: Collection[str]) -> str:
    return _hinted(f'there is no {what} "{word}"', word, choices)


def _doubles(path: str, names: Sequence[str | None], key: str) -> Iterator[Fault]:
    """Yield a fault for each name that stood before."""
    first: dict[str, int] = {}
    for index, name in enumerate(names):
        if name is None:
            continue
        if name in first:
            yield Fault(f"{path}[{index}].{key}", f'"{name}" is {path}[{first[name]}] already')
        first.setdefault(name, index)


def _unique(project: Project) -> Iterator[Fault]:
    """Yield ids, codes and material names that are not unique in their kind."""
    yield from _doubles("stacks", [stack.id for stack in project.stacks], "id")
    yield from _doubles("lanes", [lane.id for lane in project.lanes], "id")
    yield from _doubles("lanes", [lane.code for lane in project.lanes], "code")
    yield from _doubles("materials", [material.name for material in project.materials], "name")
    if project.flow is not None:
        for kind in ("supplies", "magazines", "channels", "outlets", "gates"):
            yield from _doubles(f"flow.{kind}", [part.id for part in getattr(project.flow, kind)], "id")


def _stacks(project: Project) -> Iterator[Fault]:
    """Yield lanes on stacks that are not there, and wrong entries in the order of a stack."""
    known = dict.fromkeys(stack.id for stack in project.stacks)
    for index, lane in enumerate(project.lanes):
        if lane.stack is not None and lane.stack not in known:
            yield Fault(f"lanes[{index}].stack", _missing(lane.stack, "stack", known))
    for place, stack in enumerate(project.stacks):
        for index, lane_id in enumerate(stack.order):
            what = _order_fault(project, stack.id, lane_id)
            if lane_id in stack.order[:index]:
                what = f'"{lane_id}" stands at order[{stack.order.index(lane_id)}] already'
            if what:
                yield Fault(f"stacks[{place}].order[{index}]", what)


def _gearing(project: Project) -> Iterator[Fault]:
    """Yield stages between stacks that contradict something, and machines that repeat too late."""
    return gearing_faults(project.stacks, project.shaft.turn)


def _order_fault(project: Project, stack_id: str, lane_id: str) -> str:
    if lane_id not in project.lane_index:
        return _missing(lane_id, "lane", project.lane_index)
    lane = project.lane(lane_id)
    if not lane.has_disc:
        return f'"{lane_id}" has no disc, it is of kind {lane.kind}'
    own = lane.stack or project.stacks[0].id
    return "" if own == stack_id else f'"{lane_id}" is on the stack "{own}"'


def _riders(project: Project) -> Iterator[Fault]:
    """Yield riders whose disc is not there, is no disc, or is on another stack."""
    for index, lane in enumerate(project.lanes):
        if lane.disc_of is None:
            continue
        what = _rider_fault(project, lane.disc_of)
        if what:
            yield Fault(f"lanes[{index}].disc_of", what)
            continue
        own, carrier = lane.stack, project.lane(lane.disc_of).stack or project.stacks[0].id
        if own is not None and own != carrier:
            yield Fault(f"lanes[{index}].stack", f'"{own}" is not the stack of its disc, "{carrier}"')


def _rider_fault(project: Project, disc_of: str) -> str:
    if disc_of not in project.lane_index:
        return _missing(disc_of, "lane", project.lane_index)
    kind = project.lane(disc_of).kind
    return "" if kind in ("disc", "points") else f'"{disc_of}" has no disc, it is of kind {kind}'


def _materials(project: Project) -> Iterator[Fault]:
    """Yield materials that are neither built in nor in the project."""
    known = materials_of(project)
    for path, name in _named_materials(project):
        if name not in known:
            what = _hinted(f'"{name}" is not one of the materials ({", ".join(known)})', name, known)
            yield Fault(f"{path}.material", what)


def _named_materials(project: Project) -> Iterator[tuple[str, str]]:
    """Yield the path of every part with a material, and the material's name."""
    for index, lane in enumerate(project.lanes):
        yield f"lanes[{index}].disc", lane.disc.material
        yield f"lanes[{index}].follower", lane.follower.material
    for index, stack in enumerate(project.stacks):
        if stack.rod is not None:
            yield f"stacks[{index}].rod", stack.rod.material
    if project.frame is not None:
        yield "frame", project.frame.material


def _with_levels(project: Project, lane_id: str) -> str:
    """Return the lane that has the levels of a lane: itself, or for a rider its disc's."""
    carrier = project.lane(lane_id).disc_of if lane_id in project.lane_index else None
    return carrier or lane_id


def _all_states(project: Project) -> Iterator[tuple[str, State]]:
    for index, rule in enumerate(project.rules):
        path = f"rules[{index}]"
        if isinstance(rule, Exclusive):
            yield from ((f"{path}.states[{place}]", state) for place, state in enumerate(rule.states))
        elif isinstance(rule, Requires):
            yield from ((f"{path}.when", rule.when), (f"{path}.need", rule.need))
        else:
            yield from ((f"{path}.first", rule.first), (f"{path}.then", rule.then))
    if project.flow is not None:
        yield from _flow_states(project.flow)
    for index, row in enumerate(project.measured):
        yield f"measured[{index}]", LevelState(lane=row.lane, level=row.level)


def _flow_states(flow: Flow) -> Iterator[tuple[str, State]]:
    for index, gate in enumerate(flow.gates):
        yield f"flow.gates[{index}].state", gate.state
        if gate.reload is not None:
            yield f"flow.gates[{index}].reload.state", gate.reload.state
    for index, channel in enumerate(flow.channels):
        if isinstance(channel.to, Diverter):
            path = f"flow.channels[{index}].to.by_state"
            yield from ((f"{path}[{n}].state", branch.state) for n, branch in enumerate(channel.to.by_state))


def _state_faults(project: Project, path: str, state: State) -> Iterator[Fault]:
    if state.lane not in project.lane_index:
        yield Fault(f"{path}.lane", _missing(state.lane, "lane", project.lane_index))
        return
    lane = project.lane(state.lane)
    levels = project.levels_of(lane)
    if isinstance(state, LevelState) and state.level not in levels:
        yield Fault(f"{path}.level", unknown_level(lane, state.level, levels))


def _flow(project: Project) -> Iterator[Fault]:
    """Yield ways of the flow that lead nowhere, or round for ever."""
    flow = project.flow
    if flow is None:
        return
    ids = {
        kind: dict.fromkeys(part.id for part in getattr(flow, kind))
        for kind in ("supplies", "magazines", "channels", "outlets")
    }
    for index, magazine in enumerate(flow.magazines):
        if magazine.source is not None:
            path = f"flow.magazines[{index}].from"
            yield from _way(path, magazine.source, ids, ("supplies", "magazines"))
    for index, gate in enumerate(flow.gates):
        yield from _way(f"flow.gates[{index}].from", gate.source, ids, ("magazines",))
        if gate.to is not None:
            yield from _way(f"flow.gates[{index}].to", gate.to, ids, _ENDS)
    for index, channel in enumerate(flow.channels):
        for path, to in _ways_of(channel):
            yield from _way(f"flow.channels[{index}].{path}", to, ids, _ENDS)
    yield from _too_far_apart(project.shaft.speed_rpm, flow.channels)
    yield from _fed_without_gate(flow)
    yield from _channel_rounds(flow.channels)


_ENDS = ("channels", "outlets", "magazines")
_SINGULAR = {"supplies": "supply", "magazines": "magazine", "channels": "channel", "outlets": "outlet"}


def _ways_of(channel: Channel) -> Iterable[tuple[str, str]]:
    """Return each way out of a channel with its path."""
    if isinstance(channel.to, Diverter):
        return [(f"to.by_state[{n}].to", branch.to) for n, branch in enumerate(channel.to.by_state)]
    return [("to", channel.to)]


def _way(path: str, to: str, ids: Mapping[str, Collection[str]], kinds: tuple[str, ...]) -> Iterator[Fault]:
    found = [kind for kind in kinds if to in ids[kind]]
    if not found:
        nouns = [_SINGULAR[kind] for kind in kinds]
        choices = [name for kind in kinds for name in ids[kind]]
        yield Fault(path, _missing(to, " or ".join(nouns), choices))
    elif len(found) > 1:
        names = " and ".join(f"a {_SINGULAR[kind]}" for kind in found)
        yield Fault(path, f'"{to}" is {names}; a way needs one end, so give one of them another id')


def _fed_without_gate(flow: Flow) -> Iterator[Fault]:
    """Yield magazines that another magazine should fill without a gate between them."""
    magazines = {magazine.id for magazine in flow.magazines}
    supplies = {supply.id for supply in flow.supplies}
    gates = {(gate.source, gate.to) for gate in flow.gates}
    alone = magazines - supplies
    for index, magazine in enumerate(flow.magazines):
        source = magazine.source
        if source in alone and (source, magazine.id) not in gates:
            yield Fault(f"flow.magazines[{index}].from", f'no gate leads from "{source}" to "{magazine.id}"')


def _too_far_apart(speed_rpm: float, channels: Sequence[Channel]) -> Iterator[Fault]:
    """Yield headways that items which come once a turn can never keep."""
    turn_s = 60.0 / speed_rpm
    for index, channel in enumerate(channels):
        if over(channel.headway_s, turn_s, turn_s):
            turn = f"{plain(turn_s)} s at {plain(speed_rpm)} rev/min"
            what = f"{plain(channel.headway_s)} s is longer than a turn, {turn}"
            yield Fault(f"flow.channels[{index}].headway_s", what)


def _channel_rounds(channels: Sequence[Channel]) -> Iterator[Fault]:
    """Yield channels from which an item may never come out, because they lead round to themselves."""
    onward = {channel.id: [to for _, to in _ways_of(channel)] for channel in channels}
    for index, channel in enumerate(channels):
        seen: set[str] = set()
        ahead = list(onward[channel.id])
        while ahead:
            name = ahead.pop()
            if name == channel.id:
                yield Fault(f"flow.channels[{index}].to", f'leads round to "{channel.id}" itself')
                break
            if name in onward and name not in seen:
                seen.add(name)
                ahead += onward[name]


def _links(project: Project) -> Iterator[Fault]:
    """Yield riders whose linkage does not reach the highest output of the disc's lane."""
    for index, lane in enumerate(project.lanes):
        link, levels = lane.follower.link, project.levels_of(lane)
        if lane.kind == "rider" and link is not None and levels and max(levels.values()) > link[-1].output_mm:
            most, reach = plain(max(levels.values())), plain(link[-1].output_mm)
            yield Fault(
                f"lanes[{index}].follower.link", f"reaches {reach} mm of output; {most} mm are needed"
            )


def _bands(project: Project) -> Iterator[Fault]:
    """Yield riders whose band does not tell two levels of their disc's lane apart."""
    for index, lane in enumerate(project.lanes):
        heights = sorted(project.levels_of(lane).values()) if lane.kind == "rider" else []
        least = min((high - low for low, high in pairwise(heights)), default=0.0)
        if lane.band_mm is not None and 0 < least <= 2 * lane.band_mm:
            yield Fault(f"lanes[{index}].band_mm", band_too_wide(lane.band_mm, least))


def _grid(project: Project) -> Iterator[Fault]:
    """Yield lanes in the grid that are not there."""
    rows = () if project.grid is None else project.grid.cells
    for row_index, row in enumerate(rows):
        for column, lane_id in enumerate(row):
            if lane_id is not None and lane_id not in project.lane_index:
                where = f"grid.cells[{row_index}][{column}]"
                yield Fault(where, _missing(lane_id, "lane", project.lane_index))


def _sightings(project: Project) -> Iterator[Fault]:
    """Yield sightings of lanes that are not there."""
    for index, sheet in enumerate(project.bring_up):
        for (lane_id, _level), path in sheet.named.items():
            if lane_id not in project.lane_index:
                yield Fault(f"bring_up[{index}].{path}", _missing(lane_id, "lane", project.lane_index))


def _seen_levels(project: Project, guessed: Collection[str]) -> Iterator[Fault]:
    """Yield sightings of levels that their lanes do not have."""
    for index, sheet in enumerate(project.bring_up):
        for (lane_id, level), path in sheet.named.items():
            if (
                level is None
                or lane_id not in project.lane_index
                or _with_levels(project, lane_id) in guessed
            ):
                continue
            lane = project.lane(lane_id)
            levels = project.levels_of(lane)
            if level not in levels:
                yield Fault(f"bring_up[{index}].{path}", unknown_level(lane, level, levels))


LOOKS: tuple[Callable[[Project], Iterator[Fault]], ...] = (
    _unique,
    _stacks,
    _gearing,
    _riders,
    _materials,
    _flow,
    _links,
    _bands,
    _grid,
    _sightings,
)
"""Every subject that is looked at, apart from the states."""
