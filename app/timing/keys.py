"""The keys of the diagram: one table from key and modifiers to what they do.

Keys without Ctrl act only while the diagram has the focus, so that typing in a field never edits the
machine. Alt leaves the grid, Shift leaves the neighbours where they are, Ctrl walks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

from PySide6.QtCore import Qt

from app.document import Document
from app.selection import Selection
from app.timing import steps
from app.timing.geometry.axis import Axis
from app.timing.geometry.frame import Frame
from core.edits import BlockRef

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier
_NONE = Qt.KeyboardModifier.NoModifier


class Diagram(Protocol):
    """What the keys need of the diagram."""

    document: Document

    @property
    def frame(self) -> Frame:
        """Where everything stands."""
        ...

    def set_axis(self, axis: Axis) -> None:
        """Show another stretch of the turn."""
        ...

    def set_scroll(self, scroll: float) -> None:
        """Scroll the lanes."""
        ...

    def set_height(self, lane_id: str, height: float) -> None:
        """Give a strip another height."""
        ...

    def nudge(self, way: int, *, fine: bool = False, stay: bool = False) -> None:
        """Move the selected block or edge."""
        ...

    def change_level(self, way: int, *, stay: bool = False) -> None:
        """Move the selected block to another level."""
        ...

    def set_group_closed(self, group: str, closed: bool) -> None:
        """Close or open a group."""
        ...

    def turn_cursor(self, by_deg: float) -> None:
        """Turn the shaft."""
        ...

    def step(self, way: int) -> None:
        """Turn the shaft by a step."""
        ...

    def next_grip(self) -> None:
        """Hold another edge."""
        ...

    def edit_values(self) -> None:
        """Ask for values."""
        ...

    def add_at_cursor(self) -> None:
        """Add a block."""
        ...

    def delete_selected(self) -> None:
        """Delete blocks."""
        ...

    def select_more(self) -> None:
        """Select more."""
        ...

    def reveal_angle(self, deg: float) -> None:
        """Scroll to an angle."""
        ...

    def reveal_lane(self, lane_id: str) -> None:
        """Scroll to a lane."""
        ...


Do = Callable[[Diagram], None]

K = Qt.Key


def handle_key(diagram: Diagram, key: int, modifiers: Qt.KeyboardModifier, text: str = "") -> bool:
    """Do what a key does; False if it does nothing here."""
    mods = modifiers & (CTRL | SHIFT | ALT)
    ctrl, shift, alt = bool(mods & CTRL), bool(mods & SHIFT), bool(mods & ALT)
    if key in _WAYS:
        across, along = _WAYS[K(key)]
        if ctrl:
            _walk(diagram, across, along, add=shift)
        elif along:
            diagram.change_level(-along, stay=shift)
        else:
            _sideways(diagram, across, fine=alt, stay=shift)
        return True
    do = _KEYS.get((K(key), mods)) or (_TEXTS.get(text) if not ctrl and not alt else None)
    if do is None:
        return False
    do(diagram)
    return True


_WAYS: Mapping[Qt.Key, tuple[int, int]] = {
    K.Key_Left: (-1, 0),
    K.Key_Right: (1, 0),
    K.Key_Up: (0, -1),
    K.Key_Down: (0, 1),
}


def _sideways(diagram: Diagram, way: int, *, fine: bool, stay: bool) -> None:
    """Move the selected block; with a lane alone selected, close or open its group."""
    selection = diagram.document.selection
    if selection.blocks:
        diagram.nudge(way, fine=fine, stay=stay)
    elif selection.lane_id is not None:
        diagram.set_group_closed(diagram.document.project.lane(selection.lane_id).group, way < 0)


def _walk(diagram: Diagram, across: int, along: int, *, add: bool) -> None:
    """Select the next block of the lane, or the next lane."""
    document = diagram.document
    selection, project = document.selection, document.project
    ref: BlockRef | None
    if across:
        ref = steps.beside(project, selection, across, document.cursor_deg)
        lane_id = ref.lane_id if ref else None
    else:
        found = steps.below(project, diagram.frame.rows.lane_ids, selection, along)
        lane_id, ref = found or (None, None)
    if lane_id is None:
        return
    if ref is None:
        document.select(Selection(lane_id, (), selection.finding))
    else:
        rest = tuple(other for other in selection.blocks if other != ref) if add else ()
        document.select(Selection.of_blocks((*rest, ref), selection.finding))
        lane = project.lane(ref.lane_id)
        diagram.reveal_angle(lane.blocks[ref.index].start_deg / project.stack_of(lane).turns)
    diagram.reveal_lane(lane_id)


def _scroll_axis(share: float) -> Do:
    def do(diagram: Diagram) -> None:
        axis = diagram.frame.axis
        diagram.set_axis(axis.scrolled(share * axis.width))

    return do


def _scroll_lanes(share: float) -> Do:
    def do(diagram: Diagram) -> None:
        frame = diagram.frame
        diagram.set_scroll(frame.scroll + share * frame.seen_height)

    return do


def _resize(by: float) -> Do:
    def do(diagram: Diagram) -> None:
        frame = diagram.frame
        lane_id = diagram.document.selection.lane_id
        row = frame.rows.of_lane(lane_id) if lane_id is not None else None
        if row is not None and row.lane_id is not None:
            diagram.set_height(row.lane_id, row.height / frame.u + by)

    return do


_KEYS: Mapping[tuple[Qt.Key, Qt.KeyboardModifier], Do] = {
    (K.Key_E, _NONE): lambda diagram: diagram.next_grip(),
    (K.Key_A, _NONE): lambda diagram: diagram.add_at_cursor(),
    (K.Key_Insert, _NONE): lambda diagram: diagram.add_at_cursor(),
    (K.Key_Delete, _NONE): lambda diagram: diagram.delete_selected(),
    (K.Key_Backspace, _NONE): lambda diagram: diagram.delete_selected(),
    (K.Key_Return, _NONE): lambda diagram: diagram.edit_values(),
    (K.Key_Enter, _NONE): lambda diagram: diagram.edit_values(),
    (K.Key_A, CTRL): lambda diagram: diagram.select_more(),
    (K.Key_Home, _NONE): lambda diagram: diagram.turn_cursor(-diagram.document.cursor_deg),
    (K.Key_PageUp, _NONE): lambda diagram: diagram.step(-1),
    (K.Key_PageDown, _NONE): lambda diagram: diagram.step(1),
    (K.Key_PageUp, SHIFT): _scroll_lanes(-0.9),
    (K.Key_PageDown, SHIFT): _scroll_lanes(0.9),
    (K.Key_PageUp, CTRL): _scroll_axis(-0.5),
    (K.Key_PageDown, CTRL): _scroll_axis(0.5),
}

_TEXTS: Mapping[str, Do] = {
    ",": lambda diagram: diagram.turn_cursor(-1.0),
    ".": lambda diagram: diagram.turn_cursor(1.0),
    "+": _resize(8.0),
    "-": _resize(-8.0),
}
"""Keys that are known by what they write, wherever they stand on the keyboard."""
