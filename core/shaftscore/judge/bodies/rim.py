"""The rim of a disc as a body: a closed polygon that turns, with what its turning can change.

Terms: the *disc frame* is that of `kinematics.profiles`; at an angle theta of its stack the disc is turned by
d theta. Points are complex, mm. The *ripple* of a stretch of the rim is the difference of its largest
and least radius: turning the disc by a small angle moves its edge outward by no more than the ripple of
any stretch of that length, which on a dwell is next to nothing, however fast the edge runs along itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import radians, tau

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import LIMIT
from shaftscore.built.arrays import Flags
from shaftscore.judge.bodies.shapes import Circle, Shape, StraightStrip, to_box
from shaftscore.kinematics.followers import Points, Reals

EDGE_MM = 0.75
"""Longest edge of a rim: none can pass a strip unseen, unless that is thinner."""

CELLS = 1440
"""Cells of the turn in which the radius is looked at."""

FINE_MM = 0.05
"""Steps along an edge when its radii are looked at."""

AT_ONCE = 64
"""Places looked at together: as many as keep the arrays of a rim in the processor's cache."""

RUN = 16
"""Successive points of a rim that are looked at by their first one, until one of them may be the nearest."""

SEEN_DEG = 15.0
"""How far beside a body the rim is watched; what lies beyond is at least the sine of this away."""


@dataclass(frozen=True, eq=False)
class PointRuns:
    """Successive points of a closed polygon in runs, so that few of them need a close look.

    first: the first point of each run, (k,) mm. reach_mm: how far the edges of each run go from it, (k,).
    run: (n,) which run a point belongs to.
    """

    first: Points
    reach_mm: Reals
    run: npt.NDArray[np.intp]

    def that_may_be_nearest(self, away_mm: Reals) -> npt.NDArray[np.intp]:
        """Return which points may be the nearest of all, or begin the nearest edge, at any of m places: (j,).

        away_mm: (m, k) distances of the first points. No point of a run is nearer by more than its reach.
        """
        least = np.min(away_mm, axis=1, keepdims=True)
        near = np.any(away_mm - self.reach_mm <= least + LIMIT, axis=0)
        return np.asarray(np.flatnonzero(near[self.run]))


def runs_of(points: Points) -> PointRuns:
    """Divide a closed polygon (n,) into runs of `RUN` points."""
    run = np.arange(len(points)) // RUN
    first = points[::RUN]
    starts = np.abs(points - first[run])
    ends = np.abs(np.roll(points, -1) - first[run])
    reach = np.maximum.reduceat(np.maximum(starts, ends), np.arange(0, len(points), RUN))
    return PointRuns(first, reach, run)


@dataclass(frozen=True, eq=False)
class BodyRim:
    """A closed polygon, counterclockwise in the disc frame: points (n,), and d (+1 or -1)."""

    points: Points
    direction: int

    def turned(self, by_deg: float) -> BodyRim:
        """Return the rim of the same disc laid out for a station `by_deg` further on."""
        return BodyRim(self.points * np.exp(1j * radians(by_deg)), self.direction)

    @cached_property
    def radius_mm(self) -> float:
        """Largest radius, mm."""
        return float(np.max(np.abs(self.points)))

    @cached_property
    def _cut(self) -> Points:
        """The points with long edges cut."""
        return subdivided(self.points, EDGE_MM)

    def distance(self, shape: Shape, theta_deg: Reals) -> Reals:
        """Return the distance of a shape at angles of the stack, negative where it overlaps: (m,) mm."""
        turn = np.exp(-1j * self.direction * np.radians(theta_deg))
        if isinstance(shape, Circle):
            return np.asarray(self._to_points(shape.centre * turn) - shape.radius_mm)
        at = StraightStrip(shape.start * turn, shape.along * turn, shape.length_mm, shape.half_mm)
        nearest = self._nearest_point(at)
        for corner in at.corners:
            # A corner that is farther from the whole disc than its points are from the strip decides nothing.
            if np.any(np.abs(corner) - self.radius_mm <= nearest):
                nearest = np.minimum(nearest, self._to_points(corner))
        return np.asarray(nearest)

    def _nearest_point(self, strip: StraightStrip) -> Reals:
        """Return the distance of the rim's nearest point from a strip at m places: (m,) mm."""
        lengths = np.broadcast_to(np.asarray(strip.length_mm, np.float64), strip.start.shape)
        rows = range(0, len(strip.start), AT_ONCE)
        return np.concatenate([self._nearest_of(strip, lengths, slice(at, at + AT_ONCE)) for at in rows])

    def _nearest_of(self, strip: StraightStrip, lengths: Reals, rows: slice) -> Reals:
        start, along = strip.start[rows, None], strip.along[rows, None]
        column = StraightStrip(start, along, lengths[rows, None], strip.half_mm)
        points, runs = self._cut, self._cut_runs
        near = runs.that_may_be_nearest(to_box(runs.first[None, :], column))
        return np.asarray(np.min(to_box(points[None, near], column), axis=1))

    def _to_points(self, points: Points) -> Reals:
        """Return the distance of points of the disc frame from the rim, negative inside: (m,) mm."""
        rows = range(0, len(points), AT_ONCE)
        return np.concatenate([self._to_some(points[at : at + AT_ONCE]) for at in rows])

    def _to_some(self, points: Points) -> Reals:
        """Return the distance of a few points from the rim, as `_to_points`: (m,) mm."""
        column, runs = points[:, None], self._runs
        near = runs.that_may_be_nearest(np.abs(column - runs.first))
        start, edge = self.points[near], self._edges[near]
        own = column - start
        share = np.clip((own * np.conj(edge)).real / np.abs(edge) ** 2, 0.0, 1.0)
        away = np.min(np.abs(own - share * edge), axis=1)
        return np.asarray(np.where(self._holds(points), -away, away))

    def _holds(self, points: Points) -> Flags:
        """Return which points are inside, (m,): those to one side of which an odd number of edges passes."""
        above = self.points.imag > points.imag[:, None]
        one, number = np.nonzero(above != np.roll(above, -1, axis=1))
        edge, own = self._edges[number], points[one] - self.points[number]
        crossed = one[(np.conj(edge) * own).imag * np.sign(edge.imag) > 0]
        return np.asarray(np.bincount(crossed, minlength=len(points)) % 2 == 1)

    @cached_property
    def _edges(self) -> Points:
        """The edges as vectors, (n,)."""
        return np.roll(self.points, -1) - self.points

    @cached_property
    def _runs(self) -> PointRuns:
        return runs_of(self.points)

    @cached_property
    def _cut_runs(self) -> PointRuns:
        return runs_of(self._cut)

    @cached_property
    def _radii(self) -> tuple[Reals, Reals] | None:
        """Largest and least radius in each cell; None for a rim that is not seen whole from the axis."""
        fine = subdivided(self.points, FINE_MM)
        if np.any((np.conj(fine) * np.roll(fine, -1)).imag <= 0):
            return None
        cell = np.floor(np.angle(fine) / tau * CELLS).astype(np.intp)
        high, low = np.zeros(CELLS), np.full(CELLS, np.inf)
        np.maximum.at(high, cell, np.abs(fine))
        np.minimum.at(low, cell, np.abs(fine))
        return _largest(high, 3, 1), -_largest(-low, 3, 1)

    @cached_property
    def _watches(self) -> dict[tuple[int, int], Reals]:
        return {}

    def ripple_mm(self, turn_deg: Reals, towards_deg: float, beside_deg: float, mid_deg: Reals) -> Reals:
        """Bound how far turning by turn_deg about mid_deg (both (m,)) moves the edge outward: (m,) mm.

        towards_deg, beside_deg: middle and half width of the directions that count, seen from the axis.
        """
        if self._radii is None:
            return np.full(len(turn_deg), np.inf)
        half = min(CELLS // 2, int(np.ceil(beside_deg / 360.0 * CELLS)) + 1)
        level = np.ceil(np.log2(np.maximum(1.0, turn_deg / 360.0 * CELLS))).astype(np.intp) + 1
        middle = np.floor((towards_deg - self.direction * mid_deg) / 360.0 * CELLS).astype(np.intp)
        ripple = np.empty(len(turn_deg))
        for one in sorted(set(level.tolist())):
            here = level == one
            ripple[here] = np.take(self._watched(one, half), middle[here], mode="wrap")
        return ripple

    def _watched(self, level: int, half: int) -> Reals:
        """Return the largest ripple of stretches of 2**level cells, `half` cells on either side of each."""
        if (level, half) not in self._watches:
            assert self._radii is not None
            high, low = self._radii
            size = min(CELLS, 2**level + 1)
            ripple = _largest(high, size, size // 2) + _largest(-low, size, size // 2)
            self._watches[level, half] = _largest(ripple, min(CELLS, 2 * half + 1), half)
        return self._watches[level, half]


def subdivided(points: Points, most_mm: float) -> Points:
    """Cut the edges of a closed polygon to at most `most_mm`: (n,) -> (m,) mm."""
    edges = np.roll(points, -1) - points
    counts = np.maximum(1, np.ceil(np.abs(edges) / most_mm)).astype(np.intp)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(counts.sum()) - first) / np.repeat(counts, counts)
    return np.asarray(np.repeat(points, counts) + share * np.repeat(edges, counts))


def _largest(values: Reals, size: int, before: int) -> Reals:
    """Return the largest of `size` successive values round a circle, beginning `before` places earlier."""
    count, span, best = len(values), 1, values
    while 2 * span <= size:
        best = np.maximum(best, np.roll(best, -span))
        span *= 2
    best = np.maximum(best, np.roll(best, span - size))
    assert len(best) == count
    return np.roll(best, before)
