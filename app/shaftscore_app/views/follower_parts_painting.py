"""Paints the drawing of the Follower parts view: shapes, dimensions, the points that can be dragged."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from shaftscore.make.drawing.follower import FollowerDrawing
from shaftscore.make.drawing.follower_scene import shape_marks
from shaftscore.make.drawing.scene import Mark, scene
from shaftscore_app.theme import Theme
from shaftscore_app.theme.scenes import ScenePainting
from shaftscore_app.views.follower_parts_places import DrawingFrame, FollowerPlaces, PlacedDimension

POINT = 5.0
"""Radius of the handle of a point, px of the design."""

_CENTRE = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextDontClip


class FollowerPainting:
    """One picture; held: the field or the point that the keys or the mouse are on."""

    def __init__(
        self, painter: QPainter, theme: Theme, drawing: FollowerDrawing, places: FollowerPlaces
    ) -> None:
        """Take what is drawn and where."""
        self._painter, self._theme = painter, theme
        self._drawing, self._places = drawing, places

    def draw(self, heads: tuple[tuple[str, str], tuple[str, str]], held: str) -> None:
        """Draw both; heads: what is written over each, in bold and muted."""
        self._paint(self._places.top, shape_marks(self._drawing.top))
        self._axis()
        self._paint(self._places.side, shape_marks(self._drawing.side, cut=True))
        for one in (*self._places.dimensions, *self._places.side_dimensions):
            self._dimension(one, is_held=held == one.dimension.field and bool(held))
        for name, point in self._drawing.points.items():
            self._handle(self._places.top.at(point), is_held=held == name)
        for box, (bold, muted) in zip(self._places.heads, heads, strict=True):
            self._head(box, bold, muted)
        self._names()

    def _pen(self, token: str, width: float = 1.0, dashes: tuple[float, ...] = ()) -> QPen:
        pen = QPen(self._theme.color(token), width * self._theme.u)
        if dashes:
            pen.setDashPattern([dash / width for dash in dashes])
        return pen

    def _paint(self, frame: DrawingFrame, marks: Iterable[Mark]) -> None:
        ScenePainting(self._painter, self._theme, frame.scale, frame.at(0j)).paint(scene(marks))

    def _axis(self) -> None:
        """Draw the station line."""
        frame = self._places.top
        self._painter.setPen(self._pen("edge", 1.0, (8.0, 3.0, 2.0, 3.0)))
        y = frame.at(0j).y()
        self._painter.drawLine(QPointF(frame.box.left() + 8, y), QPointF(frame.box.right() - 8, y))

    def _names(self) -> None:
        """Write the code of the disc on it."""
        disc = next((shape for shape in self._drawing.top if shape.kind == "disc"), None)
        if disc is None or not disc.name:
            return
        place = self._places.top.at(-0.45 * complex(abs(disc.corners).max()))
        box = QRectF(place.x() - 40, place.y() + 6, 80, 20)
        self._write(box, disc.name, "muted", 600)

    def _dimension(self, one: PlacedDimension, *, is_held: bool) -> None:
        painter, editable = self._painter, bool(one.dimension.field)
        painter.setPen(self._pen("edge"))
        for foot, end in zip(one.feet, (one.start, one.end), strict=True):
            painter.drawLine(foot, end)
        painter.drawLine(one.start, one.end)
        for end, other in ((one.start, one.end), (one.end, one.start)):
            self._tip(end, other)
        painter.setPen(self._pen("accent" if is_held else "line"))
        painter.setBrush(self._theme.color("accent-soft" if is_held else "field"))
        if editable:
            painter.drawRoundedRect(one.box, 3, 3)
        self._write(one.box, one.text, "text" if editable else "muted", 600 if editable else 400)

    def _tip(self, end: QPointF, other: QPointF) -> None:
        """Draw the arrow head of a dimension line."""
        line, size = other - end, 5.0 * self._theme.u
        long = (line.x() ** 2 + line.y() ** 2) ** 0.5
        if long < 2 * size:
            return
        along = line / long
        across = QPointF(-along.y(), along.x())
        for side in (-0.4, 0.4):
            self._painter.drawLine(end, end + along * size + across * size * side)

    def _handle(self, place: QPointF, *, is_held: bool) -> None:
        radius = POINT * self._theme.u
        self._painter.setPen(self._pen("accent", 2.0))
        self._painter.setBrush(self._theme.color("accent" if is_held else "raised"))
        self._painter.drawEllipse(place, radius, radius)

    def _head(self, box: QRectF, bold: str, muted: str) -> None:
        left = self._theme.px(10)
        room = box.adjusted(left, 0, 0, 0)
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        self._painter.setFont(self._theme.font(12, 600))
        self._painter.setPen(self._theme.color("text"))
        self._painter.drawText(room, flags, bold)
        wide = QFontMetricsF(self._theme.font(12, 600)).horizontalAdvance(bold + "  ")
        self._painter.setFont(self._theme.font(11))
        self._painter.setPen(self._theme.color("muted"))
        rest = room.adjusted(wide, 0, 0, 0)
        metrics = QFontMetricsF(self._theme.font(11))
        shown = metrics.elidedText(muted, Qt.TextElideMode.ElideRight, max(rest.width(), 0.0))
        self._painter.drawText(rest, flags, shown)

    def _write(self, box: QRectF, text: str, token: str, weight: int) -> None:
        self._painter.setFont(self._theme.font(11, weight))
        self._painter.setPen(self._theme.color(token))
        self._painter.drawText(box, _CENTRE, text)
