"""The rulers: which angles, steps and seconds are marked and written at a scale.

Angles are unwrapped; a text is of the angle in its turn, except that the end of the home turn is
written 360 and the end of its seconds the full time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.base.angles import TURN, wrap
from shaftscore.make.drawing.timing.axis import Axis, SeenPiece

DEGREE_STEPS = (1.0, 2.0, 5.0, 10.0, 30.0, 45.0, 90.0)
"""Distances of the labels of the degree ruler; under 1 degree its tenths follow when zoomed in far."""

LABEL_ROOM = 48.0
"""Least distance of two labels of a ruler, px of the design."""


@dataclass(frozen=True)
class Tick:
    """A mark on a ruler: rank 0 is the longest and may carry a text."""

    x: float
    rank: int
    text: str = ""


def degree_step(px_per_deg: float, u: float = 1.0) -> float:
    """Return the finest distance of labels that leaves 48 px, degrees."""
    room = LABEL_ROOM * u
    return next((step for step in DEGREE_STEPS if step * px_per_deg >= room), DEGREE_STEPS[-1])


def degree_ticks(axis: Axis, u: float = 1.0) -> Iterator[Tick]:
    """Yield the marks of the degree ruler: labels, and marks at 1/3 and 1/6 of their distance."""
    step = degree_step(axis.px_per_deg, u)
    small = step / 6.0
    first = math.ceil(axis.start_deg / small - 1e-9)
    last = math.floor(axis.end_deg / small + 1e-9)
    for number in range(first, last + 1):
        deg = number * small
        rank = 0 if number % 6 == 0 else 1 if number % 2 == 0 else 2
        yield Tick(axis.x(deg), rank, f"{_shown(deg, axis):g}°" if rank == 0 else "")


def _shown(deg: float, axis: Axis) -> float:
    return TURN if abs(deg - axis.home_deg - TURN) < 1e-9 else wrap(round(deg, 9))


@dataclass(frozen=True)
class StepCell:
    """One seen index step: its piece, number from 1, and name."""

    piece: SeenPiece
    number: int
    name: str


def step_cells(axis: Axis, starts_deg: Sequence[float], names: Sequence[str]) -> Iterator[StepCell]:
    """Yield every seen index step, for the steps' start angles (rising)."""
    ends = [*starts_deg[1:], starts_deg[0] + TURN]
    for index, (start, end) in enumerate(zip(starts_deg, ends, strict=True)):
        name = names[index] if index < len(names) else ""
        for piece in axis.pieces(start, end - start):
            yield StepCell(piece, index + 1, name)


def step_text(cell: StepCell, room: float, measure: Callable[[str], float], air: float) -> str:
    """Return number and name of a step, its number alone, or nothing, as it has room.

    room: px. measure: width of a text, px. air: kept beside a number alone, px; a name keeps twice that.
    """
    full = f"{cell.number} {cell.name}".strip()
    if cell.name and measure(full) + 2 * air <= room:
        return full
    return f"{cell.number}" if measure(f"{cell.number}") + air <= room else ""


def step_number(starts_deg: Sequence[float], deg: float) -> float:
    """Return an angle in steps: 10.67 is two thirds through the tenth step."""
    deg = wrap(deg)
    ends = [*starts_deg, starts_deg[0] + TURN]
    deg = deg if deg >= starts_deg[0] else deg + TURN
    for index, (start, end) in enumerate(pairwise(ends)):
        if start <= deg < end:
            return index + 1 + (deg - start) / (end - start)
    return float(len(starts_deg) + 1)


def second_step(px_per_second: float, u: float = 1.0) -> float:
    """Return the finest distance of labels, 1, 2 or 5 times a power of ten seconds, that leaves 48 px."""
    room = LABEL_ROOM * u
    exponent = math.floor(math.log10(room / px_per_second))
    steps = (mantissa * 10.0**power for power in (exponent, exponent + 1) for mantissa in (1.0, 2.0, 5.0))
    return next(step for step in steps if step * px_per_second >= room * (1 - 1e-9))


def second_ticks(axis: Axis, turn_s: float, u: float = 1.0) -> Iterator[Tick]:
    """Yield the marks of the seconds ruler; the time starts again with every turn of `turn_s` seconds."""
    per_second = axis.px(TURN) / turn_s
    step = second_step(per_second, u)
    half = step / 2.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    count = math.floor(turn_s / half + 1e-9)
    for number in range(count + 1):
        seconds = number * half
        ending = abs(seconds - turn_s) < 1e-9
        if ending:
            continue
        for x in axis.places(TURN * seconds / turn_s):
            yield Tick(x, number % 2, f"{seconds:.{decimals}f} s" if number % 2 == 0 else "")
