"""How deep two bodies go into one another: the one definition, for areas and for layers of them.

The *depth* of an area is the diameter of the largest circle that fits into it. Where the area is what two
cross-sections share, neither body can be freed in plan by a smaller move, because both hold that circle;
where a smooth or straight edge dips into another by little, the depth is that by which one must go back. A
sliver along two edges that coincide within the chord error is as deep as it is thin, however long it may be.

In space the same holds of the largest ball: it fits into successive *layers* of height h whose areas share a
circle of diameter d if both are at least its diameter. So the depth of layers is the largest min(h, d) of any
run of them, h the height of the run and d the depth of what all its areas share:

    depth = max over runs of min(top - bottom, depth of the intersection)                               (1)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

CLOSE_MM = 0.001
"""How closely a depth is found."""

SEGMENTS = 8
"""Chords of a quarter of the arcs by which an area is narrowed about its hollow corners."""


@dataclass(frozen=True, eq=False)
class SharedLayer:
    """What two bodies share between two heights, mm: a shapely area that lies within both at all of them."""

    bottom_mm: float
    top_mm: float
    area: Any

    @property
    def height_mm(self) -> float:
        """Height of the layer."""
        return self.top_mm - self.bottom_mm


def inscribed_mm(area: Any) -> float:
    """Return the diameter of the largest circle within an area of shapely, mm; 0 of an empty one."""
    import shapely  # kept off the start-up path

    pieces = [piece for piece in shapely.get_parts(area) if piece.area > 0]
    best = 0.0
    for piece in sorted(pieces, key=_most_mm, reverse=True):
        if _most_mm(piece) > best + CLOSE_MM:
            best = max(best, _of_piece(piece, best))
    return best


def deeper_than(area: Any, limit_mm: float) -> bool:
    """Return whether a circle of a diameter over a limit, mm, fits into an area of shapely."""
    import shapely  # kept off the start-up path

    if area.is_empty or 2 * sqrt(area.area / pi) <= limit_mm:
        return False
    return not shapely.buffer(area, -limit_mm / 2, quad_segs=SEGMENTS).is_empty


def _most_mm(piece: Any) -> float:
    """Return a diameter that no circle within a polygon exceeds, by its area and its box."""
    low_x, low_y, high_x, high_y = piece.bounds
    return float(min(2 * sqrt(piece.area / pi), high_x - low_x, high_y - low_y))


def _of_piece(piece: Any, least_mm: float) -> float:
    """Halve the stretch between diameters that fit and do not; 0 where none over least_mm does."""
    low, high = least_mm, _most_mm(piece) + CLOSE_MM
    if low and not deeper_than(piece, low):
        return 0.0
    while high - low > CLOSE_MM:
        middle = (low + high) / 2
        low, high = (middle, high) if deeper_than(piece, middle) else (low, middle)
    return low if low == least_mm else (low + high) / 2


def layers_mm(layers: Sequence[SharedLayer]) -> float:
    """Return the depth of layers, bottom to top, by (1), mm; runs end where two do not meet."""
    best = 0.0
    for first in range(len(layers)):
        if layers[-1].top_mm - layers[first].bottom_mm <= best:
            break
        best = max(best, _from(layers, first, best))
    return best


def _from(layers: Sequence[SharedLayer], first: int, best: float) -> float:
    """Return the depth of the runs that begin with a layer, mm; what is not over `best` is not looked for."""
    shared, top = layers[first].area, layers[first].bottom_mm
    for layer in layers[first:]:
        if layer.bottom_mm > top + CLOSE_MM:
            break
        shared = shared if layer is layers[first] else shared.intersection(layer.area)
        top = layer.top_mm
        if not deeper_than(shared, best):
            break
        height = top - layers[first].bottom_mm
        if height > best:
            best = height if deeper_than(shared, height) else max(best, min(height, inscribed_mm(shared)))
    return best
