"""Add, name and connect parts of the flow, one step each."""

from __future__ import annotations

from collections.abc import Mapping

from shaftscore.base.errors import EditError
from shaftscore.base.wording import part_name
from shaftscore.edits.base import Edited, changed, consistent, constructed, lane_of
from shaftscore.edits.flow_network.parts import (
    FlowPart,
    Follow,
    PartKey,
    flow_of,
    free_id,
    keys_of,
    made_id,
    mapped,
    part_label,
    part_of,
    redirected,
    stem_of,
    with_part,
    with_parts,
)
from shaftscore.edits.machine import set_flow
from shaftscore.model.flow import Branch, Channel, Diverter, Flow, Gate, Magazine, Outlet, Supply
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState

NEW_CAPACITY = 10
"""Places of a magazine that was only given a name; it starts full."""

ENDS = ("channel", "outlet", "magazine")
"""Kinds of parts where items may go."""

MAY_FOLLOW = {
    "supply": ("magazine",),
    "magazine": ("gate",),
    "gate": ENDS,
    "channel": ("diverter", *ENDS),
    "diverter": ENDS,
    "outlet": (),
}
"""Kind: what may come next, the usual first."""


def can_stand(project: Project, start: PartKey) -> tuple[str, ...]:
    """Return the kinds of new parts that a line from a part may lead to, dropped on empty ground."""
    part = part_of(flow_of(project), start)
    if start[0] == "channel" and isinstance(part, Channel) and isinstance(part.to, Diverter):
        return ()
    return MAY_FOLLOW[start[0]]


def fitting_ends(project: Project, start: PartKey) -> frozenset[PartKey]:
    """Return the keys of the parts that a line from a part may lead to; one pass over the flow."""
    flow = flow_of(project)
    kinds = set(can_stand(project, start)) - {"diverter"}
    there = {key for key in keys_of(flow) if key[0] in kinds and key != start}
    part = part_of(flow, start)
    if isinstance(part, Gate):
        there -= {("magazine", part.source)}
    return frozenset(there - {("channel", own) for own in _leading_to(flow, start)})


def _leading_to(flow: Flow, start: PartKey) -> frozenset[str]:
    """Return the channels from which items come to a channel, itself among them: leading there goes round."""
    if start[0] not in ("channel", "diverter"):
        return frozenset()
    before: dict[str, list[str]] = {}
    for channel in flow.channels:
        to = channel.to
        for end in (way.to for way in to.by_state) if isinstance(to, Diverter) else (to,):
            before.setdefault(end, []).append(channel.id)
    found, waiting = {start[1]}, [start[1]]
    while waiting:
        fresh = [own for own in before.get(waiting.pop(), ()) if own not in found]
        found.update(fresh)
        waiting += fresh
    return frozenset(found)


def connect_parts(project: Project, start: PartKey, end: PartKey, way: int | None = None) -> Edited:
    """Lead a line from one part to another, instead of what was there.

    way: of a diverter, the place of the way that leads there; without it a level that has none gets one.
    Raises EditError if the two do not fit.
    """
    if end not in fitting_ends(project, start):
        raise EditError(f"{part_label(project, start)} cannot lead to {part_label(project, end)}")
    flow = _connected(project, flow_of(project), start, end, way)
    name = f"Connect {part_label(project, start)} to {part_label(project, end)}"
    return _done(project, flow, name)


def _connected(project: Project, flow: Flow, start: PartKey, end: PartKey, way: int | None = None) -> Flow:
    """Return the flow with a line; both ends are there."""
    if end[0] == "gate" or start[0] == "supply":
        return with_part(flow, end, changed(part_of(flow, end), source=start[1]))
    part = part_of(flow, start)
    if start[0] == "diverter" and isinstance(part, Channel) and isinstance(part.to, Diverter):
        return with_part(flow, start, changed(part, to=_with_way(project, part.to, end[1], way)))
    return with_part(flow, start, changed(part, to=end[1]))


def _with_way(project: Project, diverter: Diverter, to: str, place: int | None) -> Diverter:
    """Lead a way to an id, or give a level without one a way there."""
    ways = list(diverter.by_state)
    if place is not None:
        if not 0 <= place < len(ways):
            raise EditError(f"the diverter has {len(ways)} ways, there is no way {place + 1}")
        ways[place] = changed(ways[place], to=to)
        return changed(diverter, by_state=tuple(ways))
    lane = lane_of(project, diverter.lane)
    known = {way.state.level for way in ways if isinstance(way.state, LevelState)}
    level = next((own for own in lane.levels if own not in known), None)
    if level is None:
        raise EditError(f"every level of {lane.label} has a way already; drag one of its ways instead")
    state = LevelState(lane=lane.id, level=level)
    return changed(diverter, by_state=(*ways, constructed(Branch, state=state, to=to)))


def add_part(project: Project, kind: str, name: str, after: PartKey | None = None) -> Edited:
    """Add a supply, magazine, channel or outlet under a name, and lead a line there from a part.

    A channel leads to the first outlet, one of the name "Outlet" being made where there is none. Raises
    EditError for other kinds (see `add_gate`, `add_diverter`) and where the two do not fit.
    """
    flow = flow_of(project)
    if after is not None and kind not in can_stand(project, after):
        raise EditError(f"{part_label(project, after)} cannot lead to a new {kind}")
    part_id = made_id(name, flow.ids, kind)
    made = with_parts(flow, named_parts(flow, kind, part_id))
    if after is not None:
        made = _connected(project, made, after, (kind, part_id))
    return _done(project, made, f"Add {kind} {part_name(part_id)}")


def named_parts(flow: Flow, kind: str, part_id: str) -> tuple[FlowPart, ...]:
    """Make a part that has only a name yet, with the outlet that a channel needs.

    Raises EditError for a kind that a name alone does not make.
    """
    if kind == "supply":
        return (Supply(id=part_id),)
    if kind == "magazine":
        return (Magazine(id=part_id, capacity=NEW_CAPACITY, start_count=NEW_CAPACITY),)
    if kind == "outlet":
        return (Outlet(id=part_id),)
    if kind != "channel":
        raise EditError(f'a new {kind} needs a lane; a name alone makes no "{kind}"')
    if flow.outlets:
        return (Channel(id=part_id, to=flow.outlets[0].id),)
    outlet = Outlet(id=made_id("Outlet", {*flow.ids, part_id}, "outlet"))
    return (outlet, Channel(id=part_id, to=outlet.id))


def add_gate(project: Project, magazine: str, lane_id: str, level: str) -> Edited:
    """Add a gate that lets items of a magazine through at a level of a lane.

    It leads where the magazine's other gates do. Raises EditError if there is no such magazine, lane or
    level.
    """
    flow, lane = flow_of(project), lane_of(project, lane_id)
    part_of(flow, ("magazine", magazine))
    to = next((gate.to for gate in flow.gates if gate.source == magazine), None)
    state = LevelState(lane=lane.id, level=level)
    gate_id = made_id(f"{lane.code or lane.id} {level}", flow.ids, "gate")
    item = part_name(magazine).lower()
    gate = constructed(Gate, id=gate_id, state=state, source=magazine, to=to, item=item)
    made = with_parts(flow, (gate,))
    return _done(project, made, f"Add gate {lane.code or lane.label} {level}")


def add_diverter(project: Project, channel: str, lane_id: str) -> Edited:
    """Let a lane decide where a channel leads: at its first level where it led so far.

    Raises EditError if there is no such channel or lane, if the lane has no levels, or if it has a diverter.
    """
    flow, lane = flow_of(project), lane_of(project, lane_id)
    part = part_of(flow, ("channel", channel))
    assert isinstance(part, Channel), "found by its kind"
    if isinstance(part.to, Diverter):
        raise EditError(f"{part_name(channel)} has a diverter already")
    if not lane.levels:
        raise EditError(f"{lane.label} has no levels; a diverter has a way at each of some levels")
    state = LevelState(lane=lane.id, level=next(iter(lane.levels)))
    way = constructed(Branch, state=state, to=part.to)
    made = with_part(flow, ("channel", channel), changed(part, to=Diverter(lane=lane.id, by_state=(way,))))
    return _done(project, made, f"Add diverter {lane.label}")


def rename_part(project: Project, key: PartKey, name: str) -> Edited:
    """Rename a part; what refers to it follows.

    Raises EditError for gates and diverters, which are named by their lanes, and for an empty name.
    """
    flow = flow_of(project)
    made = with_names(project, flow, {key: name})
    new = next((own for own in sorted(made.ids - flow.ids)), key[1])
    if new == key[1]:
        return Edited(project, f"Rename {key[0]}")
    return _done(project, made, f"Rename {part_name(key[1])} to {part_name(new)}")


def with_names(project: Project, flow: Flow, names: Mapping[PartKey, str]) -> Flow:
    """Return the flow with parts under other names; what refers to them follows.

    Raises EditError for gates and diverters, which are named by their lanes, and for an empty name.
    """
    taken, sources, ends = {own.lower() for own in flow.ids}, dict[str, str](), dict[str, str]()
    there = set(keys_of(flow))
    own: dict[PartKey, str] = {}
    for key, name in names.items():
        if key not in there:
            part_of(flow, key)
        if key[0] in ("gate", "diverter"):
            raise EditError(f"{part_label(project, key)} is named by its lane; rename the lane or its level")
        if not name.strip():
            raise EditError(f"a {key[0]} needs a name")
        taken.discard(key[1].lower())
        own[key] = free_id(stem_of(name) or key[0], taken)
        taken.add(own[key].lower())
        sources |= {key[1]: own[key]} if key[0] in ("supply", "magazine") else {}
        ends |= {key[1]: own[key]} if key[0] in ENDS else {}

    def named(part: FlowPart) -> FlowPart:
        moved = redirected(part, _following(sources), _following(ends))
        new = own.get((type(part).__name__.lower(), part.id), part.id)
        return moved if new == part.id else changed(moved, id=new)

    return mapped(flow, named)


def _following(ids: Mapping[str, str]) -> Follow:
    """Return what puts new ids in the place of old ones."""
    return lambda own: None if own is None else ids.get(own, own)


def _done(project: Project, flow: Flow, name: str) -> Edited:
    """Return the edit with a flow in which everything that is referred to is there."""
    return Edited(consistent(set_flow(project, flow).project), name)
