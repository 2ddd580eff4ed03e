"""Intermittent stages: how far the driven shaft has turned, by the angle of the driving shaft.

A stage moves the driven shaft on by one step in each turn of the driving shaft and holds it for the rest
of that turn. Both angles grow in the sense in which their own shaft runs; the driving angle counts from
the start of the step.

Geneva wheel of n slots, crank radius over centre distance lambda = sin(pi / n) (the pin enters along the
slot), crank angle t from the line of centres, e = +1 for the external wheel and -1 for the inner one:

    phi     = atan2(lambda sin t, 1 - e lambda cos t)                                        (1)
    D       = 1 - 2 e lambda cos t + lambda^2
    phi'    = lambda (cos t - e lambda) / D                                                  (2)
    phi''   = -lambda (1 - lambda^2) sin t / D^2                                             (3)
    phi'''  = -lambda (1 - lambda^2) (D cos t - 4 e lambda sin^2 t) / D^3                    (4)
    t       = asin(sin phi / lambda) - e phi                                                 (5)

in motion for |t| <= 90 deg - e 180 deg / n. (1) is in every text on intermittent mechanisms; (2) to (4) are
its derivatives, (5) its inverse, since lambda sin(t + e phi) = sin phi.

Mutilated gear: `counted` teeth of a full driver of `teeth`, and a driven wheel of `driven_teeth`: in mesh
the ratio teeth / driven_teeth, over the driver's angle of the counted teeth; at rest else. The entry of
the first tooth is taken as instant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

_TURN = 360.0


class IntermittentStage(Protocol):
    """One stage: a step of the driven shaft in each turn of the driving one."""

    @property
    def step_deg(self) -> float:
        """How far the driven shaft turns in one step, degrees."""

    @property
    def engaged_deg(self) -> float:
        """The driving shaft's angle in which the driven one moves, degrees, under 360."""

    @property
    def corners(self) -> bool:
        """Whether the step starts and ends with a jump of speed."""

    def course(self, driver_deg: Floats) -> Floats:
        """Return the driven angle from the step's start, degrees, and its derivatives: (4, n).

        driver_deg: (n,) from the step's start on; before it the driven shaft is at 0, after the step at
        `step_deg`. Row k is the kth derivative by the driver's angle in radians, the angle itself in
        degrees in row 0 and in radians in the others: row 1 is the ratio of the speeds.
        """

    def driver_at(self, driven_deg: Floats) -> Floats:
        """Return the driver's angle from the step's start at which the driven one is reached, degrees (n,).

        driven_deg: (n,) from 0 to `step_deg`; what lies outside counts as the nearer end.
        """


@dataclass(frozen=True)
class GenevaStage:
    """A Geneva wheel with one pin: slots, at least 3, and whether it is an inner wheel."""

    slots: int
    inner: bool = False

    @property
    def step_deg(self) -> float:
        """One slot, degrees."""
        return _TURN / self.slots

    @property
    def engaged_deg(self) -> float:
        """180 deg less one slot; of an inner wheel, more one slot."""
        return 180.0 - self._side * _TURN / self.slots

    @property
    def corners(self) -> bool:
        """The pin enters along the slot: never."""
        return False

    @property
    def crank_share(self) -> float:
        """Crank radius over centre distance: lambda = sin(180 deg / n)."""
        return math.sin(math.pi / self.slots)

    @property
    def _side(self) -> float:
        return -1.0 if self.inner else 1.0

    def course(self, driver_deg: Floats) -> Floats:
        """Return the wheel's angle and derivatives by (1) to (4): (4, n), n crank angles from the entry."""
        half = self.engaged_deg / 2
        inside = (driver_deg >= 0.0) & (driver_deg <= self.engaged_deg)
        t = np.radians(np.clip(driver_deg - half, -half, half))
        share, side, sin, cos = self.crank_share, self._side, np.sin(t), np.cos(t)
        d = 1.0 - 2.0 * side * share * cos + share * share
        still = 1.0 - share * share
        turned = np.degrees(np.arctan2(share * sin, 1.0 - side * share * cos)) + self.step_deg / 2
        turned = np.where(driver_deg <= 0.0, 0.0, np.where(driver_deg >= 2 * half, self.step_deg, turned))
        ratio = share * (cos - side * share) / d
        second = -share * still * sin / d**2
        third = -share * still * (d * cos - 4.0 * side * share * sin * sin) / d**3
        return np.array([turned, *(np.where(inside, rate, 0.0) for rate in (ratio, second, third))])

    def driver_at(self, driven_deg: Floats) -> Floats:
        """Return the crank's angle from the entry by (5), degrees (n,), at the wheel's angles (n,)."""
        half = self.step_deg / 2
        phi = np.radians(np.clip(driven_deg - half, -half, half))
        t = np.arcsin(np.clip(np.sin(phi) / self.crank_share, -1.0, 1.0)) - self._side * phi
        found: Floats = np.clip(np.degrees(t) + self.engaged_deg / 2, 0.0, self.engaged_deg)
        return found


@dataclass(frozen=True)
class CountedStage:
    """A mutilated gear: counted teeth of a full driver of `teeth`, on a wheel of `driven_teeth`."""

    teeth: int
    counted: int
    driven_teeth: int

    @property
    def step_deg(self) -> float:
        """The counted teeth on the driven wheel, degrees."""
        return _TURN * self.counted / self.driven_teeth

    @property
    def engaged_deg(self) -> float:
        """The counted teeth on the driver, degrees."""
        return _TURN * self.counted / self.teeth

    @property
    def corners(self) -> bool:
        """The wheel is carried along at once: always."""
        return True

    def course(self, driver_deg: Floats) -> Floats:
        """Return the wheel's angle and derivatives: (4, n), n driver's angles from the first tooth on."""
        ratio = self.teeth / self.driven_teeth
        inside = (driver_deg >= 0.0) & (driver_deg < self.engaged_deg)
        turned = np.clip(driver_deg * ratio, 0.0, self.step_deg)
        return np.array([turned, np.where(inside, ratio, 0.0), *np.zeros((2, len(driver_deg)))])

    def driver_at(self, driven_deg: Floats) -> Floats:
        """Return the driver's angle from the first tooth on, degrees (n,), at the wheel's angles (n,)."""
        found: Floats = np.clip(driven_deg, 0.0, self.step_deg) * (self.driven_teeth / self.teeth)
        return found
