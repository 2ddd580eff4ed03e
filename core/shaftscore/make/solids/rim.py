"""Marks on the rim, seen from the side of the assembled stack.

The *tick* is a notch at +x, in line with the zero mark. Nothing may touch the running edge: on a disc whose
rim a follower runs on, the tick is cut into the upper chamfer alone, above the running edge. The rim outside
a groove and the rim of a spacer are free: there the tick is as high as the part. On the free rim of a disc
that is high enough the code is to the right of the tick, as seen from outside, in letters of square dots.
In a printer's file marks reach as far into the rim as drawn, wherever its contour was moved to.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.kinematics.profiles.limits import WALL_MM
from shaftscore.make.solids.pixels import HIGH, columns, width
from shaftscore.make.solids.prism import PartPrism, grown
from shaftscore.make.solids.rings import Ring
from shaftscore.model import Print
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import polygon

TICK_MM = 1.2
"""Width of the tick: three lines of a usual nozzle (common practice, no source)."""

DEPTH_MM, LEAST_MM = 0.6, 0.3
"""Depth of marks in a free rim, and the least that is seen."""

DEPTH_SHARE = 0.25
"""Marks take at most this share of the wall behind a free rim."""

LEAST_CHAMFER_MM = 0.2
"""A lower chamfer has no room for a tick: one usual layer."""

INWARD_MM = 0.4
"""A tick in a chamfer reaches this far into the top face."""

DOT_MM = 0.8
"""Edge of a dot of the code: two lines of a usual nozzle (common practice, no source)."""

GAP_MM = 2.0
"""From the middle of the tick to the code."""

OUT_MM = 1.0
"""Cuts begin this far outside the rim."""

TICK = "zero tick"
"""Name of the tick, for sentences."""

CODE = "code on the rim"
"""Name of the bodies of a code, for sentences."""

RIM_MARKS = (TICK, CODE)
"""Names of what is cut into a rim to be read."""


def chamfer_tick(
    contour: Ring, thickness_mm: float, chamfer_mm: float, printer: Print
) -> tuple[PartPrism, ...]:
    """Return the tick in the upper chamfer of a running edge, none where the chamfer is too low.

    There is none either where the printer's correction leaves too little of its width. contour (n, 2),
    counterclockwise.
    """
    if chamfer_mm < LEAST_CHAMFER_MM - 1e-9 or not _is_seen(printer):
        return ()
    at = _on_ray(contour)
    near = contour[(np.abs(contour[:, 1]) <= TICK_MM) & (contour[:, 0] > 0), 0]
    outside = max([at, *near.tolist()]) + OUT_MM + abs(printer.hole_mm)
    heights = (thickness_mm - chamfer_mm, thickness_mm)
    return (_tick((at - chamfer_mm - INWARD_MM, outside), heights, printer),)


def free_tick(contour: Ring, thickness_mm: float, wall_mm: float, printer: Print) -> tuple[PartPrism, ...]:
    """Return the tick in a rim on which nothing runs, none where the wall behind it is too thin, mm.

    There is none either where the printer's correction leaves too little of its width.
    """
    depth = rim_depth(wall_mm)
    if depth == 0 or not _is_seen(printer):
        return ()
    at = _on_ray(contour)
    ends = (at - depth, at + OUT_MM + abs(printer.hole_mm))
    return (_tick(ends, (0.0, thickness_mm), printer),)


def _is_seen(printer: Print) -> bool:
    """Return whether a tick that a printer's file holds is wide enough to be seen."""
    return TICK_MM + 2 * printer.hole_mm >= LEAST_MM


def _tick(ends_mm: tuple[float, float], heights_mm: tuple[float, float], printer: Print) -> PartPrism:
    """Return a tick between two radii."""
    inner, outer = ends_mm
    made = grown(_box(inner - _inward_mm(printer), outer + _outward_mm(printer), TICK_MM), printer.hole_mm)
    return PartPrism(TICK, _box(inner, outer, TICK_MM), made, *heights_mm)


def _inward_mm(printer: Print) -> float:
    """Return by how much a printer's file moves a rim inward, mm."""
    return max(0.0, -printer.contour_mm)


def _outward_mm(printer: Print) -> float:
    """Return by how much a printer's file moves a rim outward, mm."""
    return max(0.0, printer.contour_mm)


def rim_depth(wall_mm: float) -> float:
    """Return how deep marks in a free rim may be, mm, 0 where the wall is too thin."""
    depth = min(DEPTH_MM, DEPTH_SHARE * wall_mm, wall_mm - WALL_MM)
    return depth if depth >= LEAST_MM else 0.0


def rim_code(
    code: str, contour: Ring, heights_mm: tuple[float, float], wall_mm: float, printer: Print
) -> tuple[PartPrism, ...]:
    """Return the code on a free rim, as bodies to be cut out; none where there is no room.

    contour (n, 2) mm, counterclockwise. heights_mm: between which the rim is upright.
    """
    depth, (low, high) = rim_depth(wall_mm), heights_mm
    if depth == 0 or high - low < HIGH * DOT_MM:
        return ()
    bottom = (low + high - HIGH * DOT_MM) / 2
    walk = _Walk(contour)
    if GAP_MM + width(code) * DOT_MM > walk.length_mm / 4:
        return ()
    ends = ((-depth, OUT_MM), (-depth - _inward_mm(printer), OUT_MM + _outward_mm(printer)))
    return tuple(_columns(code, walk, bottom, ends))


def _columns(
    code: str, walk: _Walk, bottom_mm: float, ends_mm: tuple[tuple[float, float], tuple[float, float]]
) -> Iterator[PartPrism]:
    """Yield the columns; ends_mm: from where to where they reach, as drawn and in a printer's file."""
    for column, first, last in columns(code):
        at, normal = walk.at(GAP_MM + (column + 0.5) * DOT_MM)
        drawn, made = (_turned(_box(*each, DOT_MM), at, normal) for each in ends_mm)
        yield PartPrism(CODE, drawn, made, bottom_mm + first * DOT_MM, bottom_mm + (last + 1) * DOT_MM)


def _turned(path: BulgePath, at: complex, normal: complex) -> BulgePath:
    return BulgePath(tuple(at + normal * corner for corner in path.vertices), path.bulges)


class _Walk:
    """Places along a contour, by their distance counterclockwise from where the ray at +x meets it."""

    def __init__(self, contour: Ring) -> None:
        """Take the contour, (n, 2) mm."""
        from shapely import LinearRing, Point  # kept off the start-up path

        self._line = LinearRing(contour)
        self._start = self._line.project(Point(_on_ray(contour), 0.0))
        self.length_mm = float(self._line.length)

    def at(self, along_mm: float) -> tuple[complex, complex]:
        """Return a point of the contour, mm, and the direction outward from it."""
        place, half = self._start + along_mm, DOT_MM / 2
        before, middle, after = (self._point(place + by) for by in (-half, 0.0, half))
        along = after - before
        return middle, -1j * along / abs(along)

    def _point(self, place_mm: float) -> complex:
        within = place_mm if place_mm <= self.length_mm else place_mm - self.length_mm
        found = self._line.interpolate(within)
        return complex(found.x, found.y)


def _on_ray(contour: Ring) -> float:
    """Return how far out the contour is at +x, mm."""
    from shapely import LineString, Polygon  # kept off the start-up path

    ray = LineString([(0.0, 0.0), (float(abs(contour).max()) * 2, 0.0)])
    return float(Polygon(contour).intersection(ray).bounds[2])


def _box(start: float, end: float, wide: float) -> BulgePath:
    """Return a box along +x from one radius to another, mm."""
    half = wide / 2
    return polygon((complex(start, -half), complex(end, -half), complex(end, half), complex(start, half)))
