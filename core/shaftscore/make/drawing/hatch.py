"""Patterns of faces as plain lines and dots, cut at the outline and the holes: every back end paints these.

Lines of one pattern lie on one grid through the origin of the drawing, so that two faces side by side go on
into one another.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from shaftscore.make.drawing.scene import Corners, Path, Pattern

SPACING_PT = 4.0
"""Distance of the lines of a pattern, points."""

DOT_PT = 1.0
"""Diameter of a dot, points."""

_DIRECTIONS_DEG: dict[Pattern, tuple[float, ...]] = {
    "rising": (45.0,),
    "falling": (-45.0,),
    "crossed": (45.0, -45.0),
    "upright": (90.0,),
    "level": (0.0,),
    "dots": (),
}

Segments = npt.NDArray[np.complex128]
"""Ends of straight lines, (n, 2) complex."""


def hatch_lines(path: Path, spacing: float) -> Segments:
    """Return the lines of a path's pattern, (n, 2) complex, `spacing` apart; none for dots."""
    pattern = path.pattern
    turns = [] if pattern is None else _DIRECTIONS_DEG[pattern]
    every = [_cut(_contours(path), np.deg2rad(turn), spacing) for turn in turns]
    return np.concatenate([np.empty((0, 2), complex), *every])


def hatch_dots(path: Path, spacing: float) -> npt.NDArray[np.complex128]:
    """Return the middles of a path's dots, (n,) complex, rows `spacing` apart and each second one moved."""
    if path.pattern != "dots":
        return np.empty(0, complex)
    return np.concatenate([np.empty(0, complex), *_rows_of_dots(_contours(path), spacing)])


def _rows_of_dots(contours: list[Corners], spacing: float) -> Iterator[npt.NDArray[np.complex128]]:
    for left, right in _cut(contours, 0.0, spacing):
        row = round(left.imag / spacing)
        moved = 0.5 * spacing * (row % 2)
        first, last = np.ceil((left.real - moved) / spacing), np.floor((right.real - moved) / spacing)
        yield np.arange(first, last + 1.0) * spacing + moved + 1j * left.imag


def _contours(path: Path) -> list[Corners]:
    return [path.corners, *path.holes]


def _cut(contours: list[Corners], turn: float, spacing: float) -> Segments:
    """Return what lies inside (even-odd) of the lines at k * spacing, parallel to a direction (radians)."""
    back = np.exp(-1j * turn)
    starts = np.concatenate([contour * back for contour in contours])
    ends = np.concatenate([np.roll(contour, -1) * back for contour in contours])
    rows, places = _crossings(starts, ends, spacing)
    order = np.lexsort((places, rows))
    points = places[order] + 1j * rows[order] * spacing
    return np.asarray(points.reshape(-1, 2) / back, dtype=complex)


def _crossings(
    starts: Corners, ends: Corners, spacing: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return line numbers and places along them of all crossings of edges (half-open upward)."""
    low, high = np.minimum(starts.imag, ends.imag), np.maximum(starts.imag, ends.imag)
    first, past = np.ceil(low / spacing), np.ceil(high / spacing)
    counts = (past - first).astype(int)
    edge = np.repeat(np.arange(len(starts)), counts)
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = first[edge] + within
    share = (rows * spacing - starts.imag[edge]) / (ends.imag - starts.imag)[edge]
    return rows, starts.real[edge] + share * (ends.real - starts.real)[edge]
