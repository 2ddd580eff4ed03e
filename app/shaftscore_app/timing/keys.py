"""The keys of the diagram: one table from key and modifiers to what they do.

Keys without Ctrl act only while the diagram has the focus, so that typing in a field never edits the
machine. Alt leaves the grid, Shift leaves the neighbours where they are, Ctrl walks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt

from shaftscore.edits import BlockRef
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing import steps
from shaftscore_app.timing.doing import Doing

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier
_NONE = Qt.KeyboardModifier.NoModifier


Do = Callable[[Doing], None]
"""What a key does."""

K = Qt.Key


def handle_key(doing: Doing, key: int, modifiers: Qt.KeyboardModifier, text: str = "") -> bool:
    """Do what a key does; False if it does nothing here."""
    mods = modifiers & (CTRL | SHIFT | ALT)
    ctrl, shift, alt = bool(mods & CTRL), bool(mods & SHIFT), bool(mods & ALT)
    if key in _WAYS:
        across, along = _WAYS[K(key)]
        if alt and along and not ctrl:
            doing.move_lane(along)
        elif ctrl:
            _walk(doing, across, along, add=shift)
        elif along:
            doing.change_level(-along, other=shift)
        else:
            _sideways(doing, across, fine=alt, other=shift)
        return True
    do = _KEYS.get((K(key), mods)) or (_TEXTS.get(text) if not ctrl and not alt else None)
    if do is None:
        return False
    do(doing)
    return True


_WAYS: Mapping[Qt.Key, tuple[int, int]] = {
    K.Key_Left: (-1, 0),
    K.Key_Right: (1, 0),
    K.Key_Up: (0, -1),
    K.Key_Down: (0, 1),
}


def _sideways(doing: Doing, way: int, *, fine: bool, other: bool) -> None:
    """Move the selected block; with a lane alone selected, close or open its group."""
    selection = doing.host.document.selection
    if selection.blocks:
        doing.nudge(way, fine=fine, other=other)
    elif selection.lane_id is not None:
        doing.host.set_group_closed(doing.host.document.project.lane(selection.lane_id).group, way < 0)


def _walk(doing: Doing, across: int, along: int, *, add: bool) -> None:
    """Select the next block of the lane, or the next lane; add: keep what was selected."""
    document = doing.host.document
    selection, project = document.selection, document.project
    ref: BlockRef | None
    if across:
        ref = steps.beside(project, selection, across, document.cursor_deg)
        lane_id = ref.lane_id if ref else None
    else:
        found = steps.below(project, doing.host.frame.rows.lane_ids, selection, along)
        lane_id, ref = found or (None, None)
    if lane_id is None:
        return
    if ref is None:
        lanes = tuple(other for other in selection.lane_ids if other != lane_id) if add else ()
        document.select(Selection.of_lanes((*lanes, lane_id), selection.finding))
    else:
        rest = tuple(other for other in selection.blocks if other != ref) if add else ()
        document.select(Selection.of_blocks((*rest, ref), selection.finding))
        lane = project.lane(ref.lane_id)
        doing.host.reveal_angle(lane.blocks[ref.index].start_deg / project.stack_of(lane).turns)
    doing.host.reveal_lane(lane_id)


def _scroll_axis(share: float) -> Do:
    def do(doing: Doing) -> None:
        axis = doing.host.frame.axis
        doing.host.set_axis(axis.scrolled(share * axis.width))

    return do


def _scroll_lanes(share: float) -> Do:
    def do(doing: Doing) -> None:
        frame = doing.host.frame
        doing.host.set_scroll(frame.scroll + share * frame.seen_height)

    return do


def _resize(by: float) -> Do:
    def do(doing: Doing) -> None:
        frame = doing.host.frame
        lane_id = doing.host.document.selection.lane_id
        row = frame.rows.of_lane(lane_id) if lane_id is not None else None
        if row is not None and row.lane_id is not None:
            doing.host.set_height(row.lane_id, row.height / frame.u + by)

    return do


_KEYS: Mapping[tuple[Qt.Key, Qt.KeyboardModifier], Do] = {
    (K.Key_E, _NONE): lambda doing: doing.next_grip(),
    (K.Key_A, _NONE): lambda doing: doing.add_at_cursor(),
    (K.Key_Insert, _NONE): lambda doing: doing.add_at_cursor(),
    (K.Key_Delete, _NONE): lambda doing: doing.delete_selected(),
    (K.Key_Backspace, _NONE): lambda doing: doing.delete_selected(),
    (K.Key_Return, _NONE): lambda doing: doing.edit_values(),
    (K.Key_Enter, _NONE): lambda doing: doing.edit_values(),
    (K.Key_A, CTRL): lambda doing: doing.select_more(),
    (K.Key_I, _NONE): lambda doing: doing.host.isolate_lanes(),
    (K.Key_H, _NONE): lambda doing: doing.host.hide_lanes(),
    (K.Key_H, SHIFT): lambda doing: doing.host.show_all_lanes(),
    (K.Key_F10, SHIFT): lambda doing: doing.host.ask_menu(),
    (K.Key_Home, _NONE): lambda doing: doing.turn_cursor(-doing.host.document.cursor_deg),
    (K.Key_PageUp, _NONE): lambda doing: doing.step(-1),
    (K.Key_PageDown, _NONE): lambda doing: doing.step(1),
    (K.Key_PageUp, SHIFT): _scroll_lanes(-0.9),
    (K.Key_PageDown, SHIFT): _scroll_lanes(0.9),
    (K.Key_PageUp, CTRL): _scroll_axis(-0.5),
    (K.Key_PageDown, CTRL): _scroll_axis(0.5),
}

_TEXTS: Mapping[str, Do] = {
    ",": lambda doing: doing.turn_cursor(-1.0),
    ".": lambda doing: doing.turn_cursor(1.0),
    "+": _resize(8.0),
    "-": _resize(-8.0),
}
"""Keys that are known by what they write, wherever they stand on the keyboard."""
