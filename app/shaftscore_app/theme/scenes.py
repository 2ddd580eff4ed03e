"""Scenes on the screen: paints a drawing of the library with a painter, in the colours of the theme.

A place of the drawing is mm, y up; on the screen px, y down. Letters have their size on paper at 96 dots an
inch, times the scale of the theme.
"""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPainterPath, QPen

from shaftscore.make.drawing.hatch import DOT_PT, SPACING_PT, hatch_dots, hatch_lines
from shaftscore.make.drawing.scene import DASHES_PT, LINE_PT, Corners, Path, Scene, Stroke, Text, Tone
from shaftscore_app.theme.polygons import polygon_of
from shaftscore_app.theme.theme import Theme

PX = 96.0 / 72.0
"""Px of the design to a point."""

TOKENS: dict[Tone, str] = {
    "ink": "curve",
    "muted": "muted",
    "pale": "line",
    "paper": "field",
    "face": "material",
    "shade": "line",
    "new": "accent",
    "new-face": "accent-soft",
    "new-shade": "accent-line",
    "error": "error",
    "warning": "warning",
    "level-0": "l0",
    "level-1": "l1",
    "level-2": "l2",
    "level-3": "l3",
    "level-4": "l4",
    "level-5": "l5",
}
"""Token of each tone."""


class ScenePainting:
    """Paints drawings with one painter; scale: px/mm. origin: where the drawing's origin comes, px."""

    def __init__(self, painter: QPainter, theme: Theme, scale: float, origin: QPointF) -> None:
        """Take the painter and the place."""
        self._painter, self._theme = painter, theme
        self._scale, self._origin = scale, origin

    def paint(self, scene: Scene) -> None:
        """Paint a drawing, mark by mark."""
        for mark in scene.marks:
            if isinstance(mark, Text):
                self._write(mark)
            else:
                self._draw(mark)

    def _color(self, tone: Tone) -> QColor:
        return self._theme.color(TOKENS[tone])

    def _at(self, point: complex) -> QPointF:
        return self._origin + QPointF(point.real, -point.imag) * self._scale

    def _contour(self, corners: Corners, path: QPainterPath, closed: bool) -> None:
        x, y = self._origin.x(), self._origin.y()
        path.addPolygon(polygon_of(x + corners.real * self._scale, y - corners.imag * self._scale))
        if closed:
            path.closeSubpath()

    def _pen(self, stroke: Stroke) -> QPen:
        pen = QPen(self._color(stroke.tone), LINE_PT[stroke.weight] * PX * self._theme.u)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        dashes = DASHES_PT[stroke.dash]
        if dashes:
            pen.setDashPattern([length / LINE_PT[stroke.weight] for length in dashes])
        return pen

    def _draw(self, path: Path) -> None:
        outline = QPainterPath()
        outline.setFillRule(Qt.FillRule.OddEvenFill)
        for contour in (path.corners, *path.holes):
            self._contour(contour, outline, path.closed)
        if path.fill is not None:
            self._painter.fillPath(outline, self._color(path.fill))
        if path.pattern is not None:
            self._draw_pattern(path)
        if path.stroke is not None:
            self._painter.strokePath(outline, self._pen(path.stroke))

    def _draw_pattern(self, path: Path) -> None:
        painter, stroke = self._painter, Stroke((path.stroke or Stroke()).tone, "hair")
        spacing = SPACING_PT * PX * self._theme.u / self._scale
        painter.setPen(self._pen(stroke))
        painter.drawLines([QLineF(*map(self._at, line)) for line in hatch_lines(path, spacing).tolist()])
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QBrush(self._color(stroke.tone)))
        radius = DOT_PT / 2 * PX * self._theme.u
        for dot in hatch_dots(path, spacing).tolist():
            painter.drawEllipse(self._at(dot), radius, radius)

    def _write(self, text: Text) -> None:
        painter = self._painter
        font = self._theme.font(text.size_pt * PX, 600 if text.bold else 400)
        wide = QFontMetricsF(font).horizontalAdvance(text.text)
        painter.save()
        painter.translate(self._at(text.at))
        painter.rotate(-text.turned_deg)
        painter.setFont(font)
        painter.setPen(self._color(text.tone))
        painter.drawText(
            QPointF({"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor], 0.0), text.text
        )
        painter.restore()
