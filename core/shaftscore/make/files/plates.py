"""Laying parts out on build plates: rows of rectangles, largest first, within the printer's bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

GAP_MM = 5.0
"""Distance between parts, and of parts from the edge of the bed (common practice, no source)."""


@dataclass(frozen=True)
class Spot:
    """Where a rectangle lies: number of its plate from 0, and its lower left corner on it, mm."""

    plate: int
    x_mm: float
    y_mm: float


@dataclass
class _Row:
    plate: int
    y_mm: float
    high_mm: float
    used_mm: float


def lay_out(sizes: Sequence[tuple[float, float]], bed: tuple[float, float]) -> list[Spot]:
    """Return a spot for each rectangle (width, height), mm, in the order given.

    A row is as high as its first rectangle; each goes into the first row that takes it. One that is
    larger than the bed has a plate of its own.
    """
    rows: list[_Row] = []
    spots: list[Spot | None] = [None] * len(sizes)
    for number in sorted(range(len(sizes)), key=lambda n: (-sizes[n][1], -sizes[n][0], n)):
        row = next((row for row in rows if _takes(row, sizes[number], bed)), None)
        if row is None:
            row = _new_row(rows, sizes[number], bed)
        spots[number] = Spot(row.plate, row.used_mm + GAP_MM, row.y_mm + GAP_MM)
        row.used_mm += GAP_MM + sizes[number][0]
    return [spot for spot in spots if spot is not None]


def _takes(row: _Row, size: tuple[float, float], bed: tuple[float, float]) -> bool:
    return size[1] <= row.high_mm and row.used_mm + size[0] + 2 * GAP_MM <= bed[0]


def _new_row(rows: list[_Row], size: tuple[float, float], bed: tuple[float, float]) -> _Row:
    """Begin a row on the first plate that has the height for it, else on a new plate."""
    plates = 1 + max((row.plate for row in rows), default=-1)
    for plate in range(plates):
        own = [row for row in rows if row.plate == plate]
        top = max(row.y_mm + GAP_MM + row.high_mm for row in own)
        fits = top + size[1] + 2 * GAP_MM <= bed[1] and size[0] + 2 * GAP_MM <= bed[0]
        if fits and all(row.used_mm + GAP_MM <= bed[0] for row in own):
            rows.append(_Row(plate, top, size[1], 0.0))
            return rows[-1]
    rows.append(_Row(plates, 0.0, size[1], 0.0))
    return rows[-1]
