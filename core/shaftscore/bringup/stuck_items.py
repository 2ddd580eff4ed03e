"""Which items go wrong when a lane is stuck at one of its levels.

The exact run of the flow is asked twice by its own network: as drawn, and with the lane in one state for the
whole turn. A single gate lets an item out as it opens, so that one that never closes lets out no more;
through a stream gate that never closes all runs out that is behind it. What is compared are the items that
the openings of a turn are meant to let out, and where they end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from shaftscore.base.angles import Arcs
from shaftscore.base.wording import counted, part_name
from shaftscore.bringup.flow_network import states_of
from shaftscore.bringup.over_round import flow_over_round
from shaftscore.bringup.sheets import listed
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import LevelState, Project, State
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import Solution


@dataclass(frozen=True)
class StuckItems:
    """What goes wrong with the items while a lane is stuck at a level.

    runs_out: ids of its stream gates that stay open. missing: its other gates, which never open or never
    close, with the items a turn that do not come. ends: by end (outlet or magazine, "" outside), by how many
    items a turn come more (or fewer, negative) than as drawn. lost: items a turn that a diverter has no way
    for. cycles: of the round that a turn is.
    """

    level: str
    runs_out: tuple[str, ...]
    missing: Mapping[str, int]
    ends: Mapping[str, int]
    lost: int
    cycles: Fraction = CYCLE

    @property
    def is_harmless(self) -> bool:
        """Whether no item goes wrong."""
        return not (self.runs_out or self.missing or self.ends or self.lost)


def stuck_items(solution: Solution, lane_id: str) -> tuple[StuckItems, ...]:
    """Return what goes wrong with the lane stuck at each of its levels; nothing without a flow.

    Raises KeyError for an unknown lane.
    """
    project = solution.project
    lane = project.lane(lane_id)
    if project.flow is None or lane_id not in project.flow.lanes:
        return ()
    over = flow_over_round(solution)
    if over is None:
        return ()
    solution, cycles = over
    drawn = _network(solution, None, "")
    levels = project.levels_of(lane)
    return tuple(_at(drawn, _network(solution, lane_id, level), lane_id, level, cycles) for level in levels)


def _network(solution: Solution, lane_id: str | None, level: str) -> Network:
    """Return the network of a machine; lane_id: held at a level all the turn."""
    project = solution.project
    assert project.flow is not None
    as_drawn = states_of(solution)

    def states(state: State) -> tuple[StateSpan, ...] | None:
        if state.lane != lane_id:
            return as_drawn(state)
        held = _holds(project, state, level)
        return (StateInterval(Arcs.full(), False, (0,)),) if held else ()

    return network(project.flow, CycleClock.of(project.shaft.speed_rpm), states)


def _holds(project: Project, state: State, level: str) -> bool:
    """Return whether a lane at a level is in a state."""
    if isinstance(state, LevelState):
        return state.level == level
    height = project.levels_of(project.lane(state.lane))[level]
    return state.from_mm <= height <= state.to_mm


def _at(drawn: Network, stuck: Network, lane_id: str, level: str, cycles: Fraction) -> StuckItems:
    own = {index for index, gate in enumerate(drawn.gates) if gate.state.lane == lane_id}
    meant = Counter(slot.gate for slot in drawn.slots)
    open_ = {opening.gate for opening in stuck.openings if opening.interval.span.is_full}
    streams = [index for index in sorted(own & open_) if drawn.gates[index].mode == "stream"]
    missing = {
        drawn.gates[index].id: meant[index] for index in sorted(own.difference(streams)) if meant[index]
    }
    before, after = _ends(drawn), _ends(stuck)
    changed = {end: after[end] - before[end] for end in before.keys() | after.keys()}
    lost = sum(slot.route.lost is not None for slot in stuck.slots)
    lost -= sum(slot.route.lost is not None for slot in drawn.slots)
    return StuckItems(
        level,
        tuple(drawn.gates[index].id for index in streams),
        MappingProxyType(missing),
        MappingProxyType({end: many for end, many in sorted(changed.items()) if many}),
        max(lost, 0),
        cycles,
    )


def _ends(net: Network) -> Counter[str]:
    """Count the items of a turn by where they end; those that are misrouted end nowhere."""
    return Counter(slot.route.end for slot in net.slots if slot.route.lost is None)


def stuck_sentences(items: StuckItems) -> Iterator[str]:
    """Yield what goes wrong, in sentences."""
    turn = "turn" if items.cycles == CYCLE else "round"
    if items.missing:
        many = sum(items.missing.values())
        verb = "does" if many == 1 else "do"
        yield f"{counted(many, 'item')} a {turn} {verb} not come through {_named(tuple(items.missing))}."
    if items.runs_out:
        verb = "stays" if len(items.runs_out) == 1 else "stay"
        yield f"{_sentence(_named(items.runs_out))} {verb} open, and what is behind runs out."
    ends = [
        f"{part_name(end) if end else 'outside'} {counted(abs(many), 'item')} "
        f"{'more' if many > 0 else 'fewer'}"
        for end, many in items.ends.items()
    ]
    if ends:
        yield f"A {turn} brings {listed(ends)}."
    if items.lost:
        yield f"{counted(items.lost, 'item')} a {turn} find no open way at a diverter."


def _named(ids: tuple[str, ...]) -> str:
    word = "gate" if len(ids) == 1 else "gates"
    return f"{word} {listed([part_name(one) for one in ids])}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
