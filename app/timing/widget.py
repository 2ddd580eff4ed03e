"""The timing diagram as a widget: it ties document, theme, frame, canvas and gestures together."""

from __future__ import annotations

from collections.abc import Hashable

from PySide6.QtCore import QElapsedTimer, QEvent, QPoint, QPointF, Qt, QTimer, QVariantAnimation, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from app.document import Document
from app.selection import Selection
from app.theme import Theme
from app.timing import steps
from app.timing.canvas import Canvas
from app.timing.drag import Drag, Habits, Press
from app.timing.geometry.axis import Axis, edge_speed
from app.timing.geometry.frame import Frame, Region
from app.timing.geometry.hits import BlockHit, Grip, hit_block
from app.timing.geometry.rows import Rows, fitting_factor, lay_out, natural_height
from app.timing.geometry.shapes import highest_mm, nearest_level, shapes_of
from app.timing.geometry.strips import GREATEST_HEIGHT, LEAST_HEIGHT, MANY_LANES
from app.timing.gestures import Gesture, HoldBlock, LookElsewhere, Pan, ResizeStrip, TurnCursor, Where
from app.timing.keys import handle_key
from app.timing.layers.cursor import cursor_places, flag_rect
from app.timing.layers.headers import corner_buttons
from app.timing.layers.look import Look
from app.timing.layers.overview import overview_axis
from app.timing.scene import Holding, Hover, Scene, find, middle_of
from app.timing.snap import marks
from app.timing.tags import spoken_block, spoken_lane, spoken_place
from app.timing.tips import tip_at
from core.angles import wrap
from core.edits import BlockRef, Edited
from core.errors import EditError

GLIDE_MS = 160
"""How long scrolling to a finding takes."""

TICK_MS = 16
"""How often the view scrolls while something is held near its end."""

WHEEL_STEP = 120.0
"""What one notch of a wheel reports."""


class TimingDiagram(QAbstractScrollArea):
    """All lanes over one turn of the shaft.

    The class is larger than others since Qt's events arrive here; what they mean stands in `gestures`,
    `keys` and `steps`, what is drawn in `canvas`.

    Signals:
    told(text) - what is held or pointed at, for the status bar; empty when nothing is.
    values_wanted(ref) - a block's values are to be typed.
    menu_wanted(place) - the menu of what is selected is wanted at a place of the screen.
    lane_wanted() - a new lane is wanted.
    rename_wanted(lane_id) - a lane is to be renamed.
    """

    told = Signal(str)
    values_wanted = Signal(object)
    menu_wanted = Signal(QPoint)
    lane_wanted = Signal()
    rename_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        """Show `document` in the colours of `theme`."""
        super().__init__(parent)
        self.document = document
        self.habits = Habits()
        self.reduce_motion = False
        self.grip = Grip.WHOLE
        self._look = Look(theme)
        self._canvas = Canvas(self._look)
        self._heights: dict[str, float] = {}
        self._closed: frozenset[str] = frozenset()
        self._axis = Axis.whole(0.0, 1.0)
        self._rows = Rows(())
        self._rows_of: tuple[object, ...] = ()
        self._hover = Hover()
        self._gesture: Gesture | None = None
        self._holding: Holding | None = None
        self._where = Where(0.0, 0.0)
        self._key_token = 0
        self._dressing(theme)
        self._listening(document, theme)

    def _dressing(self, theme: Theme) -> None:
        self.setObjectName("timing-diagram")
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Timing diagram")
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_AcceptTouchEvents)
        self.setMinimumSize(theme.px(480), theme.px(180))
        self._ticker = QTimer(self)
        self._ticker.setInterval(TICK_MS)
        self._ticker.timeout.connect(self._scroll_at_edge)
        self._clock = QElapsedTimer()
        self._glide = QVariantAnimation(self)
        self._glide.setDuration(GLIDE_MS)
        self._glide.valueChanged.connect(self._glided)
        self._glide_from = (self._axis, 0.0, 0.0, 0.0)

    def _listening(self, document: Document, theme: Theme) -> None:
        document.project_changed.connect(self._take_project)
        document.report_changed.connect(self.viewport().update)
        document.selection_changed.connect(self._take_selection)
        document.cursor_changed.connect(self.viewport().update)
        theme.changed.connect(self._take_theme)

    # What is seen

    @property
    def frame(self) -> Frame:
        """Where everything stands now."""
        size = self.viewport().size()
        return Frame(
            float(size.width()),
            float(size.height()),
            self._axis,
            self._rows,
            float(self.verticalScrollBar().value()),
            self._look.u,
        )

    @property
    def scene(self) -> Scene:
        """Give what is shown now."""
        document = self.document
        return Scene(
            self.frame,
            document.project,
            document.report,
            document.selection,
            document.cursor_deg,
            self._hover,
            self._holding,
            self.hasFocus(),
            self.grip.value,
        )

    @property
    def look(self) -> Look:
        """Colours, fonts and sizes."""
        return self._look

    @property
    def canvas(self) -> Canvas:
        """What paints."""
        return self._canvas

    def set_axis(self, axis: Axis) -> None:
        """Show another stretch of the turn."""
        self._axis = axis if self._gesture is not None else axis.settled()
        self.viewport().update()

    def set_scroll(self, scroll: float) -> None:
        """Scroll the lanes."""
        self.verticalScrollBar().setValue(round(scroll))

    def set_height(self, lane_id: str, height: float) -> None:
        """Give a strip another height, px of the design."""
        self._heights[lane_id] = min(GREATEST_HEIGHT, max(LEAST_HEIGHT, height))
        self._lay_out()

    def set_holding(self, holding: Holding | None) -> None:
        """Show a held block, or none."""
        self._holding = holding
        self.viewport().update()

    def set_habits(self, habits: Habits) -> None:
        """Take the person's grid and snapping."""
        self.habits = habits

    def tell(self, text: str) -> None:
        """Say what is held or pointed at."""
        self.told.emit(text)

    # What can be asked of it

    def zoom(self, factor: float, at_x: float | None = None) -> None:
        """Zoom the axis about a place, the cursor if it is seen, or the middle."""
        axis = self._axis
        places = axis.places(self.document.cursor_deg)
        middle = axis.left + axis.width / 2
        self.set_axis(axis.zoomed(factor, at_x if at_x is not None else (places or (middle,))[0]))

    def zoom_in(self) -> None:
        """Show fewer degrees."""
        self.zoom(1.25)

    def zoom_out(self) -> None:
        """Show more degrees."""
        self.zoom(0.8)

    def whole_turn(self) -> None:
        """Show the whole turn."""
        self._axis = Axis.whole(self._axis.left, self._axis.width)
        self.viewport().update()

    def fit_lanes(self) -> None:
        """Give every lane its usual height, lowered where that makes all fit."""
        self._heights.clear()
        self._lay_out()

    def zoom_strips(self, factor: float) -> None:
        """Make all strips higher or lower."""
        project = self.document.project
        for lane in project.lanes:
            row = self._rows.of_lane(lane.id)
            now = row.height / self._look.u if row else natural_height(project, lane, self._heights)
            self._heights[lane.id] = min(GREATEST_HEIGHT, max(LEAST_HEIGHT, now * factor))
        self._lay_out()

    def toggle_group(self, group: str) -> None:
        """Open or close a group."""
        self._closed = self._closed ^ {group}
        self._lay_out()

    def set_group_closed(self, group: str, closed: bool) -> None:
        """Close or open a group."""
        if group and (group in self._closed) != closed:
            self.toggle_group(group)

    def edit(self, edited: Edited | None, merge_as: str | None = None) -> None:
        """Make an edit as one step; presses of keys merge while the selection stays."""
        if edited is None:
            return
        key = None if merge_as is None else (merge_as, self._key_token)
        token = self._key_token
        self.document.perform(edited, key)
        self._key_token = token

    def try_edit(self, make: object, merge_as: str | None = None) -> bool:
        """Make the edit that `make()` gives; say why where it cannot be made. True if it was made."""
        assert callable(make)
        try:
            edited = make()
        except EditError as error:
            self.tell(str(error))
            self.announce(str(error))
            return False
        self.edit(edited, merge_as)
        return edited is not None

    def add_at_cursor(self) -> None:
        """Add a block to the selected lane at the cursor."""
        lane_id = self.document.selection.lane_id
        if lane_id is None:
            self.tell("Select a lane first: click its header")
            return
        project = self.document.committed
        lane = project.lane(lane_id)
        own = wrap(self.document.cursor_deg * project.stack_of(lane).turns)
        level = steps.level_to_add(lane, own)
        if level is not None:
            self.try_edit(lambda: steps.add_at(project, lane_id, own, level, self.habits.grid_deg))

    def delete_selected(self) -> None:
        """Delete the selected blocks."""
        from core.edits import apply_edit

        refs = self.document.selection.blocks
        if refs:
            self.try_edit(lambda: apply_edit(self.document.committed, "delete_blocks", refs=refs))

    def select_more(self) -> None:
        """Select lane, group, all: again and again."""
        self.document.select(steps.more(self.document.project, self.document.selection))

    def level_up(self) -> None:
        """Move the selected block to the next higher level."""
        self.change_level(1)

    def level_down(self) -> None:
        """Move the selected block to the next lower level."""
        self.change_level(-1)

    def change_level(self, way: int, *, stay: bool = False) -> None:
        """Move the selected block to another level."""
        ref = self.held_ref()
        if ref is not None:
            project = self.document.committed
            done = self.try_edit(lambda: steps.change_level(project, ref, way, stay=stay), "level")
            if done:
                self.announce_place()

    def nudge(self, way: int, *, fine: bool = False, stay: bool = False) -> None:
        """Move the selected block, or the edge held with E, by the grid, or by a tenth of a degree."""
        ref = self.held_ref()
        if ref is None:
            return
        project, grid = self.document.committed, 0.1 if fine else self.habits.grid_deg
        stay = stay == self.habits.moves_keep
        merge = f"nudge {self.grip.value}"
        if self.try_edit(lambda: steps.nudge(project, ref, self.grip, grid, way, stay=stay), merge):
            self.announce_place()

    def held_ref(self) -> BlockRef | None:
        """Give the block that keys act on: the last one selected."""
        blocks = self.document.selection.blocks
        return blocks[-1] if blocks else None

    def next_grip(self) -> None:
        """Hold the start, the end, or the whole of the block with the arrow keys, in turn."""
        self.grip = steps.NEXT_GRIP[self.grip]
        words = {Grip.WHOLE: "whole block", Grip.START: "start edge", Grip.END: "end edge"}
        self.tell(f"Arrows move the {words[self.grip]}")
        self.announce(words[self.grip])
        self.viewport().update()

    def edit_values(self) -> None:
        """Ask for the values of the selected block to be typed."""
        ref = self.held_ref()
        if ref is not None:
            self.values_wanted.emit(ref)

    def turn_cursor(self, by_deg: float) -> None:
        """Turn the shaft by so many degrees."""
        self.document.set_cursor(self.document.cursor_deg + by_deg)
        self.reveal_angle(self.document.cursor_deg)

    def step(self, way: int) -> None:
        """Turn the shaft to the next step, or to the step before."""
        starts = self.document.project.shaft.step_starts_deg
        self.document.set_cursor(steps.step_from(starts, self.document.cursor_deg, way))
        self.reveal_angle(self.document.cursor_deg)

    def reveal_angle(self, deg: float) -> None:
        """Scroll the axis just so far that an angle is seen."""
        self.set_axis(self._axis.showing(deg, 40.0 * self._look.u))

    def reveal_lane(self, lane_id: str) -> None:
        """Scroll the lanes just so far that a lane is seen."""
        self.set_scroll(self._scroll_for(lane_id))

    def show_finding(self, key: Hashable) -> None:
        """Go to where a finding is: open its group, scroll there."""
        finding = find(self.document.report, key)
        if finding is None:
            return
        for lane_id in finding.lanes[:1]:
            self.set_group_closed(self.document.project.lane(lane_id).group, False)
        deg = middle_of(finding)
        axis = self._axis if deg is None else self._axis.showing(deg, 40.0 * self._look.u)
        scroll = (
            self._scroll_for(finding.lanes[0]) if finding.lanes else float(self.verticalScrollBar().value())
        )
        self._glide_to(axis, scroll)

    def cancel(self) -> bool:
        """Cancel what runs; True if something did."""
        gesture, self._gesture = self._gesture, None
        self._ticker.stop()
        if gesture is None:
            return False
        gesture.cancel()
        self.set_axis(self._axis)
        return True

    # Speaking

    def announce(self, text: str) -> None:
        """Have a screen reader speak."""
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    def announce_place(self) -> None:
        """Speak where the block stands that keys have moved."""
        ref = self.held_ref()
        if ref is not None:
            self.announce(spoken_place(self.document.report, ref))

    # Following the document

    def _take_project(self) -> None:
        if isinstance(self._gesture, HoldBlock) and not self.document.is_previewing and self._gesture.shown:
            self.cancel()
        self._lay_out()

    def _take_selection(self) -> None:
        self._key_token += 1
        self.grip = self.grip if self.document.selection.blocks else Grip.WHOLE
        selection, report = self.document.selection, self.document.report
        text = ""
        if selection.blocks:
            text = spoken_block(report, selection.blocks[-1], selected=True)
        elif selection.lane_id is not None:
            text = spoken_lane(report, selection.lane_id)
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)
        self.viewport().update()

    def _take_theme(self) -> None:
        self._look.forget()
        self._canvas.forget()
        self._rows_of = ()
        self._lay_out()

    def _lay_out(self) -> None:
        """Stack the rows anew where lanes, groups, heights or the space are others."""
        project = self.document.project
        u = self._look.u
        size = self.viewport().size()
        lanes = tuple((lane.id, lane.group, len(lane.levels)) for lane in project.lanes)
        asked = (lanes, tuple(self._heights.items()), self._closed, u, size.width(), size.height())
        if asked != self._rows_of:
            self._rows_of = asked
            left, right = Frame.widths(size.width(), u)
            self._axis = self._axis.resized(left, max(1.0, size.width() - left - right))
            room = self.frame.seen_height
            many = len(project.lanes) > MANY_LANES
            factor = 1.0 if many else fitting_factor(project, self._heights, self._closed, u, room)
            self._rows = lay_out(project, self._heights, self._closed, u, factor)
            self._set_scroll_range()
        self.viewport().update()

    def _set_scroll_range(self) -> None:
        frame = self.frame
        bar = self.verticalScrollBar()
        bar.setRange(0, round(frame.greatest_scroll))
        bar.setPageStep(round(frame.seen_height))
        bar.setSingleStep(round(24 * self._look.u))

    def _scroll_for(self, lane_id: str) -> float:
        frame = self.frame
        row = self._rows.of_lane(lane_id)
        if row is None:
            return frame.scroll
        low, high = row.bottom - frame.seen_height, row.top
        return min(max(frame.scroll, low), high)

    def _glide_to(self, axis: Axis, scroll: float) -> None:
        self._glide.stop()
        start = self._axis.start_deg
        self._glide_from = (
            self._axis,
            float(self.verticalScrollBar().value()),
            axis.start_deg - start,
            scroll,
        )
        if self.reduce_motion or not self.isVisible():
            self._glided(1.0)
            return
        self._glide.setStartValue(0.0)
        self._glide.setEndValue(1.0)
        self._glide.start()

    def _glided(self, share: float) -> None:
        axis, scroll, degrees, to = self._glide_from
        self.set_scroll(scroll + (to - scroll) * share)
        self._axis = axis.scrolled(degrees * share * axis.px_per_deg)
        if share >= 1.0:
            self._axis = self._axis.settled()
        self.viewport().update()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the diagram."""
        del event
        with QPainter(self.viewport()) as painter:
            self._canvas.paint(painter, self.scene)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give everything its new place."""
        super().resizeEvent(event)
        self._lay_out()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Paint at the new scroll position."""
        del dx, dy
        self.viewport().update()

    # The mouse

    def hit(self, where: Where) -> tuple[str, BlockHit | None] | None:
        """Find the lane, and maybe the block, at a place among the strips."""
        frame = self.frame
        row = frame.row_at(where.y)
        if row is None or row.lane_id is None or frame.region(where.x, where.y) is not Region.STRIPS:
            return None
        lane = self.document.project.lane(row.lane_id)
        turns = self.document.project.stack_of(lane).turns
        strip = frame.strip(row, highest_mm(lane))
        return row.lane_id, hit_block(frame.axis, strip, shapes_of(lane, turns), where.x, where.y)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a gesture; a right press cancels the one that runs."""
        where = _where(event)
        self._where = where
        if self._gesture is not None:
            if event.button() == Qt.MouseButton.RightButton:
                self._swallow_menu = self.cancel()
            return
        self._swallow_menu = False
        self._glide.stop()
        if event.button() == Qt.MouseButton.MiddleButton:
            self._gesture = Pan(self, where)
        elif event.button() == Qt.MouseButton.LeftButton:
            self._gesture = self._begin(where)
        elif event.button() == Qt.MouseButton.RightButton:
            self._select_for_menu(where)

    _swallow_menu = False

    def _begin(self, where: Where) -> Gesture | None:
        region = self.frame.region(where.x, where.y)
        if region in (Region.DEGREES, Region.STEPS, Region.SECONDS):
            return self._begin_cursor(where)
        if region is Region.RAIL:
            self._choose_sign(where)
        elif region is Region.CORNER:
            self._press_corner(where)
        elif region is Region.HEADERS:
            return self._press_header(where)
        elif region is Region.STRIPS:
            return self._press_strip(where)
        elif region is Region.OVERVIEW:
            gesture = LookElsewhere(self, overview_axis(self._axis))
            gesture.move(where)
            return gesture
        return None

    def _begin_cursor(self, where: Where) -> Gesture:
        scene = self.scene
        before = self.document.cursor_deg
        for x in cursor_places(scene):
            if flag_rect(self._look, scene, x).contains(QPointF(where.x, where.y)):
                return TurnCursor(self, x - where.x, before)
        gesture = TurnCursor(self, 0.0, before)
        gesture.move(where)
        return gesture

    def _choose_sign(self, where: Where) -> None:
        """Choose the finding of the sign at a place; of a joined sign the next one at each click."""
        near = [sign for sign in self.scene.signs if abs(sign.x - where.x) <= 12.0 * self._look.u]
        if not near:
            return
        things = min(near, key=lambda sign: abs(sign.x - where.x)).things
        keys = [finding.key for finding in things]
        now = self.document.selection.finding
        self.document.select_finding(keys[(keys.index(now) + 1) % len(keys) if now in keys else 0])

    def _press_corner(self, where: Where) -> None:
        if corner_buttons(self.scene)["add-lane"].contains(where.x, where.y):
            self.lane_wanted.emit()

    def _press_header(self, where: Where) -> Gesture | None:
        border = self.frame.border_at(where.y)
        if border is not None:
            return ResizeStrip(self, border, where)
        row = self.frame.row_at(where.y)
        if row is not None and row.lane_id is None:
            self.toggle_group(row.group)
        elif row is not None:
            self.document.select_lane(row.lane_id)
        return None

    def _press_strip(self, where: Where) -> Gesture | None:
        found = self.hit(where)
        if found is None or found[1] is None:
            self.document.select_lane(found[0] if found else None)
            return None
        lane_id, hit = found[0], found[1]
        before = self.document.selection
        ref = BlockRef(lane_id, hit.shape.index)
        self._select_pressed(ref, where)
        if where.ctrl:
            return None
        return self._hold(ref, hit, where, before)

    def _select_pressed(self, ref: BlockRef, where: Where) -> None:
        document = self.document
        if where.ctrl:
            document.select(steps.toggled(document.selection, ref))
        elif where.shift:
            document.select(steps.up_to(document.project, self._rows.lane_ids, document.selection, ref))
        elif ref not in document.selection.blocks:
            document.select(Selection.of_blocks((ref,), document.selection.finding))

    def _hold(self, ref: BlockRef, hit: BlockHit, where: Where, before: Selection) -> Gesture:
        project = self.document.committed
        frame = self.frame
        lane = project.lane(ref.lane_id)
        row = frame.rows.of_lane(lane.id)
        assert row is not None
        mm = frame.strip(row, highest_mm(lane)).output(where.y)
        press = Press(ref, hit.grip, frame.axis.deg(where.x), mm)
        attract = marks(project, lane.id, self.document.cursor_deg, self._rows.lane_ids)
        drag = Drag(project, press, self.habits, attract, None, self._look.u)
        return HoldBlock(self, drag, hit.shape, before, where)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Let the gesture follow, or show what is under the pointer."""
        self._where = _where(event)
        if self._gesture is not None:
            self._gesture.move(self._where)
            self._watch_edges()
        else:
            self._point(self._where)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Finish the gesture."""
        del event
        gesture, self._gesture = self._gesture, None
        self._ticker.stop()
        if gesture is not None:
            gesture.release()
            self.set_axis(self._axis)
            self._point(self._where)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Type a block's values, add a block, rename a lane, or fit the lanes."""
        where = _where(event)
        region = self.frame.region(where.x, where.y)
        row = self.frame.row_at(where.y)
        if event.button() != Qt.MouseButton.LeftButton:
            return
        if region is Region.CORNER:
            self.fit_lanes()
        elif region is Region.HEADERS and row is not None and row.lane_id is not None:
            self.rename_wanted.emit(row.lane_id)
        elif region is Region.STRIPS and (found := self.hit(where)) is not None:
            lane_id, hit = found
            if hit is None:
                self._add_at(lane_id, where)
            else:
                self.values_wanted.emit(BlockRef(lane_id, hit.shape.index))
        else:
            self.mousePressEvent(event)

    def _add_at(self, lane_id: str, where: Where) -> None:
        project = self.document.committed
        lane = project.lane(lane_id)
        row = self.frame.rows.of_lane(lane_id)
        if row is None or not lane.levels:
            return
        strip = self.frame.strip(row, highest_mm(lane))
        level = nearest_level(lane, strip.output(where.y - strip.body / 2)).name
        own = wrap(self._axis.deg(where.x) * project.stack_of(lane).turns)
        grid = 0.1 if where.alt else self.habits.grid_deg
        self.try_edit(lambda: steps.add_at(project, lane_id, own, level, grid))

    def _point(self, where: Where) -> None:
        """Show what the pointer is over, and what it can do there."""
        frame = self.frame
        region = frame.region(where.x, where.y)
        row = frame.row_at(where.y)
        found = self.hit(where)
        hover = Hover(row.lane_id if row else None, found[1] if found else None, region is Region.HEADERS)
        self.viewport().setCursor(self._shape(where, region, hover))
        if hover != self._hover:
            self._hover = hover
            self.viewport().update()

    def _shape(self, where: Where, region: Region, hover: Hover) -> Qt.CursorShape:
        if region is Region.HEADERS and self.frame.border_at(where.y) is not None:
            return Qt.CursorShape.SplitVCursor
        locked = hover.block is not None and hover.block.shape.locked
        if hover.block is not None and hover.block.grip is not Grip.WHOLE and not locked:
            return Qt.CursorShape.SizeHorCursor
        return Qt.CursorShape.ArrowCursor

    def _select_for_menu(self, where: Where) -> None:
        """Select what a menu is asked for."""
        found = self.hit(where)
        row = self.frame.row_at(where.y)
        if found is not None and found[1] is not None:
            ref = BlockRef(found[0], found[1].shape.index)
            if ref not in self.document.selection.blocks:
                self.document.select_blocks(ref)
        elif row is not None and row.lane_id is not None:
            self.document.select_lane(row.lane_id)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for the menu, unless the right press has just cancelled a drag."""
        event.accept()
        if self._swallow_menu or self._gesture is not None:
            self._swallow_menu = False
            return
        self.menu_wanted.emit(event.globalPos())

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        super().leaveEvent(event)
        if self._hover != Hover():
            self._hover = Hover()
            self.viewport().update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll or zoom."""
        mods = event.modifiers()
        notches = event.angleDelta().y() / WHEEL_STEP
        sideways = event.angleDelta().x() / WHEEL_STEP
        x = event.position().x()
        event.accept()
        if mods & Qt.KeyboardModifier.ControlModifier:
            if mods & Qt.KeyboardModifier.ShiftModifier:
                self.zoom_strips(1.15 ** (notches or sideways))
            else:
                self.zoom(1.2 ** (notches or sideways), min(max(x, self._axis.left), self._axis.right))
        elif mods & Qt.KeyboardModifier.ShiftModifier or sideways:
            self.set_axis(self._axis.scrolled(-(sideways or notches) * 60.0 * self._look.u))
        else:
            self.set_scroll(self.verticalScrollBar().value() - notches * 60.0 * self._look.u)
        if self._gesture is not None:
            self._gesture.move(self._where)

    # Scrolling while something is held near an end

    def _edge_speeds(self) -> tuple[float, float]:
        frame, where, u = self.frame, self._where, self._look.u
        axis = frame.axis
        across = 0.0 if axis.is_whole else edge_speed(where.x, axis.left, axis.right, u)
        along = edge_speed(where.y, frame.lanes_top, frame.lanes_bottom, u) if frame.greatest_scroll else 0.0
        return across, along

    def _watch_edges(self) -> None:
        wanted = self._holding is not None and any(self._edge_speeds())
        if wanted and not self._ticker.isActive():
            self._clock.start()
            self._ticker.start()
        elif not wanted:
            self._ticker.stop()

    def _scroll_at_edge(self) -> None:
        self.scroll_held(self._clock.restart() / 1000.0)

    def scroll_held(self, seconds: float) -> None:
        """Scroll for a held thing near an end, as far as it goes in so many seconds."""
        across, along = self._edge_speeds()
        if self._gesture is None or not (across or along):
            self._ticker.stop()
            return
        self.set_axis(self._axis.scrolled(across * seconds))
        self.set_scroll(self.verticalScrollBar().value() + along * seconds)
        self._gesture.move(self._where)

    # Keys and other events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what a key does; modifiers change a drag at once."""
        if event.key() == Qt.Key.Key_Escape:
            if not self.cancel():
                self.document.select(Selection())
        elif self._gesture is not None:
            self._with_modifier(event.key(), pressed=True)
        elif not handle_key(self, event.key(), event.modifiers(), event.text()):
            event.ignore()
            return
        event.accept()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Let a drag follow the modifiers."""
        if self._gesture is not None:
            self._with_modifier(event.key(), pressed=False)
            event.accept()
        else:
            super().keyReleaseEvent(event)

    def _with_modifier(self, key: int, *, pressed: bool) -> None:
        where = self._where
        alt = pressed if key == Qt.Key.Key_Alt else where.alt
        shift = pressed if key == Qt.Key.Key_Shift else where.shift
        self._where = Where(where.x, where.y, alt, shift, where.ctrl)
        if self._gesture is not None and self._where != where:
            self._gesture.move(self._where)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Put back what is held when the focus goes elsewhere."""
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.cancel()
        self.viewport().update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus."""
        super().focusInEvent(event)
        self.viewport().update()

    def event(self, event: QEvent) -> bool:
        """Put back what is held when the window loses the focus."""
        if event.type() == QEvent.Type.WindowDeactivate:
            self.cancel()
        return super().event(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Show tooltips, and zoom with two fingers."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text = tip_at(self.scene, self._look, event.pos().x(), event.pos().y())
            QToolTip.showText(event.globalPos(), text, self.viewport())
            return True
        zooming = Qt.NativeGestureType.ZoomNativeGesture
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == zooming:
            self.zoom(1.0 + event.value(), event.position().x())
            return True
        return super().viewportEvent(event)


def _where(event: QMouseEvent) -> Where:
    mods = event.modifiers()
    place = event.position()
    return Where(
        place.x(),
        place.y(),
        bool(mods & Qt.KeyboardModifier.AltModifier),
        bool(mods & Qt.KeyboardModifier.ShiftModifier),
        bool(mods & Qt.KeyboardModifier.ControlModifier),
    )
