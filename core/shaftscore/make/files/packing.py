"""Laying parts out on build plates by their true outlines, where that takes fewer plates than boxes do.

The bed is a grid of cells. A part, grown by half the gap, takes every cell that it touches, as it is or by a
quarter turn; where it meets nothing on a plate follows for all places at once from a correlation of cells
(fast Fourier transform). Larger parts come first, each on the first plate that takes it, where most of its
edge is beside what is there or beside the bed's; of such places the lowest one. What is found keeps the gaps,
because no cell is taken twice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.make.files.plates import GAP_MM, Size, Spot, lay_out

CELL_MM = 2.0
"""Side of a cell."""

ROUND_MM = 0.01
"""By which the gap is taken larger: corners of a grown polygon lie within the circle that they stand for."""

MOST_PARTS = 250
"""With more parts boxes do: the work grows with parts and plates."""

FAST = 16
"""Transforms of a multiple of so many cells are quick; those of a prime number are not."""

Cells = npt.NDArray[np.bool_]
"""Which cells are taken, rows upward."""

Transform = npt.NDArray[np.complex128]
"""The Fourier transform of cells."""


@dataclass(frozen=True, eq=False)
class _Shape:
    """A part as cells: those that it takes, and its lower left corner from that of its first cell, mm."""

    cells: Cells
    corner_mm: tuple[float, float]
    turned: bool
    _known: list[Transform] = field(default_factory=list)

    @cached_property
    def around(self) -> Cells:
        """Its cells within a rim of free ones."""
        return np.pad(self.cells, 1)

    @cached_property
    def edge(self) -> Cells:
        """The cells beside it."""
        return _widened(self.around) & ~self.around

    def transforms(self, size: tuple[int, ...]) -> tuple[Transform, Transform]:
        """Return the conjugate transforms of its cells and of those beside it; size: of the plate's."""
        if not self._known:
            both = (np.fft.rfft2(one.astype(float), size) for one in (self.around, self.edge))
            self._known.extend(np.conj(one) for one in both)
        return self._known[0], self._known[1]


def packed(outlines: Sequence[Any], bed: Size, fewer_than: int) -> list[Spot] | None:
    """Return a spot for each outline (shapely, mm) on fewer plates than a number; None where that fails.

    A part that leaves less than the gap beside it on the bed is in the middle of a plate of its own.
    """
    if len(outlines) > MOST_PARTS or fewer_than <= 1:
        return None
    wide, high = (math.floor((side - GAP_MM) / CELL_MM) for side in bed)
    known: dict[bytes, list[_Shape]] = {}
    for one in outlines:
        if one.wkb not in known:
            known[one.wkb] = _shapes(one)
    shapes = [known[one.wkb] for one in outlines]
    spots: dict[int, Spot] = {}
    for number, own in enumerate(shapes):
        if not any(shape.cells.shape[0] <= high and shape.cells.shape[1] <= wide for shape in own):
            spots[number] = replace(_alone(outlines[number], bed), plate=len(spots))
    first, plates = len(spots), list[_Plate]()
    least = sum(np.count_nonzero(own[0].cells) for number, own in enumerate(shapes) if number not in spots)
    if first + math.ceil(least / (wide * high)) >= fewer_than:
        return None
    left = (number for number in range(len(outlines)) if number not in spots)
    for number in sorted(left, key=lambda number: (-outlines[number].area, number)):
        spot = _placed(plates, shapes[number], (wide, high))
        if first + len(plates) >= fewer_than:
            return None
        spots[number] = replace(spot, plate=first + spot.plate)
    return [spots[number] for number in range(len(outlines))]


def _alone(outline: Any, bed: Size) -> Spot:
    """Return where a part is on a plate of its own."""
    left, low, right, high = outline.bounds
    return lay_out([(right - left, high - low)], bed)[0]


def _shapes(outline: Any) -> list[_Shape]:
    """Return an outline as cells, as it is and turned by a quarter counterclockwise."""
    from shapely import affinity  # kept off the start-up path

    turned = affinity.rotate(outline, 90, origin=(0, 0))
    return [_shape(outline, turned=False), _shape(turned, turned=True)]


def _shape(outline: Any, *, turned: bool) -> _Shape:
    import shapely  # kept off the start-up path

    area = outline.buffer(GAP_MM / 2 + ROUND_MM)
    left, low, right, high = area.bounds
    wide, tall = (math.ceil(side / CELL_MM - 1e-9) for side in (right - left, high - low))
    x, y = left + CELL_MM * np.arange(wide), low + CELL_MM * np.arange(tall)
    boxes = shapely.box(x[None, :], y[:, None], x[None, :] + CELL_MM, y[:, None] + CELL_MM)
    shapely.prepare(area)
    own = outline.bounds
    return _Shape(shapely.intersects(area, boxes), (own[0] - left, own[1] - low), turned)


class _Plate:
    """The cells of a plate within a rim of taken ones, with their transform for the next part."""

    def __init__(self, grid: tuple[int, int]) -> None:
        self.taken: Cells = np.pad(np.zeros((grid[1], grid[0]), bool), 1, constant_values=True)
        self._transform: Transform | None = None

    def place(self, shape: _Shape) -> tuple[float, int, int] | None:
        """Return the best free place, None without one: share of its edge that is free, row, column."""
        around = shape.around
        rows, columns = (side - own + 1 for side, own in zip(self.taken.shape, around.shape, strict=True))
        if rows <= 0 or columns <= 0 or np.count_nonzero(~self.taken) < np.count_nonzero(around):
            return None
        free = np.argwhere(self._meets(shape, 0)[:rows, :columns] < 0.5)
        if len(free) == 0:
            return None
        touched = self._meets(shape, 1)[free[:, 0], free[:, 1]] / np.count_nonzero(shape.edge)
        best = int(np.argmax(np.round(touched, 3)))
        return 1.0 - float(touched[best]), int(free[best][0]), int(free[best][1])

    def _meets(self, shape: _Shape, which: int) -> npt.NDArray[np.float64]:
        """Return how many taken cells a shape (0) or its edge (1) meets at each place on the plate."""
        size = tuple(math.ceil(side / FAST) * FAST for side in self.taken.shape)
        if self._transform is None:
            self._transform = np.fft.rfft2(self.taken.astype(float), size)
        return np.asarray(np.fft.irfft2(self._transform * shape.transforms(size)[which], size))

    def take(self, cells: Cells, at: tuple[int, int]) -> None:
        """Take cells at a place."""
        rows, columns = cells.shape
        self.taken[at[0] + 1 : at[0] + 1 + rows, at[1] + 1 : at[1] + 1 + columns] |= cells
        self._transform = None


def _widened(cells: Cells) -> Cells:
    """Return cells with their neighbours on four sides; none is at the rim."""
    wide = cells.copy()
    for axis, way in ((0, 1), (0, -1), (1, 1), (1, -1)):
        wide |= np.roll(cells, way, axis)
    return wide


def _placed(plates: list[_Plate], shapes: Sequence[_Shape], grid: tuple[int, int]) -> Spot:
    """Put a part on the first plate that takes it, on a new one if there is none: an empty one takes it."""
    for number in range(len(plates) + 1):
        plate = plates[number] if number < len(plates) else _Plate(grid)
        found = [(at, shape) for shape in shapes if (at := plate.place(shape)) is not None]
        if not found:
            continue
        (_, row, column), shape = min(found, key=lambda one: (*one[0], one[1].turned))
        plate.take(shape.cells, (row, column))
        if number == len(plates):
            plates.append(plate)
        x, y = (GAP_MM / 2 + CELL_MM * cell for cell in (column, row))
        return Spot(number, x + shape.corner_mm[0], y + shape.corner_mm[1], shape.turned)
    raise AssertionError("an empty plate takes every part that is not alone")
