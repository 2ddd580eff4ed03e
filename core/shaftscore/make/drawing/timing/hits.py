"""What lies under the pointer within a strip: a block, one of its edges, or empty ground.

The *edge zone* of a block reaches 6 px inward and 3 px outward from each end; a block under 24 px wide
has it only outside, 6 px, so that its middle can always be taken. A momentary stop is hit within 16 px;
its edges are stretched with the keyboard.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore.make.drawing.timing.strips import Strip


class Grip(Enum):
    """What of a block is held."""

    WHOLE = "whole"
    START = "start"
    END = "end"


@dataclass(frozen=True)
class BlockHit:
    """A block under the pointer, and what of it; turn_deg counts the seen copy of the turn."""

    shape: BlockShape
    grip: Grip
    turn_deg: float


STOP_HIT = 16.0
"""Width and height within which a momentary stop is hit, px of the design."""

NARROW = 24.0
"""A block under this width has its edge zones outside only, px of the design."""


def hit_block(
    axis: Axis, strip: Strip, shapes: Sequence[BlockShape], x: float, y: float, *, slack: float = 2.0
) -> BlockHit | None:
    """Find the block at a place, px; edges before bodies, the later block where two overlap.

    slack: how far above and below its body a block is still hit, px.
    """
    found: list[BlockHit] = []
    for shape in reversed(shapes):
        top = strip.y(shape.level.output_mm)
        height = STOP_HIT * strip.u if shape.is_stop else strip.body
        if not top - slack <= y <= top + height + slack:
            continue
        for piece in axis.pieces(shape.start_deg, shape.length_deg):
            grip = _stop_grip(piece, x, strip.u) if shape.is_stop else _grip(piece, x, strip.u)
            if grip is not None:
                found.append(BlockHit(shape, grip, piece.turn_deg))
    found.sort(key=lambda hit: hit.grip is Grip.WHOLE)
    return found[0] if found else None


def _stop_grip(piece: SeenPiece, x: float, u: float) -> Grip | None:
    return Grip.WHOLE if abs(x - piece.begin) <= STOP_HIT * u / 2 else None


def _grip(piece: SeenPiece, x: float, u: float) -> Grip | None:
    begin, end = piece.begin, piece.end
    if end - begin < NARROW * u:
        inside, outside = 0.0, 6.0 * u
    else:
        inside, outside = 6.0 * u, 3.0 * u
    if begin - outside <= x <= begin + inside and (inside or x < begin):
        return Grip.START
    if end - inside <= x <= end + outside and (inside or x > end):
        return Grip.END
    return Grip.WHOLE if begin <= x <= end else None
