"""Which disc is which: the outlines of all discs of a stack at one scale, with code, name and heights."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.make.drawing.fonts import shortened
from shaftscore.make.drawing.pictures.labels import line_high_mm
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.stack_parts import layers
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Text, scene
from shaftscore.model import Stack

MOST_IN_ROW = 10
"""Discs beside one another, at most."""

MOST_CELL_MM = 34.0
"""Width of a disc's cell on paper, at most, mm."""

GAP_MM = 2.0
"""Between the outlines of neighbours on paper, mm."""

CODE_PT, NAME_PT = 8.5, 7.0
"""Sizes of letters."""


@dataclass(frozen=True, eq=False)
class OutlineRow:
    """A row of outlines, its lower left corner at the origin. high_mm: of the row on paper.

    codes: of its discs, from the left. scale: mm on paper by mm of the disc.
    """

    scene: Scene
    high_mm: float
    codes: tuple[str, ...]
    scale: float


def disc_outlines(machine: PicturedMachine, stack: Stack, wide_mm: float) -> tuple[OutlineRow, ...]:
    """Return the outlines of a stack's discs, from the bottom up, in rows of a width on paper, mm."""
    at, bottom = machine.places[stack.id]
    discs = [part.moved(-at, -bottom) for part in layers(machine, stack) if part.role == "disc"]
    if not discs:
        return ()
    rows = -(-len(discs) // MOST_IN_ROW)
    columns = -(-len(discs) // rows)
    cell = min(wide_mm / columns, MOST_CELL_MM)
    reach = max(float(np.abs(part.prisms[0].outline).max()) for part in discs)
    scale = min((cell - GAP_MM) / (2 * reach), 1.0)
    return tuple(
        _row(machine, discs[first : first + columns], cell, scale) for first in range(0, len(discs), columns)
    )


def _row(machine: PicturedMachine, discs: Sequence[PicturedPart], cell: float, scale: float) -> OutlineRow:
    below = line_high_mm(CODE_PT) + 3 * line_high_mm(NAME_PT) + 1.0
    reach = scale * max(float(np.abs(part.prisms[0].outline.imag).max()) for part in discs)
    marks: list[Mark] = []
    for place, part in enumerate(discs):
        middle = complex(cell * (place + 0.5), below + reach)
        marks += _outline(part, middle, scale)
        marks += _words(machine, part, complex(middle.real, below), cell)
    return OutlineRow(scene(marks), below + 2 * reach, tuple(part.code for part in discs), scale)


def _outline(part: PicturedPart, middle: complex, scale: float) -> Iterator[Mark]:
    prism = part.prisms[0]
    yield Path(middle + scale * prism.outline, Stroke("ink", "outline"), True, name=part.code)
    for hole in prism.holes:
        yield Path(middle + scale * hole, Stroke("ink", "hair"), True, name=f"bore of {part.code}")
    if prism.groove is not None:
        for flank in prism.groove[:2]:
            yield Path(middle + scale * flank, Stroke("muted", "hair"), True, name=f"groove of {part.code}")
    for name, line in prism.marks:
        if name == "zero mark":
            yield Path(middle + scale * line, Stroke("ink", "bold"), name=f"zero mark of {part.code}")


def _words(machine: PicturedMachine, part: PicturedPart, top: complex, cell: float) -> Iterator[Text]:
    """Yield code, name, heights and revision below an outline; top: the middle of their upper edge."""
    made = machine.made(part.code)[0]
    at = top - 1j * line_high_mm(CODE_PT)
    yield Text(at, part.code, CODE_PT, "middle", bold=True)
    lines = (
        (made.label, "ink"),
        (f"z {plain(part.bottom_mm, 2)} to {plain(part.prisms[0].top_mm, 2)}", "muted"),
        (made.revision, "muted"),
    )
    for number, (said, tone) in enumerate(lines, start=1):
        below = at - 1j * line_high_mm(NAME_PT) * number
        short = shortened(said, NAME_PT, cell - 0.6)
        yield Text(below, short, NAME_PT, "middle", "ink" if tone == "ink" else "muted")
