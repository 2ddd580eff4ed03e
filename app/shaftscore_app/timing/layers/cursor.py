"""The cursor: a flag with the angle on the degree ruler, a line through all lanes, a ring on every curve.

No line crosses a letter: where a text stands in its way, the line is broken.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from shaftscore.base import wording
from shaftscore.make.drawing.timing.strips import Detail
from shaftscore_app.timing.layers.blocks import CASING, CASING_WIDTH
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.timing.scene import DiagramScene

FLAG = Font(11.0, 600)
RING = 7.0
WIDTH = 1.5


def cursor_places(scene: DiagramScene) -> tuple[float, ...]:
    """Return the place at which the cursor is seen within the home turn, px; at most one, at 0 the first."""
    left, right = scene.frame.axis.home
    places = scene.frame.axis.places(scene.cursor_deg)
    return tuple(x for x in places if left - 0.5 <= x <= right + 0.5)[:1]


def flag_rect(look: DiagramStyle, scene: DiagramScene, x: float) -> QRectF:
    """Return the rectangle of the flag on the degree ruler, kept within the axis."""
    u = look.u
    width = look.width(wording.degrees(scene.cursor_deg), FLAG) + 16.0 * u
    axis = scene.frame.axis
    left = min(max(x - width / 2, axis.left), axis.right - width)
    return QRectF(left, 3.0 * u, width, 17.0 * u)


def broken_line(painter: QPainter, x: float, top: float, bottom: float, texts: Sequence[QRectF]) -> None:
    """Draw a vertical line that leaves out the texts it would cross."""
    gaps = sorted((text.top(), text.bottom()) for text in texts if text.left() - 1 <= x <= text.right() + 1)
    y = top
    for begin, end in gaps:
        if begin > y:
            painter.drawLine(QPointF(x, y), QPointF(x, min(begin, bottom)))
        y = max(y, end)
    if y < bottom:
        painter.drawLine(QPointF(x, y), QPointF(x, bottom))


def paint_cursor_line(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, texts: Sequence[QRectF]
) -> None:
    """Paint the line through rulers and lanes."""
    for token, width in ((CASING, WIDTH + 2.0 * CASING_WIDTH), ("accent", WIDTH)):
        painter.setPen(look.pen(token, width))
        for x in cursor_places(scene):
            broken_line(painter, x, 20.0 * look.u, scene.frame.strips_bottom, texts)


def paint_flag(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the flag with the angle."""
    u = look.u
    text = wording.degrees(scene.cursor_deg)
    for x in cursor_places(scene):
        rect = flag_rect(look, scene, x)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("accent"))
        painter.drawRoundedRect(rect, 4.0 * u, 4.0 * u)
        foot = rect.bottom()
        tip = [QPointF(x - 4.0 * u, foot - 0.5), QPointF(x + 4.0 * u, foot - 0.5), QPointF(x, foot + 4.0 * u)]
        painter.drawPolygon(QPolygonF(tip))
        baseline = look.baseline(rect.center().y(), FLAG)
        look.text_middle(painter, rect.center().x(), baseline, text, look.color("on-accent"), font=FLAG)


def paint_rings(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint a ring on every curve."""
    size = RING * look.u
    painter.setPen(look.pen("accent", WIDTH))
    painter.setBrush(look.color("strip"))
    places = cursor_places(scene)
    for row in scene.frame.seen_rows():
        strip = scene.strip(row.lane_id) if row.lane_id is not None else None
        if row.lane_id is None or strip is None:
            continue
        output = scene.output(row.lane_id)
        if output is None:
            continue
        ring = size if strip.detail is not Detail.THIN else 0.7 * size
        for x in places:
            painter.drawEllipse(QPointF(x, strip.y(output[0])), ring / 2, ring / 2)
