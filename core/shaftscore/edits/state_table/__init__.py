"""The state table: what every lane does in every step, as dwell blocks and back.

`table` holds what a column says and how its blocks lie; `reading` reads the blocks of a lane back and says
where the diagram has outgrown the table; `writing` has the edits; `typed` reads what people type, and
`sheets` whole tables as spreadsheets copy them.
"""

from shaftscore.edits.state_table.reading import Reading, read_states, with_cells
from shaftscore.edits.state_table.sheets import (
    MARKS,
    CellFault,
    StateSheet,
    cells_of,
    heads,
    read_sheet,
    split_text,
    step_labels,
    table_text,
)
from shaftscore.edits.state_table.table import Column, Timing, filled, step_at, usual_timing
from shaftscore.edits.state_table.typed import read_length, read_level
from shaftscore.edits.state_table.writing import rewrite_states, write_states

__all__ = [
    "MARKS",
    "CellFault",
    "Column",
    "Reading",
    "StateSheet",
    "Timing",
    "cells_of",
    "filled",
    "heads",
    "read_length",
    "read_level",
    "read_sheet",
    "read_states",
    "rewrite_states",
    "split_text",
    "step_at",
    "step_labels",
    "table_text",
    "usual_timing",
    "with_cells",
    "write_states",
]
