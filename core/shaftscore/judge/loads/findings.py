"""Findings about forces, stress, torque and the drive."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, ceil, degrees, isfinite

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import Arcs, wrap
from shaftscore.base.tolerance import over, under
from shaftscore.judge.findings import Cure, Finding, Severity, found
from shaftscore.judge.loads import drive as train
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.forces import guide_factor
from shaftscore.judge.loads.gears import GEAR_RULES, gear_findings, stack_gear_findings
from shaftscore.judge.loads.lane import LaneLoads
from shaftscore.judge.loads.machine import MachineLoads
from shaftscore.judge.loads.spring_cures import stronger
from shaftscore.judge.loads.spring_findings import SPRING_RULES, spring_findings
from shaftscore.judge.loads.stepped import SteppedLoads
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Drive, TranslatingRoller

LOAD_RULES = ("float", *SPRING_RULES, "contact-stress", "self-locking", "acceleration-jump")
"""Rules judged for lanes with a load."""

DRIVE_RULES = ("overload", *GEAR_RULES, "wrong-hand", "off-speed")
"""Rules judged for a project with a drive."""

OFF_SPEED = 0.02
"""A drive may run the shaft this share off the project's speed (the file format)."""

STEP_NOTE, STEP_WARNING = 0.1, 1.0
"""Shares of the least contact force that a step in acceleration may cost (the file format)."""


def lane_findings(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Judge one lane: float, spring, contact stress, self-locking, and the worst step in acceleration."""
    yield from _float(lane_id, loads)
    yield from spring_findings(lane_id, loads)
    yield from _stress(lane_id, loads)
    yield from _locking(lane_id, loads)
    yield from _step(lane_id, loads)


def stepped_findings(lane_id: str, loads: SteppedLoads) -> Iterator[Finding]:
    """Judge a lane on a stepped stack: float and contact stress, through the motion of its stage."""
    limit, top = loads.float_speed, loads.lane.top_rpm
    if limit is not None and under(limit.value, top, top):
        at = limit.theta_deg
        yield found(
            "float", (lane_id,), span=Arcs.span(at, 0.0), value=limit.value, limit=top, at_deg=at, others=0
        )
    peak, allowed = loads.peak_pressure, loads.lane.allowed_mpa
    if over(peak.value, allowed, allowed):
        at = peak.theta_deg
        span = Arcs.span(at, 0.0)
        yield found("contact-stress", (lane_id,), span=span, value=peak.value, limit=allowed, at_deg=at)


def _place(loads: LaneLoads, theta_deg: float) -> tuple[Arcs, float]:
    """Return a place of the lane's stack as a span and an angle of the master shaft (its first one)."""
    span = loads.on_master(Arcs.span(theta_deg, 0.0))
    return span, span.start


def _float(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    limit = None if loads.is_surely_pressed else loads.float_speed
    if limit is None or not _floats(loads):
        return
    past = loads.lost_contact
    assert past is not None, "there is a speed from which contact is lost"
    yield found(
        "float",
        (lane_id,),
        span=loads.on_master(past.worst),
        value=limit.value,
        limit=loads.top_rpm,
        cure=_stiffer(lane_id, loads),
        at_deg=_place(loads, limit.theta_deg)[1],
        others=past.others,
    )


def _floats(loads: LaneLoads) -> bool:
    limit = loads.float_speed
    return limit is not None and under(limit.value, loads.top_rpm, loads.top_rpm)


def _stiffer(lane_id: str, loads: LaneLoads) -> Cure | None:
    # A little over the least: at that itself the contact force is zero, and rounding decides.
    return stronger(lane_id, loads, loads.wanted_preload_n * (1 + 1e-5), lambda changed: not _floats(changed))


def _stress(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    peak = None if loads.is_surely_sound else loads.peak_pressure
    if peak is None or not over(peak.value, loads.allowed_mpa, loads.allowed_mpa):
        return
    span, at = _place(loads, peak.theta_deg)
    yield found("contact-stress", (lane_id,), span=span, value=peak.value, limit=loads.allowed_mpa, at_deg=at)


def _locking(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    grip = None if loads.is_surely_free else loads.least_grip
    if grip is None or grip.value > 0:
        return
    span, at = _place(loads, grip.theta_deg)
    forces = loads.forces(np.array([grip.theta_deg]), loads.speed_rpm)
    move, to_level = _move_at(loads, grip.theta_deg)
    yield found(
        "self-locking",
        (lane_id,),
        span=span,
        value=float(abs(forces.at.pressure_deg[0])),
        limit=degrees(atan2(1, guide_factor(loads.solved.lane.follower))),
        cure=_longer_guide(loads),
        at_deg=at,
        move=move,
        to_level=to_level,
    )


def _longer_guide(loads: LaneLoads) -> Cure | None:
    """Return what the guide would need: less overhang is the cure of the trade."""
    follower = loads.solved.lane.follower
    if not isinstance(follower, TranslatingRoller) or not follower.overhang_mm:
        return None
    return Cure(sentence="Guide nearer to the roller, so that less of it overhangs, or a gentler move.")


def _move_at(loads: LaneLoads, theta_deg: float) -> tuple[str, str]:
    """Return `rise` or `fall` and the level that the move at an angle leads to."""
    at = wrap(theta_deg)
    for segment in loads.profile.motion.segments:
        if segment.curve is not None and Arcs.span(segment.start_deg, segment.length_deg).contains(at):
            return ("rise" if segment.rise_mm >= 0 else "fall"), getattr(
                segment, "to_level", "the next point"
            )
    return "move", "the next level"


def _step(lane_id: str, loads: LaneLoads) -> Iterator[Finding]:
    """Find the step in acceleration that costs the greatest share of the contact force there."""
    worst = None if _steps_little(loads) else worst_step(loads)
    if worst is None:
        return
    force, contact, theta = worst
    share = force / contact if contact > 0 else np.inf
    if share <= STEP_NOTE:
        return
    span, at = _place(loads, theta)
    yield found(
        "acceleration-jump",
        (lane_id,),
        severity=Severity.WARNING if share > STEP_WARNING else Severity.NOTE,
        span=span,
        value=force,
        limit=contact,
        at_deg=at,
        to_level=_move_at(loads, theta)[1],
    )


def _steps_little(loads: LaneLoads) -> bool:
    """Return whether the forces at the nodes show no step near what is noted; False says nothing."""
    top, piece = loads.top, loads.profile.nodes.piece
    change = np.diff(piece) != 0
    starts, ends = np.append(True, change), np.append(change, True)
    inertia, contact = top.inertia_n_s2, top.contact_n
    step = np.abs(inertia[starts] - np.roll(inertia[ends], 1)) * top.omega**2
    there = np.minimum(contact[starts], np.roll(contact[ends], 1))
    return loads.is_groove or bool(np.all(2 * step <= STEP_NOTE * there))


def worst_step(loads: LaneLoads) -> tuple[float, float, float] | None:
    """Return (force of the step N, least contact force there N, angle) at the worst step, or None."""
    theta = np.array([piece.start_deg for piece in loads.profile.nodes.pieces])
    if not len(theta) or loads.is_groove:
        return None
    left, right = (loads.forces(wrap(theta), loads.top_rpm, side) for side in ("left", "right"))
    force = np.abs(right.inertia_n_s2 - left.inertia_n_s2) * right.omega**2
    contact = np.minimum(left.contact_n, right.contact_n)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(force > 0, force / np.maximum(contact, 0.0), 0.0)
    at = int(np.argmax(share))
    return (float(force[at]), float(contact[at]), float(theta[at])) if share[at] > 0 else None


def drive_findings(machine: MachineLoads, friction_nm: Reals | None = None) -> Iterator[Finding]:
    """Judge the drive, where the project has one: peak torque, teeth, sense and speed.

    friction_nm: (n,) N·m over `GRID` of the shafts' bearings at the master shaft, added to the loads'.
    """
    drive = machine.drive
    if drive is None:
        return
    shaft = machine.project.shaft
    if (peak := machine.camshaft.peak_with(friction_nm)) is not None and isfinite(peak.value):
        # Where a guide locks no drive is strong enough; self-locking says so.
        yield from _overload(drive, peak)
    yield from gear_findings(machine.project, None if peak is None else peak.value)
    yield from stack_gear_findings(machine)
    if (turn := train.shaft_turn(drive)) != shaft.turn:
        cure = Cure(sentence="Reverse the motor, or one more external mesh.")
        if drive.source.kind == "crank":
            cure = Cure(sentence="Crank the other way, or one more external mesh.")
        yield found("wrong-hand", (), cure=cure, shaft_turn=turn, program_turn=shaft.turn)
    speed = train.shaft_speed_rpm(drive)
    if speed is not None and over(abs(speed / shaft.speed_rpm - 1), OFF_SPEED):
        wanted = train.ratio(drive) * speed / shaft.speed_rpm
        cure = Cure(sentence=f"Gear {wanted:.2f} to 1, or speed {wording.rpm(speed)} in the project.")
        yield found("off-speed", (), value=speed, limit=shaft.speed_rpm, cure=cure)


def _overload(drive: Drive, peak: Extreme) -> Iterator[Finding]:
    allowed = train.allowed_torque_nm(drive)
    if not over(peak.value, allowed, allowed):
        return
    wanted = ceil(train.ratio(drive) * peak.value / allowed * 10) / 10
    yield found(
        "overload",
        (),
        span=Arcs.span(peak.theta_deg, 0.0),
        value=peak.value,
        limit=allowed,
        cure=Cure(sentence=f"Gear {wanted:.1f} to 1, or a stronger {drive.source.kind}."),
        at_deg=peak.theta_deg,
    )
