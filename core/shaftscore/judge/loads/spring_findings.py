"""weak-spring, spring-solid, spring-stress: springs that do not bring their follower back, or do not last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from shaftscore.base.angles import Arcs
from shaftscore.built.reserve import ReturnForces
from shaftscore.judge.findings import Cure, Finding, Severity, found
from shaftscore.judge.loads.cases import CONTACT, LEAST_CONTACT
from shaftscore.judge.loads.lane import LaneLoads
from shaftscore.judge.loads.spring_cures import (
    longer,
    needed_springs,
    stiffer,
    stouter,
    stronger,
)
from shaftscore.judge.loads.strain import strain_of
from shaftscore.kinematics.followers import Reals

SPRING_RULES = ("weak-spring", "spring-solid", "spring-stress")
"""Rules that judge the springs of lanes with a load."""


def spring_findings(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Judge the spring of a lane: reserve over friction, and strain of a described one."""
    if loads.is_groove:
        return
    yield from _weak(lane_id, loads)
    yield from _strained(lane_id, loads)


def _weak(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    reserve = loads.reserve
    if reserve is None or not reserve.is_weak:
        return
    worst, spare = reserve.least, reserve.least_spare
    if worst is not None and worst.value <= 1:
        yield _finding(lane_id, loads, "sticks", worst.theta_deg)
    elif spare is not None and spare.value <= 0:
        yield _finding(lane_id, loads, "weakest-sticks", spare.theta_deg)
    elif worst is not None:
        yield _finding(lane_id, loads, "reserve", worst.theta_deg)


def _finding(lane_id: str, loads: LaneLoads, how: str, theta_deg: float) -> Finding:
    """Make the finding for the worst place, degrees of the stack; how: which of its three forms."""
    reserve = loads.reserve
    assert reserve is not None, "a groove has no weak spring"
    case = LEAST_CONTACT if how == "weakest-sticks" else CONTACT
    required = reserve.required if how == "reserve" else 1.0

    def short(forces: ReturnForces) -> Reals:
        return np.asarray(required * forces.required_n - forces.available_n)

    past = reserve.short_of(short, case, theta_deg)
    there = reserve.returning_at(theta_deg, case)
    return found(
        "weak-spring",
        (lane_id,),
        severity=Severity.ERROR if how == "sticks" else Severity.WARNING,
        span=loads.on_master(past.worst),
        value=float(there.reserve),
        limit=reserve.required,
        cure=_stronger(lane_id, loads),
        how=how,
        at_deg=loads.on_master(Arcs.span(theta_deg, 0.0)).start,
        available_n=float(there.available_n),
        required_n=float(there.required_n),
        friction=loads.load.friction_most_name,
        others=past.others,
    )


def _stronger(lane_id: str, loads: LaneLoads) -> Cure | None:
    """Return the preload that restores the reserve, and beside it the rate that would, where one does."""

    def holds(changed: LaneLoads) -> bool:
        return changed.reserve is not None and not changed.reserve.is_weak

    preload, rate = needed_springs(loads)
    for more in (0.0, 0.1):  # the worst place may lie between two nodes
        cure = stronger(lane_id, loads, preload + more, holds)
        if cure is not None:
            other = stiffer(loads, rate, holds) if cure.is_edit else ""
            return replace(cure, sentence=f"{cure.sentence[:-1]}; or {other}.") if other else cure
    return None


def _strained(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Judge a described spring where it is most strained: at the greatest travel."""
    spring = loads.load.spring
    if spring is None or strain_of(spring, loads.travel_is_under_mm).is_borne:
        return
    strain = strain_of(spring, loads.most_travel.value)
    span = loads.on_master(Arcs.span(loads.most_travel.theta_deg, 0.0))
    here = partial(found, lanes=(lane_id,), span=span, at_deg=span.start)
    if strain.is_solid:
        cure = longer(lane_id, loads)
        yield here("spring-solid", value=strain.length_mm, limit=strain.solid_mm, cure=cure)
    if strain.is_overstressed:
        cure = stouter(lane_id, loads)
        value, limit = strain.stress_mpa, strain.allowed_mpa
        yield here("spring-stress", value=value, limit=limit, cure=cure, how="stress")
    if strain.buckles:
        guide = Cure(sentence="Guide it on a rod or in a tube, or use a spring of larger coils.")
        value, limit = strain.travel_mm, strain.buckles_mm
        yield here("spring-stress", value=value, limit=limit, cure=guide, how="buckles", place=1)
