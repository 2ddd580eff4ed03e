"""The timing diagram as a widget: it ties document, theme, frame, canvas and gestures together."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from functools import partial

from PySide6.QtCore import QElapsedTimer, QEvent, QPoint, Qt, QTimer, QVariantAnimation, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QShortcut,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from shaftscore.edits import BlockRef
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame, Region
from shaftscore.model import Lane
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.accessible import make_readable
from shaftscore_app.timing.canvas import LABELS, Canvas
from shaftscore_app.timing.doing import Doing
from shaftscore_app.timing.drag import DragHabits
from shaftscore_app.timing.gestures import Where
from shaftscore_app.timing.keys import handle_key
from shaftscore_app.timing.layers.headers import corner_buttons
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.pointing import Pointing
from shaftscore_app.timing.scene import OF_LANES, DiagramScene, Holding, Hover, Overlay, find, middle_of
from shaftscore_app.timing.tags import spoken_block, spoken_lane
from shaftscore_app.timing.tips import tip_at
from shaftscore_app.timing.view import View

GLIDE_MS, RING_MS = 160, 80
"""How long scrolling to a finding takes, and the ring of a snap to close."""

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

REVEAL_PX = 40.0
"""How far from the ends of the view an angle is brought, px of the design."""


class TimingDiagram(QAbstractScrollArea):
    """All lanes over one turn of the shaft.

    Over 300 lines, since all of Qt's events arrive here and every command of the menus can be
    asked of it; what they mean stands in `pointing`, `gestures`, `keys` and `doing`, what is drawn in
    `canvas`.

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
        super().__init__(parent)
        self.document = document
        self.habits = DragHabits()
        self.reduce_motion = False
        self.look = DiagramStyle(theme)
        self.kept = KeptThings()
        self.canvas = Canvas(self.look)
        self.view = View()
        self.doing = Doing(self)
        self.pointing = Pointing(self, self.doing, self.look)
        self._holding: Holding | None = None
        self._overlay = Overlay()
        self._ghosts: Mapping[str, Lane] = {}
        self._swallow_menu = False
        self.led_by_keys = False
        self._apply_style(theme)
        self._make_clocks()
        self._make_shortcuts()
        EventWatch(self, self._on_event)
        EventWatch(self.viewport(), self._on_viewport_event)
        self._listen(document, theme)
        self._take_selection()

    def _apply_style(self, theme: Theme) -> None:
        self.setObjectName("timing-diagram")
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Timing diagram")
        make_readable(TimingDiagram)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(theme.px(480), theme.px(180))

    def _make_clocks(self) -> None:
        self._ticker = QTimer(self)
        self._ticker.setInterval(TICK_MS)
        self._ticker.timeout.connect(self._tick)
        self._clock = QElapsedTimer()
        self._glide = QVariantAnimation(self)
        self._glide.setDuration(GLIDE_MS)
        self._glide.setStartValue(0.0)
        self._glide.setEndValue(1.0)
        self._glide.valueChanged.connect(self._glided)
        self._glide_way = (self.view.axis, 0.0, 0.0, 0.0)
        self._closing = QVariantAnimation(self)
        self._closing.setDuration(RING_MS)
        self._closing.setStartValue(0.0)
        self._closing.setEndValue(1.0)
        self._closing.valueChanged.connect(self._close_ring)
        self._ring = 1.0

    def _close_ring(self, share: float) -> None:
        self._ring = share
        self.viewport().update()

    def _make_shortcuts(self) -> None:
        """Zoom the strips by keys; as shortcuts, since the window's zoom has the same keys without Shift."""
        for keys, factor in (("Ctrl+Shift++", STRIP_STEP), ("Ctrl+Shift+-", 1.0 / STRIP_STEP)):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
            shortcut.activated.connect(partial(self.zoom_strips, factor))

    def _listen(self, document: Document, theme: Theme) -> None:
        document.project_changed.connect(self._take_project)
        document.report_changed.connect(self._take_report)
        document.selection_changed.connect(self._take_selection)
        document.cursor_changed.connect(self._take_cursor)
        theme.changed.connect(self._take_theme)

    # What is seen

    @property
    def frame(self) -> Frame:
        """Where everything stands now."""
        return self.view.frame(float(self.verticalScrollBar().value()))

    @property
    def scene(self) -> DiagramScene:
        """What is shown now."""
        document = self.document
        return DiagramScene(
            self.frame,
            document.project,
            document.report,
            document.selection,
            document.cursor_deg,
            self.pointing.hover,
            self._holding,
            self.hasFocus() and self.led_by_keys,
            self.doing.grip,
            self._overlay,
            sum(lane.id in self.view.hidden for lane in document.project.lanes),
            self._ghosts,
            self.kept,
            self._ring,
        )

    def set_axis(self, axis: Axis) -> None:
        """Show another stretch of the turn; while something is held its angles go on counting."""
        self.view.axis = axis if self.pointing.gesture is not None else axis.settled()
        self.viewport().update()

    def set_scroll(self, scroll: float) -> None:
        """Scroll the lanes."""
        self.verticalScrollBar().setValue(round(scroll))

    def set_height(self, lane_id: str, height: float) -> None:
        """Set a strip's height, px of the design."""
        self.view.set_height(lane_id, height)
        self._lay_out()

    def set_group_closed(self, group: str, closed: bool) -> None:
        """Close or open a group of lanes."""
        if group:
            self.view.closed = self.view.closed | {group} if closed else self.view.closed - {group}
            self._lay_out()

    def set_holding(self, holding: Holding | None) -> None:
        """Show a held block, or none; where it is newly drawn to something, its ring closes."""
        was = self._holding.held.hold if self._holding else None
        now = holding.held.hold if holding else None
        self._holding = holding
        if now is None or self.reduce_motion:
            self._closing.stop()
            self._ring = 1.0
        elif now != was:
            self._ring = 0.0
            self._closing.start()
        self.viewport().update()

    def set_ghosts(self, lanes: Mapping[str, Lane]) -> None:
        """Draw lanes, by id, as they are proposed to be, over what is there; none: an empty mapping."""
        self._ghosts = lanes
        self.viewport().update()

    def set_overlay(self, overlay: Overlay) -> None:
        """Show a rectangle of selection, time being opened, or where a lane would go."""
        self._overlay = overlay
        self.viewport().update()

    def set_habits(self, habits: DragHabits) -> None:
        """Take the person's grid, snapping, and what neighbours do."""
        self.habits = habits

    # What can be asked of it

    def zoom(self, factor: float, at_x: float | None = None) -> None:
        """Zoom the axis about a place, else about the cursor if it is seen, else about the middle."""
        axis = self.view.axis
        places = axis.places(self.document.cursor_deg) or (axis.left + axis.width / 2,)
        self.set_axis(axis.zoomed(factor, places[0] if at_x is None else at_x))

    def zoom_in(self) -> None:
        """Show fewer degrees."""
        self.zoom(1.25)

    def zoom_out(self) -> None:
        """Show more degrees."""
        self.zoom(0.8)

    def whole_turn(self) -> None:
        """Show the whole turn."""
        self.view.show_whole_turn()
        self.viewport().update()

    def zoom_strips(self, factor: float) -> None:
        """Make all strips higher or lower."""
        self.view.scale_strips(self.document.project, factor)
        self._lay_out()

    def fit_lanes(self) -> None:
        """Restore every lane's usual height, lowered where that makes all fit."""
        self.view.heights.clear()
        self._lay_out()

    def isolate_lanes(self) -> None:
        """Draw only the lanes of which something is selected; findings and export mean the whole machine."""
        chosen = self.document.selection.lane_ids
        if chosen:
            self.view.isolate(self.document.project, chosen)
            self._lay_out()

    def hide_lanes(self) -> None:
        """Leave the lanes of which something is selected out of the drawing, and select nothing."""
        chosen = self.document.selection.lane_ids
        if chosen:
            self.view.hide(chosen)
            self.document.select(Selection(finding=self.document.selection.finding))
            self._lay_out()

    def show_all_lanes(self) -> None:
        """Draw every lane."""
        self.view.show_all()
        self._lay_out()

    @property
    def hides_lanes(self) -> bool:
        """Whether some lanes are not drawn."""
        return self.scene.hidden > 0

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
        """Select lane, group, all: again and again."""
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

    def reveal_angle(self, deg: float) -> None:
        """Scroll the axis just so far that an angle is seen."""
        self.set_axis(self.view.axis.showing(deg, REVEAL_PX * self.look.u))

    def reveal_lane(self, lane_id: str) -> None:
        """Scroll the lanes just so far that a lane is seen."""
        self.set_scroll(self.view.scroll_for(self.frame, lane_id))

    def show_lane(self, lane_id: str) -> None:
        """Open the group of a lane, and scroll just so far that it is seen."""
        self.set_group_closed(self.document.project.lane(lane_id).group, False)
        self.reveal_lane(lane_id)

    def show_finding(self, key: Hashable) -> None:
        """Go to where a finding is: open its group, scroll there."""
        finding = find(self.document.report, key)
        if finding is None:
            return
        axis, scroll = self.view.axis, self.frame.scroll
        if finding.lanes:
            self.set_group_closed(self.document.project.lane(finding.lanes[0]).group, False)
            scroll = self.view.scroll_for(self.frame, finding.lanes[0])
        deg = middle_of(finding)
        if deg is not None:
            axis = axis.showing(deg, REVEAL_PX * self.look.u)
        self._glide_to(axis, scroll)

    def cancel(self) -> bool:
        """Cancel what runs with the mouse; True if something did."""
        self._ticker.stop()
        return self._finish(self.pointing.cancel())

    def tell(self, text: str) -> None:
        """Show what is held or pointed at."""
        self.status_message.emit(text)

    def announce(self, text: str) -> None:
        """Have a screen reader speak."""
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    # Following document and theme

    def _take_project(self) -> None:
        lanes = self.document.project.lane_index
        if self.view.hidden and self.view.hidden.isdisjoint(lanes):
            self.view.show_all()  # another machine
        if not self.document.is_previewing:
            self.pointing.lose()
        self._lay_out()

    def _take_report(self) -> None:
        self._describe()
        self.viewport().update()

    def _take_selection(self) -> None:
        self.doing.selection_changed()
        self._describe()
        if self.led_by_keys and not self.document.is_previewing:
            self.announce(self.accessibleDescription())
        self.viewport().update()

    def _take_cursor(self, _deg: float) -> None:
        self.pointing.read_cursor()
        self.viewport().update()

    def _describe(self) -> None:
        """Keep the description for screen readers that of the selected block or lane."""
        selection, report = self.document.selection, self.document.report
        text = "One turn of the shaft; no lane is selected."
        if report.project is not self.document.project:
            return
        if selection.blocks:
            text = spoken_block(report, selection.blocks[-1], selected=True)
        elif selection.lane_id is not None:
            text = spoken_lane(report, selection.lane_id)
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)

    def _take_theme(self) -> None:
        self.look.forget()
        self.kept.forget(but=(*OF_LANES, *LABELS))
        self.view.forget()
        self._lay_out()

    def _lay_out(self) -> None:
        size = self.viewport().size()
        if self.view.lay_out(self.document.project, size.width(), size.height(), self.look.u):
            frame = self.frame
            bar = self.verticalScrollBar()
            bar.setRange(0, round(frame.greatest_scroll))
            bar.setPageStep(round(frame.seen_height))
            bar.setSingleStep(round(24 * self.look.u))
        self.viewport().update()

    # Gliding to a finding, scrolling at the ends

    def _glide_to(self, axis: Axis, scroll: float) -> None:
        self._glide.stop()
        now = self.view.axis
        self._glide_way = (now, axis.start_deg - now.start_deg, self.frame.scroll, scroll)
        if self.reduce_motion or not self.isVisible():
            self._glided(1.0)
        else:
            self._glide.start()

    def _glided(self, share: float) -> None:
        axis, degrees, scroll, to = self._glide_way
        self.set_scroll(scroll + (to - scroll) * share)
        self.set_axis(axis.scrolled(axis.px(degrees * share)))

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

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the diagram."""
        del event
        with QPainter(self.viewport()) as painter:
            self.canvas.paint(painter, self.scene)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Move everything to its new place."""
        super().resizeEvent(event)
        self._lay_out()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Paint at the new scroll position."""
        del dx, dy
        self.viewport().update()

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
