"""The timing diagram as a widget: the surface that is drawn, with the mouse and the keys that work on it."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QElapsedTimer, QEvent, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QNativeGestureEvent,
    QShortcut,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from shaftscore.edits import BlockRef
from shaftscore.make.drawing.timing.frame import Region
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.accessible import make_readable
from shaftscore_app.timing.doing import Doing
from shaftscore_app.timing.drag import DragHabits
from shaftscore_app.timing.gestures import Where
from shaftscore_app.timing.keys import handle_key
from shaftscore_app.timing.layers.headers import corner_buttons
from shaftscore_app.timing.pointing import Pointing
from shaftscore_app.timing.scene import Hover
from shaftscore_app.timing.surface import DiagramSurface
from shaftscore_app.timing.tips import tip_at

TICK_MS = 16
"""How often the view scrolls while something is held near its end."""

WHEEL_STEP = 120.0
"""What one notch of a wheel reports."""

TREMOR = 3.0
"""Two fingers scroll along both axes only where neither way is less than the other by this factor."""

STRIP_STEP = 1.15
"""How much higher one notch, or one press of a key, makes all strips."""

WHEEL_PX = 60.0
"""How far one notch scrolls, px of the design."""


class TimingDiagram(DiagramSurface):
    """All lanes over one turn of the shaft, and what the mouse and the keys do with them.

    Over 300 lines, since all of Qt's events of mouse and keys arrive here, and commands of the menus too.
    What they mean is in `pointing`, `gestures`, `keys` and `doing`, what is drawn in `surface` and `canvas`.

    Signals:
    status_message(text) - what is held or pointed at, for the status bar; empty when nothing is.
    values_wanted(ref) - a block's values are to be typed.
    menu_wanted(place) - the menu of what is selected is wanted at a place of the screen.
    lane_wanted() - a new lane is wanted.
    rename_wanted(lane_id) - a lane is to be renamed.
    """

    status_message = Signal(str)
    values_wanted = Signal(object)
    menu_wanted = Signal(QPoint)
    lane_wanted = Signal()
    rename_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        """Show `document` in the colours of `theme`."""
        super().__init__(document, theme, parent)
        self.habits = DragHabits()
        self.doing = Doing(self)
        self.pointing = Pointing(self, self.doing, self.look)
        self._swallow_menu = False
        self._ticker = QTimer(self)
        self._ticker.setInterval(TICK_MS)
        self._ticker.timeout.connect(self._tick)
        self._clock = QElapsedTimer()
        make_readable(TimingDiagram)
        self._make_shortcuts()
        EventWatch(self, self._on_event)
        EventWatch(self.viewport(), self._on_viewport_event)
        self._listen(document, theme)
        self._take_selection()

    def _make_shortcuts(self) -> None:
        """Zoom the strips by keys; as shortcuts, since the window's zoom has the same keys without Shift."""
        for keys, factor in (("Ctrl+Shift++", STRIP_STEP), ("Ctrl+Shift+-", 1.0 / STRIP_STEP)):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
            shortcut.activated.connect(partial(self.zoom_strips, factor))

    # What can be asked of it

    def set_habits(self, habits: DragHabits) -> None:
        """Take the person's grid, snapping, and what neighbours do."""
        self.habits = habits

    def move_lane_up(self) -> None:
        """Move the selected lane up among the lanes."""
        self.doing.move_lane(-1)

    def move_lane_down(self) -> None:
        """Move the selected lane down among the lanes."""
        self.doing.move_lane(1)

    def next_grip(self) -> None:
        """Hold the start, the end, or the whole of the block with the arrow keys, in turn."""
        self.doing.next_grip()

    def ask_menu(self) -> None:
        """Ask for the menu of what is selected, beside it."""
        self.menu_wanted.emit(self.menu_place())

    def menu_place(self) -> QPoint:
        """Return the place of the screen for a menu."""
        return self.viewport().mapToGlobal(self._menu_place())

    def _menu_place(self) -> QPoint:
        """Return a place by the selected block, else in the selected lane's header, else in the corner."""
        scene, selection = self.scene, self.document.selection
        frame = scene.frame
        if selection.lane_id is None or (strip := scene.strip(selection.lane_id)) is None:
            return QPoint(round(frame.axis.left), round(frame.lanes_top))
        x = frame.axis.left / 2
        if selection.blocks:
            shapes = [s for s in scene.shapes(selection.lane_id) if s.index == selection.blocks[-1].index]
            places = [place for shape in shapes for place in frame.axis.places(shape.start_deg)]
            x = places[0] if places else x
        y = min(max(strip.top + strip.height / 2, frame.lanes_top), frame.lanes_bottom)
        return QPoint(round(x), round(y))

    def add_at_cursor(self) -> None:
        """Add a block to the selected lane at the cursor."""
        self.doing.add_at_cursor()

    def delete_selected(self) -> None:
        """Delete the selected blocks."""
        self.doing.delete_selected()

    def select_more(self) -> None:
        """Select the lane; again: its group, then all."""
        self.doing.select_more()

    def level_up(self) -> None:
        """Move the selected block to its next higher level."""
        self.doing.change_level(1)

    def level_down(self) -> None:
        """Move the selected block to its next lower level."""
        self.doing.change_level(-1)

    def ask_values(self, ref: BlockRef) -> None:
        """Ask for a block's values to be typed."""
        self.values_wanted.emit(ref)

    def cancel(self) -> bool:
        """Cancel what runs with the mouse; True if something did."""
        self._ticker.stop()
        return self._finish(self.pointing.cancel())

    def tell(self, text: str) -> None:
        """Show what is held or pointed at."""
        self.status_message.emit(text)

    # Scrolling at the ends

    def _watch_edges(self) -> None:
        wanted = any(self.pointing.edge_speeds())
        if wanted and not self._ticker.isActive():
            self._clock.start()
            self._ticker.start()
        elif not wanted:
            self._ticker.stop()

    def _tick(self) -> None:
        self.pointing.scroll(self._clock.restart() / 1000.0)
        self._watch_edges()

    # Qt's events

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a gesture; a right press cancels the one that runs."""
        where, button = _where(event), event.button()
        self.led_by_keys = False
        if self.pointing.gesture is not None:
            if button == Qt.MouseButton.RightButton:
                self._swallow_menu = self.cancel()
            return
        self._swallow_menu = False
        self._glide.stop()
        if button == Qt.MouseButton.MiddleButton:
            self.pointing.pan(where)
        elif button == Qt.MouseButton.RightButton:
            self.pointing.select_for_menu(where)
        elif button == Qt.MouseButton.LeftButton and not self._press_corner(where):
            self.pointing.press(where, self.scene)

    def _press_corner(self, where: Where) -> bool:
        """Press a button in the corner; False if there is none."""
        if self.frame.region(where.x, where.y) is not Region.CORNER:
            return False
        places = corner_buttons(self.scene)
        button = next((name for name, rect in places.items() if rect.contains(where.x, where.y)), None)
        if button == "add-lane":
            self.lane_wanted.emit()
        elif button == "hide":
            self.show_all_lanes()
        return button is not None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Let the gesture follow, or show what is under the pointer."""
        where = _where(event)
        if self.pointing.gesture is not None:
            self.pointing.move(where)
            self._watch_edges()
            return
        self._show_hover(where)

    def _show_hover(self, where: Where) -> None:
        before = self.pointing.hover
        if self.pointing.point(where) != before:
            self.viewport().update()
        self.viewport().setCursor(self.pointing.shape())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Finish the gesture."""
        self._ticker.stop()
        if self.pointing.gesture is not None:
            self.pointing.release()
            self._finish(True)
            self._show_hover(_where(event))

    def _finish(self, ended: bool) -> bool:
        if ended:
            self.set_axis(self.view.axis)
        return ended

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Type a block's values, add a block, rename a lane, or fit the lanes."""
        where = _where(event)
        region = self.frame.region(where.x, where.y)
        row = self.frame.row_at(where.y)
        ref = self.pointing.block_at(where)
        if event.button() != Qt.MouseButton.LeftButton:
            self.mousePressEvent(event)
        elif region is Region.CORNER:
            self.fit_lanes()
        elif self.pointing.hover.button is not None:
            self.mousePressEvent(event)
        elif region is Region.HEADERS and row is not None and row.lane_id is not None:
            self.rename_wanted.emit(row.lane_id)
        elif ref is not None:
            self.document.select_blocks(ref)
            self.values_wanted.emit(ref)
        elif region is Region.STRIPS and row is not None and row.lane_id is not None:
            self.pointing.add_at(where)
        else:
            self.mousePressEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for the menu, unless the right press has just cancelled a drag."""
        event.accept()
        if self._swallow_menu or self.pointing.gesture is not None:
            self._swallow_menu = False
        elif event.reason() == QContextMenuEvent.Reason.Keyboard:
            self.ask_menu()
        else:
            self.menu_wanted.emit(event.globalPos())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll or zoom."""
        event.accept()
        mods, axis = event.modifiers(), self.view.axis
        across, along = _wheel_way(event, WHEEL_PX * self.look.u)
        notches = (along or across) / (WHEEL_PX * self.look.u)
        if mods & Qt.KeyboardModifier.ControlModifier:
            if mods & Qt.KeyboardModifier.ShiftModifier:
                self.zoom_strips(STRIP_STEP**notches)
            else:
                self.zoom(1.2**notches, min(max(event.position().x(), axis.left), axis.right))
        elif mods & Qt.KeyboardModifier.ShiftModifier:
            self.set_axis(axis.scrolled(-(along or across)))
        else:
            self.set_axis(axis.scrolled(-across))
            self.set_scroll(self.frame.scroll - along)
        self.pointing.move(self.pointing.where)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what a key does; modifiers change a drag at once."""
        self.led_by_keys = True
        if event.key() == Qt.Key.Key_Escape:
            if not self.cancel():
                self._let_go()
        elif self.pointing.gesture is not None:
            self._modify(event.key(), down=True)
        elif not handle_key(self.doing, event.key(), event.modifiers(), event.text()):
            event.ignore()

    def _let_go(self) -> None:
        """Check all lanes again if some are checked alone; else clear the selection."""
        if self.document.lanes is not None:
            self.document.check_alone(None)
        else:
            self.document.select(Selection())

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Let a drag follow the modifiers."""
        if self.pointing.gesture is None:
            super().keyReleaseEvent(event)
        else:
            self._modify(event.key(), down=False)

    def _modify(self, key: int, *, down: bool) -> None:
        if key == Qt.Key.Key_Alt:
            self.pointing.modify(alt=down)
        elif key == Qt.Key.Key_Shift:
            self.pointing.modify(shift=down)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Put back what is held when the focus goes elsewhere."""
        super().focusOutEvent(event)
        self.cancel()
        self.viewport().update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus where it came by keys."""
        super().focusInEvent(event)
        self.led_by_keys = event.reason() not in (
            Qt.FocusReason.MouseFocusReason,
            Qt.FocusReason.PopupFocusReason,
        )
        self.viewport().update()

    def _on_event(self, event: QEvent) -> bool:
        """Put back what is held when the window loses the focus."""
        if event.type() == QEvent.Type.WindowDeactivate:
            self.cancel()
        return False

    def _on_viewport_event(self, event: QEvent) -> bool:
        """Show tooltips, forget what was under a pointer that left, and zoom with two fingers."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text = tip_at(self.scene, self.look, event.pos().x(), event.pos().y())
            QToolTip.showText(event.globalPos(), text, self.viewport())
            return True
        if event.type() == QEvent.Type.Leave:
            self.pointing.hover = Hover()
            self.viewport().update()
        zooming = Qt.NativeGestureType.ZoomNativeGesture
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == zooming:
            self.zoom(1.0 + event.value(), event.position().x())
            return True
        return False


def _wheel_way(event: QWheelEvent, notch_px: float) -> tuple[float, float]:
    """Return how far a wheel or two fingers scroll, sideways and upright, px.

    A touchpad says it in px. A little sideways in an upright move, or the other way, is a hand's tremor.
    """
    pixels, angle = event.pixelDelta(), event.angleDelta()
    if not pixels.isNull():
        across, along = float(pixels.x()), float(pixels.y())
    else:
        across, along = angle.x() / WHEEL_STEP * notch_px, angle.y() / WHEEL_STEP * notch_px
    if abs(across) < abs(along) / TREMOR:
        return 0.0, along
    return (across, 0.0) if abs(along) < abs(across) / TREMOR else (across, along)


def _where(event: QMouseEvent) -> Where:
    mods, place = event.modifiers(), event.position()
    return Where(
        place.x(),
        place.y(),
        bool(mods & Qt.KeyboardModifier.AltModifier),
        bool(mods & Qt.KeyboardModifier.ShiftModifier),
        bool(mods & Qt.KeyboardModifier.ControlModifier),
    )
