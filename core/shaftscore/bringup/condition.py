"""The condition of a built machine: for every output, which lever moves it, on which disc, and how.

A drawn machine has every output on its own lever and every lever on its own disc. A build fault makes another
condition of a condition, so that two faults are one applied after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from shaftscore.bringup.records import BuildFault, FaultKind
from shaftscore.model import Project
from shaftscore.stack import turn_sign


@dataclass(frozen=True)
class LaneCondition:
    """What moves one output.

    lever: id of the lane whose follower moves it. disc: id of the lane whose disc that follower is on, empty
    where there is none. turned_over: the disc has its marked face down. turned_deg: the disc is off its zero
    mark by this, degrees of its stack, counterclockwise seen from the top. backward: the shaft turns the
    other way. late_deg: the shaft is late by this, degrees of the master shaft. slip_deg, slip_at_deg: it is
    later by so much once the machine has run so far. late_falls_deg: by which falls alone are late, degrees
    of the master shaft. share: of the travel. stuck_mm: the output never moves from here, mm. loose: nothing
    pushes the follower back.
    """

    lever: str
    disc: str
    turned_over: bool = False
    turned_deg: float = 0.0
    backward: bool = False
    late_deg: float = 0.0
    slip_deg: float = 0.0
    slip_at_deg: float = 0.0
    late_falls_deg: float = 0.0
    share: float = 1.0
    stuck_mm: float | None = None
    loose: bool = False


Conditions = Mapping[str, LaneCondition]
"""By the id of the lane whose output it is."""


def drawn(project: Project) -> dict[str, LaneCondition]:
    """Return the condition of the machine as it is drawn."""
    return {lane.id: LaneCondition(lane.id, lane.disc_of or lane.id) for lane in project.lanes}


def built(project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    """Return the conditions of a machine that has one more fault; faults of items change none.

    Raises KeyError for a fault of a lane that the conditions do not have.
    """
    return {**conditions, **changes(project, conditions, fault)}


def changes(project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    """Return the conditions that a fault changes, by output; raises KeyError as `built` does."""
    return _CHANGES[fault.kind](project, conditions, fault)


Change = Callable[[Project, Conditions, BuildFault], dict[str, LaneCondition]]
"""How one kind of fault changes conditions: those that differ."""


def _each(make: Callable[[LaneCondition, BuildFault], LaneCondition]) -> Change:
    """Return a change of the lanes of a fault, of those on its stack, or of all."""

    def change(project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
        return {lane: make(conditions[lane], fault) for lane in touched(project, conditions, fault)}

    return change


def touched(project: Project, conditions: Conditions, fault: BuildFault) -> tuple[str, ...]:
    """Return the outputs that a fault changes: those it names, those on its stack, or all."""
    if fault.stack and not fault.lanes:
        own = {
            lane.id for stack in project.stacks if stack.id == fault.stack for lane in project.lanes_of(stack)
        }
        return tuple(output for output, one in conditions.items() if one.lever in own)
    return fault.lanes or tuple(conditions)


def _on_disc(make: Callable[[LaneCondition, BuildFault], LaneCondition]) -> Change:
    """Return a change of the disc of a fault's lane, for every follower that is on it."""

    def change(_project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
        on = {output: one for output, one in conditions.items() if one.disc in fault.lanes}
        return {output: make(one, fault) for output, one in on.items()}

    return change


def _swapped(_project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    """Return the conditions with two discs in each other's place, each with its own faults."""
    first, second = fault.lanes
    discs = {one.disc: one for one in conditions.values() if one.disc in fault.lanes}
    changed = {}
    for output, one in conditions.items():
        if one.disc not in discs:
            continue
        other = second if one.disc == first else first
        there = discs.get(other, one)
        changed[output] = replace(one, disc=other, turned_over=there.turned_over, turned_deg=there.turned_deg)
    return changed


def _crossed(_project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    first, second = fault.lanes
    return {first: conditions[second], second: conditions[first]}


def _upside_down(project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    """Turn a stack over about its reference line: discs in reverse order, each with its marked face down."""
    stack = next(one for one in project.stacks if one.id == fault.stack)
    order = [lane.id for lane in project.discs_of(stack)]
    instead = dict(zip(order, reversed(order), strict=True))
    return {
        output: replace(
            one, disc=instead[one.disc], turned_over=not one.turned_over, turned_deg=-one.turned_deg
        )
        for output, one in conditions.items()
        if one.disc in instead
    }


def _off(one: LaneCondition, fault: BuildFault) -> LaneCondition:
    over = one.turned_over != fault.turned_over
    return replace(one, turned_over=over, turned_deg=one.turned_deg + fault.angle_deg)


def _late(one: LaneCondition, fault: BuildFault) -> LaneCondition:
    return replace(one, late_deg=one.late_deg + fault.angle_deg)


def _unchanged(_project: Project, _conditions: Conditions, _fault: BuildFault) -> dict[str, LaneCondition]:
    return {}


def _stuck(project: Project, conditions: Conditions, fault: BuildFault) -> dict[str, LaneCondition]:
    (lane,) = fault.lanes
    height = project.levels_of(project.lane(lane))[fault.level]
    return {lane: replace(conditions[lane], stuck_mm=height)}


_CHANGES: Mapping[FaultKind, Change] = {
    "wrong-way": _each(lambda one, _: replace(one, backward=not one.backward)),
    "upside-down": _upside_down,
    "swapped": _swapped,
    "off-position": _on_disc(_off),
    "disc-over": _on_disc(_off),
    "turned-disc": _on_disc(_off),
    "hub-tooth": _each(_late),
    "geared-tooth": _each(_late),
    "all-late": _each(_late),
    "crossed": _crossed,
    "travel": _each(lambda one, fault: replace(one, share=one.share * fault.share)),
    "late-falls": _each(lambda one, f: replace(one, late_falls_deg=max(one.late_falls_deg, f.angle_deg))),
    "stuck": _stuck,
    "spring-off": _each(lambda one, _: replace(one, loose=True)),
    "slips": _each(lambda one, fault: replace(one, slip_deg=fault.angle_deg, slip_at_deg=fault.slip_at_deg)),
    "empty": _unchanged,
    "slow-items": _unchanged,
}
"""How each kind of fault changes a machine."""

WIDE: frozenset[FaultKind] = frozenset(
    ("wrong-way", "upside-down", "hub-tooth", "geared-tooth", "all-late", "slips")
)
"""Kinds that touch all lanes, or all of a stack."""


def sense(project: Project, lane_id: str) -> int:
    """Return +1 where a lane's stack turns counterclockwise seen from the top, else -1; raises KeyError."""
    return turn_sign(project, project.stack_of(project.lane(lane_id)))
