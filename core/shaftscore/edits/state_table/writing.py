"""Edits of the state table: columns and timings become blocks, as one step.

A block that stays at its level keeps what it carries (law of its move, window, least length). A lane that
has outgrown the table is refused unless it is rewritten on purpose; a locked block never moves.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from shaftscore.base.angles import ahead
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import counted, degrees
from shaftscore.edits.base import Edited, known_level, lane_of, spanned, with_blocks
from shaftscore.edits.state_table.own_moves import spans_with_moves
from shaftscore.edits.state_table.reading import Reading, read_states
from shaftscore.edits.state_table.table import Column, Span, Timing, completed, spans_of
from shaftscore.edits.state_table.visits import levels_of, without_holds
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project


def write_states(
    project: Project,
    columns: Mapping[str, Column] | None = None,
    timings: Mapping[str, Timing] | None = None,
) -> Edited:
    """Write lanes by the state table: lane id to column, and lane id to timing; what is not given stays.

    Raises EditError if a lane is not there, has outgrown the table, has no such level, or there is no
    time for a dwell.
    """
    columns, timings = columns or {}, timings or {}
    lanes = [lane_of(project, lane_id) for lane_id in dict.fromkeys([*columns, *timings])]
    for lane in lanes:
        if why := read_states(project, lane).protected:
            raise EditError(f"{lane.label} is more than the state table can say: {why}")
    edited = project
    for lane in lanes:
        edited = _written(edited, lane, columns.get(lane.id), timings.get(lane.id))
    return Edited(edited, f"Write {_named(lanes)} in the state table", lane_id=_only(lanes))


def rewrite_states(project: Project, lane_ids: Sequence[str]) -> Edited:
    """Rewrite lanes as the table shows them, though the diagram has outgrown it: their timing is lost.

    Raises EditError if a lane is not there or has no program of its own.
    """
    lanes = [lane_of(project, lane_id) for lane_id in lane_ids]
    edited = project
    for lane in lanes:
        if foreign := read_states(project, lane).foreign:
            raise EditError(f"{lane.label} {foreign}: it has no cells to write")
        edited = _written(edited, lane, None, None)
    return Edited(edited, f"Write {_named(lanes)} again from the state table", lane_id=_only(lanes))


def _named(lanes: Sequence[Lane]) -> str:
    return lanes[0].label if len(lanes) == 1 else counted(len(lanes), "lane")


def _only(lanes: Sequence[Lane]) -> str | None:
    return lanes[0].id if len(lanes) == 1 else None


def _written(project: Project, lane: Lane, column: Column | None, timing: Timing | None) -> Project:
    """Write one lane; what is None stays as it is read."""
    reading = read_states(project, lane)
    column = reading.column if column is None else _checked(project, lane, column)
    if timing is not None and timing.dwell_deg != reading.timing.dwell_deg:
        column = without_holds(column)
    timing = reading.timing if timing is None else timing
    if timing.move_deg <= 0:
        raise EditError(f"{lane.label}: a move takes more than 0°, got {degrees(timing.move_deg)}")
    spans = _spans(lane, reading, column, timing, project.shaft.step_starts_deg)
    blocks = _blocks(lane, spans, timing)
    refuse_moved_locks(lane, blocks)
    made = with_blocks(project, lane.id, blocks)
    again = read_states(made, made.lane(lane.id))
    keeps_moves = bool(reading.own_moves) and column is not reading.column
    if not (keeps_moves and again.own_moves):
        _refuse_unreadable(lane, column, timing, again)
    return made


def _checked(project: Project, lane: Lane, column: Column) -> Column:
    steps = len(project.shaft.step_starts_deg)
    if len(column) != steps:
        raise EditError(f"{lane.label}: a column has {steps} steps, got {len(column)}")
    for level in {level for cell in column for level in levels_of(cell)}:
        known_level(lane, level)
    return column


def _spans(
    lane: Lane, reading: Reading, column: Column, timing: Timing, starts: Sequence[float]
) -> list[Span]:
    """Return the dwells of a column; moves of a lane that has its own stay as they are."""
    if reading.own_moves and timing != reading.timing:
        raise EditError(f"{lane.label}: {reading.outgrown}; rewrite the lane from the table to change that")
    if not reading.own_moves or column is reading.column:  # which is rewritten on purpose
        return spans_of(column, timing, starts)
    try:
        return spans_with_moves(column, reading.own_moves, timing.move_deg, starts)
    except ValueError as error:
        raise EditError(
            f"{lane.label}: {error}, and {reading.outgrown}; rewrite the lane from the table first"
        ) from error


def _blocks(lane: Lane, spans: Iterable[Span], timing: Timing) -> list[Block]:
    """Make the blocks of dwells."""
    left, blocks = list(lane.blocks), []
    for span in spans:
        level, start, length = span
        if length < -EDIT_DEG:
            raise EditError(
                f"{lane.label}: no time for {level} near {degrees(start)}, {degrees(-length)} short; "
                f"the moves last {degrees(timing.move_deg)}, shorten them or the dwell"
            )
        old = carrier_of(left, span)
        if old is None:
            old = Block(level=level, start_deg=0.0, end_deg=0.0)
        else:
            left = [block for block in left if block is not old]
        blocks.append(spanned(old, start, max(0.0, length)))
    return blocks


def carrier_of(blocks: Iterable[Block], span: Span) -> Block | None:
    """Return the block of that level that a dwell shares most with, if it shares anything."""
    level, start, length = span
    shared = [(_shared(block, start, max(0.0, length)), block) for block in blocks if block.level == level]
    most = max(shared, key=lambda pair: pair[0], default=None)
    return most[1] if most is not None and most[0] >= 0 else None


def _shared(block: Block, start: float, length: float) -> float:
    """Return the degrees that a block and a dwell share; -1 where they do not even touch."""
    into, back = ahead(start, block.start_deg), ahead(block.start_deg, start)
    if into <= length:
        return min(block.length_deg, length - into)
    return min(length, block.length_deg - back) if back <= block.length_deg else -1.0


def refuse_moved_locks(lane: Lane, blocks: Sequence[Block]) -> None:
    """Take blocks that a lane shall have; raises EditError if one that is locked is not among them."""
    for block in lane.blocks:
        if block.locked and block not in blocks:
            raise EditError(
                f"{lane.label} {block.level} is locked at {degrees(block.start_deg)}; unlock it first"
            )


def _refuse_unreadable(lane: Lane, column: Column, timing: Timing, reading: Reading) -> None:
    """Refuse what the table could not read back: dwells and moves that reach beyond their steps."""
    found, wanted = ([levels_of(cell) for cell in completed(one)] for one in (reading.column, column))
    if not reading.outgrown and found == wanted:
        return
    dwell = "" if timing.dwell_deg is None else f"dwells of {degrees(timing.dwell_deg)} and "
    raise EditError(
        f"{lane.label}: {dwell}moves of {degrees(timing.move_deg)} reach beyond their steps; shorten them"
    )
