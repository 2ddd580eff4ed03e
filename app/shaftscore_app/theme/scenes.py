"""Scenes on the screen: paints a drawing of the library with a painter, in the colours of the theme.

A place of the drawing is mm, y up; on the screen px, y down. Letters have their size on paper at 96 dots an
inch, times the scale of the theme.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from shaftscore.make.drawing.fonts import FAMILY
from shaftscore.make.drawing.hatch import DOT_PT, SPACING_PT, hatch_dots, hatch_lines
from shaftscore.make.drawing.on_pdf import PAPER_COLOURS
from shaftscore.make.drawing.scene import DASHES_PT, LINE_PT, Corners, Path, Scene, Stroke, Text, Tone
from shaftscore_app.theme.polygons import polygon_of
from shaftscore_app.theme.theme import Theme

FEW = 12
"""Up to so many corners are handed to Qt one by one, which then takes less time."""

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


class SceneColours(Protocol):
    """What a drawing needs of a theme: its scale, colours of tones, and fonts."""

    @property
    def u(self) -> float:
        """Factor for every size of the design."""
        ...

    def tone(self, tone: Tone) -> QColor:
        """Return the colour of a tone."""
        ...

    def font(self, size: float, weight: int) -> QFont:
        """Return a font of a size, px of the design."""
        ...


class ScreenColours:
    """Colours and fonts of the theme, in its scale."""

    def __init__(self, theme: Theme) -> None:
        """Take the theme."""
        self._theme = theme

    @property
    def u(self) -> float:
        """Factor for every size of the design."""
        return self._theme.u

    def tone(self, tone: Tone) -> QColor:
        """Return the colour of a tone."""
        return self._theme.color(TOKENS[tone])

    def font(self, size: float, weight: int) -> QFont:
        """Return a font of a size, px of the design."""
        return self._theme.font(size, weight)


class PaperColours:
    """Colours of paper, and fonts in true size for a device with so many dots in a mm."""

    def __init__(self, theme: Theme, per_mm: float) -> None:
        """Take the fonts of a theme."""
        self._theme, self._u = theme, per_mm * 25.4 / 96.0

    @property
    def u(self) -> float:
        """Dots for a px of the design."""
        return self._u

    def tone(self, tone: Tone) -> QColor:
        """Return the colour of a tone."""
        return QColor(PAPER_COLOURS[tone])

    def font(self, size: float, weight: int) -> QFont:
        """Return the font of paper in a size, px of the design, whatever the theme's scale."""
        font = QFont(self._theme.font(size, weight))
        font.setFamilies([FAMILY])
        font.setPixelSize(max(1, round(size * self._u)))
        return font


class ScenePainting:
    """Paints drawings with one painter; scale: px/mm. origin: where the drawing's origin comes, px."""

    def __init__(self, painter: QPainter, look: Theme | PaperColours, scale: float, origin: QPointF) -> None:
        """Take the painter and the place; look: a theme, or the colours of paper."""
        self._painter = painter
        self._look: SceneColours = ScreenColours(look) if isinstance(look, Theme) else look
        self._scale, self._origin = scale, origin
        self._pens: dict[Stroke, QPen] = {}
        self._brushes: dict[Tone | None, QBrush] = {None: QBrush(Qt.BrushStyle.NoBrush)}

    def paint(self, scene: Scene) -> None:
        """Paint a drawing, mark by mark."""
        for mark in scene.marks:
            if isinstance(mark, Text):
                self._write(mark)
            else:
                self._draw(mark)

    def _at(self, point: complex) -> QPointF:
        return self._origin + QPointF(point.real, -point.imag) * self._scale

    def _polygon(self, corners: Corners) -> QPolygonF:
        x, y, scale = self._origin.x(), self._origin.y(), self._scale
        if len(corners) > FEW:
            return polygon_of(x + corners.real * scale, y - corners.imag * scale)
        return QPolygonF([QPointF(x + c.real * scale, y - c.imag * scale) for c in corners.tolist()])

    def _pen(self, stroke: Stroke | None) -> QPen | Qt.PenStyle:
        if stroke is None:
            return Qt.PenStyle.NoPen
        if stroke not in self._pens:
            self._pens[stroke] = self._made_pen(stroke)
        return self._pens[stroke]

    def _made_pen(self, stroke: Stroke) -> QPen:
        pen = QPen(self._look.tone(stroke.tone), LINE_PT[stroke.weight] * PX * self._look.u)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        dashes = DASHES_PT[stroke.dash]
        if dashes:
            pen.setDashPattern([length / LINE_PT[stroke.weight] for length in dashes])
        return pen

    def _brush(self, fill: Tone | None) -> QBrush:
        if fill not in self._brushes:
            assert fill is not None, "no fill has its brush from the start"
            self._brushes[fill] = QBrush(self._look.tone(fill))
        return self._brushes[fill]

    def _draw(self, path: Path) -> None:
        """Paint fill and line in one go, unless a pattern comes between them."""
        if path.pattern is None:
            self._outline(path, path.fill, path.stroke)
            return
        self._outline(path, path.fill, None)
        self._draw_pattern(path)
        self._outline(path, None, path.stroke)

    def _outline(self, path: Path, fill: Tone | None, stroke: Stroke | None) -> None:
        if fill is None and stroke is None:
            return
        painter = self._painter
        painter.setPen(self._pen(stroke))
        painter.setBrush(self._brush(fill))
        if path.holes:
            painter.drawPath(self._with_holes(path))
        elif path.closed:
            painter.drawPolygon(self._polygon(path.corners))
        else:
            painter.drawPolyline(self._polygon(path.corners))

    def _with_holes(self, path: Path) -> QPainterPath:
        outline = QPainterPath()
        outline.setFillRule(Qt.FillRule.OddEvenFill)
        for contour in (path.corners, *path.holes):
            outline.addPolygon(self._polygon(contour))
            outline.closeSubpath()
        return outline

    def _draw_pattern(self, path: Path) -> None:
        painter, stroke = self._painter, Stroke((path.stroke or Stroke()).tone, "hair")
        spacing = SPACING_PT * PX * self._look.u / self._scale
        lines = hatch_lines(path, spacing) * self._scale
        x, y = self._origin.x() + lines.real, self._origin.y() - lines.imag
        painter.setPen(self._pen(stroke))
        ends = np.column_stack([x[:, 0], y[:, 0], x[:, 1], y[:, 1]]).tolist()
        painter.drawLines([QLineF(*end) for end in ends])
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._brush(stroke.tone))
        radius = DOT_PT / 2 * PX * self._look.u
        for dot in hatch_dots(path, spacing).tolist():
            painter.drawEllipse(self._at(dot), radius, radius)

    def _write(self, text: Text) -> None:
        painter = self._painter
        font = self._look.font(text.size_pt * PX, 600 if text.bold else 400)
        wide = QFontMetricsF(font).horizontalAdvance(text.text)
        painter.save()
        painter.translate(self._at(text.at))
        painter.rotate(-text.turned_deg)
        painter.setFont(font)
        painter.setPen(self._look.tone(text.tone))
        painter.drawText(
            QPointF({"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor], 0.0), text.text
        )
        painter.restore()
