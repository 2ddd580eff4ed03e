"""weak-spring, spring-solid, spring-stress: springs that do not bring their follower back, or do not last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from shaftscore.base.angles import Arcs, wrap
from shaftscore.base.tolerance import under
from shaftscore.built.reserve import ReturnForces
from shaftscore.judge.findings import Cure, Finding, Severity, found
from shaftscore.judge.loads.cases import CONTACT, LEAST_CONTACT
from shaftscore.judge.loads.lane import LaneLoads
from shaftscore.judge.loads.spring_cures import (
    longer,
    needed_springs,
    stiffer,
    stouter,
    strain_of_loads,
    stronger,
)
from shaftscore.kinematics.followers import Reals

SPRING_RULES = ("weak-spring", "spring-solid", "spring-stress")
"""Rules that judge the springs of lanes with a load."""


def spring_findings(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Judge the spring of a lane: reserve over friction, and what a described one stands."""
    if loads.is_groove:
        return
    yield from _weak(lane_id, loads)
    yield from _strained(lane_id, loads)


def is_weak(loads: LaneLoads) -> bool:
    """Return whether a spring sticks, its weakest one does, or its reserve is less than required."""
    reserve = loads.reserve
    if reserve is None:
        return False
    least, spare = reserve.least, reserve.least_spare
    return (
        (spare is not None and spare.value <= 0)
        or (least is not None and under(least.value, reserve.required, reserve.required))
        or not reserve.sticks.is_empty
    )


def _weak(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    reserve = loads.reserve
    if reserve is None or not is_weak(loads):
        return
    if not reserve.sticks.is_empty:
        yield _told(lane_id, loads, "sticks", reserve.most_stuck_deg)
    elif reserve.least_spare is not None and reserve.least_spare.value <= 0:
        yield _told(lane_id, loads, "weakest-sticks", reserve.least_spare.theta_deg)
    elif reserve.least is not None:
        yield _told(lane_id, loads, "reserve", reserve.least.theta_deg)


def _told(lane_id: str, loads: LaneLoads, how: str, theta_deg: float) -> Finding:
    """Make the finding for the worst place, degrees of the stack; how: which of its three forms."""
    reserve = loads.reserve
    assert reserve is not None, "a groove has no weak spring"
    case = LEAST_CONTACT if how == "weakest-sticks" else CONTACT
    required = reserve.required if how == "reserve" else 1.0

    def short(forces: ReturnForces) -> Reals:
        return np.asarray(required * forces.required_n - forces.available_n)

    arc, others = reserve.stretch(short, case, theta_deg)
    turns, at = loads.solved.turns, wrap(theta_deg) / loads.solved.turns
    there = reserve.returning_at(theta_deg, case)
    return found(
        "weak-spring",
        (lane_id,),
        severity=Severity.ERROR if how == "sticks" else Severity.WARNING,
        span=Arcs.span(arc.start / turns, arc.length / turns),
        value=float(there.reserve),
        limit=reserve.required,
        cure=_stronger(lane_id, loads),
        how=how,
        at_deg=at,
        available_n=float(there.available_n),
        required_n=float(there.required_n),
        friction=loads.load.friction_most_name,
        others=others,
    )


def _stronger(lane_id: str, loads: LaneLoads) -> Cure | None:
    """Return the preload that restores the reserve, and beside it the rate that would, where one does."""

    def holds(changed: LaneLoads) -> bool:
        return not is_weak(changed)

    preload, rate = needed_springs(loads)
    for more in (0.0, 0.1):  # the worst place may lie between two nodes
        cure = stronger(lane_id, loads, preload + more, holds)
        if cure is not None:
            other = stiffer(loads, rate, holds) if cure.is_edit else ""
            return replace(cure, sentence=f"{cure.sentence[:-1]}; or {other}.") if other else cure
    return None


def _strained(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Judge a described spring where it is most strained: at the greatest travel."""
    strain = strain_of_loads(loads)
    if strain is None:
        return
    at = wrap(loads.most_travel.theta_deg) / loads.solved.turns
    span = Arcs.span(at, 0.0)
    if strain.is_solid:
        yield found(
            "spring-solid",
            (lane_id,),
            span=span,
            value=strain.length_mm,
            limit=strain.solid_mm,
            cure=longer(lane_id, loads),
            at_deg=at,
        )
    if strain.is_overstressed:
        yield found(
            "spring-stress",
            (lane_id,),
            span=span,
            value=strain.stress_mpa,
            limit=strain.allowed_mpa,
            cure=stouter(lane_id, loads),
            how="stress",
            at_deg=at,
        )
    if strain.buckles:
        yield found(
            "spring-stress",
            (lane_id,),
            span=span,
            value=strain.travel_mm,
            limit=strain.buckles_mm,
            cure=Cure(sentence="Guide it on a rod or in a tube, or use a spring of larger coils."),
            how="buckles",
            at_deg=at,
            place=1,
        )
