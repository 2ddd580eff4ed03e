"""Lift errors of a disc that sits off its axis, and of a roller or an output off its place.

Frame: any plan-view frame that turns with the disc; n is the contact normal, a unit vector from the disc
to the roller, and α the angle between n and the travel. A disc shifted by e lifts its roller by
e·n / cos α: rigid-body kinematics, first order; the second order, e² / (2 (R + Rr)), is below a
micrometre at a tenth of a millimetre. For a flat face n is the travel and cos α is 1. A shaft that bends
by u shifts its discs alike.
"""

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


def lift_error_mm(offset_mm: Reals, normal: Reals, cos_alpha: Values) -> Reals:
    """Compute the lift errors e·n / cos α of shifted discs, (...,) mm.

    offset_mm, normal: (..., 2), broadcast together; cos_alpha: one, or (...,) of the result. For m machines
    at k contacts pass (m, 1, 2), (k, 2) and (k,).
    """
    return np.asarray((offset_mm * normal).sum(axis=-1) / cos_alpha)


def worst_lift_error_mm(clearance_mm: Values, cos_alpha: Values) -> Reals:
    """Compute the greatest lift error c / cos α of a disc anywhere in its clearance, (...,) mm."""
    return np.asarray(clearance_mm / cos_alpha, dtype=np.float64)


def sprung_lift_error_mm(clearance_mm: Values, cos_alpha: Values) -> Reals:
    """Compute the lift error -c / cos α of a loose disc, pushed away by a sprung follower, (...,) mm."""
    return -worst_lift_error_mm(clearance_mm, cos_alpha)


def grooved_lift_error_mm(clearance_mm: Values, cos_alpha: Values, force_n: Values) -> Reals:
    """Compute the lift error of a loose disc whose groove drives both ways, (...,) mm.

    force_n: (...,) along the travel at the roller, positive where the disc pushes it outward; the disc then
    gives way inward (-c / cos α), and outward where it pulls; 0 without a force.
    """
    return -np.sign(force_n) * worst_lift_error_mm(clearance_mm, cos_alpha)


def station_angle_deg(station_mm: Values, roller_radius_mm: Values) -> Reals:
    """Compute the angle of a follower off its place across its line, (...,) degrees.

    roller_radius_mm: (...,) from the axis of the stack to the roller's centre.
    """
    return np.degrees(np.arctan2(station_mm, roller_radius_mm))
