"""Where discs sit off their axis, and what a follower off its place across its line does."""

from __future__ import annotations

import numpy as np

from shaftscore.built.arrays import Reals, Values


def drawn_offsets_mm(clearance_mm: Values, uniform_draws: Reals) -> Reals:
    """Compute offsets of discs, uniform in the circle of the clearance, (..., 2) mm.

    clearance_mm: one, or (...,). uniform_draws: (..., 2) in 0 to 1: share of the circle's area within, and
    share of the turn.
    """
    radius = clearance_mm * np.sqrt(uniform_draws[..., 0])
    angle = 2 * np.pi * uniform_draws[..., 1]
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def station_angle_deg(station_mm: Values, roller_radius_mm: Values) -> Reals:
    """Compute the angle of a follower off its place across its line, (...,) degrees.

    roller_radius_mm: (...,) from the axis of the stack to the roller's centre.
    """
    return np.degrees(np.arctan2(station_mm, roller_radius_mm))
