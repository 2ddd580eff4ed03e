"""A roller on an arm that swings about a fixed pivot.

At lift 0 the roller's centre stands on the station line at Rp = base radius + roller radius; the pivot
stands at `pivot_distance_mm` from the axis on the named side (looking outward, clockwise is -y), so
that axis, pivot and centre make a triangle. Lift is the arc of the roller's centre about the pivot,
lift / arm the arm's angle in radians; the arm swings outward, away from the axis, as lift grows.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import acos

import numpy as np

from shaftscore.kinematics.followers.model import FollowerModel, Points, Reals
from shaftscore.model.lanes import Follower, SwingingRoller


@dataclass(frozen=True)
class SwingingRollerModel:
    """A roller on an arm; side: +1 with the pivot on the counterclockwise side, -1 on the clockwise."""

    base_radius_mm: float
    roller_radius_mm: float
    arm_mm: float
    pivot_distance_mm: float
    side: int

    kind = "swinging-roller"
    is_flat = False

    def __post_init__(self) -> None:
        low, high = _closing(self.arm_mm, self.pivot_distance_mm, self.roller_radius_mm)
        if not low < self.base_radius_mm < high:
            raise ValueError(
                f"base radius {self.base_radius_mm:g} mm cannot close the triangle of arm_mm "
                f"{self.arm_mm:g} and pivot_distance_mm {self.pivot_distance_mm:g}: "
                f"needs {low:g} to {high:g}"
            )

    @property
    def prime_radius_mm(self) -> float:
        """Distance of the roller's centre from the axis at lift 0, mm."""
        return self.base_radius_mm + self.roller_radius_mm

    @cached_property
    def pivot(self) -> complex:
        """The pivot in the station frame, mm."""
        prime, reach = self.prime_radius_mm, self.pivot_distance_mm
        angle = acos((reach**2 + prime**2 - self.arm_mm**2) / (2 * reach * prime))
        return complex(reach * np.exp(1j * self.side * angle))

    @property
    def _curl(self) -> complex:
        """Turn of the arm per mm of lift, as the factor of a derivative."""
        return 1j * self.side / self.arm_mm

    def centre(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.centre`: (n,) -> (4, n)."""
        arm = (self.prime_radius_mm - self.pivot) * np.exp(self._curl * lift_mm)
        return np.stack([self.pivot + arm, self._curl * arm, self._curl**2 * arm, self._curl**3 * arm])

    def travel(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.travel`, (n,) -> (n,): square to the arm."""
        arm = (self.prime_radius_mm - self.pivot) * np.exp(self._curl * lift_mm)
        return np.asarray(self._curl * arm)


def swinging_roller(follower: Follower, base_radius_mm: float) -> FollowerModel:
    """Make the model of a swinging roller; raises ValueError if its triangle cannot close."""
    assert isinstance(follower, SwingingRoller)
    return SwingingRollerModel(
        base_radius_mm,
        follower.roller_radius_mm,
        follower.arm_mm,
        follower.pivot_distance_mm,
        +1 if follower.pivot_side == "counterclockwise" else -1,
    )


def arm_range(follower: Follower) -> tuple[float, float]:
    """Return the base radii between which the triangle closes, mm, both left out."""
    assert isinstance(follower, SwingingRoller)
    return _closing(follower.arm_mm, follower.pivot_distance_mm, follower.roller_radius_mm)


def _closing(arm_mm: float, pivot_distance_mm: float, roller_radius_mm: float) -> tuple[float, float]:
    low, high = abs(pivot_distance_mm - arm_mm), pivot_distance_mm + arm_mm
    return max(0.0, low - roller_radius_mm), high - roller_radius_mm
