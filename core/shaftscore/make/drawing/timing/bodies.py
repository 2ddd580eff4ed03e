"""Where the bodies of blocks are, and how they look by the rank of their level.

A body hangs under its level line; that of a momentary stop is a bead. Ranks above 5 begin again with a double
edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore.make.drawing.timing.strips import Detail, Strip

RADIUS, BEAD = 2.5, 11.0
"""Radius of a body's corners, and size of a bead, px of the design."""

STYLES = 5
"""Coloured styles; the lowest level is grey."""


@dataclass(frozen=True)
class BodyBox:
    """The box of a block's body, px."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Return its right end, px."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Return its lower end, px."""
        return self.top + self.height


@dataclass(frozen=True)
class LevelStyle:
    """How blocks of a rank look: number of the colour (0: grey), of the pattern (0: none); double edge."""

    number: int
    pattern: int
    double: bool


def level_style(rank: int) -> LevelStyle:
    """Return how blocks of the level of a rank look, lowest 0."""
    number = 0 if rank == 0 else (rank - 1) % STYLES + 1
    return LevelStyle(number, max(0, number - 1), rank > STYLES)


def body_box(strip: Strip, piece: SeenPiece, level_mm: float) -> BodyBox:
    """Return the box of a block's body, px; its upper side is on the level line."""
    return BodyBox(piece.begin, strip.y(level_mm), piece.end - piece.begin, strip.body)


def shape_box(strip: Strip, piece: SeenPiece, shape: BlockShape, u: float) -> BodyBox:
    """Return the box of a block or bead, px."""
    if not shape.is_stop:
        return body_box(strip, piece, shape.level.output_mm)
    size = min(BEAD * u, strip.body) if strip.detail is Detail.THIN else BEAD * u
    return BodyBox(piece.begin - size / 2, strip.y(shape.level.output_mm) + 0.5 * u, size, size)


def pieces_of(axis: Axis, shape: BlockShape, reach: float) -> list[SeenPiece]:
    """Return the seen copies of a block, also of one that only reaches into the view by `reach` px."""
    if not shape.is_stop:
        return list(axis.pieces(shape.start_deg, shape.length_deg))
    margin = reach / axis.px_per_deg
    wide = axis.pieces(shape.start_deg - margin, 2 * margin)
    return [
        SeenPiece(
            piece.begin + reach, piece.begin + reach, piece.begin + reach, piece.begin + reach, piece.turn_deg
        )
        for piece in wide
    ]
