"""Reserve of a spring over friction: whether the follower comes down with its disc.

At the roller, on falls of a spring-closed follower and where it comes to rest after one. *Available* A is
the spring plus the external force towards the disc. *Required* B is static_ratio x friction plus m |a|
where the acceleration is towards the disc. The *reserve* is A / B; the follower *sticks* where A <= B.
Newton's second law along the travel. Accelerations are positive away from the disc.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.built.arrays import Flags, Reals, Values


@dataclass(frozen=True, eq=False)
class ReturnForces:
    """What brings a follower back and what holds it up, N: arrays (...,) of one shape."""

    available_n: Reals
    required_n: Reals

    @property
    def reserve(self) -> Reals:
        """A / B, (...,); `inf` where nothing holds the follower up and something brings it back."""
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.asarray(self.available_n / self.required_n)
        return np.where((self.required_n == 0) & (self.available_n <= 0), 0.0, ratio)

    @property
    def sticks(self) -> Flags:
        """Where the follower stays up, (...,): A <= B."""
        return np.asarray(self.available_n <= self.required_n)


def return_forces(
    spring_n: Values,
    external_n: Values,
    friction_n: Values,
    *,
    static_ratio: float,
    mass_kg: float,
    acceleration_m_s2: Values,
) -> ReturnForces:
    """Compute what brings a follower back and what holds it up, at angles or of drawn machines.

    spring_n, external_n (towards the disc), friction_n, acceleration_m_s2 (positive away from the disc,
    m/s²): numbers or arrays (...,) that broadcast. static_ratio: factor of friction at rest. mass_kg: kg.
    """
    required = static_ratio * friction_n + mass_kg * np.maximum(-np.asarray(acceleration_m_s2), 0.0)
    available, required = np.broadcast_arrays(np.asarray(spring_n + external_n, dtype=np.float64), required)
    return ReturnForces(available, required)


def spring_needed_n(
    external_n: Values,
    required_n: Values,
    force_reserve: float,
    spring_tolerance: float,
    tolerance_n: float = 0.0,
) -> Reals:
    """Compute the nominal spring force that restores the reserve, (...,) N.

    It gives A = force_reserve x B, and the weakest spring, by tolerance_n and a tolerance share of its force,
    still does not stick. external_n, required_n: (...,). Raises ValueError for a tolerance of 1 or more.
    """
    if not 0 <= spring_tolerance < 1:
        raise ValueError(f"a spring tolerance of {spring_tolerance} leaves no force")
    passed = np.asarray(required_n) * (1 + LIMIT) + LIMIT  # the edge itself sticks
    by_reserve = force_reserve * passed - external_n
    by_weakest = (passed - external_n + tolerance_n) / (1 - spring_tolerance)
    return np.maximum(np.maximum(by_reserve, by_weakest), 0.0)


def preload_that_does_n(needed_n: Reals, lift_mm: Reals, rate_n_per_mm: float) -> float:
    """Return the preload that gives a needed force at every lift with the present rate, N.

    needed_n, lift_mm: (n,).
    """
    return float(max(np.max(needed_n - rate_n_per_mm * lift_mm), 0.0))


def rate_that_does_n_per_mm(needed_n: Reals, lift_mm: Reals, preload_n: float) -> float:
    """Return the rate that gives a needed force at every lift with the present preload, N/mm.

    needed_n, lift_mm: (n,). `inf` where the preload alone is too weak at the lift 0: no rate does it.
    """
    short = needed_n - preload_n
    if np.any((short > 0) & (lift_mm <= 0)):
        return np.inf
    rising = lift_mm > 0
    return float(np.max(short[rising] / lift_mm[rising], initial=0.0))
