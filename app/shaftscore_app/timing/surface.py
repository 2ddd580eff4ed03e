"""What the timing diagram shows: a scroll area that draws the scene, and follows document, theme and view.

Nothing here takes the mouse or a key: `widget` adds that.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping

from PySide6.QtCore import Qt, QVariantAnimation
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.cycle import cycle_of, findings_in
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.signs import middle_of
from shaftscore.model import Lane
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.timing.canvas import LABELS, Canvas
from shaftscore_app.timing.doing import Doing
from shaftscore_app.timing.lane_filter import LaneFilter
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.pointing import Pointing
from shaftscore_app.timing.scene import OF_LANES, DiagramScene, Holding, Overlay, find
from shaftscore_app.timing.tags import spoken_block, spoken_lane
from shaftscore_app.timing.view import View

GLIDE_MS, RING_MS = 160, 80
"""How long scrolling to a finding takes, and the ring of a snap to close."""

REVEAL_PX = 40.0
"""How far from the ends of the view an angle is brought, px of the design."""


class DiagramSurface(QAbstractScrollArea):
    """All lanes over one turn of the shaft, as they are drawn.

    pointing, doing: what the mouse and the keys do; made by the widget that takes them. Over 300 lines, since
    every command that changes what is seen can be asked of it.
    """

    pointing: Pointing
    doing: Doing

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        """Show `document` in the colours of `theme`."""
        super().__init__(parent)
        self.document = document
        self.reduce_motion = False
        self.look = DiagramStyle(theme)
        self.kept = KeptThings()
        self.canvas = Canvas(self.look)
        self.view = View()
        self._holding: Holding | None = None
        self._overlay = Overlay()
        self._ghosts: Mapping[str, Lane] = {}
        self.led_by_keys = False
        self._apply_style(theme)
        self.lane_filter = LaneFilter(document, theme, self.viewport())
        self.lane_filter.changed.connect(self.filter_lanes)
        self.lane_filter.left.connect(self._leave_filter)
        self._glide = self._animation(GLIDE_MS, self._glided)
        self._glide_way = (self.view.axis, 0.0, 0.0, 0.0)
        self._closing = self._animation(RING_MS, self._close_ring)
        self._ring = 1.0
        self._opened = document.opened

    def _apply_style(self, theme: Theme) -> None:
        self.setObjectName("timing-diagram")
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Timing diagram")
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(theme.px(480), theme.px(180))

    def _animation(self, duration_ms: int, show: Callable[[float], None]) -> QVariantAnimation:
        """Make an animation that gives the share of the way, 0 to 1."""
        made = QVariantAnimation(self)
        made.setDuration(duration_ms)
        made.setStartValue(0.0)
        made.setEndValue(1.0)
        made.valueChanged.connect(show)
        return made

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
            sum(lane.id in self.view.undrawn for lane in document.project.lanes),
            self._ghosts,
            self.kept,
            self._ring,
            document.cycle,
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
        self.lane_filter.clear()
        self._lay_out()

    def filter_lanes(self, out: frozenset[str]) -> None:
        """Leave lanes out of the drawing for as long as they are not searched for."""
        self.view.filtered = out
        self._lay_out()

    def _leave_filter(self, lane_id: str | None) -> None:
        """Go from the search to the diagram, and to the lane that was found."""
        self.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if lane_id is not None:
            self.document.select_lane(lane_id)
            self.show_lane(lane_id)

    @property
    def hides_lanes(self) -> bool:
        """Whether some lanes are not drawn."""
        return self.scene.hidden > 0

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
        self.document.set_cycle(cycle_of(finding))
        (placed,) = findings_in((finding,), self.document.cycle)
        deg = middle_of(placed)
        if deg is not None:
            axis = axis.showing(deg, REVEAL_PX * self.look.u)
        self._glide_to(axis, scroll)

    # Following document and theme

    def _listen(self, document: Document, theme: Theme) -> None:
        document.project_changed.connect(self._take_project)
        document.report_changed.connect(self._take_report)
        document.selection_changed.connect(self._take_selection)
        document.cursor_changed.connect(self._take_cursor)
        theme.changed.connect(self._take_theme)

    def _take_project(self) -> None:
        if self._opened != self.document.opened:
            self._opened = self.document.opened
            self.kept.forget()  # lanes of the file before would stay with all that was made of them
        lanes = self.document.project.lane_index
        if self.view.hidden and self.view.hidden.isdisjoint(lanes):
            self.view.show_all()  # another machine
        if self.view.filtered and self.view.filtered.isdisjoint(lanes):
            self.lane_filter.clear()
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

    def announce(self, text: str) -> None:
        """Have a screen reader speak."""
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    def _take_theme(self) -> None:
        self.look.forget()
        self.kept.forget(but=(*OF_LANES, *LABELS))
        self.view.forget()
        self._lay_out()

    def _lay_out(self) -> None:
        size = self.viewport().size()
        self.lane_filter.set_there(bool(self.document.project.lanes))
        if self.view.lay_out(self.document.project, size.width(), size.height(), self.look.u):
            frame = self.frame
            self.lane_filter.place(frame.axis.left)
            bar = self.verticalScrollBar()
            bar.setRange(0, round(frame.greatest_scroll))
            bar.setPageStep(round(frame.seen_height))
            bar.setSingleStep(round(24 * self.look.u))
        self.viewport().update()

    # Moving

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

    def _close_ring(self, share: float) -> None:
        self._ring = share
        self.viewport().update()

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
