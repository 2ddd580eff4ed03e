"""Followers that move along a straight line: a roller beside or on the station line, and a flat face.

Looking outward along the station line (+x), a positive offset puts the line of travel on the clockwise
side, which is -y, whatever the turn. The roller's centre stands at
(sqrt(Rp² - e²) + lift) - i e with Rp = base radius + roller radius (VDI 2143 draws the same figure).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from shaftscore.kinematics.followers.model import FollowerModel, Points, Reals
from shaftscore.model.lanes import Follower, TranslatingFlat, TranslatingRoller


@dataclass(frozen=True)
class TranslatingRollerModel:
    """A roller of `roller_radius_mm` on a line of travel at `offset_mm`."""

    base_radius_mm: float
    roller_radius_mm: float
    offset_mm: float = 0.0

    kind = "translating-roller"
    is_flat = False

    def __post_init__(self) -> None:
        if self.prime_radius_mm < abs(self.offset_mm):
            raise ValueError(
                f"offset_mm {self.offset_mm:g} lies beyond the prime circle: base radius and roller "
                f"radius make {self.prime_radius_mm:g} mm"
            )

    @property
    def prime_radius_mm(self) -> float:
        """Distance of the roller's centre from the axis at lift 0, mm."""
        return self.base_radius_mm + self.roller_radius_mm

    def centre(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.centre`: (n,) -> (4, n)."""
        along = sqrt(self.prime_radius_mm**2 - self.offset_mm**2)
        rows = np.zeros((4, *np.shape(lift_mm)), np.complex128)
        rows[0] = along + lift_mm - 1j * self.offset_mm
        rows[1] = 1.0
        return rows

    def travel(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.travel`, (n,) -> (n,): outward, along the station line."""
        return np.ones(np.shape(lift_mm), np.complex128)


@dataclass(frozen=True)
class TranslatingFlatModel:
    """A flat face square to the station line, its middle on that line, `face_width_mm` wide."""

    base_radius_mm: float
    face_width_mm: float

    kind = "translating-flat"
    is_flat = True
    roller_radius_mm = 0.0

    def centre(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.centre`, (n,) -> (4, n): the middle of the face."""
        rows = np.zeros((4, *np.shape(lift_mm)), np.complex128)
        rows[0] = self.base_radius_mm + lift_mm
        rows[1] = 1.0
        return rows

    def travel(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.travel`, (n,) -> (n,): outward, along the station line."""
        return np.ones(np.shape(lift_mm), np.complex128)


def translating_roller(follower: Follower, base_radius_mm: float) -> FollowerModel:
    """Make the model of a translating roller; an offset "auto" must have been decided before.

    Raises ValueError for an undecided offset or one beyond the prime circle.
    """
    assert isinstance(follower, TranslatingRoller)
    if follower.offset_mm == "auto":
        raise ValueError('offset_mm "auto" has not been decided: give the offset of the sizing')
    return TranslatingRollerModel(base_radius_mm, follower.roller_radius_mm, follower.offset_mm)


def roller_range(follower: Follower) -> tuple[float, float]:
    """Return the base radii at which the line of travel meets the prime circle, mm."""
    assert isinstance(follower, TranslatingRoller)
    offset = 0.0 if follower.offset_mm == "auto" else abs(follower.offset_mm)
    return max(0.0, offset - follower.roller_radius_mm), np.inf


def translating_flat(follower: Follower, base_radius_mm: float) -> FollowerModel:
    """Make the model of a translating flat face."""
    assert isinstance(follower, TranslatingFlat)
    return TranslatingFlatModel(base_radius_mm, follower.face_width_mm)


def flat_range(follower: Follower) -> tuple[float, float]:  # noqa: ARG001 - one signature for all kinds
    """Return the base radii over which a flat face can stand: any."""
    return 0.0, np.inf
