"""Duplicate lanes with all that speaks of them: rules, gates and loads."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited, changed, consistent, lane_of
from shaftscore.edits.names import free_id
from shaftscore.model.base import Record
from shaftscore.model.codes import with_codes
from shaftscore.model.flow import Flow, Gate
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.rules import Exclusive, Rule
from shaftscore.model.shaft import Stack

_NUMBERED = re.compile(r"(?P<stem>.*?)(?P<number>\d+)")


def duplicate_lanes(project: Project, lane_ids: Sequence[str]) -> Edited:
    """Add a copy of each lane below the last one of them, with its program, parts and load.

    A rule that requires or orders is copied for the new lane; one that excludes takes its state in. Gates
    are copied with their ways. Each copy has a name with the next free number and a code of its own; what
    was measured, and diverters, stay with the old lane. Raises EditError if there is no such lane.
    """
    chosen = sorted({lane_of(project, own).id for own in lane_ids}, key=lambda own: project.lane_index[own])
    ids = _new_ids(project, chosen)
    copies = [_copied(project, lane_id, ids) for lane_id in chosen]
    for index, copy in enumerate(copies):
        taken = {lane.label for lane in (*project.lanes, *copies[:index])}
        copies[index] = changed(copy, name=numbered_name(copy.label, taken))
    place = project.lane_index[chosen[-1]] + 1
    made = changed(
        project,
        lanes=with_codes([*project.lanes[:place], *copies, *project.lanes[place:]]),
        stacks=tuple(_with_order(stack, ids) for stack in project.stacks),
        rules=_with_rules(project.rules, ids),
        flow=None if project.flow is None else _with_gates(project.flow, ids),
    )
    what = project.lane(chosen[0]).label if len(chosen) == 1 else counted(len(chosen), "lane")
    return Edited(consistent(made), f"Duplicate {what}", lane_id=copies[-1].id)


def numbered_name(name: str, taken: Collection[str]) -> str:
    """Return a name like another one with the next free number ("Gate 3" to "Gate 4", "Flap" to "Flap 2")."""
    match = _NUMBERED.fullmatch(name)
    stem, first = (match["stem"], int(match["number"]) + 1) if match else (f"{name} ", 2)
    return next(new for n in range(first, first + len(taken) + 1) if (new := f"{stem}{n}") not in taken)


def _new_ids(project: Project, chosen: Sequence[str]) -> dict[str, str]:
    """Return old id to new id."""
    ids: dict[str, str] = {}
    for lane_id in chosen:
        ids[lane_id] = free_id(lane_id, {*project.lane_index, *ids.values()})
    return ids


def _copied(project: Project, lane_id: str, ids: Mapping[str, str]) -> Lane:
    lane = project.lane(lane_id)
    fields = {"id": ids[lane_id], "code": None, "offset_deg": 0.0}
    if lane.disc_of is not None and lane.disc_of in ids:
        fields["disc_of"] = ids[lane.disc_of]
    return changed(lane, **fields)


def _with_order(stack: Stack, ids: Mapping[str, str]) -> Stack:
    """Let the copies' discs come after those that they were copied from."""
    own = [lane_id for lane_id in stack.order if lane_id in ids]
    if not own:
        return stack
    place = stack.order.index(own[-1]) + 1
    order = (*stack.order[:place], *(ids[lane_id] for lane_id in own), *stack.order[place:])
    return changed(stack, order=order)


def _with_rules(rules: Sequence[Rule], ids: Mapping[str, str]) -> tuple[Rule, ...]:
    """Return the rules with those of the copies."""
    made: list[Rule] = []
    for rule in rules:
        copy = _of_copies(rule, ids)
        if copy is rule:
            made.append(rule)
        elif isinstance(rule, Exclusive):
            new = [state for state in copy.states if state not in rule.states]
            made.append(changed(rule, states=(*rule.states, *new)))
        else:
            made += [rule, copy]
    return tuple(made)


def _with_gates(flow: Flow, ids: Mapping[str, str]) -> Flow:
    """Return the flow with the gates of the copies."""
    gates: list[Gate] = []
    for gate in flow.gates:
        copy = _of_copies(gate, ids)
        if copy is not gate:
            taken = {*flow.ids, *(other.id for other in gates)}
            stem = gate.id.replace(gate.state.lane, ids[gate.state.lane])
            gates.append(changed(copy, id=free_id(stem, taken)))
    return changed(flow, gates=(*flow.gates, *gates)) if gates else flow


def _of_copies(value: Any, ids: Mapping[str, str]) -> Any:
    """Let a record and all inside it speak of the copies; what does not change stays the same object."""
    if isinstance(value, tuple):
        made = tuple(_of_copies(item, ids) for item in value)
        return value if all(new is old for new, old in zip(made, value, strict=True)) else made
    if not isinstance(value, Record):
        return value
    fields = {key: _of_copies(getattr(value, key), ids) for key in type(value).model_fields}
    if getattr(value, "lane", None) in ids:
        fields["lane"] = ids[fields["lane"]]
    changes = {key: new for key, new in fields.items() if new is not getattr(value, key)}
    return changed(value, **changes) if changes else value
