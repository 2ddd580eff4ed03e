"""Lift a block out of its lane and set it in where it is held, its neighbours giving way.

The *moves* on both sides of the block keep their lengths, since they carry pressure angle and
acceleration; the dwells beside it grow and shrink instead, down to their least length (a momentary stop
unless the maker gave one), and only then the move shortens. What is locked never gives.

Terms. *Ring*: the lane's other blocks in turn order, from the one after the block on, with unrolled
starts (they grow and are not wrapped). *Run*: successive unlocked blocks of one level; the output does not
move in it, so it is one dwell in several pieces. *Place*: where the block may be set in. Between two
dwells of one level these join when the block is lifted, and it may be set into any dwell of that level in
the lane, or between two of them; between two different levels it stays between them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from statistics import median
from typing import overload

from shaftscore.base.angles import TURN, ahead, turn_to
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.edits.base import changed, spanned
from shaftscore.model.lanes import Block, Lane

USUAL_MOVE_DEG = 20.0
"""Length of a move in a lane that has none to go by, degrees."""


@dataclass(frozen=True)
class UnrolledBlock:
    """A block at an unrolled start; its least length in degrees."""

    block: Block
    start: float
    length: float
    least: float = 0.0

    @property
    def end(self) -> float:
        """Unrolled end, degrees."""
        return self.start + self.length

    def later(self, by: float) -> UnrolledBlock:
        """Return the same piece, `by` degrees on."""
        return replace(self, start=self.start + by)

    def to(self, start: float, end: float) -> UnrolledBlock:
        """Return the piece with other ends, unrolled degrees."""
        return replace(self, start=start, length=max(0.0, end - start))

    @property
    def momentary(self) -> bool:
        """Whether nothing of the dwell is left but its level."""
        return self.length < EDIT_DEG / 2

    def made(self) -> Block:
        """Return the block; the same object if nothing changed."""
        return spanned(self.block, self.start, self.length)


@dataclass(frozen=True)
class TurnedRing(Sequence[UnrolledBlock]):
    """The pieces of a ring from one of them on, once around; each is computed when it is read.

    A lane has as many places as dwells, and of most of them only the ends are read. around: the ring.
    start_at: where it begins. first: the piece in place of the one there. behind: pieces after all of them.
    """

    around: Sequence[UnrolledBlock]
    start_at: int
    first: UnrolledBlock
    behind: tuple[UnrolledBlock, ...] = ()

    def __len__(self) -> int:
        """Count the pieces."""
        return len(self.around) + len(self.behind)

    @overload
    def __getitem__(self, place: int) -> UnrolledBlock: ...

    @overload
    def __getitem__(self, place: slice) -> list[UnrolledBlock]: ...

    def __getitem__(self, place: int | slice) -> UnrolledBlock | list[UnrolledBlock]:
        """Return a piece, or some of them. Raises IndexError beyond the last."""
        if isinstance(place, slice):
            return [self[one] for one in range(*place.indices(len(self)))]
        at = place + len(self) if place < 0 else place
        if at == 0:
            return self.first
        if at >= len(self.around):
            return self.behind[at - len(self.around)]
        start = self.start_at + at
        return (
            self.around[start]
            if start < len(self.around)
            else self.around[start - len(self.around)].later(TURN)
        )


@dataclass(frozen=True)
class InsertPlace:
    """Where a block may be set in.

    start, end: the stretch that belongs to the place, unrolled degrees. pieces: all other blocks, in
    turn order: the block stands before pieces[0], and a turn after it stands behind pieces[-1].
    """

    start: float
    end: float
    pieces: Sequence[UnrolledBlock]

    @property
    def left_run(self) -> int:
        """How many pieces, counted from the last, give way on the left of the block."""
        return _run(self.pieces[-1].block.level, reversed(self.pieces))

    @property
    def right_run(self) -> int:
        """How many pieces, counted from the first, give way on the right of the block."""
        return _run(self.pieces[0].block.level, self.pieces)

    @property
    def whole(self) -> bool:
        """Whether the rest of the lane is one dwell, so that the block may stand anywhere."""
        return self.right_run == len(self.pieces)

    @property
    def low(self) -> float:
        """Unrolled angle before which the block may not start (unless the place is the whole turn)."""
        count = self.left_run
        return (self.pieces[-count].start if count else self.pieces[-1].end) - TURN

    @property
    def high(self) -> float:
        """Unrolled angle past which the block may not end (unless the place is the whole turn)."""
        count = self.right_run
        return self.pieces[count - 1].end if count else self.pieces[0].start

    def holds(self, length: float) -> bool:
        """Return whether a block of this length, degrees, is inside the place (to half the grid of edits).

        Where the block is just as long as the place, the answer may not hang on how the ends round.
        """
        room = TURN if self.whole else self.high - self.low
        return length <= room + EDIT_DEG / 2

    def nearest(self, angle: float) -> float:
        """Return the unrolled angle inside the place that is nearest to an angle, degrees."""
        length = max(0.0, self.end - self.start)
        if ahead(self.start, angle) <= length:
            return self.start + ahead(self.start, angle)
        past, short = ahead(self.start + length, angle), ahead(angle, self.start)
        return self.start + length if past <= short else self.start

    def distance(self, angle: float) -> float:
        """Return the degrees by which an angle lies outside the place."""
        return abs(turn_to(self.nearest(angle), angle))

    def unrolled(self, angle: float) -> float:
        """Return an angle plus the whole turns that bring it nearest to the place."""
        near = self.nearest(angle)
        return angle + TURN * round((near + turn_to(near, angle) - angle) / TURN)


def _run(level: str, pieces: Iterable[UnrolledBlock]) -> int:
    """Count the unlocked pieces of a level at the beginning."""
    giving = takewhile(lambda piece: piece.block.level == level and not piece.block.locked, pieces)
    return sum(1 for _ in giving)


def moves_of(blocks: Sequence[Block]) -> list[float]:
    """Return the length of what lies from each block to the next, degrees; negative where they overlap.

    Just 0 where they touch to half the grid of edits, and never more than a turn, so that nothing hangs on
    how their ends round.
    """
    starts = [block.start_deg for block in blocks]
    following = [*starts[1:], *(start + TURN for start in starts[:1])]
    gaps = [after - start - b.length_deg for b, start, after in zip(blocks, starts, following, strict=True)]
    return [min(gap, TURN) if abs(gap) > EDIT_DEG / 2 else 0.0 for gap in gaps]


def usual_move(lane: Lane) -> float:
    """Return the length that moves of this lane usually have (the median), degrees."""
    blocks = lane.blocks
    following = [*blocks[1:], *blocks[:1]]
    lengths = [
        length
        for block, after, length in zip(blocks, following, moves_of(blocks), strict=True)
        if length > 0 and block.level != after.level
    ]
    return median(lengths) if lengths else USUAL_MOVE_DEG


def least_length(block: Block, deg_per_s: float) -> float:
    """Return the shortest that a dwell may become, degrees; never more than it is now."""
    asked = block.min_length_deg or (block.min_length_s or 0.0) * deg_per_s
    return min(asked, block.length_deg)


def set_in(
    lane: Lane, index: int, held: Block, start: float, deg_per_s: float, *, stretched: bool = False
) -> tuple[Block, list[Block]]:
    """Set block `index`, now `held`, in at `start`; give it as it came to stand, and all blocks in order.

    held: the block with the level and length that it shall have. start: degrees. deg_per_s: of the
    lane's stack, for least lengths in seconds. stretched: the block stays in its place and its ends are
    cut off where the place ends; otherwise it keeps its length and goes into the nearest place.
    """
    ring = _ring(lane, index, deg_per_s)
    gaps = moves_of(lane.blocks)
    was = lane.blocks[index]
    before = _move(gaps[index - 1], ring[-1].block, held, was, lane)
    after = _move(gaps[index], ring[0].block, held, was, lane)
    middle = start + held.length_deg / 2
    place = _place(ring, middle, math.inf if stretched else held.length_deg)
    begin, length = _stand(place, start, held.length_deg, stretched=stretched)
    pieces = _absorbed(place, _given_way(place, begin - before, begin + length + after))
    made, half_round = spanned(held, begin, length), begin + TURN / 2
    # Blocks that start at one angle keep the order in which they are given here.
    before_it = [piece.made() for piece in pieces if piece.start >= half_round]
    after_it = [piece.made() for piece in pieces if piece.start < half_round]
    return made, _distinct([*before_it, made, *after_it])


def _distinct(blocks: list[Block]) -> list[Block]:
    """Return blocks of which no two are one object: blocks are told apart by what they are, not where.

    Both halves of a dwell of no length that a block is set into are that dwell.
    """
    seen = set[int]()
    for index, block in enumerate(blocks):
        if id(block) in seen:
            blocks[index] = changed(block, level=block.level)
        seen.add(id(block))
    return blocks


def _ring(lane: Lane, index: int, deg_per_s: float) -> list[UnrolledBlock]:
    """Return the other blocks in turn order, starting after block `index`."""
    blocks = lane.blocks
    onward = [(block, block.start_deg) for block in blocks[index + 1 :]]
    onward += [(block, block.start_deg + TURN) for block in blocks[:index]]
    return [
        UnrolledBlock(block, start, block.length_deg, least_length(block, deg_per_s))
        for block, start in onward
    ]


def _move(gap: float, neighbour: Block, held: Block, was: Block, lane: Lane) -> float:
    """Choose the length that a move beside the block shall keep, degrees.

    Where there is none yet (blocks overlap or touch, or were of one level), the lane's usual length, so
    that dragging a block out of an overlap cures it; between blocks of one level none is needed.
    """
    if gap > 0 and (neighbour.level == held.level or neighbour.level != was.level):
        return gap
    return 0.0 if neighbour.level == held.level else max(gap, usual_move(lane))


def _place(ring: list[UnrolledBlock], middle: float, length: float) -> InsertPlace:
    """Choose the place nearest to `middle`: the one that the block came from, or one that it fits into."""
    before, after = ring[-1], ring[0]
    stays = _between(ring)
    if before.block.level != after.block.level:
        return stays
    if before.block.locked or after.block.locked:
        home, others = stays, _elsewhere(ring, after.block)
    elif len(ring) == 1:
        return InsertPlace(middle, middle, (before,))
    else:
        joined = before.later(-TURN).to(before.start - TURN, after.end)
        around = [joined, *ring[1:-1]]
        halves = (replace(joined, block=after.block, least=after.least), joined)
        home, others = _split(around, 0, halves), _elsewhere(around, after.block)
    places = [home, *(place for place in others if place.holds(length))]
    return min(places, key=lambda place: place.distance(middle))


def _between(ring: list[UnrolledBlock]) -> InsertPlace:
    """Return the place between the two dwells beside the lifted block, which stay two."""
    place = InsertPlace(0.0, 0.0, tuple(ring))
    return InsertPlace(place.low, place.high, place.pieces)


def _elsewhere(around: list[UnrolledBlock], after: Block) -> list[InsertPlace]:
    """Return the places in dwells of the level of `after`, and between two of them.

    after: the dwell that followed the lifted block; the law of the move to it goes with the block.
    """
    places = []
    for index, piece in enumerate(around):
        if piece.block.level != after.level:
            continue
        if not piece.block.locked:
            alike = piece.block.law == after.law and piece.block.window is None
            second = piece.block if alike else changed(piece.block, law=after.law, window=None)
            places.append(_split(around, index, (replace(piece, block=second), piece)))
        if around[index - 1].block.level == after.level:
            places.append(_gap(around, index, after))
    return places


def _split(
    around: list[UnrolledBlock], index: int, halves: tuple[UnrolledBlock, UnrolledBlock]
) -> InsertPlace:
    """Return the place inside a dwell; halves: what stands after the block there, and what before it.

    Both halves still have the extent of the whole dwell; setting the block in cuts them.
    """
    second, first = halves
    pieces = TurnedRing(around, index, second, (first.later(TURN),))
    return InsertPlace(around[index].start, around[index].end, pieces)


def _gap(around: list[UnrolledBlock], index: int, after: Block) -> InsertPlace:
    """Return the place between the dwell `index` and the one before it."""
    first = around[index]
    if first.block.law != after.law and not first.block.locked:
        first = replace(first, block=changed(first.block, law=after.law))
    pieces = TurnedRing(around, index, first)
    return InsertPlace(pieces[-1].end - TURN, first.start, pieces)


def _stand(place: InsertPlace, start: float, length: float, *, stretched: bool) -> tuple[float, float]:
    """Return the unrolled start and the length with which a block comes to be in a place."""
    middle = start + length / 2
    begin = start + (place.unrolled(middle) - middle)
    if place.whole:
        return begin, length
    low, high = place.low, place.high
    if stretched:
        first, last = max(begin, low), min(begin + length, high)
        return first, max(0.0, last - first)
    if not place.holds(length):
        return min(max(middle + begin - start, low), high) - length / 2, length
    return min(max(begin, low), high - length), length


def _given_way(place: InsertPlace, left: float, right: float) -> list[UnrolledBlock]:
    """Let the runs beside a block end at `left` and begin at `right`, as far as they can give."""
    pieces = list(place.pieces)
    lefts, rights = place.left_run, place.right_run
    least_left = sum(piece.least for piece in pieces[len(pieces) - lefts :])
    least_right = sum(piece.least for piece in pieces[:rights])
    if place.whole:
        short = max(0.0, (least_right - (TURN - (right - left))) / 2)
        left, right = left + short, right - short
    else:
        left, right = max(left, place.low + least_left), min(right, place.high - least_right)
    for index in range(rights):
        pieces[index] = _pushed_on(pieces[index], right, nearest=index == 0)
        right += pieces[index].least
    for index in range(len(pieces) - 1, len(pieces) - 1 - lefts, -1):
        pieces[index] = _pushed_back(pieces[index], left + TURN, nearest=index == len(pieces) - 1)
        left -= pieces[index].least
    return pieces


def _pushed_on(piece: UnrolledBlock, limit: float, *, nearest: bool) -> UnrolledBlock:
    start = limit if nearest else max(piece.start, limit)
    return piece.to(start, max(piece.end, start + piece.least))


def _pushed_back(piece: UnrolledBlock, limit: float, *, nearest: bool) -> UnrolledBlock:
    end = limit if nearest else min(piece.end, limit)
    return piece.to(min(piece.start, end - piece.least), end)


def _absorbed(place: InsertPlace, given: list[UnrolledBlock]) -> list[UnrolledBlock]:
    """Take out pieces squeezed to nothing that have another piece of their own run behind them.

    That piece takes their place: successive dwells of one level are one dwell, so nothing that the lane
    does is lost. A piece with a window stays.
    """
    pieces = list(given)
    lefts, rights = place.left_run, place.right_run
    squeezed = [
        now.momentary and not was.momentary and was.block.window is None
        for now, was in zip(given, place.pieces, strict=True)
    ]
    while rights > 1 and squeezed[0]:
        gone, rights = pieces.pop(0), rights - 1
        squeezed.pop(0)
        pieces[0] = replace(pieces[0], block=changed(pieces[0].block, law=gone.block.law))
        pieces[0] = pieces[0].to(gone.start, pieces[0].end)
        lefts = min(lefts, len(pieces))
    while lefts > 1 and squeezed[-1]:
        gone, lefts = pieces.pop(), lefts - 1
        squeezed.pop()
        pieces[-1] = pieces[-1].to(pieces[-1].start, gone.end)
    return pieces
