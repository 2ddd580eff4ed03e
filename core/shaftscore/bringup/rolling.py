"""How long an item takes down a slope: a ball that rolls, or a block that slides, from rest.

φ is the slope, b the arm of rolling resistance (a length: the resisting moment is b times the force on the
slope), r the radius, μ the friction between item and slope.

    (1) a solid ball rolls with a = (5/7) g (sin φ - (b / r) cos φ)
    (2) it rolls without sliding where μ >= (2/7) tan φ
    (3) otherwise it slides as it turns, and its middle goes with a = g (sin φ - μ cos φ)
    (4) t = √(2 s / a) over a way s

(1) without resistance, and (2), as in texts of mechanics (miniphysics.com, "More about rolling motion"); (3)
and (4) as in H. C. Verma, Concepts of Physics, vol. 1, chapter 6. Arms of rolling resistance for small
printed channels are published nowhere that was found: try the channel, and take the slowest of ten runs.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import cos, inf, radians, sin, sqrt, tan

GRAVITY = 9.80665
"""Standard acceleration of fall, m/s²."""

BALL_SHARE = 5 / 7
"""A solid ball that rolls has 7/5 of its mass to accelerate."""


@dataclass(frozen=True)
class SlopeRun:
    """A way down a slope.

    rolls: whether the ball rolls without sliding. acceleration_m_s2: along the slope, 0 or less where it does
    not start by itself. time_s: from rest to the end, inf where it does not start. least_friction: with
    which it rolls.
    """

    rolls: bool
    acceleration_m_s2: float
    time_s: float
    least_friction: float


@dataclass(frozen=True)
class RollingItem:
    """A kind of item that rolls: radius_mm and arm_mm of rolling resistance in mm, friction a factor."""

    radius_mm: float = 6.0
    arm_mm: float = 0.2
    friction: float = 0.3


def travel_range_s(slope_deg: float, length_mm: float, items: Collection[RollingItem]) -> tuple[float, float]:
    """Return the shortest and the longest time of some kinds of items down one slope, s; inf if one rests.

    slope_deg: of the channel. length_mm: of the way. Raises ValueError for a slope, length or radius out of
    range, and without an item.
    """
    runs = [
        ball_run(slope_deg, length_mm, one.radius_mm, arm_mm=one.arm_mm, friction=one.friction)
        for one in items
    ]
    times = [run.time_s for run in runs]
    return min(times), max(times)


def ball_run(
    slope_deg: float, length_mm: float, radius_mm: float, *, arm_mm: float = 0.0, friction: float = 0.3
) -> SlopeRun:
    """Return how a solid ball goes down a slope from rest.

    slope_deg: of the channel, 0 to 90. length_mm: of the way. arm_mm: of rolling resistance. friction:
    between ball and channel, a factor. Raises ValueError for a slope, length, radius or arm out of range.
    """
    _refuse(slope_deg, length_mm, radius_mm)
    if not arm_mm >= 0:
        raise ValueError(f"the arm must be at least 0 mm, got {arm_mm:g} mm")
    slope = radians(slope_deg)
    least = 2 / 7 * tan(slope)  # (2)
    rolls = friction >= least
    if rolls:
        acceleration = BALL_SHARE * GRAVITY * (sin(slope) - arm_mm / radius_mm * cos(slope))  # (1)
    else:
        acceleration = GRAVITY * (sin(slope) - friction * cos(slope))  # (3)
    return SlopeRun(rolls, acceleration, _time_s(length_mm, acceleration), least)


def block_run(slope_deg: float, length_mm: float, friction: float) -> SlopeRun:
    """Return how a block slides down a slope from rest; friction: a factor.

    Raises ValueError for a slope or length out of range.
    """
    _refuse(slope_deg, length_mm, 1.0)
    slope = radians(slope_deg)
    acceleration = GRAVITY * (sin(slope) - friction * cos(slope))
    return SlopeRun(False, acceleration, _time_s(length_mm, acceleration), inf)


def _refuse(slope_deg: float, length_mm: float, radius_mm: float) -> None:
    if not 0 < slope_deg < 90:
        raise ValueError(f"the slope must be between 0° and 90°, got {slope_deg:g}°")
    if not length_mm > 0:
        raise ValueError(f"the length must be over 0 mm, got {length_mm:g} mm")
    if not radius_mm > 0:
        raise ValueError(f"the radius must be over 0 mm, got {radius_mm:g} mm")


def _time_s(length_mm: float, acceleration_m_s2: float) -> float:
    return sqrt(2 * length_mm / 1000 / acceleration_m_s2) if acceleration_m_s2 > 0 else inf  # (4)
