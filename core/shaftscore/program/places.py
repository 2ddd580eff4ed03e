"""Where lanes sit on the front of the machine: the grid of a project, or the usual one, and changes to it.

Only lanes with a program of their own take part: a lane that rides on another one's disc, or moves by a
table of points, has no blocks that could be written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from shaftscore.base.errors import EditError
from shaftscore.edits.base import constructed
from shaftscore.model.grid import MOST_PLACES, LaneGrid
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project

Row = tuple[str | None, ...]

USUAL_COLUMNS = 16
"""A group with more lanes than this goes into several rows."""


def is_programmed(lane: Lane) -> bool:
    """Return whether a lane has a program of its own that can be written."""
    return lane.kind != "points" and lane.disc_of is None and bool(lane.levels)


def grid_of(project: Project) -> LaneGrid:
    """Return the project's grid without lanes that have no program of their own; else the usual one."""
    if project.grid is None:
        return usual_grid(project)
    shown = {lane.id for lane in project.lanes if is_programmed(lane)}
    rows = [tuple(own if own in shown else None for own in row) for row in project.grid.cells]
    return _grid(rows)


def usual_grid(project: Project) -> LaneGrid:
    """Return the grid in which each group is a row, in the order of the lanes; long groups take several."""
    groups: dict[str, list[str]] = {}
    for lane in project.lanes:
        if is_programmed(lane):
            groups.setdefault(lane.group, []).append(lane.id)
    rows: list[Row] = [
        tuple(lanes[at : at + USUAL_COLUMNS])
        for lanes in groups.values()
        for at in range(0, len(lanes), USUAL_COLUMNS)
    ]
    return _grid(rows[:MOST_PLACES])


def with_place(grid: LaneGrid, lane_id: str, row: int, column: int) -> LaneGrid:
    """Put a lane into a place, counted from 0; what is there goes to the place that the lane leaves.

    Raises EditError if there is no such place.
    """
    _refuse_outside(grid, row, column)
    there, before = grid.cells[row][column], grid.place_of(lane_id)
    if there == lane_id:
        return grid
    cells = [list(one) for one in grid.cells]
    cells[row][column] = lane_id
    if before is not None:
        cells[before[0]][before[1]] = there
    return _grid(map(tuple, cells))


def without_place(grid: LaneGrid, lane_id: str) -> LaneGrid:
    """Leave a lane out of the grid; its place is empty then."""
    return _grid(tuple(None if own == lane_id else own for own in row) for row in grid.cells)


def resized(grid: LaneGrid, rows: int, columns: int) -> LaneGrid:
    """Return the grid with other counts of rows and columns, 1 to 100 each.

    Lanes whose places are lost take free ones, row by row, while there are any; the rest are left out.
    Raises EditError if the counts are not allowed.
    """
    if not (1 <= rows <= MOST_PLACES and 1 <= columns <= MOST_PLACES):
        raise EditError(f"a grid has 1 to {MOST_PLACES} rows and columns, not {rows} and {columns}")
    kept = [[_cell(grid, row, column) for column in range(columns)] for row in range(rows)]
    stays = {own for row in kept for own in row}
    lost = iter([own for own in grid.lanes if own not in stays])
    return _grid(tuple(own if own is not None else next(lost, None) for own in row) for row in kept)


def places_of(grid: LaneGrid) -> Iterator[tuple[str, int, int]]:
    """Yield each lane that has a place, with row and column, row by row."""
    for row_index, row in enumerate(grid.cells):
        for column, lane_id in enumerate(row):
            if lane_id is not None:
                yield lane_id, row_index, column


def lane_at(grid: LaneGrid, row: int, column: int) -> str | None:
    """Return the lane in a place; None where it is empty or not in the grid."""
    return _cell(grid, row, column) if row >= 0 and column >= 0 else None


def _cell(grid: LaneGrid, row: int, column: int) -> str | None:
    return grid.cells[row][column] if row < grid.rows and column < grid.columns else None


def _refuse_outside(grid: LaneGrid, row: int, column: int) -> None:
    if not (0 <= row < grid.rows and 0 <= column < grid.columns):
        size = f"the grid has {grid.rows} rows and {grid.columns} columns"
        raise EditError(f"there is no row {row + 1}, column {column + 1}: {size}")


def _grid(rows: Iterable[Row]) -> LaneGrid:
    """Make a grid of rows; short ones are filled with empty places."""
    cells = list(rows) or [(None,)]
    columns = max(1, *map(len, cells))
    full = tuple((*row, *[None] * (columns - len(row))) for row in cells)
    return constructed(LaneGrid, rows=len(full), columns=columns, cells=full)
