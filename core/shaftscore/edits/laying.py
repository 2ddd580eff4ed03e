"""Laying copies of blocks over a lane: what lies under them gives way, what is locked stays.

A *unit* is a run of blocks with the moves inside and beside it, its own offsets counted from its start.
Dwells that it meets are cut off where its moves begin, down to a momentary stop, which then stands so that
the moves on both its sides are shortened alike; a dwell that holds all of it is cut in two; what lies wholly
under it goes. Where a dwell beside has the unit's own level, no move
is needed, and it reaches up to the unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN, ahead
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.edits.base import changed, same_angle, spanned
from shaftscore.edits.runs import moves_beside
from shaftscore.edits.setting_in import moves_of
from shaftscore.model.lanes import Block, Lane


@dataclass(frozen=True)
class Unit:
    """Blocks of a lane as they follow one another.

    blocks: as they were; offsets_deg: their starts from the first one's, own degrees. to_deg, away_deg:
    lengths of the moves to the first and from the last.
    """

    blocks: tuple[Block, ...]
    offsets_deg: tuple[float, ...]
    to_deg: float
    away_deg: float

    @property
    def length_deg(self) -> float:
        """Degrees from the first block's start to the last one's end."""
        return self.offsets_deg[-1] + self.blocks[-1].length_deg


def unit_of(lane: Lane, run: Sequence[int]) -> Unit:
    """Take a run of a lane's blocks."""
    blocks = tuple(lane.blocks[index] for index in run)
    offsets = [0.0]
    for index in range(1, len(blocks)):
        offsets.append(offsets[-1] + ahead(blocks[index - 1].start_deg, blocks[index].start_deg))
    return Unit(blocks, tuple(offsets), *moves_beside(lane, run))


def laid_over(lane: Lane, unit: Unit, start_deg: float) -> tuple[list[Block], list[Block]]:
    """Lay a unit over a lane so that it starts at an own angle; gives all blocks, and the new ones.

    The copies are not locked and have no window. Raises EditError if the lane is at that level there anyway.
    """
    made = [
        changed(spanned(block, start_deg + offset, block.length_deg), locked=False, window=None)
        for block, offset in zip(unit.blocks, unit.offsets_deg, strict=True)
    ]
    start, length = made[0].start_deg, unit.length_deg
    if len(made) == 1 and any(_holds(block, made[0]) for block in lane.blocks):
        raise EditError(f"{lane.label} is {made[0].level} there already")
    rest = [
        _shared(lane, index, piece, unit, start)
        for index, block in enumerate(lane.blocks)
        for piece in _given_way(
            block,
            start,
            length,
            0.0 if block.level == made[0].level else unit.to_deg,
            0.0 if block.level == made[-1].level else unit.away_deg,
        )
        if piece is block or not _goes_on_in(piece, made[0], made[-1])
    ]
    return [*rest, *made], made


def _shared(lane: Lane, index: int, piece: Block, unit: Unit, start: float) -> Block:
    """Move a dwell of which a momentary stop is left, so that the moves beside it are shortened alike."""
    block, gaps = lane.blocks[index], moves_of(lane.blocks)
    if piece.length_deg > EDIT_DEG or block.length_deg <= EDIT_DEG:
        return piece
    offset = ahead(start, piece.start_deg)
    before, after = TURN - offset, offset - unit.length_deg
    to, away = max(gaps[index - 1], 0.0), max(gaps[index], 0.0)
    if before < unit.to_deg and same_angle(piece.start_deg, block.start_deg):
        return spanned(piece, start + offset - to + (to + before) * to / (to + unit.to_deg), 0.0)
    if after < unit.away_deg and same_angle(piece.end_deg, block.end_deg):
        return spanned(piece, start + offset + away - (away + after) * away / (away + unit.away_deg), 0.0)
    return piece


def _goes_on_in(piece: Block, first: Block, last: Block) -> bool:
    """Whether nothing is left of a dwell but a touch of what was laid, which is of its level."""
    before = piece.level == first.level and same_angle(piece.start_deg, first.start_deg)
    after = piece.level == last.level and same_angle(piece.start_deg, last.end_deg)
    return piece.length_deg < EDIT_DEG and (before or after)


def _holds(block: Block, made: Block) -> bool:
    """Whether a dwell of the same level covers a new one."""
    lead = ahead(block.start_deg, made.start_deg)
    return block.level == made.level and lead + made.length_deg <= block.length_deg + EDIT_DEG


def _given_way(block: Block, start: float, length: float, to: float, away: float) -> list[Block]:
    """Return what is left of a block beside a body of `length` from `start` on, with its moves."""
    if block.locked:
        return [block]
    begin = ahead(start, block.start_deg)
    begin = 0.0 if begin > TURN - EDIT_DEG else begin
    end = begin + block.length_deg
    if begin < length or begin < EDIT_DEG:
        return [_part(block, start, length + away, end, TURN - to)] if end > length + EDIT_DEG else []
    first = _part(block, start, max(begin, min(length + away, end)), end, TURN - to)
    if end <= TURN + length:
        return [first]
    return [first, changed(_part(block, start, TURN + length + away, end, end), law=None, window=None)]


def _part(block: Block, start: float, begin: float, end: float, most: float) -> Block:
    """Return a block from `begin` to `end`, cut off at `most`; angles from `start` on."""
    begin = min(begin, end)
    return spanned(block, start + begin, max(begin, min(end, most)) - begin)
