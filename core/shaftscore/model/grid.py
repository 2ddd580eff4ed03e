"""Where lanes sit on the front of the machine: rows and columns of places, each with one lane or none."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Annotated

from pydantic import Field

from shaftscore.model.base import Contradiction, Id, Record

MOST_PLACES = 100
"""Most rows, and most columns."""

Side = Annotated[int, Field(ge=1, le=MOST_PLACES)]
GridRow = Annotated[tuple[Id | None, ...], Field(max_length=MOST_PLACES)]


class LaneGrid(Record):
    """Where lanes sit on the front of the machine.

    rows, columns: counts of places. cells: the rows from the top, in each the lanes' ids from left to
    right, null where a place is empty. A lane sits in one place at most, and may sit in none.
    """

    rows: Side
    columns: Side
    cells: Annotated[tuple[GridRow, ...], Field(max_length=MOST_PLACES)]

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse rows or columns that are not as many as said, and a lane in two places."""
        if len(self.cells) != self.rows:
            yield "cells", f"must have {self.rows} rows, got {len(self.cells)}"
        for index, row in enumerate(self.cells):
            if len(row) != self.columns:
                yield f"cells[{index}]", f"must have {self.columns} cells, got {len(row)}"
        first: dict[str, str] = {}
        for row_index, row in enumerate(self.cells):
            for column, lane_id in enumerate(row):
                where = f"cells[{row_index}][{column}]"
                if lane_id is not None and lane_id in first:
                    yield where, f'"{lane_id}" is {first[lane_id]} already'
                elif lane_id is not None:
                    first[lane_id] = where

    @cached_property
    def lanes(self) -> tuple[str, ...]:
        """Ids of the lanes that have a place, row by row."""
        return tuple(lane_id for row in self.cells for lane_id in row if lane_id is not None)

    def place_of(self, lane_id: str) -> tuple[int, int] | None:
        """Return row and column of a lane, counted from 0; None where it has no place."""
        for row_index, row in enumerate(self.cells):
            if lane_id in row:
                return row_index, row.index(lane_id)
        return None
