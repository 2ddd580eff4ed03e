"""Pure edits: functions from a project and arguments to a new project with the name of the undo step.

`EDITS` is the table of them by name, for cures of findings; whoever knows the edit calls its function. Adding
an edit is one function in the module of its subject and one entry here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean
from shaftscore.edits.base import BlockRef, Edited
from shaftscore.edits.blocks import (
    add_block,
    delete_blocks,
    place_block,
    set_block_law,
    set_block_level,
    set_least_length,
    set_locked,
    set_window,
    stretch_block,
)
from shaftscore.edits.copies import (
    Clip,
    clip_of,
    clip_text,
    duplicate_blocks,
    paste_blocks,
    read_clip,
    repeat_blocks,
)
from shaftscore.edits.duplicates import duplicate_lanes
from shaftscore.edits.followers import copy_parts, move_by, remove_parts, set_follower, set_length, set_parts
from shaftscore.edits.from_blocks import gates_from_blocks, states_of_blocks
from shaftscore.edits.lanes import (
    add_lane,
    delete_lane,
    delete_lanes,
    group_lanes,
    move_lane,
    rename_lane,
    set_disc,
    set_discs,
    set_kind,
    set_lane,
    set_levels,
    set_load,
    size_base_circles,
    spread_followers,
)
from shaftscore.edits.laws import use_law
from shaftscore.edits.logbook import add_note, change_note, delete_note, set_home
from shaftscore.edits.machine import (
    add_stack,
    delete_stack,
    set_drive,
    set_duty,
    set_flow,
    set_frame,
    set_limits,
    set_materials,
    set_measured,
    set_name,
    set_names,
    set_not_needed,
    set_notes,
    set_print,
    set_rules,
    set_shaft,
    set_stack,
    set_stage,
    set_tolerances,
)
from shaftscore.edits.moving import insert_time, mirror_blocks, move_blocks, shift_each, shift_lanes
from shaftscore.edits.points import points_of, read_points, set_points
from shaftscore.edits.sightings import count_items, delete_sheet, forget, start_sheet, tick
from shaftscore.edits.stacks import set_stacks
from shaftscore.edits.state_table import rewrite_states, write_states
from shaftscore.model.project import Project

Edit = Callable[..., Edited]
"""An edit: project first, then its arguments by keyword."""

EDITS: Mapping[str, Edit] = MappingProxyType(
    {
        edit.__name__: edit
        for edit in (
            place_block,
            stretch_block,
            set_block_level,
            add_block,
            delete_blocks,
            move_blocks,
            duplicate_blocks,
            repeat_blocks,
            paste_blocks,
            mirror_blocks,
            shift_lanes,
            shift_each,
            insert_time,
            set_locked,
            set_block_law,
            set_window,
            set_least_length,
            add_lane,
            delete_lane,
            delete_lanes,
            duplicate_lanes,
            rename_lane,
            move_lane,
            group_lanes,
            set_lane,
            set_kind,
            set_levels,
            use_law,
            set_points,
            set_follower,
            set_length,
            set_disc,
            set_discs,
            set_load,
            size_base_circles,
            spread_followers,
            set_name,
            set_names,
            set_notes,
            set_shaft,
            set_limits,
            set_tolerances,
            set_print,
            set_drive,
            set_rules,
            set_flow,
            gates_from_blocks,
            set_materials,
            set_measured,
            set_duty,
            set_frame,
            set_not_needed,
            set_stage,
            set_stack,
            add_stack,
            delete_stack,
            write_states,
            rewrite_states,
            set_stacks,
            set_home,
            add_note,
            start_sheet,
            tick,
            count_items,
            forget,
        )
    }
)
"""Every edit by its name."""


def apply_edit(project: Project, name: str, /, **arguments: Any) -> Edited:
    """Make an edit by name; raises EditError if there is none of that name or it cannot be made."""
    if name not in EDITS:
        raise EditError(f'there is no edit "{name}"; {did_you_mean(name, EDITS) or "see EDITS"}')
    return EDITS[name](project, **arguments)


__all__ = [
    "EDITS",
    "BlockRef",
    "Clip",
    "Edit",
    "Edited",
    "add_block",
    "add_lane",
    "add_note",
    "add_stack",
    "apply_edit",
    "change_note",
    "clip_of",
    "clip_text",
    "copy_parts",
    "count_items",
    "delete_blocks",
    "delete_lane",
    "delete_lanes",
    "delete_note",
    "delete_sheet",
    "delete_stack",
    "duplicate_blocks",
    "duplicate_lanes",
    "forget",
    "gates_from_blocks",
    "group_lanes",
    "insert_time",
    "mirror_blocks",
    "move_blocks",
    "move_by",
    "move_lane",
    "paste_blocks",
    "place_block",
    "points_of",
    "read_clip",
    "read_points",
    "remove_parts",
    "rename_lane",
    "repeat_blocks",
    "rewrite_states",
    "set_block_law",
    "set_block_level",
    "set_disc",
    "set_discs",
    "set_drive",
    "set_duty",
    "set_flow",
    "set_follower",
    "set_frame",
    "set_home",
    "set_kind",
    "set_lane",
    "set_least_length",
    "set_length",
    "set_levels",
    "set_limits",
    "set_load",
    "set_locked",
    "set_materials",
    "set_measured",
    "set_name",
    "set_names",
    "set_not_needed",
    "set_notes",
    "set_parts",
    "set_points",
    "set_print",
    "set_rules",
    "set_shaft",
    "set_stack",
    "set_stacks",
    "set_stage",
    "set_tolerances",
    "set_window",
    "shift_each",
    "shift_lanes",
    "size_base_circles",
    "spread_followers",
    "start_sheet",
    "states_of_blocks",
    "stretch_block",
    "tick",
    "use_law",
    "write_states",
]
