"""Read visits within steps from the blocks of a lane.

A dwell is visited where it lies within one step together with the move that leads away from it, or with the
one that leads to it and a return that is a little late. What is left stays through steps, and changes where a
move lies across their start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from shaftscore.base.angles import ahead
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table.table import Column, Timing, nearest_step, sizes, step_at
from shaftscore.edits.state_table.visits import StepCell, StepVisit, VisitDwell
from shaftscore.model.lanes import Block

NEAR_DEG = 5 * EDIT_DEG
"""Lengths this near are one, degrees: angles of blocks are rounded."""

_DECIMALS = 5


def visiting_columns(blocks: Sequence[Block], starts_deg: Sequence[float]) -> Iterator[Column]:
    """Yield columns with the visits that blocks make within steps, none where they make none.

    Every visit has all its lengths. First the longest block is taken for no visit, then it may be one.
    """
    gaps = moves_of(blocks)
    if len(blocks) > 1 and min(gaps) > 0:
        for rests in (True, False):
            column = _visiting_column(blocks, gaps, starts_deg, rests=rests)
            if column is not None:
                yield column


def _visiting_column(
    blocks: Sequence[Block], gaps: Sequence[float], starts_deg: Sequence[float], *, rests: bool
) -> Column | None:
    visited = _visited(blocks, gaps, starts_deg, rests=rests)
    cells: list[StepCell] = [None] * len(starts_deg)
    begun = _changes(blocks, gaps, {index for own in visited.values() for index in own}, starts_deg)
    if begun is None or not visited or begun.keys() & visited.keys():
        return None
    for step, level in begun.items():
        cells[step] = level
    for step, own in visited.items():
        cells[step] = _visit(blocks, gaps, sorted(own, key=lambda i: blocks[i].start_deg), starts_deg[step])
    return tuple(cells)


def _visited(
    blocks: Sequence[Block], gaps: Sequence[float], starts_deg: Sequence[float], *, rests: bool
) -> dict[int, list[int]]:
    """Return the blocks that are visited within a step, by step.

    Either the move away from a block ends within its step, or the move to it lies there and the return is
    late, but in the first half of the next step. What follows a visit is what its step ends with: it is no
    visit of the next step, nor a late one of its own. rests: the longest block is none.
    """
    lengths = sizes(starts_deg)
    steps = [step_at(starts_deg, block.start_deg + NEAR_DEG) for block in blocks]
    visited: dict[int, list[int]] = {}
    first = max(range(len(blocks)), key=lambda index: blocks[index].length_deg)
    was = -1
    for index in (*range(first, len(blocks)), *range(first)):
        step = steps[index]
        into = ahead(starts_deg[step], blocks[index].start_deg + NEAR_DEG) - NEAR_DEG
        end = max(0.0, into) + blocks[index].length_deg
        back = end + gaps[index]
        own, following = lengths[step], lengths[step + 1 - len(lengths)]
        soon = back <= own + NEAR_DEG and was in (-1, step)
        late = into - gaps[index - 1] >= -NEAR_DEG and end <= own + NEAR_DEG and back <= own + following / 2
        is_rest = rests and index == first
        was = step if not is_rest and (soon or (late and was == -1)) else -1
        if was == step:
            visited.setdefault(step, []).append(index)
    return visited


def _changes(
    blocks: Sequence[Block], gaps: Sequence[float], visited: set[int], starts_deg: Sequence[float]
) -> dict[int, str] | None:
    """Return the levels that begin with a step; None where two would begin with one."""
    begun: dict[int, str] = {}
    for index, block in enumerate(blocks):
        after = (index + 1) % len(blocks)
        if index in visited or after in visited:
            continue
        step = nearest_step(starts_deg, block.start_deg + block.length_deg + gaps[index] / 2)
        if step in begun:
            return None
        begun[step] = blocks[after].level
    return begun


def _visit(blocks: Sequence[Block], gaps: Sequence[float], own: Sequence[int], start_deg: float) -> StepVisit:
    """Return the visit of a step that starts at an angle; own: the blocks within it, in order."""
    dwells = tuple(
        VisitDwell(
            blocks[index].level,
            round(ahead(start_deg, blocks[index].start_deg), _DECIMALS),
            round(blocks[index].length_deg, _DECIMALS),
            round(gaps[index - 1], _DECIMALS),
        )
        for index in own
    )
    last = own[-1]
    return StepVisit(dwells, blocks[(last + 1) % len(blocks)].level, round(gaps[last], _DECIMALS))


def with_own_lengths(column: Column, timing: Timing) -> Column:
    """Return a column whose visits keep only the lengths that differ from the lane's."""
    return tuple(_without(cell, timing) if isinstance(cell, StepVisit) else cell for cell in column)


def _without(visit: StepVisit, timing: Timing) -> StepVisit:
    dwells = tuple(
        replace(
            dwell,
            hold_deg=_own(dwell.hold_deg, timing.dwell_deg),
            to_deg=_own(dwell.to_deg, timing.move_deg),
        )
        for dwell in visit.dwells
    )
    return replace(visit, dwells=dwells, away_deg=_own(visit.away_deg, timing.move_deg))


def _own(length: float | None, usual: float | None) -> float | None:
    same = length is not None and usual is not None and abs(length - usual) <= NEAR_DEG
    return None if same else length
