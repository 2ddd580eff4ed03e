"""A ring as a closed line of true arcs, within a tolerance of all its corners.

Cutters and mills run an arc smoothly where a polygon makes them stutter, and a drawing of arcs is small.
From each corner the longest arc is taken that passes through a corner in its middle and its last one and
leaves none of those between by more than the tolerance. Arcs end at corners of the ring, so that places
where the curve has a corner stay where they are.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from shaftscore.make.solids.rings import Ring
from shaftscore.stack import BulgePath

ARC_MM = 0.001
"""An arc may leave the corners of a ring by this much; chord error and this stay within 0.002 mm."""

LONGEST_BULGE = math.tan(math.radians(150.0) / 4)
"""Arcs span at most 150 degrees, so that they cannot be confused with their other side."""

FIRST_STRIDE = 4
"""Corners that are tried first; then ever twice as many, while they fit."""

Points = npt.NDArray[np.complex128]
"""Plan-view points, x + iy, mm."""


def fit_arcs(ring: Ring, tolerance_mm: float = ARC_MM) -> BulgePath:
    """Return a ring as a path of arcs and straight lines; see the module's text."""
    points = np.asarray(ring[:, 0] + 1j * ring[:, 1])
    closed = np.append(points, points[0])
    starts, bulges = [0], []
    while starts[-1] < len(points):
        length, bulge = _longest(closed[starts[-1] :], tolerance_mm)
        bulges.append(bulge)
        starts.append(starts[-1] + length)
    return BulgePath(tuple(complex(points[start]) for start in starts[:-1]), tuple(bulges))


def _longest(points: Points, tolerance_mm: float) -> tuple[int, float]:
    """Find how many steps the longest arc from the first point takes, and its bulge."""
    last = len(points) - 1
    good, bulge, bad = 1, 0.0, last + 1
    stride = FIRST_STRIDE
    while bad - good > 1:
        trial = min(good + stride, last) if bad > last else (good + bad) // 2
        found = _arc(points[: trial + 1], tolerance_mm)
        if found is None:
            bad = trial
        else:
            good, bulge, stride = trial, found, stride * 2
            if trial == last:
                break
    return good, bulge


def _arc(points: Points, tolerance_mm: float) -> float | None:
    """Return the bulge of the arc that stands for points, or None if there is no such arc."""
    start, middle, end = points[0], points[len(points) // 2], points[-1]
    chord = end - start
    if abs(chord) == 0:
        return None
    seen = (middle - start) / chord - 0.5
    bulge = -math.tan(_half_angle(seen) / 2)
    if abs(bulge) > LONGEST_BULGE:
        return None
    placed = (points - start) / chord - 0.5
    return bulge if _error(placed, bulge) * abs(chord) <= tolerance_mm else None


def _half_angle(seen: complex) -> float:
    """Return half of the arc's included angle, signed, from a point of it; its chord is -0.5 to 0.5.

    The chord is seen from any point of an arc under the same angle (Euclid III.21), which is half a turn
    less half the included angle.
    """
    under = (0.5 - seen) / (-0.5 - seen)
    angle = math.atan2(under.imag, under.real)
    return math.copysign(math.pi - abs(angle), angle) if seen.imag else 0.0


def _error(placed: Points, bulge: float) -> float:
    """Largest distance of points from the arc over the chord -0.5 to 0.5, and from its stretch."""
    outside = np.abs(placed.real) > 0.5 + 1e-9
    if abs(bulge) < 1e-9:
        return math.inf if bool(outside.any()) else float(np.abs(placed.imag).max())
    centre = 1j * (1 - bulge * bulge) / (4 * bulge)
    radius = (1 + bulge * bulge) / (4 * abs(bulge))
    wrong_side = placed.imag * bulge > 1e-6
    if abs(bulge) <= 1 and bool((outside | wrong_side).any()):
        return math.inf
    return float(np.abs(np.abs(placed - centre) - radius).max())
