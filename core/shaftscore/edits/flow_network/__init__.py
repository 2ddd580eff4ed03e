"""Edits of the flow as a network, one undo step each: add, connect, name, duplicate, remove, gates for lanes.

Import from here: `from shaftscore.edits.flow_network import connect_parts`.
"""

from shaftscore.edits.flow_network.adding import (
    MAY_FOLLOW,
    add_diverter,
    add_gate,
    add_part,
    can_stand,
    connect_parts,
    fitting_ends,
    rename_part,
)
from shaftscore.edits.flow_network.cells import (
    COLUMNS,
    TableColumn,
    cell_text,
    is_open,
    table_rows,
    words_for,
    write_flow_cells,
)
from shaftscore.edits.flow_network.copies import duplicate_parts, lanes_of_parts
from shaftscore.edits.flow_network.gates import (
    GatesPlan,
    LevelGates,
    NewEnd,
    gates_for_lanes,
    level_rows,
    plan_gates,
    unmatched_text,
)
from shaftscore.edits.flow_network.parts import PartKey, made_id, new_keys, part_label
from shaftscore.edits.flow_network.removing import Removal, removal_of, remove_parts_of_flow

__all__ = [
    "COLUMNS",
    "MAY_FOLLOW",
    "GatesPlan",
    "LevelGates",
    "NewEnd",
    "PartKey",
    "Removal",
    "TableColumn",
    "add_diverter",
    "add_gate",
    "add_part",
    "can_stand",
    "cell_text",
    "connect_parts",
    "duplicate_parts",
    "fitting_ends",
    "gates_for_lanes",
    "is_open",
    "lanes_of_parts",
    "level_rows",
    "made_id",
    "new_keys",
    "part_label",
    "plan_gates",
    "removal_of",
    "remove_parts_of_flow",
    "rename_part",
    "table_rows",
    "unmatched_text",
    "words_for",
    "write_flow_cells",
]
