"""The lift at which a follower touches a rim made of straight edges.

A roller of radius r whose centre moves along its follower's path touches where the distance from its
centre to the nearest edge is r: found by Newton's method along the path from the program's lift, at
every angle at once. A flat face touches the corner that reaches farthest along its travel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.followers import FollowerModel
from shaftscore.kinematics.profiles import DiscPlacement
from shaftscore.make.proof.rim import Points, ReadRim

Reals = npt.NDArray[np.float64]
"""Real numbers, any shape."""

REACH_MM = 1.0
"""A contact is looked for this far from the program's lift on either side."""

BLOCK = 256
"""Angles taken together: their roller is near the same edges, and few blocks take little overhead.

A disc of 334 edges at 18,000 angles: 0.10 s of processor time with 48, 0.03 s with 256, 0.02 s with 768.
"""

ROUNDS = 30
"""Most steps of Newton's method; a smooth rim takes three."""

FOUND_MM = 1e-7
"""A contact is found when gap or overlap is smaller than this."""

LEAST_SLOPE = 0.02
"""Sine of the least angle between the path and the edge at which a contact can still be found."""


@dataclass(frozen=True)
class Running:
    """A follower that runs on a rim.

    radius_mm: of the roller as it meets this rim (with half a groove's clearance, without what a
    printer's correction adds to the contour). outward: True on a rim whose material lies towards the
    axis, False on the outer flank of a groove.
    """

    model: FollowerModel
    placement: DiscPlacement
    radius_mm: float
    outward: bool = True


def contact_lift(rim: ReadRim, running: Running, theta_deg: Reals, lift_mm: Reals) -> Reals:
    """Find the lifts at which the follower touches, (n,) mm; NaN where it touches nothing in reach.

    theta_deg: (n,) angles of the stack. lift_mm: (n,) the program's lifts, from which to look.
    """
    if running.model.is_flat:
        return _flat(rim, running, theta_deg)
    blocks = [slice(first, first + BLOCK) for first in range(0, len(theta_deg), BLOCK)]
    turn = running.placement.turn(theta_deg)
    return np.concatenate([_roller(rim, running, turn[block], lift_mm[block]) for block in blocks])


def _flat(rim: ReadRim, running: Running, theta_deg: Reals) -> Reals:
    turn = running.placement.turn(theta_deg)
    farthest = np.array([(rim.start * np.conj(outward)).real.max() for outward in turn])
    return farthest + running.radius_mm - running.model.base_radius_mm


def _roller(rim: ReadRim, running: Running, turn: Points, lift_mm: Reals) -> Reals:
    """Find the contacts of a block of neighbouring angles."""
    near = _near(rim, running.model.centre(lift_mm)[0] * turn, abs(running.radius_mm) + REACH_MM)
    if len(near.start) == 0:
        return np.full(len(turn), np.nan)
    lift, gap = lift_mm.astype(float), np.full(len(turn), np.nan)
    for _ in range(ROUNDS):
        place, slope = running.model.centre(lift)[:2] * turn
        gap, away = _gaps(near, place, running.radius_mm)
        rate = (slope * np.conj(away)).real
        rate = np.where(np.abs(rate) < LEAST_SLOPE, np.nan, rate)
        lift = np.clip(lift - gap / rate, lift_mm - REACH_MM, lift_mm + REACH_MM)
        if np.all((np.abs(gap) < FOUND_MM) | np.isnan(rate)):
            break
    return np.where(np.abs(gap) < FOUND_MM, lift, np.nan)


def _near(rim: ReadRim, places: Points, reach_mm: float) -> ReadRim:
    """Keep the edges whose bounding box comes within reach of the places' bounding box."""
    kept = np.full(len(rim.start), True)
    for start, end, place in (
        (rim.start.real, rim.end.real, places.real),
        (rim.start.imag, rim.end.imag, places.imag),
    ):
        kept &= np.maximum(start, end) >= place.min() - reach_mm
        kept &= np.minimum(start, end) <= place.max() + reach_mm
    return ReadRim(rim.start[kept], rim.end[kept], rim.height_mm)


def _gaps(rim: ReadRim, place: Points, radius_mm: float) -> tuple[Reals, Points]:
    """Measure the gap between rollers and rim, and the direction in which it grows.

    place: (n,) centres. Returns (n,) gaps in mm (negative: they overlap) and (n,) unit vectors.
    """
    along = rim.end - rim.start
    from_start = place[:, None] - rim.start
    share = np.clip((from_start * np.conj(along)).real / np.abs(along) ** 2, 0, 1)
    apart = from_start - share * along
    nearest = np.abs(apart).argmin(1)
    apart = apart[np.arange(len(place)), nearest]
    normal = rim.normal[nearest]
    side = np.where((apart * np.conj(normal)).real < 0, -1.0, 1.0)
    distance = np.abs(apart)
    with np.errstate(invalid="ignore"):  # a roller that has lost the rim is at no place (NaN) and stays there
        away = np.where(distance < FOUND_MM, normal, side * apart / np.maximum(distance, FOUND_MM))
    return side * distance - radius_mm, away
