"""From a lane's blocks to its motion.

Blocks of one level that overlap or touch are one dwell; whatever lies between two successive dwells
is a move, which fills the gap. Where blocks of different levels overlap or touch there is no time for
a move and the lane has no motion: a `NoMotion` says which blocks clash, and by how many degrees.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from core.angles import TURN, Arcs, ahead, wrap
from core.model import Block, Lane
from core.motion.lane_motion import LaneMotion, Nodes
from core.motion.laws import LAWS
from core.motion.segments import Dwell, Move, Segment
from core.tolerance import ANGLE_DEG

__all__ = ["Clash", "LaneMotion", "NoMotion", "Nodes", "program"]


@dataclass(frozen=True)
class Clash:
    """Two blocks of different levels that overlap or touch.

    first, second: their indices, in turning order. span: where both hold. short_deg: how many degrees
    they overlap (0: they touch), so at least how far one must give way.
    """

    first: int
    second: int
    span: Arcs
    short_deg: float


@dataclass(frozen=True)
class NoMotion:
    """Why a lane has no motion.

    reason: "clash" (see `clashes`), "law" or "kind" (`what` names what cannot be computed), or
    "empty" (the lane has no block).
    """

    reason: Literal["clash", "law", "kind", "empty"]
    clashes: tuple[Clash, ...] = ()
    what: str = ""


def program(lane: Lane) -> LaneMotion | NoMotion:
    """Turn a lane's blocks into its motion."""
    if lane.kind != "disc":
        return NoMotion("kind", what=f"lanes of kind {lane.kind}")
    if not lane.blocks:
        return NoMotion("empty")
    clashes = tuple(_clashes(lane.blocks))
    if clashes:
        return NoMotion("clash", clashes)
    dwells = _dwells(lane)
    laws = {_law_name(lane, dwell) for dwell in dwells} if len(dwells) > 1 else set()
    missing = sorted(laws - set(LAWS))
    if missing:
        return NoMotion("law", what=f"the law {missing[0]}")
    return LaneMotion(_in_order(_with_moves(lane, dwells)))


def _successors(blocks: Sequence[Block]) -> Iterator[tuple[int, int]]:
    """Yield (i, j) for every block j that begins in block i, or at its end."""
    count = len(blocks)
    for i, block in enumerate(blocks):
        for step in range(1, count):
            j = (i + step) % count
            lead = ahead(block.start_deg, blocks[j].start_deg)
            lead = 0.0 if lead > TURN - ANGLE_DEG else lead
            if lead > block.length_deg + ANGLE_DEG:
                break
            yield i, j


def _clashes(blocks: Sequence[Block]) -> Iterator[Clash]:
    seen: set[frozenset[int]] = set()
    for i, j in _successors(blocks):
        pair = frozenset((i, j))
        if blocks[i].level != blocks[j].level and pair not in seen:
            seen.add(pair)
            yield _clash(blocks, i, j)


def _clash(blocks: Sequence[Block], i: int, j: int) -> Clash:
    one, other = (Arcs.span(blocks[k].start_deg, blocks[k].length_deg) for k in (i, j))
    touch = Arcs.span(blocks[j].start_deg, 0.0)
    span = (one & other) | touch
    return Clash(i, j, span, span.length)


def _dwells(lane: Lane) -> list[Dwell]:
    """Join blocks of one level that overlap or touch, also through 0; in turning order."""
    blocks = lane.blocks
    order = sorted(range(len(blocks)), key=lambda index: blocks[index].start_deg)
    groups: list[tuple[float, float, list[int]]] = []
    for index in order:
        start, end = blocks[index].start_deg, blocks[index].start_deg + blocks[index].length_deg
        if groups and start <= groups[-1][1] + ANGLE_DEG:
            first, last, members = groups[-1]
            groups[-1] = (first, max(last, end), [*members, index])
        else:
            groups.append((start, end, [index]))
    while len(groups) > 1 and groups[0][0] + TURN <= groups[-1][1] + ANGLE_DEG:
        _, end, members = groups.pop(0)
        first, last, others = groups[-1]
        groups[-1] = (first, max(last, end + TURN), others + members)
    return [
        Dwell(start, min(end - start, TURN), lane.levels[blocks[m[0]].level], blocks[m[0]].level, tuple(m))
        for start, end, m in groups
    ]


def _law_name(lane: Lane, dwell: Dwell) -> str:
    """Name the law of the move that leads to a dwell."""
    return lane.blocks[dwell.blocks[0]].law or lane.law


def _with_moves(lane: Lane, dwells: Sequence[Dwell]) -> list[Segment]:
    if len(dwells) == 1:
        only = dwells[0]
        return [Dwell(only.start_deg, TURN, only.output_mm, only.level, only.blocks)]
    segments: list[Segment] = []
    for dwell, following in zip(dwells, [*dwells[1:], dwells[0]], strict=True):
        segments += [dwell, _move(lane, dwell, following)]
    return segments


def _move(lane: Lane, dwell: Dwell, following: Dwell) -> Move:
    law = LAWS[_law_name(lane, following)]
    begin = dwell.start_deg + dwell.length_deg
    falls = following.output_mm < dwell.output_mm
    return Move(
        wrap(begin),
        ahead(begin, following.start_deg),
        law,
        dwell.output_mm,
        following.output_mm,
        dwell.level,
        following.level,
        following.blocks[0],
        mirrored=falls and not law.symmetric,
    )


def _in_order(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Turn the cyclic list so that it begins with the least start."""
    first = min(range(len(segments)), key=lambda index: segments[index].start_deg)
    return (*segments[first:], *segments[:first])
