"""Closed plan-view curves of straight lines and true circular arcs.

A `BulgePath` lists vertices and, for the edge that leaves each, its *bulge*: the tangent of a quarter of
the arc's included angle, positive for an arc that turns counterclockwise, 0 for a straight line (the
definition of the DXF format's LWPOLYLINE, so that arcs reach a drawing as arcs). Paths run
counterclockwise about what they enclose. Lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
"""Plan-view points, shape (n, 2), mm."""


@dataclass(frozen=True)
class BulgePath:
    """A closed curve: complex vertices (x + iy, mm) and the bulge of the edge after each."""

    vertices: tuple[complex, ...]
    bulges: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse a path whose bulges do not match its vertices."""
        if len(self.vertices) != len(self.bulges):
            raise ValueError(f"{len(self.vertices)} vertices need as many bulges, got {len(self.bulges)}")

    @property
    def area(self) -> float:
        """Exact enclosed area, mm², positive for a counterclockwise path."""
        return sum(_sector(start, end, bulge) for start, end, bulge in self.edges())

    @property
    def largest_radius(self) -> float:
        """Largest distance of the curve from the origin, mm."""
        return float(np.hypot(*self.flattened(1e-4).T).max())

    def edges(self) -> list[tuple[complex, complex, float]]:
        """Return (start, end, bulge) of every edge in order."""
        following = self.vertices[1:] + self.vertices[:1]
        return list(zip(self.vertices, following, self.bulges, strict=True))

    def flattened(self, chord_mm: float) -> Points:
        """Return a polygon (n, 2) whose chords stay within `chord_mm` of the arcs."""
        points = np.concatenate([_flat_edge(*edge, chord_mm) for edge in self.edges()])
        return np.column_stack([points.real, points.imag])

    def turned(self, radians: float) -> BulgePath:
        """Return the path turned counterclockwise about the origin, by radians."""
        factor = complex(math.cos(radians), math.sin(radians))
        return BulgePath(tuple(vertex * factor for vertex in self.vertices), self.bulges)

    def mirrored(self) -> BulgePath:
        """Return the path mirrored in the x axis, with the same sense."""
        places, bulges = tuple(reversed(self.vertices)), tuple(reversed(self.bulges))
        return BulgePath(tuple(place.conjugate() for place in places), (*bulges[1:], bulges[0]))

    def scaled(self, factor: float) -> BulgePath:
        """Return the path enlarged about the origin by a factor."""
        return BulgePath(tuple(vertex * factor for vertex in self.vertices), self.bulges)

    def shifted(self, by: complex) -> BulgePath:
        """Return the path moved by `by` mm."""
        return BulgePath(tuple(vertex + by for vertex in self.vertices), self.bulges)


def circle(radius_mm: float, centre: complex = 0j) -> BulgePath:
    """Make a circle of two half turns."""
    return BulgePath((centre + radius_mm, centre - radius_mm), (1.0, 1.0))


def polygon(vertices: tuple[complex, ...]) -> BulgePath:
    """Make a path of straight lines only."""
    return BulgePath(vertices, (0.0,) * len(vertices))


def arc_radius(start: complex, end: complex, bulge: float) -> float:
    """Return the radius of the arc from `start` to `end`, mm; `bulge` must not be 0."""
    return abs(end - start) * (1 + bulge * bulge) / (4 * abs(bulge))


def _sector(start: complex, end: complex, bulge: float) -> float:
    """Area swept by the radius vector along one edge: the triangle plus the circular segment."""
    triangle = (start.conjugate() * end).imag / 2
    if bulge == 0:
        return triangle
    angle, radius = 4 * math.atan(bulge), arc_radius(start, end, bulge)
    return triangle + radius * radius * (angle - math.sin(angle)) / 2


def _flat_edge(start: complex, end: complex, bulge: float, chord_mm: float) -> npt.NDArray[np.complex128]:
    """Return the edge's points without its end."""
    if bulge == 0:
        return np.array([start])
    angle, radius = 4 * math.atan(bulge), arc_radius(start, end, bulge)
    centre = (start + end) / 2 + 1j * (end - start) * (1 - bulge * bulge) / (4 * bulge)
    step = 2 * math.acos(max(0.0, 1 - chord_mm / radius))
    count = max(2, math.ceil(abs(angle) / step))
    turned: npt.NDArray[np.complex128] = np.exp(1j * angle * np.arange(count) / count)
    return centre + (start - centre) * turned
