"""Efficiency of gear stages: defaults by kind, and a worm from its lead angle.

Worm: η = (cos α - μ tan λ) / (cos α + μ cot λ), driven back (cos α - μ cot λ) / (cos α + μ tan λ), with
the lead angle λ, the pressure angle α in the normal section and the friction μ. Source: U. C. Jindal,
Machine Design, 2010, example 28-4 (as in other machine design texts). Defaults: common practice, no source.
"""

from __future__ import annotations

from math import cos, radians, tan

DEFAULT_EFFICIENCY = {
    "external": 0.95,
    "internal": 0.95,
    "belt": 0.95,
    "chain": 0.95,
    "bevel": 0.90,
    "worm": 0.4,
}
"""Efficiency where none is given; that of a worm only where its lead angle is not given either."""

WORM_FRICTION = 0.15
"""Friction of a worm where none is given."""

PRESSURE_ANGLE_DEG = 20.0
"""Pressure angle of the basic rack of ISO 53."""


def worm_efficiency(
    lead_angle_deg: float, friction: float = WORM_FRICTION, pressure_angle_deg: float = PRESSURE_ANGLE_DEG
) -> float:
    """Return the efficiency of a worm that drives its wheel, 0 to 1; friction is a factor.

    0 where the worm locks (a lead near 90° with friction). Raises ValueError for a lead angle outside of 0
    to 90°.
    """
    lead, grip = _lead(lead_angle_deg), cos(radians(pressure_angle_deg))
    return max((grip - friction * tan(lead)) / (grip + friction / tan(lead)), 0.0)


def back_driving_efficiency(
    lead_angle_deg: float, friction: float = WORM_FRICTION, pressure_angle_deg: float = PRESSURE_ANGLE_DEG
) -> float:
    """Return the efficiency of a worm that its wheel drives, 0 to 1; 0 where it is self-locking.

    friction: a factor. Raises ValueError for a lead angle outside of 0 to 90°.
    """
    lead, grip = _lead(lead_angle_deg), cos(radians(pressure_angle_deg))
    return max((grip - friction / tan(lead)) / (grip + friction * tan(lead)), 0.0)


def _lead(lead_angle_deg: float) -> float:
    if not 0 < lead_angle_deg < 90:
        raise ValueError(f"a lead angle of {lead_angle_deg}° is not between 0 and 90°")
    return radians(lead_angle_deg)
