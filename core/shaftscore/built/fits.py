"""Play of a disc on what turns it, from the clearance.

The *clearance* c is the gap to each side. The *play* of one joint is ± delta: the greatest angle by which
the disc can turn about its counterpart either way, over all shifts that the clearance allows; `inf` where
the part turns freely. A *mate* is the pair of shapes that turns the disc.

Dogs and pins: rigid-body geometry, small angles (arc over radius). Regular n-sided bore of width s across
flats: a corner of the rod at the radius s / (2 cos(180°/n)) meets the flat of the bore at s/2 + c when
cos(180°/n - delta) = cos(180°/n) (1 + 2c/s); a shift does not help, because by the n-fold symmetry and
convexity the mean of all turned positions, which is centred, fits too. D bore of radius R with its flat
at the height h: the corner at the angle acos(h/R) meets the flat at h + c, and the disc may shift by c
away from it, so delta = acos(h/R) - acos((h + 2c)/R).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from shaftscore.built.arrays import Reals, Values


class Mate(Protocol):
    """What turns a disc: its play for a clearance, and the clearance for a play."""

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute ± play (...,), degrees; `inf` where the part turns freely, 0 for an interference."""
        ...

    def clearance_mm(self, play_deg: float) -> float:
        """Compute the clearance that gives a play. Raises ValueError where none does."""
        ...


@dataclass(frozen=True)
class DogMate:
    """Dogs in pockets on a circle of a radius, mm."""

    count: int
    radius_mm: float

    @property
    def _turn_per_mm(self) -> float:
        """Play for each mm of clearance, degrees: one dog alone lets the disc also shift aside."""
        return float(np.degrees((2 if self.count == 1 else 1) / self.radius_mm))

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute ± c/r, or 2c/r of one dog alone, (...,) degrees."""
        return _open(clearance_mm) * self._turn_per_mm

    def clearance_mm(self, play_deg: float) -> float:
        """Compute the clearance that gives a play, mm. Raises ValueError for a negative play."""
        return _positive(play_deg) / self._turn_per_mm


@dataclass(frozen=True)
class PinMate:
    """Two or more pins through every part, on a circle of a radius, mm."""

    radius_mm: float

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute ± c/r, (...,) degrees."""
        return np.degrees(_open(clearance_mm) / self.radius_mm)

    def clearance_mm(self, play_deg: float) -> float:
        """Compute the clearance that gives a play, mm. Raises ValueError for a negative play."""
        return float(np.radians(_positive(play_deg)) * self.radius_mm)


@dataclass(frozen=True)
class PolygonMate:
    """A regular bore of n sides (hexagon 6, square 4) on a rod of a nominal width across flats, mm."""

    sides: int
    across_mm: float

    @property
    def free_deg(self) -> float:
        """Play at which a corner passes the middle of a flat: beyond it the part turns freely."""
        return 180 / self.sides

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute ± play (...,), degrees; `inf` where the part turns freely."""
        corner = np.pi / self.sides
        reach = np.cos(corner) * (1 + 2 * _open(clearance_mm) / self.across_mm)
        return _or_free(reach, corner - np.arccos(np.minimum(reach, 1.0)))

    def clearance_mm(self, play_deg: float) -> float:
        """Compute the clearance that gives a play, mm.

        Raises ValueError for a negative play, and for one at which the part turns freely.
        """
        _bounded(play_deg, self.free_deg)
        corner = np.pi / self.sides
        return float(self.across_mm / 2 * (np.cos(corner - np.radians(play_deg)) / np.cos(corner) - 1))


@dataclass(frozen=True)
class FlatMate:
    """A D bore on a round rod with one flat; flat_mm is measured from the flat to the round side, mm."""

    across_mm: float
    flat_mm: float

    @property
    def _radius_mm(self) -> float:
        return self.across_mm / 2

    @property
    def _height_mm(self) -> float:
        """From the axis to the flat."""
        return self.flat_mm - self._radius_mm

    @property
    def free_deg(self) -> float:
        """Play at which the corner passes the middle of the flat: beyond it the part turns freely."""
        return float(np.degrees(np.arccos(self._height_mm / self._radius_mm)))

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute ± play (...,), degrees; `inf` where the part turns freely."""
        reach = (self._height_mm + 2 * _open(clearance_mm)) / self._radius_mm
        return _or_free(reach, np.radians(self.free_deg) - np.arccos(np.minimum(reach, 1.0)))

    def clearance_mm(self, play_deg: float) -> float:
        """Compute the clearance that gives a play, mm.

        Raises ValueError for a negative play, and for one at which the part turns freely.
        """
        _bounded(play_deg, self.free_deg)
        height = self._radius_mm * np.cos(np.radians(self.free_deg - play_deg))
        return float(height - self._height_mm) / 2


@dataclass(frozen=True)
class RoundMate:
    """A round bore: it centres the disc and turns it by friction alone."""

    def play_deg(self, clearance_mm: Values) -> Reals:
        """Compute `inf` for each clearance, (...,) degrees: the part always turns freely."""
        return np.full(np.shape(clearance_mm), np.inf)

    def clearance_mm(self, play_deg: float) -> float:
        """Compute nothing, whatever the play in degrees. Raises ValueError: no clearance limits it."""
        raise ValueError(f"no clearance gives a round bore a play of {play_deg}°")


def effective_clearance_mm(fit_clearance_mm: float, undersize_mm: float) -> float:
    """Return the clearance to each side of a rod that is under its nominal size by a whole undersize, mm."""
    return fit_clearance_mm + undersize_mm / 2


def drawn_clearance_mm(nominal_mm: Values, spread_mm: float, unit_draws: Reals) -> Reals:
    """Compute clearances of drawn machines, (...,) mm, never under 0.

    unit_draws: (...,) normal, with their plus-minus limit at 1 (standard deviation 1/3).
    """
    return np.maximum(nominal_mm + spread_mm * unit_draws, 0.0)


def _open(clearance_mm: Values) -> Reals:
    """Return the gap; an interference leaves none."""
    return np.maximum(np.asarray(clearance_mm, dtype=np.float64), 0.0)


def _or_free(reach: Reals, play: Reals) -> Reals:
    """Return a play in degrees, or `inf` where the reach says that the part turns freely."""
    return np.where(reach >= 1, np.inf, np.degrees(play))


def _positive(play_deg: float) -> float:
    if play_deg < 0:
        raise ValueError(f"a play of {play_deg}° is negative")
    return play_deg


def _bounded(play_deg: float, free_deg: float) -> None:
    if _positive(play_deg) >= free_deg:
        raise ValueError(f"at a play of {play_deg}° the part turns freely; it must be under {free_deg:.3g}°")
