"""Chosen blocks of a lane that keep their times to each other while the dwells beside them give way.

Terms. *Chosen*: places of blocks in their lane. *Run*: successive chosen blocks round the turn; what lies
inside a run, moves included, stays as it is. The moves on both sides of a run keep their lengths, so the
dwell before it ends, and the dwell after it begins, as much later or earlier as the run goes. What is
locked never gives.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.base.angles import TURN, Arcs, ahead, turn_to, wrap
from shaftscore.edits.base import changed, spanned
from shaftscore.edits.setting_in import least_length, moves_of, usual_move
from shaftscore.model.lanes import Block, Lane, Window


def runs_of(count: int, chosen: Collection[int]) -> list[list[int]]:
    """Group chosen places of a lane of `count` blocks into runs; one that passes the end goes on at 0."""
    if len(chosen) >= count:
        return [list(range(count))] if count else []
    begins = [index for index in sorted(chosen) if (index - 1) % count not in chosen]
    return [_run_from(begin, count, chosen) for begin in begins]


def _run_from(begin: int, count: int, chosen: Collection[int]) -> list[int]:
    run = [begin]
    while (run[-1] + 1) % count in chosen:
        run.append((run[-1] + 1) % count)
    return run


def moves_beside(lane: Lane, run: Sequence[int]) -> tuple[float, float]:
    """Return the lengths of the moves to and from a run, degrees; usual ones where there is no move yet."""
    blocks, gaps = lane.blocks, moves_of(lane.blocks)
    first, last = run[0], run[-1]
    after = (last + 1) % len(blocks)
    beside = (
        (gaps[first - 1], blocks[first - 1], blocks[first]),
        (gaps[last], blocks[after], blocks[last]),
    )
    to, away = (
        gap if gap > 0 else 0.0 if other.level == own.level else usual_move(lane)
        for gap, other, own in beside
    )
    return to, away


def slid(lane: Lane, chosen: Collection[int], by_deg: float, *, giving: bool) -> list[Block]:
    """Return the lane's blocks, each at its place, with the chosen ones `by_deg` later.

    giving: the dwells beside them give way; otherwise all others stay. The caller keeps `by_deg` within
    `reach`.
    """
    blocks, count = lane.blocks, len(lane.blocks)
    made = []
    for index, block in enumerate(blocks):
        if index in chosen:
            made.append(spanned(block, block.start_deg + by_deg, block.length_deg))
        elif not giving or block.locked:
            made.append(block)
        else:
            begin = by_deg * ((index - 1) % count in chosen)
            end = by_deg * ((index + 1) % count in chosen)
            made.append(spanned(block, block.start_deg + begin, block.length_deg + end - begin))
    return made


def reach(lane: Lane, chosen: Collection[int], deg_per_s: float) -> tuple[float, float]:
    """Return how far earlier (at most 0) and later the chosen blocks can go, degrees; may be infinite.

    Dwells give down to their least length; what is locked stops them. deg_per_s: of the lane's stack.
    """
    low, high, count = -math.inf, math.inf, len(lane.blocks)
    for index, block in enumerate(lane.blocks):
        before, after = (index - 1) % count in chosen, (index + 1) % count in chosen
        if index in chosen or (before == after and not block.locked) or not (before or after):
            continue
        room = 0.0 if block.locked else block.length_deg - least_length(block, deg_per_s)
        high = min(high, room) if before else high
        low = max(low, -room) if after else low
    return low, high


def stretch_over(lane: Lane, chosen: Collection[int]) -> list[int]:
    """Return the places from the first to the last chosen block, those between included.

    First and last are those with the longest rest of the turn between them.
    """
    order, blocks = sorted(chosen), lane.blocks
    onward = [*order[1:], order[0]]
    rests = [
        (ahead(blocks[one].start_deg, blocks[other].start_deg) or TURN) - blocks[one].length_deg
        for one, other in zip(order, onward, strict=True)
    ]
    first = onward[rests.index(max(rests))]
    last = order[rests.index(max(rests))]
    return [(first + step) % len(blocks) for step in range((last - first) % len(blocks) + 1)]


def span_over(lane: Lane, run: Sequence[int]) -> tuple[float, float]:
    """Return start and length of a run from the first block's start to the last one's end, own degrees."""
    blocks = lane.blocks
    length = sum(ahead(blocks[one].start_deg, blocks[other].start_deg) for one, other in pairwise(run))
    return blocks[run[0]].start_deg, length + blocks[run[-1]].length_deg


@dataclass(frozen=True)
class Mirrored:
    """A lane of which a run goes backwards: all its blocks, and those of the run at their new places."""

    blocks: list[Block]
    run: list[Block]


def mirrored(lane: Lane, run: Sequence[int], about_deg: float) -> Mirrored | None:
    """Let a run go backwards about an own angle; None where the dwells beside it have no room for that.

    The moves beside the run change sides with their lengths and laws.
    """
    blocks, count = list(lane.blocks), len(lane.blocks)
    start, length = span_over(lane, run)
    begin = start + turn_to(start, 2 * about_deg - start - length)
    to, away = moves_beside(lane, run)
    whole = len(run) == count
    after = (run[-1] + 1) % count
    laws = [blocks[index].law for index in (*run[1:], after)]
    for index, law in zip(run, laws, strict=True):
        blocks[index] = _turned(lane.blocks[index], about_deg, law)
    if not whole:
        neighbours = _beside(lane, run, begin - away, begin + length + to)
        if neighbours is None:
            return None
        blocks[after] = changed(blocks[after], law=lane.blocks[run[0]].law)
        for index, (at, long) in neighbours.items():
            blocks[index] = spanned(blocks[index], at, long)
    return Mirrored(blocks, [blocks[index] for index in run])


def _turned(block: Block, about_deg: float, law: str | None) -> Block:
    """Let one block go backwards about an angle, its window with it."""
    start = 2 * about_deg - block.end_deg
    window = block.window
    if window is not None:
        ends = [
            wrap(2 * about_deg - end - block.length_deg) for end in (window.latest_deg, window.earliest_deg)
        ]
        arc = Arcs.between(*ends)
        window = Window(earliest_deg=arc.start, latest_deg=arc.start + arc.length)
    moved = spanned(block, start, block.length_deg)
    return changed(moved, law=law, window=window) if (law, window) != (moved.law, moved.window) else moved


def _beside(
    lane: Lane, run: Sequence[int], end_deg: float, begin_deg: float
) -> dict[int, tuple[float, float]] | None:
    """Return start and length of the dwells beside a run: one ends at `end_deg`, one begins at `begin_deg`.

    None where one would have a negative length.
    """
    blocks, count = lane.blocks, len(lane.blocks)
    before, after = (run[0] - 1) % count, (run[-1] + 1) % count
    start, length = span_over(lane, run)
    gaps = moves_of(blocks)
    later_end = end_deg - (start - gaps[before])
    later_begin = begin_deg - (start + length + gaps[run[-1]])
    found: dict[int, tuple[float, float]] = {}
    for index in {before, after}:
        block = blocks[index]
        begin = later_begin * (index == after)
        end = later_end * (index == before)
        if not block.locked:
            found[index] = (block.start_deg + begin, block.length_deg + end - begin)
    return found if all(length >= -1e-9 for _, length in found.values()) else None
