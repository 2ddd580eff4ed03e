"""Plan-view shapes of bodies, and exact distances between them.

Shapes stand at m angles at once: arrays are (m,) or (1,), complex x + iy, mm, seen from the top. A
*distance* is negative where two shapes overlap: by how far one must be moved for them to part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shaftscore.kinematics.followers import Points, Reals

FAR_MM = 1e4
"""Length of a strip that has no end."""


@dataclass(frozen=True, eq=False)
class Circle:
    """A circle: centre (m,) and radius, mm."""

    centre: Points
    radius_mm: float


@dataclass(frozen=True, eq=False)
class StraightStrip:
    """A straight strip, mm.

    start: the middle of its near end, (m,). along: unit vector, (m,). length_mm, half_mm: length and half
    its width.
    """

    start: Points
    along: Points
    length_mm: Reals | float
    half_mm: float

    @property
    def corners(self) -> tuple[Points, ...]:
        """The four corners, each (m,)."""
        side, far = 1j * self.along * self.half_mm, self.start + self.along * self.length_mm
        return self.start + side, self.start - side, far + side, far - side


Shape = Circle | StraightStrip
"""Any shape of a body that is not a disc's rim."""


def round_about(shape: Shape) -> tuple[complex, float]:
    """Return middle and radius, mm, of a circle that holds a shape which stands still."""
    if isinstance(shape, Circle):
        return complex(shape.centre[0]), shape.radius_mm
    long = float(np.max(shape.length_mm))
    return complex(shape.start[0] + shape.along[0] * long / 2), math.hypot(long / 2, shape.half_mm)


def to_box(points: Points, box: StraightStrip) -> Reals:
    """Return the distance of points from a strip, negative inside: (n,) -> (n,) mm; shapes broadcast."""
    local = (points - box.start) * np.conj(box.along)
    ahead = np.maximum(-local.real, local.real - box.length_mm)
    aside = np.abs(local.imag) - box.half_mm
    away, before_corner = np.maximum(ahead, aside), (ahead > 0) & (aside > 0)
    return np.asarray(np.hypot(ahead, aside, out=away, where=before_corner))


def distance(first: Shape, second: Shape) -> Reals:
    """Return the distance of two shapes at each angle, negative where they overlap: (m,) mm."""
    if isinstance(first, Circle) and isinstance(second, Circle):
        return np.abs(first.centre - second.centre) - first.radius_mm - second.radius_mm
    if isinstance(first, Circle):
        assert isinstance(second, StraightStrip)
        return to_box(first.centre, second) - first.radius_mm
    if isinstance(second, Circle):
        return to_box(second.centre, first) - second.radius_mm
    return _between(first, second)


def _between(first: StraightStrip, second: StraightStrip) -> Reals:
    """Return the distance of two strips: apart, from a corner of one; else the least gap of all sides."""
    apart = np.maximum(_gap(first, second), _gap(second, first))
    corners = [to_box(corner, first) for corner in second.corners]
    corners += [to_box(corner, second) for corner in first.corners]
    return np.where(apart >= 0, np.min(np.broadcast_arrays(*corners), axis=0), apart)


def _gap(box: StraightStrip, other: StraightStrip) -> Reals:
    """Return the larger gap between two strips across the sides of the first."""
    local = [(corner - box.start) * np.conj(box.along) for corner in other.corners]
    x = np.broadcast_arrays(*(corner.real for corner in local))
    y = np.broadcast_arrays(*(corner.imag for corner in local))
    ahead = np.maximum(np.min(x, axis=0) - box.length_mm, -np.max(x, axis=0))
    aside = np.maximum(np.min(y, axis=0), -np.max(y, axis=0)) - box.half_mm
    return np.asarray(np.maximum(ahead, aside))
