"""Lanes whose moves have lengths or places of their own: read so that typing keeps each move.

The column of such a lane is right, since every move belongs to a step of its own, but no timing makes its
blocks again. Where a change of level stays at its step, its move stays as it is; a new change takes a move of
the lane's shortest length across the start of its step.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN, ahead, turn_to
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table.table import Column, Span, completed, nearest_step
from shaftscore.edits.state_table.visits import StepVisit
from shaftscore.model.lanes import Block


@dataclass(frozen=True)
class OwnMove:
    """A move: how far before the start of its step it starts (negative: after), and its length, degrees."""

    before_deg: float
    length_deg: float


def own_moves_of(blocks: Sequence[Block], starts_deg: Sequence[float]) -> Mapping[int, OwnMove]:
    """Return the move of each step (from 0) that begins with another level; empty where two share a step.

    starts_deg: of the steps.
    """
    moves: dict[int, OwnMove] = {}
    gaps = moves_of(blocks)
    for index, (block, gap) in enumerate(zip(blocks, gaps, strict=True)):
        if blocks[(index + 1) % len(blocks)].level == block.level or gap <= 0:
            return {}
        start = block.start_deg + block.length_deg
        step = nearest_step(starts_deg, start + gap / 2)
        if step in moves:
            return {}
        moves[step] = OwnMove(turn_to(start, starts_deg[step]), gap)
    return moves


def spans_with_moves(
    column: Column, moves: Mapping[int, OwnMove], move_deg: float, starts_deg: Sequence[float]
) -> list[Span]:
    """Return the dwells of a column whose changes keep their moves; move_deg: of a change that is new.

    Raises ValueError where a step visits a level: its moves would have no place.
    """
    cells = completed(column)
    levels = [cell for cell in cells if not isinstance(cell, StepVisit)]
    if len(levels) < len(cells):
        raise ValueError("a step that visits a level has moves of its own")
    changes = [step for step, level in enumerate(levels) if level != levels[step - 1]]
    if not changes:
        first = next(step for step, cell in enumerate(column) if cell is not None)
        return [(levels[first], starts_deg[first], TURN)]
    return list(_between(levels, changes, moves, move_deg, starts_deg))


def _between(
    levels: Sequence[str],
    changes: Sequence[int],
    moves: Mapping[int, OwnMove],
    move_deg: float,
    starts_deg: Sequence[float],
) -> Iterator[Span]:
    """Yield the dwell that follows each change, up to the move of the next one."""
    usual = OwnMove(move_deg / 2, move_deg)
    for place, step in enumerate(changes):
        own = moves.get(step, usual)
        begin = starts_deg[step] - own.before_deg + own.length_deg
        after = changes[place + 1 - len(changes)]
        following = moves.get(after, usual)
        room = ahead(starts_deg[step], starts_deg[after]) or TURN
        length = room - following.before_deg + own.before_deg - own.length_deg
        yield levels[step], begin, length
