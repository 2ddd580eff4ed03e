"""What triangles cover, seen from the top.

Of every triangle the three sides run counterclockwise in plan view. Sides of two triangles that run along
one another the opposite way cancel; those that are left are closed lines, which wind around a place as often
as triangles cover it. What they wind around at least once is what is covered. So the work grows with the
triangles only by sorting their sides, and with the few that are left by one sweep.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.make.proof.reading.walks import closed_walks
from shaftscore.make.proof.rim import RimError

GRID_MM = 1e-4
"""Corners are on a grid of this, so that areas have exact signs and triangles join without slivers."""

MOST_SIDES = 100_000
"""Most sides that are left; a part that fills a bed of 220 mm has under 10,000."""

MOST_MEETINGS = 200_000
"""So many pairs of sides may have boxes that meet, beside SOME for each side: a sweep then takes seconds."""

SOME = 10
"""Pairs that every side may add: itself, its neighbours, sides of faces above one another."""

AT_ONCE = 2_000_000
"""Pairs that are looked for at once at most, to bound the memory."""

KEY = 1 << 26
"""Larger than twice the number of steps of the grid to the farthest corner that is read."""

Steps = npt.NDArray[np.int64]
"""Corners as whole steps of the grid, or numbers of corners."""


def shadow_of(corners: npt.NDArray[np.float64], where: str) -> Any:
    """Return what triangles (n, 3, 3) mm cover in plan view, areas of shapely, mm; `where` names them.

    Raises RimError where so many of their sides may cross that it would take minutes.
    """
    import shapely  # kept off the start-up path

    starts, ends = _left(_sides(np.rint(corners[:, :, :2] / GRID_MM).astype(np.int64)))
    if _is_tangled(starts, ends):
        raise RimError(f"{where}: seen from the top too many of its edges cross one another")
    return shapely.MultiPolygon(list(_covered(starts, ends)))


def _sides(triangles: Steps) -> Steps:
    """Return the sides (m, 2) of triangles (n, 3, 2) as keys of their ends, counterclockwise in plan view."""
    first, second = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    area = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    keys = triangles[:, :, 0] * KEY + triangles[:, :, 1]
    keys = np.concatenate([keys[area > 0], keys[area < 0, ::-1]])
    return np.column_stack([keys.ravel(), np.roll(keys, -1, axis=1).ravel()])


def _left(sides: Steps) -> tuple[Steps, Steps]:
    """Return starts and ends, (k, 2) steps, of the sides that no other one cancels; some are there twice."""
    named, numbers = np.unique(sides, return_inverse=True)
    start, end = numbers.reshape(sides.shape).T
    low, high = np.minimum(start, end), np.maximum(start, end)
    lines, which = np.unique(low * len(named) + high, return_inverse=True)
    times = np.bincount(which.ravel(), np.where(start < end, 1, -1), len(lines)).astype(np.int64)
    lines, count = np.repeat(lines, np.abs(times)), max(1, len(named))
    low, high = lines // count, lines - lines // count * count
    forward = np.repeat(times, np.abs(times)) > 0
    start, end = named[np.where(forward, low, high)], named[np.where(forward, high, low)]
    return _steps(start), _steps(end)


def _steps(keys: Steps) -> Steps:
    """Return the corners (n, 2) of their keys (n,)."""
    x = (keys + KEY // 2) // KEY
    return np.column_stack([x, keys - x * KEY])


def _is_tangled(starts: Steps, ends: Steps) -> bool:
    """Return whether more pairs of sides have boxes that meet than a sweep handles in seconds."""
    import shapely  # kept off the start-up path

    if len(starts) > MOST_SIDES:
        return True
    boxes = shapely.box(*np.minimum(starts, ends).T, *np.maximum(starts, ends).T)
    tree, found, step = shapely.STRtree(boxes), 0, max(1, AT_ONCE // max(1, len(boxes)))
    for first in range(0, len(boxes), step):
        found += tree.query(boxes[first : first + step]).shape[1]
        if found > MOST_MEETINGS + SOME * len(boxes):
            return True
    return False


def _covered(starts: Steps, ends: Steps) -> Iterator[Any]:
    """Yield the areas around which closed lines of sides wind at least once, as polygons of shapely, mm."""
    import shapely
    from manifold3d import CrossSection, FillRule  # kept off the start-up path

    rings = [starts[ring] * GRID_MM for ring in _rings(starts, ends)]
    for piece in CrossSection(rings, FillRule.Positive).decompose():
        outlines = [shapely.LinearRing(ring) for ring in piece.to_polygons()]
        outer = [ring for ring in outlines if ring.is_ccw]
        yield shapely.Polygon(outer[0], [ring for ring in outlines if ring is not outer[0]])


def _rings(starts: Steps, ends: Steps) -> Iterator[list[int]]:
    """Yield closed walks along sides, by their numbers: as many begin at each corner as end there."""
    by_start, by_end = np.lexsort(starts.T), np.lexsort(ends.T)
    following = np.empty(len(starts), np.int64)
    following[by_end] = by_start
    yield from closed_walks(following.tolist())
