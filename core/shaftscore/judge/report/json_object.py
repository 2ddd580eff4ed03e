"""The object that `check --json` prints.

What was computed and does not apply, or is not finite, is null; what is not computed is absent. Angles
are master angles, degrees: a stretch [start, end] has 0 <= start < 360 and 0 <= end < 360, with
end < start where it runs through 0; the full turn is [0, 360]. Figures of a lane without motion are
null. Text keeps the maker's letters; printed as ASCII with escapes.

What repeats only after several cycles says so: stretches of a lane's states then run through all of them
(0 <= start < 360 x `repeats_after_cycles`), and a finding has the `cycle` and `end_cycle` of its angles,
from 1. What repeats over 100 times in a cycle is shown once, with `repeats_per_cycle`.
"""

from __future__ import annotations

import math
from fractions import Fraction
from math import radians
from typing import get_args

from shaftscore.base.angles import TURN, Arcs
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.findings.in_rounds import cycle_place
from shaftscore.judge.fits import StackFit
from shaftscore.judge.flow import MagazineResult
from shaftscore.judge.loads import Extreme, LaneLoads, spring_for, springs_drive
from shaftscore.judge.loads import drive as train
from shaftscore.judge.report.coverage import coverage_json, not_described_json
from shaftscore.judge.report.examine import Report
from shaftscore.judge.shaft import StackShaft
from shaftscore.judge.spread import RuleSpread, Spread
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.kinematics.profiles import Profile
from shaftscore.model.project import Area
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import LaneSolution
from shaftscore.solution.cycles import stepped_peaks

Json = dict[str, object]
"""An object of JSON."""


def report_json(report: Report) -> Json:
    """Return the object for a report."""
    loads = report.loads.lanes if report.loads is not None else {}
    return {
        "project": report.project.name,
        "checked": list(report.checked),
        "findings": [
            _finding(finding, report) | {"cause": cause}
            for finding, cause in zip(report.findings, report.folded.causes, strict=True)
        ],
        "coverage": coverage_json(report.coverage),
        "not_described": not_described_json(report.coverage),
        "lanes": {
            lane_id: _lane(lane) | _load_figures(loads.get(lane_id)) | _stepped(report, lane_id)
            for lane_id, lane in report.solution.lanes.items()
        },
        "heights": _heights(report),
        "drive": _drive(report),
        "flow": _flow(report),
        "shaft": _shafts(report),
        "margin": _margin(report),
        "fits": {stack_id: _fit(fit) for stack_id, fit in report.fits.items() if fit.discs},
    }


def _fit(fit: StackFit) -> Json:
    """Return the fit of a stack: clearance to each side, play ± at each lane's joint, known shifts, seat.

    Degrees of the stack; null where a part turns freely.
    """
    return {
        "joints": fit.law if fit.stack.joints is None else fit.stack.joints,
        "clearance_mm": finite(fit.clearance_mm),
        "play_deg": {lane: finite(play) for lane, play in fit.play_deg.items()},
        "shift_deg": {lane: finite(shift) for lane, shift in fit.shift_deg.items()},
        "seat_mm": finite(fit.seat_mm),
    }


def finite(value: float | None) -> float | None:
    """Return the value, in any unit, or None where it is missing or not finite."""
    return None if value is None or not math.isfinite(value) else float(value)


def _finding(finding: Finding, report: Report) -> Json:
    said = words(finding, report.project)
    return {
        "rule": finding.rule,
        "severity": str(finding.severity),
        "lanes": list(finding.lanes),
        **_places(finding),
        "turn": finding.turn,
        "value": finite(finding.value),
        "limit": finite(finding.limit),
        "message": said.what,
        "hint": said.cure or None,
        **({"repeated": finding.facts["repeated"]} if "repeated" in finding.facts else {}),
    }


def _places(finding: Finding) -> Json:
    """Return the angles of a finding, with their cycles where the round has several."""
    if finding.cycles == CYCLE or finding.span is None:
        return {"start_deg": finding.start_deg, "end_deg": finding.end_deg}
    start, end = (cycle_place(deg, finding.cycles) for deg in (finding.span.start, finding.span.end))
    angles: Json = {"start_deg": start.deg, "end_deg": end.deg}
    if finding.cycles < 1:
        return angles | _repeats(finding.cycles)
    return angles | {"cycle": start.cycle, "end_cycle": end.cycle}


def _repeats(cycles: Fraction) -> Json:
    """Return how often, or after how many cycles, something repeats; nothing for each cycle."""
    if cycles == CYCLE:
        return {}
    key, value = ("repeats_after_cycles", cycles) if cycles > 1 else ("repeats_per_cycle", 1 / cycles)
    return {key: int(value) if value.denominator == 1 else float(value)}


def _lane(lane: LaneSolution) -> Json:
    return _disc_figures(lane.profile) | _motion_figures(lane, lane.motion)


def _disc_figures(profile: Profile | None) -> Json:
    keys = ("base_radius_mm", "max_pressure_angle_deg", "min_convex_radius_mm", "min_hollow_radius_mm")
    figures: Json = {
        key: None if profile is None else finite(getattr(profile, key))
        for key in (*keys, "needed_face_width_mm", "offset_mm")
    }
    return figures | {"base_governed_by": None if profile is None else profile.base_governed_by}


def _motion_figures(lane: LaneSolution, motion: LaneMotion | None) -> Json:
    velocity, acceleration, jerk = (None, None, None) if motion is None else peaks(lane, motion)
    cycles, levels = lane.course.cycles, lane.states.items()
    return {
        "peak_velocity_mm_s": velocity,
        "peak_acceleration_mm_s2": acceleration,
        "peak_jerk_mm_s3": jerk,
        "states": None if motion is None else {level: _spans(found, cycles) for level, found in levels},
    } | _repeats(cycles)


def peaks(lane: LaneSolution, motion: LaneMotion) -> tuple[float | None, float | None, float | None]:
    """Return the output's largest speed (mm/s), acceleration (mm/s²) and jerk (mm/s³).

    None where a quantity has no limit: acceleration at a corner, jerk at a step of the acceleration.
    """
    if lane.course.is_stepped:
        return stepped_peaks(lane)
    omega = radians(lane.deg_per_s)
    largest = motion.extremes()
    corner, step = bool(motion.velocity_jumps()), bool(motion.acceleration_jumps())
    return (
        largest.velocity.value * omega,
        None if corner else largest.acceleration.value * omega**2,
        None if corner or step else largest.jerk.value * omega**3,
    )


def _load_figures(loads: LaneLoads | None) -> Json:
    """Return a lane's forces, torque (at its own stack) and stress; null without a load record.

    The wanted spring is the least that holds contact at the highest speed with the usual margin: a preload at
    the present rate, or a rate at the present preload; null for a groove, or where no rate helps.
    The spring's reserve is the least that returns the follower over what holds it back; null where nothing
    does. It sticks in stretches of the turn, which are null too for a groove.
    """
    torque, least, speed, pressure = (
        (None, None, None, None)
        if loads is None
        else (loads.peak_torque, loads.least_contact, loads.float_speed, loads.peak_pressure)
    )
    advice = None if loads is None else spring_for(loads, loads.top_rpm)
    return {
        "peak_torque_nm": _value(torque),
        "min_contact_n": _value(least),
        "float_speed_rpm": _value(speed),
        "max_contact_mpa": _value(pressure),
        "wanted_preload_n": None if advice is None else finite(advice.preload_n),
        "wanted_rate_n_per_mm": None if advice is None else finite(advice.rate_n_per_mm),
    } | _reserve_figures(loads)


def _stepped(report: Report, lane_id: str) -> Json:
    """Return the forces of a lane on a stepped stack; nothing for any other.

    Its torque is that at a shaft that turns once in the lane's round: by virtual work through the stage.
    """
    loads = None if report.loads is None else report.loads.stepped.get(lane_id)
    if loads is None:
        return {}
    return {
        "peak_torque_nm": _value(loads.peak_torque),
        "min_contact_n": None if loads.lane.is_groove else _value(loads.least_contact),
        "float_speed_rpm": _value(loads.float_speed),
        "max_contact_mpa": _value(loads.peak_pressure),
    }


def _reserve_figures(loads: LaneLoads | None) -> Json:
    sticks, reserve = (None, None) if loads is None else (loads.sticks, loads.reserve)
    return {
        "spring_reserve": None if reserve is None else _value(reserve.least),
        "sticks_at_deg": None
        if loads is None or sticks is None
        else _arcs(sticks, loads.solved.course.cycles),
    }


def _value(extreme: Extreme | None) -> float | None:
    return None if extreme is None else finite(extreme.value)


def _heights(report: Report) -> Json:
    """Return where each lane's disc and roller are along the shaft.

    z_mm: of the middle of the disc that the lane runs on, above the bottom of its stack, as drawn.
    overlap_mm, worst_overlap_mm: contact width of rim and roller as drawn, and the least in the worst case.
    """
    return {
        lane_id: {
            "z_mm": finite(own.z_mm),
            "overlap_mm": finite(own.overlap_mm),
            "worst_overlap_mm": finite(own.worst_overlap_mm),
        }
        for one in report.heights
        for lane_id, own in one.lanes.items()
    }


def _drive(report: Report) -> Json | None:
    """Return the torque of all lanes at the master shaft, and what the drive allows; null without either.

    energy_j: work of the motor in one turn. start: greatest torque that a start from rest asks for, and what
    the source gives then, without reserve. springs_drive: where springs run the shaft on.
    """
    if report.loads is None or (not report.loads.lanes and report.loads.drive is None):
        return None
    shaft, drive = report.loads.camshaft, report.loads.drive
    loaded = bool(report.loads.lanes)
    return {
        "peak_torque_nm": _value(shaft.peak),
        "mean_torque_nm": finite(shaft.mean_nm) if loaded else None,
        "rms_torque_nm": finite(shaft.rms_nm) if loaded else None,
        "allowed_torque_nm": None if drive is None else finite(train.allowed_torque_nm(drive)),
        "shaft_turn": None if drive is None else train.shaft_turn(drive),
        "shaft_speed_rpm": None if drive is None else finite(train.shaft_speed_rpm(drive)),
        "energy_j": finite(shaft.energy_j) if loaded else None,
        "start_torque_nm": finite(shaft.start_nm) if loaded else None,
        "start_allowed_nm": None if drive is None else finite(train.starting_torque_nm(drive)),
        "springs_drive": _arcs(springs_drive(shaft), report.cycles) if loaded else None,
    }


def _shafts(report: Report) -> Json:
    """Return the figures of each stack's shaft; null for a stack without a rod, or whose rod is not computed.

    clamp_force_n: force to tighten to, so that no joint opens; null for a single part.
    """
    found = report.shafts.stacks if report.shafts is not None else {}
    return {stack.id: _shaft(found.get(stack.id)) for stack in report.project.stacks}


def _shaft(shaft: StackShaft | None) -> Json | None:
    if shaft is None:
        return None
    return {
        "deflection_mm": {lane_id: finite(worst.value) for lane_id, worst in shaft.deflection_mm.items()},
        "stress_mpa": finite(shaft.stress_mpa.value),
        "reactions_n": [finite(worst.value) for worst in shaft.reactions_n],
        "friction_nm": finite(shaft.peak_friction_nm.value),
        "clamp_force_n": finite(shaft.needed_clamp_n),
    }


def _arcs(arcs: Arcs, cycles: Fraction = CYCLE) -> list[list[float]]:
    """Return stretches of the circle of a round as degrees of the master, which run through its cycles."""
    by = 1.0 if cycles == CYCLE else float(cycles)
    return [[0.0, TURN * by]] if arcs.is_full else [[part.start * by, part.end * by] for part in arcs]


def _spans(intervals: tuple[StateInterval, ...], cycles: Fraction) -> list[list[float]]:
    return [_arcs(interval.span, cycles)[0] for interval in intervals]


def _flow(report: Report) -> Json | None:
    """Return the result of the flow; of a round that is not a cycle, turns are rounds."""
    flow = report.flow
    if flow is None:
        return None
    return _repeats(report.cycles) | {
        "holds_for_ever": flow.holds_for_ever,
        "turns": flow.turns,
        "magazines": {key: _magazine(result, report.cycles) for key, result in flow.magazines.items()},
    }


def _magazine(result: MagazineResult, cycles: Fraction) -> Json:
    place = cycle_place(result.deg, cycles)
    return {
        "lowest_count": result.lowest_count,
        "turn": result.turn,
        **({"cycle": place.cycle} if cycles > 1 else {}),
        "deg": finite(place.deg),
        "needed_rate_per_min": finite(result.needed_rate_per_min),
        "needed_capacity": result.needed_capacity,
    }


def _margin(report: Report) -> Json | None:
    """Return the smallest margin and the chance that a machine works; null where there is neither."""
    margin = report.margin
    if margin is None and (report.chance is None or report.chance.share is None):
        return None
    return {
        "smallest_deg": None if margin is None else finite(margin.smallest_deg),
        "between": [] if margin is None else list(margin.between),
    } | _chance(report)


def _chance(report: Report) -> Json:
    """Return the chance with its interval; null where nothing limits it, absent where nothing was drawn.

    With errors of the machine as drawn it is 0, also where there was nothing to draw machines for.
    """
    spread = report.spread
    if report.chance is None:
        return {}
    if spread is None:
        share = report.chance.share
        return {
            **dict.fromkeys(("chance", "chance_low", "chance_high"), share),
            "machines": None,
            "counted": [],
            "left_out_areas": list(get_args(Area)),
        }
    return {
        "chance": spread.chance,
        "chance_low": spread.low,
        "chance_high": spread.high,
        "machines": spread.machines,
    } | _spread(spread, 1.0 if report.cycles == CYCLE else float(report.cycles))


def _spread(spread: Spread, by: float) -> Json:
    """Return what the chance depends on: the rules' margins, the tightest first, and the histogram.

    by: degrees of the master for one of the round.
    """
    return {
        "worst_deg": _scaled(spread.worst_deg, by),
        "needed_disc_angle_deg": finite(spread.needed_disc_angle_deg),
        "lane_costs": [{"lane": cost.lane, "chance_without": cost.chance_without} for cost in spread.costs],
        "rules": [_rule(rule, by) for rule in spread.tightest_first],
        "histogram": {
            "edges_deg": [edge * by for edge in spread.histogram.edges_deg],
            "counts": list(spread.histogram.counts),
        },
        "causes": [{"cause": one.cause, "chance_without": one.chance_without} for one in spread.causes],
        "counted": list(spread.counted),
        "left_out_areas": list(spread.left_out_areas),
        "left_out": list(spread.left_out),
    }


def _scaled(deg: float | None, by: float) -> float | None:
    """Return degrees of the round as degrees of the master; None where they are missing or not finite."""
    return None if deg is None else finite(deg * by)


def _rule(rule: RuleSpread, by: float) -> Json:
    return {
        "kind": rule.kind,
        "what": rule.what,
        "lanes": list(rule.lanes),
        "smallest_deg": _scaled(rule.smallest_deg, by),
        "worst_deg": _scaled(rule.worst_deg, by),
        "chance": rule.chance,
    }
