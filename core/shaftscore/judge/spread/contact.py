"""Lift errors of a disc that sits off its axis, at each place where its follower touches it.

An offset e of the disc lifts its roller by e·n / cos α, n the contact normal in the disc's frame: another
error at every contact, so riders share the offset and not the error. That is rigid-body kinematics of first
order; the second, e² / (2 (R + Rr)), is below a micrometre at a tenth of a millimetre. Over a dwell the
contact runs along an arc of the disc; both extremes on it count. Angles are of the lane's stack, degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import cos, radians, sin
from typing import Literal

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.built.arrays import Flags, Reals
from shaftscore.kinematics.profiles import Profile

STEP_DEG = 1.0
"""Spacing at which contacts are known; between them they are read linearly."""

LEAST_COS = 0.1
"""Least cosine of a pressure angle that counts: such a follower has locked long before."""

SeatLaw = Literal["anywhere", "pushed", "by-force"]
"""Where a disc sits: anywhere in its clearance (tightened there), pushed away by its sprung follower, or by
the sign of the force in its groove."""


@dataclass(frozen=True, eq=False)
class ContactTable:
    """Contacts of one follower over the turn of its stack, at m even angles from 0 to 360 degrees.

    normal: (m,) contact normals over cos α, as complex numbers, in the disc's frame. inverse_cos: (m,).
    radius_mm: least distance of the roller's centre from the axis. is_flat: a flat face, which a place across
    its line does not move. direction: +1 where the stack turns counterclockwise, else -1.
    """

    normal: np.typing.NDArray[np.complex128]
    inverse_cos: Reals
    radius_mm: float
    is_flat: bool
    direction: int

    @staticmethod
    def of(profile: Profile) -> ContactTable:
        """Read the contacts of a profile."""
        theta = np.arange(0.0, TURN + STEP_DEG / 2, STEP_DEG)
        at = profile.at(wrap(theta))
        inverse = 1.0 / np.maximum(np.abs(np.cos(np.radians(at.pressure_deg))), LEAST_COS)
        is_flat = bool(profile.model.is_flat)
        radius = float(np.min(np.abs(at.pitch)))
        return ContactTable(at.normal * inverse, inverse, radius, is_flat, profile.direction)

    def _between(self, theta_deg: float) -> tuple[int, float]:
        place = wrap(theta_deg) / STEP_DEG
        first = min(int(place), len(self.inverse_cos) - 2)
        return first, place - first

    def normal_at(self, theta_deg: float) -> complex:
        """Return the contact normal over cos α at an angle, degrees."""
        first, part = self._between(theta_deg)
        return complex(self.normal[first] * (1 - part) + self.normal[first + 1] * part)

    def inverse_at(self, theta_deg: float) -> float:
        """Return 1 / cos α at an angle, degrees."""
        first, part = self._between(theta_deg)
        return float(self.inverse_cos[first] * (1 - part) + self.inverse_cos[first + 1] * part)


@dataclass(frozen=True, eq=False)
class SeatErrors:
    """Lift errors of one lane from its disc's seat, for n machines.

    law: where its disc sits. x_mm, y_mm: (n,) offsets of the disc in its own frame ("anywhere"). radius_mm:
    (n,) by how much it may sit off ("pushed", "by-force"). swell_mm: (n,) an error taken at its worst at
    every contact, for the worst case. push: (m,) signs of the force outward at even angles over the turn
    ("by-force").
    """

    table: ContactTable
    law: SeatLaw
    x_mm: Reals
    y_mm: Reals
    radius_mm: Reals
    swell_mm: Reals
    push: Reals | None = None

    @property
    def digits(self) -> tuple[object, ...]:
        """Every number of them, those of the table apart."""
        each = (self.x_mm, self.y_mm, self.radius_mm, self.swell_mm)
        push = None if self.push is None else self.push.tobytes()
        return (self.law, *(np.asarray(one).tobytes() for one in each), push)

    def taken(self, which: np.typing.NDArray[np.intp]) -> SeatErrors:
        """Return those of some machines; which: (k,) their numbers."""
        parts = {
            name: getattr(self, name)[which] if np.ndim(getattr(self, name)) else getattr(self, name)
            for name in ("x_mm", "y_mm", "radius_mm", "swell_mm")
        }
        return replace(self, **parts)

    def lift_mm(self, theta_deg: float) -> Reals:
        """Compute the lift errors at one contact, (n,) mm; theta_deg: angle of the stack."""
        inverse = self.table.inverse_at(theta_deg)
        if self.law == "anywhere":
            normal = self.table.normal_at(theta_deg)
            moved = self.x_mm * normal.real + self.y_mm * normal.imag
            return np.asarray(moved + self.swell_mm * inverse)
        low, high = self._push(theta_deg, theta_deg)
        return np.asarray(-(low + high) / 2 * self.radius_mm * inverse + self.swell_mm * inverse)

    def extremes_mm(self, start_deg: float, end_deg: float) -> tuple[Reals, Reals]:
        """Compute the least and the greatest lift error over a dwell, (n,) mm each; angles in degrees."""
        if end_deg <= start_deg:
            both = self.lift_mm(start_deg)
            return both, both
        inverse = self.table.inverse_at((start_deg + end_deg) / 2)
        swell = np.asarray(self.swell_mm * inverse)
        if self.law != "anywhere":
            inward, outward = self._push(start_deg, end_deg)
            reach = self.radius_mm * inverse
            return np.asarray(swell - outward * reach), np.asarray(swell - inward * reach)
        first, last = self.lift_mm(start_deg), self.lift_mm(end_deg)
        reach = self._reach_mm * inverse
        low = np.where(self._on_arc(start_deg, end_deg, -1.0), swell - reach, np.minimum(first, last))
        high = np.where(self._on_arc(start_deg, end_deg, 1.0), swell + reach, np.maximum(first, last))
        return low, high

    @cached_property
    def _reach_mm(self) -> Reals:
        return np.hypot(self.x_mm, self.y_mm)

    def _on_arc(self, start_deg: float, end_deg: float, sign: float) -> Flags:
        """Return where the offset (times the sign) points at some contact of a dwell, (n,).

        On a dwell the normal only turns, against the stack, in the disc's frame.
        """
        length = end_deg - start_deg
        if length >= TURN:
            return np.ones(np.shape(self.x_mm), dtype=bool)
        first = self.table.normal_at(start_deg)
        turn = radians(-self.table.direction * length)
        last = first * complex(cos(turn), sin(turn))
        way = sign * -self.table.direction
        after = way * (first.real * self.y_mm - first.imag * self.x_mm)
        before = way * (self.x_mm * last.imag - self.y_mm * last.real)
        inside = (after >= 0) & (before >= 0)
        if length <= TURN / 2:
            return np.asarray(inside)
        return np.asarray((after >= 0) | (before >= 0))

    def _push(self, start_deg: float, end_deg: float) -> tuple[float, float]:
        """Return the least and greatest sign of the outward force between two angles; 1 for a spring."""
        if self.push is None:
            return 1.0, 1.0
        count = len(self.push)
        first, last = round(start_deg * count / TURN), round(end_deg * count / TURN)
        values = self.push[np.arange(first, last + 1) % count]
        return float(values.min()), float(values.max())
