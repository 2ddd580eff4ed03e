"""The motor or crank and the gear train: what reaches the master shaft, how fast, which way round.

Formulas: ratio i = Π driven/driver; speed out = speed in / i; torque out = torque in x i x Π η (any
textbook of machine elements). A motor's sense is as seen looking at the end of its output shaft; all
else is as seen from the top of the stack. Shafts on this side of the first bevel or worm are parallel to
the motor's and are seen as it is; that stage's `reverses` leads from there to the view from the top, so
which way the motor's shaft points matters only in a train without one.
"""

from __future__ import annotations

from math import prod

from shaftscore.model import CrankSource, Drive, MotorSource, Stage, Turn

REVERSING = ("external",)
"""Kinds of stage that always reverse; internal gears, belts and chains never do."""


ANGLED = ("bevel", "worm")
"""Kinds of stage whose shafts are not parallel: their records say whether they reverse."""


def reverses(stage: Stage) -> bool:
    """Return whether a stage turns its driven shaft against its driver."""
    return bool(stage.reverses_used) if stage.kind in ANGLED else stage.kind in REVERSING


def ratio(drive: Drive) -> float:
    """Return turns of the source by turn of the master shaft."""
    return prod(stage.driven_teeth / stage.driver_teeth for stage in drive.stages)


def efficiency(drive: Drive) -> float:
    """Return the efficiency of the whole train, 0 to 1."""
    return prod(stage.efficiency_used for stage in drive.stages)


def shaft_turn(drive: Drive) -> Turn:
    """Return the sense in which the drive turns the master shaft, seen from the top."""
    source = drive.source
    flips = sum(map(reverses, drive.stages))
    parallel = not any(stage.kind in ANGLED for stage in drive.stages)
    if isinstance(source, MotorSource) and parallel:
        flips += source.from_below
    return source.turn if flips % 2 == 0 else _other(source.turn)


def _other(turn: Turn) -> Turn:
    return "clockwise" if turn == "counterclockwise" else "counterclockwise"


def shaft_speed_rpm(drive: Drive) -> float | None:
    """Return the master shaft's speed at the motor's rated speed, rev/min; None for a crank."""
    return drive.source.rated_speed_rpm / ratio(drive) if isinstance(drive.source, MotorSource) else None


def source_torque_nm(drive: Drive) -> float:
    """Return the torque of the source: the motor's rated torque, or hand force x crank radius, N·m."""
    if isinstance(drive.source, CrankSource):
        return drive.source.hand_force_n * drive.source.radius_mm / 1000
    return drive.source.rated_torque_nm


def given_torque_nm(drive: Drive) -> float:
    """Return the torque that reaches the master shaft, N·m, before the reserve."""
    return source_torque_nm(drive) * ratio(drive) * efficiency(drive)


def allowed_torque_nm(drive: Drive) -> float:
    """Return the peak torque that the master shaft may ask for, N·m, reserve taken off."""
    return given_torque_nm(drive) / drive.torque_reserve


def starting_torque_nm(drive: Drive) -> float:
    """Return the torque that reaches the shaft from rest, N·m: the motor's stall torque where given."""
    source = drive.source
    own = source.stall_torque_nm if isinstance(source, MotorSource) else None
    return (own or source_torque_nm(drive)) * ratio(drive) * efficiency(drive)


def can_overrun(drive: Drive) -> bool:
    """Return whether springs can run the shaft on through the train: not through a worm under 0.5."""
    return not any(stage.kind == "worm" and stage.efficiency_used < 0.5 for stage in drive.stages)
