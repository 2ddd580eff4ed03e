"""Duplicate selected parts of the flow onto other lanes, with the lines inside the selection.

A copy leads on to where the original leads, but nothing outside the selection fills it; a gate whose magazine
is not copied keeps letting items out of that one. Copies get the names of the new lanes.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, part_name
from shaftscore.edits.base import Edited, changed, consistent, lane_of
from shaftscore.edits.duplicates import numbered_name
from shaftscore.edits.flow_network.gates import level_on
from shaftscore.edits.flow_network.parts import (
    FlowPart,
    PartKey,
    flow_of,
    free_id,
    part_of,
    redirected,
    stem_of,
    with_parts,
)
from shaftscore.edits.machine import set_flow
from shaftscore.model.flow import Branch, Channel, Diverter, Flow, Gate, Reload
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState, State


def lanes_of_parts(project: Project, keys: Collection[PartKey]) -> tuple[str, ...]:
    """Return the ids of the lanes that parts are on, each once: a copy asks where each goes."""
    flow = flow_of(project)
    parts = [part_of(flow, key) for key in keys]
    gates = [part.state.lane for part in parts if isinstance(part, Gate)]
    diverters = [
        part.to.lane for part in parts if isinstance(part, Channel) and isinstance(part.to, Diverter)
    ]
    return tuple(dict.fromkeys((*gates, *diverters)))


def duplicate_parts(project: Project, keys: Collection[PartKey], lanes: Mapping[str, str]) -> Edited:
    """Add a copy of each part. lanes: by lane of the selection, the lane of its copies (itself if left out).

    Raises EditError if a part or lane is not there, or a new lane has no level of that name or rank.
    """
    flow = flow_of(project)
    chosen = list(
        dict.fromkeys(("channel", own) if kind == "diverter" else (kind, own) for kind, own in keys)
    )
    parts = [part_of(flow, key) for key in chosen]
    if not parts:
        raise EditError("Select the parts to duplicate")
    new = _Names(project, flow, parts, lanes)
    made = with_parts(flow, [_copied(project, part, new.ids, lanes) for part in parts])
    what = counted(len(parts), "part") if len(parts) > 1 else f"{chosen[0][0]}"
    return Edited(consistent(set_flow(project, made).project), f"Duplicate {what}")


class _Names:
    """The ids of the copies, by id."""

    def __init__(
        self, project: Project, flow: Flow, parts: Collection[FlowPart], lanes: Mapping[str, str]
    ) -> None:
        self._project, self._lanes = project, lanes
        self._gates = [part for part in parts if isinstance(part, Gate)]
        self.ids: dict[str, str] = {}
        taken = {own.lower() for own in flow.ids}
        for part in parts:
            self.ids[part.id] = free_id(stem_of(self._named(part, flow)) or "part", taken)
            taken.add(self.ids[part.id].lower())

    def _named(self, part: FlowPart, flow: Flow) -> str:
        if isinstance(part, Gate):
            lane = self._new(part)
            return f"{lane.code or lane.id} {getattr(part.state, 'level', 'gate')}"
        beside = next((gate for gate in self._gates if part.id in (gate.source, gate.to)), None)
        beside = beside or next(iter(self._gates), None)
        name = part_name(part.id)
        if beside is None or self._lanes.get(beside.state.lane, beside.state.lane) == beside.state.lane:
            return numbered_name(name, {part_name(own) for own in (*flow.ids, *self.ids.values())})
        lane = self._new(beside)
        return f"{name} {lane.code or lane.label}"

    def _new(self, gate: Gate) -> Lane:
        return lane_of(self._project, self._lanes.get(gate.state.lane, gate.state.lane))


def _copied(project: Project, part: FlowPart, ids: Mapping[str, str], lanes: Mapping[str, str]) -> FlowPart:
    """Return a copy that refers to the other copies, on its new lane."""

    def inside(own: str | None) -> str | None:
        return ids.get(own or "")

    def onward(own: str | None) -> str | None:
        return ids.get(own or "", own)

    made = changed(redirected(part, onward if isinstance(part, Gate) else inside, onward), id=ids[part.id])
    if isinstance(made, Gate):
        reload = made.reload
        return changed(
            made,
            state=_moved(project, made.state, lanes),
            reload=None if reload is None else _reloaded(project, reload, lanes),
        )
    if isinstance(made, Channel) and isinstance(made.to, Diverter):
        return changed(made, to=_diverted(project, made.to, lanes))
    return made


def _reloaded(project: Project, reload: Reload, lanes: Mapping[str, str]) -> Reload:
    return changed(reload, state=_moved(project, reload.state, lanes))


def _diverted(project: Project, diverter: Diverter, lanes: Mapping[str, str]) -> Diverter:
    def moved(way: Branch) -> Branch:
        return changed(way, state=_moved(project, way.state, lanes))

    return changed(
        diverter,
        lane=lanes.get(diverter.lane, diverter.lane),
        by_state=tuple(moved(way) for way in diverter.by_state),
    )


def _moved(project: Project, state: State, lanes: Mapping[str, str]) -> State:
    """Return a state on its new lane, at the level of the same name, else of the same rank."""
    old, new = lane_of(project, state.lane), lane_of(project, lanes.get(state.lane, state.lane))
    if not isinstance(state, LevelState):
        return changed(state, lane=new.id)
    rank = sorted(old.levels.values()).index(old.levels[state.level])
    level = level_on(new, state.level, rank)
    if level is None:
        raise EditError(f"{new.label} has no level for {old.label} {state.level}; choose another lane")
    return LevelState(lane=new.id, level=level)
