"""Read the blocks of a lane back as a column of the state table.

The column is proposed by where the moves lie, the timing by their length; then the dwells that these two
make are compared with the blocks. Only where they are the same does the table say all that the diagram
does; else the diagram has *outgrown* it, and the reading says why.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, pairwise

from shaftscore.base.angles import TURN, Arcs, ahead, turn_to
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import degrees, listed
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table.own_moves import OwnMove, own_moves_of
from shaftscore.edits.state_table.table import (
    Column,
    Timing,
    completed,
    filled,
    nearest_step,
    sizes,
    spans_of,
    step_at,
    usual_timing,
)
from shaftscore.edits.state_table.visits import StepCell, ending, visits_in, with_known_lengths
from shaftscore.edits.state_table.visits_read import visiting_columns, with_own_lengths
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project

SAME_DEG = 5 * EDIT_DEG
"""Angles this near are one: those of blocks are rounded, and so are the lengths read from them."""

MOST_DWELLS = 8
"""So many lengths of a visit are tried."""

_DECIMALS = 5


@dataclass(frozen=True)
class Reading:
    """A lane as the table shows it.

    column: the level of each step, all None for a lane without blocks. timing: of its dwells and moves;
    the usual one where the blocks tell none (`timed` is False then). crowded: step (from 0) to the levels
    of its dwells, in order, where a cell cannot hold them. outgrown: why the table cannot say all that the
    diagram does, else empty. foreign: why the lane has no program of its own at all, else empty. own_moves:
    the moves that typing keeps in a lane that has outgrown the table, by the step that begins with them; none
    where it is not clear which move belongs to which step.
    """

    column: Column
    timing: Timing
    timed: bool = False
    crowded: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    outgrown: str = ""
    foreign: str = ""
    own_moves: Mapping[int, OwnMove] = field(default_factory=dict)

    @property
    def protected(self) -> str:
        """Why cells of the lane cannot be edited; empty where they can."""
        return self.foreign or ("" if self.own_moves else self.outgrown)

    @property
    def incomplete(self) -> str:
        """Why the cells are not all that the lane does; empty where they are."""
        return self.foreign or self.outgrown


def read_states(project: Project, lane: Lane) -> Reading:
    """Read a lane's blocks; steps are those of the shaft, laid over the lane's own stack's turn."""
    starts = project.shaft.step_starts_deg
    none: Column = (None,) * len(starts)
    usual = usual_timing(starts)
    if foreign := _foreign(project, lane):
        return Reading(none, usual, foreign=foreign)
    if not lane.blocks:
        return Reading(none, usual)
    column = _column(lane.blocks, starts)
    for proposed in chain([column], visiting_columns(lane.blocks, starts)):
        timing = _timing(lane.blocks, proposed, starts)
        if timing is not None:
            timed = len(spans_of(proposed, timing, starts)) > 1
            return Reading(with_own_lengths(proposed, timing), timing if timed else usual, timed=timed)
    near = Timing(None, _shortest_move(lane.blocks, usual.move_deg))
    crowded = dict(_crowded(lane.blocks, column, starts))
    moves = {} if crowded else own_moves_of(lane.blocks, starts)
    why = _reason(lane.blocks, crowded)
    return Reading(column, near, timed=True, crowded=crowded, outgrown=why, own_moves=moves)


def with_cells(lane: Lane, reading: Reading, cells: Mapping[int, StepCell]) -> Column:
    """Change some steps of a lane's column: step (from 0) to cell, None for as the step before.

    The other steps of a lane without blocks take its lowest level. A visit without lengths of its own takes
    those that its step or another one of the lane has.
    """
    column: list[StepCell] = list(completed(reading.column))
    if not column:
        lowest = lowest_level(lane.levels)
        some = any(cell is not None for cell in cells.values())
        column = [lowest if some else None for _ in reading.column]
    before = tuple(column)
    for step, cell in cells.items():
        column[step] = with_known_lengths(cell, before[step], before)
    return tuple(column)


def lowest_level(levels: Mapping[str, float]) -> str | None:
    """Return the lowest level, of heights in mm; None where there is none."""
    return min(levels, key=lambda level: levels[level], default=None)


def level_before(column: Sequence[StepCell], step: int) -> str | None:
    """Return the level at which a lane comes into a step, counted from 0; None where nothing says it."""
    given = (ending(column[step - back]) for back in range(1, len(column)))
    return next((level for level in given if level is not None), None)


def _foreign(project: Project, lane: Lane) -> str:
    if lane.kind == "points":
        return "moves by a table of points"
    if lane.disc_of is not None:
        return f"rides on {project.lane(lane.disc_of).label}’s disc"
    return ""


def _column(blocks: Sequence[Block], starts: Sequence[float]) -> Column:
    """Propose a column: every move belongs to the step whose start is nearest to its middle."""
    count = len(starts)
    begun: dict[int, str] = {}
    for index, (block, gap) in enumerate(zip(blocks, moves_of(blocks), strict=True)):
        after = blocks[(index + 1) % len(blocks)]
        if after.level != block.level:
            begun[nearest_step(starts, block.start_deg + block.length_deg + gap / 2)] = after.level
    if not begun:
        first = nearest_step(starts, blocks[0].start_deg)
        return tuple(blocks[0].level if step == first else None for step in range(count))
    if len(begun) == sum(one.level != after.level for one, after in pairwise([*blocks, blocks[0]])):
        return filled(tuple(begun.get(step) for step in range(count)))
    return tuple(_most_like(blocks, starts))


def _most_like(blocks: Sequence[Block], starts: Sequence[float]) -> Iterator[str]:
    """Yield for each step a level that says most of it, where no column says all.

    A dwell whose middle lies in the step counts first, the shortest of several; else the one that is
    nearest to the step's middle.
    """
    for step, (start, size) in enumerate(zip(starts, sizes(starts), strict=True)):
        middle = start + size / 2
        own = [b for b in blocks if step_at(starts, b.start_deg + b.length_deg / 2) == step]
        near = min(blocks, key=lambda b: Arcs.span(b.start_deg, b.length_deg).gap(Arcs.span(middle, 0.0)))
        yield min(own, key=lambda b: b.length_deg).level if own else near.level


def _timing(blocks: Sequence[Block], column: Column, starts: Sequence[float]) -> Timing | None:
    """Find the timing with which the column makes just these blocks; None where there is none."""
    move = _move(blocks, column, starts)
    if move <= 0:
        return None
    for dwell in _dwells(blocks, column, starts):
        timing = Timing(dwell, move)
        if _same(blocks, spans_of(column, timing, starts)):
            return timing
    return None


def _move(blocks: Sequence[Block], column: Column, starts: Sequence[float]) -> float:
    """Propose the length of a move: that of most moves beside visits, else the first one's."""
    if len(blocks) <= 1:
        return usual_timing(starts).move_deg
    gaps = [round(gap, _DECIMALS) for gap in moves_of(blocks)]
    if any(gap <= 0 for gap in gaps):
        return 0.0
    return Counter(gaps).most_common(1)[0][0] if visits_in(column) else gaps[0]


def _dwells(blocks: Sequence[Block], column: Column, starts: Sequence[float]) -> Iterator[float | None]:
    """Propose lengths of a dwell.

    Those of most visits; else what the moves leave, then what most edges say, then the shortest block.
    """
    holds = Counter(dwell.hold_deg for visit in visits_in(column) for dwell in visit.dwells)
    yield from (hold for hold, _ in holds.most_common(1))
    yield None
    middles = [start + size / 2 for start, size in zip(starts, sizes(starts), strict=True)]
    found = Counter[float]()
    for block in blocks:
        for edge, sense in ((block.start_deg, -1), (block.end_deg, 1)):
            step = step_at(starts, edge)
            beside = (middles[step - 1], middles[step], middles[(step + 1) - len(middles)])
            near = min((turn_to(middle, edge) * sense for middle in beside), key=abs)
            if near >= -SAME_DEG:
                found[round(2 * max(0.0, near), _DECIMALS)] += 1
    yield from (dwell for dwell, _ in found.most_common(MOST_DWELLS))
    yield round(min(block.length_deg for block in blocks), _DECIMALS)


def _same(blocks: Sequence[Block], spans: Sequence[tuple[str, float, float]]) -> bool:
    """Return whether dwells are just these blocks, whichever comes first."""
    if len(blocks) != len(spans):
        return False
    return any(
        all(_alike(block, span) for block, span in zip(blocks, [*spans[first:], *spans[:first]], strict=True))
        for first in range(len(spans))
    )


def _alike(block: Block, span: tuple[str, float, float]) -> bool:
    level, start, length = span
    near = abs(turn_to(block.start_deg, start)) <= SAME_DEG
    return block.level == level and near and abs(block.length_deg - length) <= SAME_DEG


def _crowded(
    blocks: Sequence[Block], column: Column, starts: Sequence[float]
) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the steps with a dwell in them that the column leaves out, and all that they hold."""
    levels, lengths = filled(column), sizes(starts)
    for block in blocks:
        step = step_at(starts, block.start_deg + block.length_deg / 2)
        held = tuple(_held(blocks, starts[step], lengths[step]))
        if levels[step] != block.level and len(held) > 1:
            yield step, held


def _held(blocks: Sequence[Block], start: float, size: float) -> Iterator[str]:
    """Yield the levels of the dwells that a step holds, in order."""
    into = [(ahead(start, block.start_deg), block) for block in blocks]
    inside = [(at, block.level) for at, block in into if at < size]
    before = [
        (at - TURN, block.level) for at, block in into if at and at + block.length_deg - TURN > SAME_DEG
    ]
    for _, level in sorted(before + inside):
        yield level


def _shortest_move(blocks: Sequence[Block], usual: float) -> float:
    """Return the shortest move, rounded; at most the usual one."""
    gaps = [gap for gap in moves_of(blocks) if gap > 0]
    return round(min([*gaps, usual]), _DECIMALS)


def _reason(blocks: Sequence[Block], crowded: Mapping[int, tuple[str, ...]]) -> str:
    """Describe why blocks are more than the table can say."""
    gaps = moves_of(blocks)
    if min(gaps) <= 0:
        return "two of its dwells overlap or touch"
    for step, levels in crowded.items():
        return f"step {step + 1} holds {listed(levels)}"
    if max(gaps) - min(gaps) > SAME_DEG:
        return f"its moves last from {degrees(min(gaps))} to {degrees(max(gaps))}"
    return "its dwells do not line up with the steps"
