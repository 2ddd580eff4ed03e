"""Where a project speaks of a lane: what goes with it when it goes, and when a level changes its name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shaftscore.base.wording import counted
from shaftscore.edits.base import changed
from shaftscore.edits.sightings import sheets_renamed, sheets_without, sightings_of
from shaftscore.model.base import Record
from shaftscore.model.flow import Flow
from shaftscore.model.grid import LaneGrid
from shaftscore.model.project import Project
from shaftscore.model.rules import Exclusive, Requires, Rule


def mentions(project: Project, lane_id: str) -> list[str]:
    """Count what goes when a lane goes ("2 rules", "1 gate")."""
    rest = without_lane(project, lane_id)
    counts = (
        (len(project.rules) - len(rest.rules), "rule"),
        (len(project.flow.gates) - len(rest.flow.gates) if project.flow and rest.flow else 0, "gate"),
        (len(project.measured) - len(rest.measured), "measurement"),
        (sightings_of(project, lane_id), "sighting"),
    )
    return [counted(count, noun) for count, noun in counts if count]


def without_lane(project: Project, lane_id: str) -> Project:
    """Take a lane out of the project, with all that speaks of it alone."""
    rules = [_rule_without(rule, lane_id) for rule in project.rules]
    stacks = [
        changed(stack, order=tuple(own for own in stack.order if own != lane_id))
        if lane_id in stack.order
        else stack
        for stack in project.stacks
    ]
    return changed(
        project,
        lanes=tuple(lane for lane in project.lanes if lane.id != lane_id),
        rules=tuple(rule for rule in rules if rule is not None),
        stacks=tuple(stacks),
        flow=_flow_without(project.flow, lane_id),
        measured=tuple(row for row in project.measured if row.lane != lane_id),
        grid=_grid_without(project.grid, lane_id),
        bring_up=sheets_without(project.bring_up, lane_id),
    )


def _rule_without(rule: Rule, lane_id: str) -> Rule | None:
    """Return what is left of a rule; None where nothing is."""
    if isinstance(rule, Exclusive):
        states = tuple(state for state in rule.states if state.lane != lane_id)
        if len(states) == len(rule.states):
            return rule
        return changed(rule, states=states) if len(states) > 1 else None
    states = (rule.when, rule.need) if isinstance(rule, Requires) else (rule.first, rule.then)
    return None if lane_id in [state.lane for state in states] else rule


def _grid_without(grid: LaneGrid | None, lane_id: str) -> LaneGrid | None:
    """Empty the place of a lane."""
    if grid is None or lane_id not in grid.lanes:
        return grid
    rows = (tuple(None if own == lane_id else own for own in row) for row in grid.cells)
    return changed(grid, cells=tuple(rows))


def _flow_without(flow: Flow | None, lane_id: str) -> Flow | None:
    if flow is None:
        return None
    gates = tuple(gate for gate in flow.gates if gate.state.lane != lane_id)
    return flow if len(gates) == len(flow.gates) else changed(flow, gates=gates)


def with_levels_renamed(project: Project, lane_id: str, names: Mapping[str, str]) -> Project:
    """Let all states, measurements and sightings of a lane and its riders follow its levels' new names."""
    own = {lane.id for lane in project.lanes if lane_id in (lane.id, lane.disc_of)}
    if not names:
        return project
    return changed(
        project,
        rules=tuple(_renamed(rule, own, names) for rule in project.rules),
        flow=_renamed(project.flow, own, names),
        measured=tuple(_renamed(row, own, names) for row in project.measured),
        bring_up=sheets_renamed(project.bring_up, own, names),
    )


def _renamed(value: Any, own: set[str], names: Mapping[str, str]) -> Any:
    """Rename levels in a record and all inside it; what does not change stays the same object."""
    if isinstance(value, tuple):
        made = tuple(_renamed(item, own, names) for item in value)
        return value if all(new is old for new, old in zip(made, value, strict=True)) else made
    if not isinstance(value, Record):
        return value
    fields = {key: _renamed(getattr(value, key), own, names) for key in type(value).model_fields}
    if getattr(value, "lane", None) in own and getattr(value, "level", None) in names:
        fields["level"] = names[fields["level"]]
    changes = {key: new for key, new in fields.items() if new is not getattr(value, key)}
    return changed(value, **changes) if changes else value
