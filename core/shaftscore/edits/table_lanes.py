"""A state table with lanes that a machine does not have yet: which they are, and the table written with them.

A table with heads names its lanes; a head that names none is a new lane. Cells without heads that reach
beyond the last lane make new lanes too, with names of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited
from shaftscore.edits.lanes import add_lane
from shaftscore.edits.level_sets import Cells, LevelSet, level_sets
from shaftscore.edits.state_table import lane_named, read_sheet, write_states
from shaftscore.model.project import Project


@dataclass(frozen=True)
class TableLanes:
    """The new lanes of a table.

    rows: the table, lanes across and steps down, with heads for all columns; columns: numbers of those of the
    new lanes. lane_ids: of the lanes on which cells without heads begin, else empty; first_step: see
    `read_sheet`.
    """

    rows: Cells
    columns: tuple[int, ...]
    lane_ids: tuple[str, ...] = ()
    first_step: int = 0

    @property
    def sets(self) -> list[LevelSet]:
        """The level sets of the new lanes; their columns are counted in the table."""
        own = [[row[0], *(_cell(row, column) for column in self.columns)] for row in self.rows]
        return [
            LevelSet(tuple(self.columns[n - 1] for n in one.columns), one.lanes, one.words)
            for one in level_sets(own)
        ]


def lanes_of_table(
    project: Project, grid: Cells, lane_ids: Sequence[str] = (), first_step: int = 0
) -> TableLanes | None:
    """Return the new lanes of a table, lanes across; None where every lane is there, or it is no table.

    lane_ids, first_step: where cells without heads begin, as for `read_sheet`.
    """
    if not grid or not grid[0]:
        return None
    if is_headed(project, grid):
        new = [n for n, head in enumerate(grid[0]) if n and _is_new(project, head, grid[1:], n)]
        return TableLanes(grid, tuple(new)) if new else None
    wide = max(map(len, grid))
    if wide <= len(lane_ids) or first_step < 0:
        return None
    there = [project.lane(lane_id).label for lane_id in lane_ids]
    names = [*there, *_free_names(project, wide - len(lane_ids))]
    steps = [str(first_step + row + 1) for row in range(len(grid))]
    rows = [["", *names], *([step, *row] for step, row in zip(steps, grid, strict=True))]
    return TableLanes(rows, tuple(range(len(lane_ids) + 1, wide + 1)), tuple(lane_ids), first_step)


def is_headed(project: Project, grid: Cells) -> bool:
    """Return whether a table has heads: its first column names steps, and its first row no levels."""
    if len(grid) < 3 or len(grid[0]) < 2:
        return False
    corner = grid[0][0].casefold()
    levels = {level.casefold() for lane in project.lanes for level in lane.levels}
    if corner in ("step", "steps"):
        return True
    if corner or any(head.casefold() in levels for head in grid[0][1:]):
        return False
    return not project.lanes or all(_names_step(project, _cell(row, 0)) for row in grid[1:])


_NUMBERED = re.compile(r"(step\s*)?\d+\b", re.IGNORECASE)


def _names_step(project: Project, text: str) -> bool:
    """Return whether a head of a row is that of a step or of the lengths."""
    known = {"dwell", "move", *(name.casefold() for name in project.shaft.step_names)}
    return _NUMBERED.match(text) is not None or text.casefold() in known


def levels_for(project: Project, words: Sequence[str]) -> Mapping[str, float] | None:
    """Return the levels, mm, of the first lane that has all of some words, in any case; None without one."""
    wanted = {word.casefold() for word in words}
    fitting = (lane.levels for lane in project.lanes if wanted <= {own.casefold() for own in lane.levels})
    return next(fitting, None)


def write_table(project: Project, table: TableLanes, levels: Sequence[Mapping[str, float]]) -> Edited:
    """Make the new lanes of a table and write all of it, as one edit.

    levels: name to output, mm, of each of its level sets. Raises EditError with the first cell that cannot
    be read, or levels that are not allowed.
    """
    by_column = {column: own for one, own in zip(table.sets, levels, strict=True) for column in one.columns}
    made = project
    for column in table.columns:
        if column in by_column:
            made = add_lane(made, table.rows[0][column], "", by_column[column]).project
    new = [lane.id for lane in made.lanes if lane.id not in project.lane_index]
    ids = [*table.lane_ids, *new]
    grid = [row[1:] for row in table.rows[1:]] if table.lane_ids else table.rows
    sheet = read_sheet(made, grid, ids, table.first_step)
    if sheet.faults:
        fault = sheet.faults[0]
        raise EditError(f"Row {fault.row + 1}, column {fault.column + 1}: {fault.message}")
    written = write_states(made, sheet.columns, sheet.timings).project
    return Edited(written, f"Write a table with {counted(len(new), 'new lane')}")


def _is_new(project: Project, head: str, rows: Cells, column: int) -> bool:
    """Return whether a column is of a lane that is not there; without a word in it, it is of none."""
    return bool(head) and lane_named(project, head) is None and any(_cell(row, column) for row in rows)


def _free_names(project: Project, count: int) -> list[str]:
    """Return names for new lanes that no lane has."""
    taken = {lane.label.casefold() for lane in project.lanes}
    numbers = range(len(project.lanes) + 1, 2 * len(project.lanes) + count + 1)
    free = [name for n in numbers if (name := f"Lane {n}").casefold() not in taken]
    return free[:count]


def _cell(row: Sequence[str], column: int) -> str:
    return row[column] if column < len(row) else ""
