"""Where a block can slide in its lane with its moves at their own length.

A *slide* is a stretch of starts. As the block slides over it, everything between the far ends of its two
moves (its *window*) slides with it, and everything else of the lane stays: the dwells beside it only give
way. It follows `edits.setting_in`: between dwells of two levels the block stays between them; between
dwells of one level it may also go into any other dwell of that level. Locked blocks give no room.
Angles are of the lane's own stack.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile

from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.edits import BlockRef
from shaftscore.edits.copies import units_of
from shaftscore.edits.setting_in import least_length, moves_of, usual_move
from shaftscore.model import Block, Lane, Project


@dataclass(frozen=True)
class Slide:
    """A stretch of starts, from middle_deg - reach_deg to middle_deg + reach_deg.

    before_deg, window_deg: length of the move that leads to the block, and from its begin to the end of
    the move that follows the block.
    """

    ref: BlockRef
    middle_deg: float
    reach_deg: float
    before_deg: float
    window_deg: float


@dataclass(frozen=True)
class _Piece:
    """Another block of the lane at an unrolled start, the least that it may shrink to."""

    block: Block
    start: float
    least: float

    @property
    def end(self) -> float:
        return self.start + self.block.length_deg


def slides_of(project: Project, ref: BlockRef) -> tuple[Slide, ...]:
    """Return the slides of a block; none overlaps another. None for a locked block."""
    lane = project.lane(ref.lane_id)
    block = lane.blocks[ref.index]
    if block.locked:
        return ()
    speed = 6.0 * project.shaft.speed_rpm * project.rate_of(lane)
    ring = _ring(lane, ref.index, speed)
    before, after = _moves(lane, ref.index)
    window = before + block.length_deg + after
    # A room just as long as the window is a slide of one start, however its ends round.
    return tuple(
        Slide(ref, wrap(low + spare / 2 + before), max(0.0, spare) / 2, before, window)
        for low, high in _rooms(ring, window)
        for spare in (high - low - window,)
        if spare >= -EDIT_DEG / 2
    )


def copy_ways(project: Project, refs: Sequence[BlockRef]) -> Arcs:
    """Return by how far copies of blocks can go, master degrees, so that dwells hold them whole.

    Each run of them lies, with its moves, in one dwell of its lane. It follows `edits.laying`: the dwell
    is cut in two, and both parts may become momentary stops. Raises EditError if a block is not there.
    """
    ways = Arcs.full()
    for lane_id, unit, start in units_of(project, refs):
        lane = project.lane(lane_id)
        turns = project.stack_of(lane).turns
        window = unit.to_deg + unit.length_deg + unit.away_deg
        levels = {unit.blocks[0].level, unit.blocks[-1].level}
        ways &= Arcs.of(
            ((dwell.start_deg + unit.to_deg - start + TURN * turn) / turns, spare / turns)
            for dwell in lane.blocks
            for spare in (dwell.length_deg - window,)
            if dwell.level not in levels and not dwell.locked and spare >= 0
            for turn in range(turns)
        )
    return ways


def _ring(lane: Lane, index: int, deg_per_s: float) -> list[_Piece]:
    """Return the other blocks in turn order from the one after the block on, unrolled."""
    onward = [(block, block.start_deg) for block in lane.blocks[index + 1 :]]
    onward += [(block, block.start_deg + TURN) for block in lane.blocks[:index]]
    return [_Piece(block, start, least_length(block, deg_per_s)) for block, start in onward]


def _moves(lane: Lane, index: int) -> tuple[float, float]:
    """Return the lengths that the moves beside a block keep; usual ones where there is no move yet."""
    blocks, gaps = lane.blocks, moves_of(lane.blocks)
    if len(blocks) == 1:
        return 0.0, 0.0
    own = blocks[index].level
    beside = ((gaps[index - 1], blocks[index - 1]), (gaps[index], blocks[(index + 1) % len(blocks)]))
    before, after = (
        gap if gap > 0 else 0.0 if neighbour.level == own else usual_move(lane) for gap, neighbour in beside
    )
    return before, after


def _rooms(ring: Sequence[_Piece], window: float) -> Iterator[tuple[float, float]]:
    """Yield from and to of the stretches into which the window may be set, unrolled."""
    rights = _run(ring)
    if rights == len(ring):
        spare = TURN - sum(piece.least for piece in ring)
        middle = ring[0].start if ring else 0.0
        yield (middle, middle + (TURN + window if spare >= window else 0.0))
        return
    lefts = _run([*reversed(ring)])
    left = ring[len(ring) - lefts :]
    low = (left[0].start if left else ring[-1].end) - TURN + _least(left)
    high = (ring[rights - 1].end if rights else ring[0].start) - _least(ring[:rights])
    yield (low, high)
    if ring[0].block.level == ring[-1].block.level:
        yield from _elsewhere(ring[rights : len(ring) - lefts], ring[0].block.level)


def _elsewhere(pieces: Sequence[_Piece], level: str) -> Iterator[tuple[float, float]]:
    """Yield the other dwells of a level that may give room; each keeps its least length on either side."""
    rest = list(pieces)
    while rest:
        run = rest[: max(1, _run(rest))]
        rest = rest[len(run) :]
        if run[0].block.level == level and not run[0].block.locked:
            yield (run[0].start + _least(run), run[-1].end - _least(run))


def _run(pieces: Sequence[_Piece]) -> int:
    """Count the unlocked pieces of one level at the beginning."""
    level = pieces[0].block.level if pieces else ""
    giving = takewhile(lambda piece: piece.block.level == level and not piece.block.locked, pieces)
    return sum(1 for _ in giving)


def _least(pieces: Sequence[_Piece]) -> float:
    return sum(piece.least for piece in pieces)
