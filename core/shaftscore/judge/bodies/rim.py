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

from shaftscore.judge.bodies.shapes import Circle, Shape, StraightStrip, to_box
from shaftscore.kinematics.followers import Points, Reals

EDGE_MM = 0.75
"""Longest edge of a rim: none can pass a strip unseen, unless that is thinner."""

CELLS = 1440
"""Cells of the turn in which the radius is looked at."""

FINE_MM = 0.05
"""Steps along an edge when its radii are looked at."""

SEEN_DEG = 15.0
"""How far beside a body the rim is watched; what lies beyond is at least the sine of this away."""


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
        nearest = [self._to_points(corner) for corner in at.corners]
        column = StraightStrip(
            at.start[:, None], at.along[:, None], np.reshape(at.length_mm, (-1, 1)), at.half_mm
        )
        nearest.append(np.min(to_box(self._cut[None, :], column), axis=1))
        return np.asarray(np.min(nearest, axis=0))

    def _to_points(self, points: Points) -> Reals:
        """Return the distance of points of the disc frame from the rim, negative inside: (m,) mm."""
        start, end = self.points[None, :], np.roll(self.points, -1)[None, :]
        edge, own = end - start, points[:, None] - start
        share = np.clip((own * np.conj(edge)).real / np.abs(edge) ** 2, 0.0, 1.0)
        away = np.min(np.abs(own - share * edge), axis=1)
        crossing = (start.imag > points.imag[:, None]) != (end.imag > points.imag[:, None])
        side = (np.conj(edge) * own).imag * np.sign(edge.imag)
        inside = np.sum(crossing & (side > 0), axis=1) & 1
        return np.asarray(np.where(inside, -away, away))

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
