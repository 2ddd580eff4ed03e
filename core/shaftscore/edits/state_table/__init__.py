"""The state table: what every lane does in every step, as dwell blocks and back.

`table` holds what a column says and how its blocks lie; `reading` reads the blocks of a lane back and says
where the diagram has outgrown the table; `writing` has the edits; `typed` reads what people type, and
`sheets` whole tables as spreadsheets copy them. `visits` are cells with more than one level.
"""

from shaftscore.edits.state_table.reading import Reading, level_before, lowest_level, read_states, with_cells
from shaftscore.edits.state_table.sheets import (
    MARKS,
    CellFault,
    StateSheet,
    cells_of,
    heads,
    lane_named,
    read_sheet,
    split_text,
    step_labels,
    table_text,
)
from shaftscore.edits.state_table.table import Column, Timing, completed, filled, step_at, usual_timing
from shaftscore.edits.state_table.typed import read_cell, read_column, read_length, read_level
from shaftscore.edits.state_table.visits import (
    THEN,
    StepCell,
    StepVisit,
    VisitDwell,
    ending,
    levels_of,
    renamed_cell,
    shown_text,
)
from shaftscore.edits.state_table.writing import rewrite_states, write_states

__all__ = [
    "MARKS",
    "THEN",
    "CellFault",
    "Column",
    "Reading",
    "StateSheet",
    "StepCell",
    "StepVisit",
    "Timing",
    "VisitDwell",
    "cells_of",
    "completed",
    "ending",
    "filled",
    "heads",
    "lane_named",
    "level_before",
    "levels_of",
    "lowest_level",
    "read_cell",
    "read_column",
    "read_length",
    "read_level",
    "read_sheet",
    "read_states",
    "renamed_cell",
    "rewrite_states",
    "shown_text",
    "split_text",
    "step_at",
    "step_labels",
    "table_text",
    "usual_timing",
    "with_cells",
    "write_states",
]
