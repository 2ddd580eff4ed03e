"""A ring as smooth curves between its corners: cubic splines within a tolerance of all its points.

A *corner* is a point at which a ring turns by more than a smooth curve of points so dense ever does;
splines begin and end there, so that it stays a corner. Rings that belong together (an edge and the same
edge inside its chamfer, a point for each point) are fitted at once: their curves then have the same knots
and run side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.make.solids.rings import Ring

FIT_MM = 0.0005
"""A curve may leave the points of its ring by this much; the ring's own chord error comes on top."""

CORNER_DEG = 12.0
"""Turn of a corner. A ring of chord error 0.0004 mm turns less down to a radius of 0.075 mm."""

DENSE_MM = 0.25
"""Points are laid at most this far apart, so that a curve cannot swing out between them."""

FIRST = 5
"""Points through which a curve goes at first; more are added where it is not near enough."""

Points = npt.NDArray[np.complex128]
"""Plan-view points, x + iy, mm: (n, m) for m rings."""


@dataclass(frozen=True)
class RingSpline:
    """B-splines of one degree on one clamped knot vector; poles: (k, m) for m rings, x + iy, mm."""

    degree: int
    knots: npt.NDArray[np.float64]
    poles: Points


def fit_splines(rings: Sequence[Ring], tolerance_mm: float = FIT_MM) -> list[RingSpline]:
    """Fit closed rings of equal length, a curve for each stretch between two corners.

    Raises ValueError if the rings do not have as many points each.
    """
    if len({len(ring) for ring in rings}) != 1:
        raise ValueError(f"rings of {[len(ring) for ring in rings]} points do not belong together")
    points = np.column_stack([ring[:, 0] + 1j * ring[:, 1] for ring in rings])
    corners = np.nonzero(_turns(points[:, 0]) > np.radians(CORNER_DEG))[0]
    first = int(corners[0]) if len(corners) else 0
    closed = np.concatenate([np.roll(points, -first, axis=0), points[first : first + 1]])
    if not len(corners):
        return [_fitted(_dense(closed), tolerance_mm, smooth=True)]
    ends = [*(corners - first), len(points)]
    return [_fitted(_dense(closed[a : b + 1]), tolerance_mm, smooth=False) for a, b in pairwise(ends)]


def _turns(ring: npt.NDArray[np.complex128]) -> npt.NDArray[np.float64]:
    """Angles by which a ring turns at its points, radian, without sign."""
    along = np.roll(ring, -1) - ring
    return np.asarray(np.abs(np.angle(along * np.conj(np.roll(along, 1)))))


def _dense(points: Points) -> Points:
    """Add points on the straight lines between points, so that none are farther apart than allowed."""
    steps = np.abs(np.diff(points[:, 0]))
    counts = np.maximum(1, np.ceil(steps / DENSE_MM)).astype(int)
    if len(points) == 2:
        counts[:] = 1  # a straight line is one
    places = np.concatenate(
        [[0.0], *(number + np.arange(1, count + 1) / count for number, count in enumerate(counts))]
    )
    whole = np.arange(len(points))
    return np.column_stack([np.interp(places, whole, column) for column in points.T])


def _fitted(points: Points, tolerance_mm: float, *, smooth: bool) -> RingSpline:
    """Fit points (n, m) in their order; smooth: they close, and the curve is to have no corner there."""
    from scipy.interpolate import make_interp_spline  # start-up time: few formats need it

    along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points[:, 0])))])
    ends = _tangent(points, along) if smooth else None
    kept = np.unique(np.linspace(0, len(points) - 1, min(FIRST, len(points))).astype(int))
    while True:
        degree = min(3, len(kept) - 1)
        bounds = ([(1, ends)], [(1, ends)]) if ends is not None and degree == 3 else None
        spline = make_interp_spline(along[kept], points[kept], k=degree, bc_type=bounds)
        off = np.abs(spline(along) - points).max(axis=1)
        wrong = [(a + b) // 2 for a, b in pairwise(kept) if b - a > 1 and off[a:b].max() > tolerance_mm]
        if not wrong:
            return RingSpline(degree, spline.t, spline.c)
        kept = np.union1d(kept, wrong)


def _tangent(points: Points, along: npt.NDArray[np.float64]) -> Points:
    """Return the derivative by length where closed points meet: of the parabola through three points."""
    before, after = along[-1] - along[-2], along[1]
    backward, forward = (points[-1] - points[-2]) / before, (points[1] - points[0]) / after
    return np.asarray((backward * after + forward * before) / (before + after))
