"""The drawing of the Shaft view: parts, forces, bending line and table, with its mouse and keys.

Up and Down go from part to part, Enter opens what describes it; B, T and W switch bending, heights and the
worst angle. A bearing is dragged along the shaft in steps of 0.5 mm, with Alt of 0.1 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.make.drawing.shaft import BearingEnd, ShaftAtAngle, SideView
from shaftscore_app.theme import Theme
from shaftscore_app.views.shaft_painting import ShaftPainting
from shaftscore_app.views.shaft_places import ShaftPlaces
from shaftscore_app.views.shaft_words import ShaftRow

SNAP_MM, FINE_MM = 0.5, 0.1
"""Steps of a dragged bearing; the fine ones with Alt."""

SLACK = 3
"""How far beside a bearing a press still takes it, px of the design."""

ENDS: tuple[BearingEnd, BearingEnd] = ("lower", "upper")


@dataclass(frozen=True, eq=False)
class ShaftPicture:
    """What is drawn: the side view, forces and bending at its angle (None: not computed), the table's rows.

    clamp: what is written beside the clamp. bending, heights: the layers that are on.
    """

    side: SideView
    at: ShaftAtAngle | None
    rows: tuple[ShaftRow, ...]
    clamp: str
    selected: str | None
    bending: bool
    heights: bool


@dataclass(frozen=True)
class BearingDrag:
    """A bearing held by the mouse: which, z of its middle less that of the pointer, and the places then."""

    end: BearingEnd
    off_mm: float
    places: ShaftPlaces


@dataclass(frozen=True)
class KeyStop:
    """A part that the keys go to: a bearing by its end, or a disc by its lane, whose id may be any word."""

    end: BearingEnd | None
    lane_id: str | None


class ShaftCanvas(QWidget):
    """The drawing.

    Signals: lane_chosen(lane id). entered(lane id, or None for a bearing) when Enter is pressed on a part.
    bearing_moved(end, z in mm, step in mm) while one is dragged; dropped() when it is let go, cancelled()
    when Escape takes it back. switched(B, T or W) when one of these keys is pressed.
    """

    lane_chosen = Signal(str)
    entered = Signal(object)
    bearing_moved = Signal(str, float, float)
    dropped = Signal()
    cancelled = Signal()
    switched = Signal(str)

    def __init__(self, theme: Theme) -> None:
        """Draw nothing yet."""
        super().__init__()
        self._theme = theme
        self._picture: ShaftPicture | None = None
        self._drag: BearingDrag | None = None
        self._held: BearingEnd | None = None
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Shaft in its bearings")

    def show_picture(self, picture: ShaftPicture) -> None:
        """Draw another picture."""
        self._picture = picture
        self.update()

    @property
    def picture(self) -> ShaftPicture | None:
        """What is drawn; None before there is anything."""
        return self._picture

    @property
    def held(self) -> BearingEnd | None:
        """The bearing that the keys are on; None where they are on a disc."""
        return self._held

    def sizeHint(self) -> QSize:
        """Return the size at which the drawing is easy to read."""
        return QSize(self._theme.px(640), self._theme.px(360))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(200), self._theme.px(140))

    # Places

    @property
    def places(self) -> ShaftPlaces | None:
        """Where things are drawn; while a bearing is dragged, where they were when it was taken."""
        if self._picture is None:
            return None
        if self._drag is not None:
            return self._drag.places
        one = self._picture
        side = (one.bending and one.at is not None, one.heights, bool(one.rows))
        return ShaftPlaces.made(one.side, QRectF(self.rect()), self._theme, side)

    def bearing_at(self, place: QPointF) -> BearingEnd | None:
        """Return the bearing at a place, or None."""
        picture, places, slack = self._picture, self.places, self._theme.px(SLACK)
        if picture is None or places is None:
            return None
        bearings = picture.side.of_kind("bearing")
        for end, part in zip(ENDS, bearings, strict=False):
            if places.box(part).adjusted(-slack, -slack, slack, slack).contains(place):
                return end
        return None

    def lane_at(self, place: QPointF) -> str | None:
        """Return the lane whose disc, roller or row is at a place, or None."""
        picture, places = self._picture, self.places
        if picture is None or places is None:
            return None
        side = picture.side
        boxes = [(one.lane_id, places.box(one)) for one in side.rollers]
        boxes += [(str(part.lane_id), places.box(part)) for part in side.of_kind("disc")]
        return next((lane for lane, box in (*boxes, *places.row_boxes(side)) if box.contains(place)), None)

    # Mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a bearing, or choose the lane of a disc, a roller or a row."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        end, lane_id = self.bearing_at(event.position()), self.lane_at(event.position())
        if end is not None:
            self._take(end, event.position())
        elif lane_id is not None:
            self._held = None
            self.lane_chosen.emit(lane_id)

    def _take(self, end: BearingEnd, place: QPointF) -> None:
        picture, places = self._picture, self.places
        assert picture is not None
        assert places is not None
        part = picture.side.of_kind("bearing")[ENDS.index(end)]
        self._held = end
        self._drag = BearingDrag(end, part.middle_mm - places.z_of(place.y()), places)
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the bearing that is held; else show what can be taken."""
        drag = self._drag
        if drag is None:
            over = self.bearing_at(event.position()) is not None
            self.setCursor(Qt.CursorShape.SizeVerCursor if over else Qt.CursorShape.ArrowCursor)
            return
        fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        z = drag.places.z_of(event.position().y()) + drag.off_mm
        self.bearing_moved.emit(drag.end, z, FINE_MM if fine else SNAP_MM)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let the bearing go."""
        if event.button() == Qt.MouseButton.LeftButton and self._drag is not None:
            self._drag = None
            self.dropped.emit()
            self.update()

    # Keys

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from part to part, open what describes one, switch layers; Escape takes a drag back."""
        key = Qt.Key(event.key())
        letters = {Qt.Key.Key_B: "B", Qt.Key.Key_T: "T", Qt.Key.Key_W: "W"}
        if key is Qt.Key.Key_Escape and self._drag is not None:
            self._drag = None
            self.cancelled.emit()
            self.update()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._go(1 if key is Qt.Key.Key_Up else -1)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._enter()
        elif key in letters and event.modifiers() == Qt.KeyboardModifier.NoModifier:
            self.switched.emit(letters[key])
        else:
            super().keyPressEvent(event)

    def _stops(self) -> list[KeyStop]:
        """Return what the keys go through, from the bottom up: bearings, and the lanes of the discs."""
        if self._picture is None:
            return []
        discs = [KeyStop(None, part.lane_id) for part in self._picture.side.of_kind("disc")]
        if not self._picture.side.described:
            return discs
        lower, upper = (KeyStop(end, None) for end in ENDS)
        return [lower, *discs, upper]

    def _go(self, by: int) -> None:
        stops = self._stops()
        if self._picture is None or not stops:
            return
        here = KeyStop(self._held, None if self._held is not None else self._picture.selected)
        at = stops.index(here) + by if here in stops else 0
        there = stops[min(max(at, 0), len(stops) - 1)]
        self._held = there.end
        if there.lane_id is not None:
            self.lane_chosen.emit(there.lane_id)
        self.update()

    def _enter(self) -> None:
        if self._picture is not None and (self._held is not None or self._picture.selected is not None):
            self.entered.emit(None if self._held is not None else self._picture.selected)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.color("panel"))
        picture, places = self._picture, self.places
        if picture is None or places is None:
            return
        held = self._held if self.hasFocus() or self._drag is not None else None
        shown = picture if self._held is None else replace(picture, selected=None)
        ShaftPainting(painter, self._theme, places, shown, held).draw()
