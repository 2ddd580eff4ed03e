"""The drawing of the Follower parts view with its mouse and keys.

Tab goes through the dimensions that are fields and then through the points that can be dragged; Enter opens a
field, arrows move a point by 0.5 mm, with Alt by 0.1 mm. A click on a number opens its field.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.make.drawing.follower import FollowerDrawing
from shaftscore_app.theme import Theme
from shaftscore_app.views.follower_parts_painting import POINT, FollowerPainting
from shaftscore_app.views.follower_parts_places import FollowerPlaces, PlacedDimension
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres

SNAP_MM, FINE_MM = 0.5, 0.1
"""Steps of a dragged point; the fine ones with Alt."""

SLACK = 4
"""How far beside a point a press still takes it, px of the design."""

ARROWS = {
    Qt.Key.Key_Left: -1 + 0j,
    Qt.Key.Key_Right: 1 + 0j,
    Qt.Key.Key_Up: 1j,
    Qt.Key.Key_Down: -1j,
}
"""Directions of the arrow keys."""


class DrawingField(Field[float]):
    """A field over the drawing: its keys do not go on to the drawing, which would open it again.

    Signals: left() when it was left without a value.
    """

    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take every key; Escape leaves the field."""
        if event.key() == Qt.Key.Key_Escape and not self.isModified():
            self.hide()
            self.left.emit()
        super().keyPressEvent(event)
        event.accept()


class FollowerCanvas(QWidget):
    """The drawing.

    Signals: value_entered(field, mm) when a dimension was typed. point_moved(name, complex mm, step mm) while
    a point is dragged; dropped() when it is let go, cancelled() when Escape takes it back.
    """

    value_entered = Signal(str, float)
    point_moved = Signal(str, object, float)
    dropped = Signal()
    cancelled = Signal()

    def __init__(self, theme: Theme) -> None:
        """Draw nothing yet."""
        super().__init__()
        self._theme = theme
        self._drawing: FollowerDrawing | None = None
        self._heads: tuple[tuple[str, str], tuple[str, str]] = (("", ""), ("", ""))
        self._held, self._dragged = "", ""
        self._kept: FollowerPlaces | None = None
        self._off = 0j
        self.field = DrawingField(theme, "Dimension", millimetres(), self)
        self.field.hide()
        self.field.entered.connect(self._entered)
        self.field.left.connect(lambda: self.setFocus(Qt.FocusReason.OtherFocusReason))
        self.field.editingFinished.connect(lambda: self.field.setVisible(bool(self.field.unread())))
        self._field_of = ""
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Drawing of the follower")

    @property
    def drawing(self) -> FollowerDrawing | None:
        """What is drawn; None before there is anything."""
        return self._drawing

    @property
    def held(self) -> str:
        """The field or point that the keys are on; empty where they are on none."""
        return self._held

    def show_drawing(
        self, drawing: FollowerDrawing | None, heads: tuple[tuple[str, str], tuple[str, str]]
    ) -> None:
        """Draw another picture; heads: what is written over both drawings, in bold and muted."""
        self._drawing, self._heads = drawing, heads
        if not self._dragged:
            self._kept = None
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size at which the drawing is easy to read."""
        return QSize(self._theme.px(560), self._theme.px(480))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(180), self._theme.px(100))

    @property
    def places(self) -> FollowerPlaces | None:
        """Where things are drawn; while a point is dragged the scale stays."""
        if self._drawing is None:
            return None
        if self._kept is not None and self._dragged:
            return self._kept
        return FollowerPlaces(self._drawing, QRectF(self.rect()), self._theme)

    def point_at(self, place: QPointF) -> str:
        """Return the name of the point at a place; empty for none."""
        drawing, places = self._drawing, self.places
        if drawing is None or places is None:
            return ""
        reach = self._theme.px(SLACK) + POINT * self._theme.u
        for name, point in drawing.points.items():
            off = places.top.at(point) - place
            if abs(complex(off.x(), off.y())) <= reach:
                return name
        return ""

    # Fields in the drawing

    def open_field(self, field: str) -> None:
        """Open the field of a dimension where its number is."""
        one = self._placed(field)
        if one is None:
            return
        self._field_of = field
        self.field.set_shown(one.dimension.value_mm)
        self.field.setAccessibleName(f"{one.dimension.name}, millimetres")
        wide, high = max(one.box.width(), self._theme.px(84)), self.field.sizeHint().height()
        middle = one.box.center()
        left = min(max(middle.x() - wide / 2, 0.0), max(self.width() - wide, 0.0))
        self.field.setGeometry(round(left), round(middle.y() - high / 2), round(wide), high)
        self.field.show()
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.field.selectAll()

    def _placed(self, field: str) -> PlacedDimension | None:
        places = self.places
        if places is None:
            return None
        both = (*places.dimensions, *places.side_dimensions)
        return next((one for one in both if one.dimension.field == field), None)

    def _entered(self, value: float) -> None:
        self.field.hide()
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.value_entered.emit(self._field_of, value)

    # Mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a point, or open the field of a dimension."""
        if event.button() != Qt.MouseButton.LeftButton or self._drawing is None:
            return
        name, places = self.point_at(event.position()), self.places
        assert places is not None
        if name:
            self._kept, self._dragged, self._held = places, name, name
            self._off = self._drawing.points[name] - places.top.mm(event.position())  # type: ignore[index]
            self.update()
            return
        one = places.dimension_at(event.position())
        self._held = one.dimension.field if one is not None else ""
        if one is not None:
            self.open_field(one.dimension.field)
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the point that is held; else show what can be taken."""
        places = self.places
        if not self._dragged or places is None:
            over = self.point_at(event.position())
            number = None if places is None else places.dimension_at(event.position())
            shape = Qt.CursorShape.SizeAllCursor if over else Qt.CursorShape.ArrowCursor
            self.setCursor(Qt.CursorShape.IBeamCursor if number is not None and not over else shape)
            return
        fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        point = places.top.mm(event.position()) + self._off
        self.point_moved.emit(self._dragged, point, FINE_MM if fine else SNAP_MM)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let the point go."""
        if event.button() == Qt.MouseButton.LeftButton and self._dragged:
            self._dragged, self._kept = "", None
            self.dropped.emit()
            self.update()

    # Keys

    @property
    def stops(self) -> tuple[str, ...]:
        """What Tab goes through: dimensions that are fields, then the points."""
        if self._drawing is None:
            return ()
        both = (*self._drawing.top_dimensions, *self._drawing.side_dimensions)
        return (*(one.field for one in both if one.field), *self._drawing.points)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Go to the next stop; past the last one the focus leaves the drawing."""
        stops = self.stops
        if self.field.isVisible():
            return super().focusNextPrevChild(forward)
        place = stops.index(self._held) if self._held in stops else (-1 if forward else len(stops))
        place += 1 if forward else -1
        if 0 <= place < len(stops):
            self._held = stops[place]
            self.update()
            return True
        self._held = ""
        return super().focusNextPrevChild(forward)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open a field, move a point; Escape takes a drag back."""
        key = Qt.Key(event.key())
        if key is Qt.Key.Key_Escape and self._dragged:
            self._dragged, self._kept = "", None
            self.cancelled.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and "." in self._held:
            self.open_field(self._held)
        elif key in ARROWS and self._drawing is not None and self._held in self._drawing.points:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
            step = FINE_MM if fine else SNAP_MM
            point = self._drawing.points[self._held] + step * ARROWS[key]
            self.point_moved.emit(self._held, point, FINE_MM)
            self.dropped.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Close the field, whose place is another one now."""
        super().resizeEvent(event)
        self.field.hide()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.color("panel"))
        drawing, places = self._drawing, self.places
        if drawing is None or places is None:
            return
        held = self._held if self.hasFocus() or self._dragged or self.field.isVisible() else ""
        FollowerPainting(painter, self._theme, drawing, places).draw(self._heads, held)
