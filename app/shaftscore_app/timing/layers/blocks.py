"""Blocks: bodies that hang under their level line, with fill, pattern and edge by rank.

A body of a momentary stop is a bead. States of a block: idle, hovered (edge 2 px, grips inside), locked
(closed ends), in a finding (edge 2 px in the severity's colour), selected (accent edge, grips that stand
out), held (with a shadow).
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from shaftscore.make.drawing.timing.axis import SeenPiece
from shaftscore.make.drawing.timing.bodies import RADIUS, BodyBox, shape_box
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore_app.timing.layers.look import DiagramStyle, LevelLook, hatch

EDGE = 1.25
STRONG_EDGE = 2.0
"""Widths of edges, px of the design."""

CASING, CASING_WIDTH = "strip", 1.0
"""Token and width of the line between the accent and the fill of a level: the accent alone is no darker or
lighter than some fills (1.03 to 1 in the dark theme); px of the design."""

FOCUS_OUT = 4.0
"""So far outside a block its focus ring is, px of the design."""


def rect_of(box: BodyBox) -> QRectF:
    """Return a box as a rectangle of Qt."""
    return QRectF(box.left, box.top, box.width, box.height)


def shape_rect(strip: Strip, piece: SeenPiece, shape: BlockShape, u: float) -> QRectF:
    """Return the rectangle of a block or bead."""
    return rect_of(shape_box(strip, piece, shape, u))


def paint_block(
    painter: QPainter,
    look: DiagramStyle,
    strip: Strip,
    piece: SeenPiece,
    shape: BlockShape,
    *,
    mark: str | None = None,
) -> None:
    """Paint one seen copy of an idle or locked block; mark: the severity of a finding about it."""
    style = look.level(shape.level.rank)
    rect = shape_rect(strip, piece, shape, look.u)
    edge, width = (look.color(mark), STRONG_EDGE) if mark else (style.edge, EDGE)
    if shape.is_stop:
        paint_bead(painter, rect, style.fill, edge, width * look.u)
        return
    if rect.width() < 2 * width * look.u:  # all of it is edge
        painter.fillRect(rect, edge)
        return
    paint_body(painter, look, rect, style)
    paint_edge(painter, rect, edge, width * look.u, look.u)
    if style.double and strip.detail is not Detail.THIN:
        paint_edge(painter, rect.adjusted(2.5, 2.5, -2.5, -2.5), style.edge, 1.0, look.u)
    if shape.locked and strip.detail is not Detail.THIN:
        _paint_closed_ends(painter, rect, edge, look.u)


def paint_bead(painter: QPainter, rect: QRectF, fill: QColor, edge: QColor, width: float) -> None:
    """Paint a momentary stop."""
    painter.setPen(QPen(edge, width))
    painter.setBrush(fill)
    inset = width / 2
    painter.drawEllipse(rect.adjusted(inset, inset, -inset, -inset))


def paint_body(painter: QPainter, look: DiagramStyle, rect: QRectF, style: LevelLook) -> None:
    """Paint fill and pattern of a block's body."""
    path = QPainterPath()
    path.addRoundedRect(rect, RADIUS * look.u, RADIUS * look.u)
    painter.fillPath(path, style.fill)
    if style.pattern:
        painter.save()
        painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
        _PATTERNS[style.pattern](painter, look, rect, style.edge)
        painter.restore()


def paint_edge(painter: QPainter, rect: QRectF, color: QColor, width: float, u: float) -> None:
    """Paint the edge of a block, inside its body."""
    inset = width / 2
    radius = max(0.0, RADIUS * u - inset)
    painter.setPen(QPen(color, width))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(rect.adjusted(inset, inset, -inset, -inset), radius, radius)


def _paint_closed_ends(painter: QPainter, rect: QRectF, color: QColor, u: float) -> None:
    width = min(4.0 * u, rect.width() / 2)
    painter.fillRect(QRectF(rect.left(), rect.top(), width, rect.height()), color)
    painter.fillRect(QRectF(rect.right() - width, rect.top(), width, rect.height()), color)


def paint_hover(painter: QPainter, look: DiagramStyle, rect: QRectF, edge: QColor) -> None:
    """Paint what a block shows under the pointer: a stronger edge, grips inside both ends."""
    u = look.u
    paint_edge(painter, rect, edge, STRONG_EDGE * u, u)
    if rect.width() < 24.0 * u:
        return
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(edge)
    for x in (rect.left() + 3.5 * u, rect.right() - 5.0 * u):
        painter.drawRoundedRect(QRectF(x, rect.center().y() - 4.0 * u, 1.5 * u, 8.0 * u), u, u)


def paint_selected(painter: QPainter, look: DiagramStyle, rect: QRectF, *, stop: bool, grip: Grip) -> None:
    """Paint the accent edge of a selected block, and the grips that stand out by 3 px.

    grip: what the arrow keys hold; with one edge held only that one has its grip.
    """
    u = look.u
    accent = look.color("accent")
    if stop:
        paint_bead(painter, rect, QColor(0, 0, 0, 0), look.color(CASING), (STRONG_EDGE + CASING_WIDTH) * u)
        paint_bead(painter, rect, QColor(0, 0, 0, 0), accent, STRONG_EDGE * u)
        grips = (rect.left() - 6.0 * u, rect.right())
    else:
        paint_edge(painter, rect, look.color(CASING), (STRONG_EDGE + CASING_WIDTH) * u, u)
        paint_edge(painter, rect, accent, STRONG_EDGE * u, u)
        grips = (rect.left() - 3.0 * u, rect.right() - 3.0 * u)
    held = {Grip.WHOLE: grips, Grip.START: grips[:1], Grip.END: grips[1:]}[grip]
    for x in held:
        paint_grip(painter, look, QRectF(x, rect.top() - u, 6.0 * u, rect.height() + 2.0 * u))


def paint_grip(painter: QPainter, look: DiagramStyle, rect: QRectF) -> None:
    """Paint one solid grip with its slot."""
    u = look.u
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.color(CASING))
    out = CASING_WIDTH * u
    painter.drawRoundedRect(rect.adjusted(-out, -out, out, out), 3.0 * u, 3.0 * u)
    painter.setBrush(look.color("accent"))
    painter.drawRoundedRect(rect, 2.0 * u, 2.0 * u)
    slot = min(8.0 * u, rect.height() - 6.0 * u)
    if slot > 0:
        painter.setBrush(look.color("on-accent", 0.6))
        painter.drawRect(QRectF(rect.center().x() - u, rect.center().y() - slot / 2, 2.0 * u, slot))


def paint_focus(painter: QPainter, look: DiagramStyle, rect: QRectF) -> None:
    """Paint the ring of the focus that came by keys around a selected block, apart from its own edge."""
    out = FOCUS_OUT * look.u
    ring = rect.adjusted(-out, -out, out, out)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for token, width in ((CASING, STRONG_EDGE + 2.0 * CASING_WIDTH), ("accent", STRONG_EDGE)):
        painter.setPen(look.pen(token, width))
        painter.drawRoundedRect(ring, RADIUS * look.u + out, RADIUS * look.u + out)


def paint_shadow(painter: QPainter, look: DiagramStyle, rect: QRectF, radius: float) -> None:
    """Paint the soft shadow of something held or popped up: 2 px down, blurred over 4 px."""
    u = look.u
    shade = look.color("shade")
    layers = 4
    painter.setPen(Qt.PenStyle.NoPen)
    color = QColor(shade)
    color.setAlphaF(shade.alphaF() / layers)
    painter.setBrush(color)
    for layer in range(layers):
        grow = (layer - 0.5) * u
        area = rect.translated(0.0, 2.0 * u).adjusted(-grow, -grow, grow, grow)
        painter.drawRoundedRect(area, radius + layer * u, radius + layer * u)


# Patterns


def _pen(look: DiagramStyle, color: QColor, width: float, alpha: float) -> QPen:
    thin = QColor(color)
    thin.setAlphaF(alpha)
    pen = QPen(thin, width * look.u)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def _hatched(painter: QPainter, look: DiagramStyle, rect: QRectF, color: QColor) -> None:
    pen = _pen(look, color, 1.25, 0.5)
    hatch(painter, rect, pen, 6.0 * look.u, rising=True, from_x=rect.left())


def _dotted(painter: QPainter, look: DiagramStyle, rect: QRectF, color: QColor) -> None:
    pen = _pen(look, color, 1.25, 0.6)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    step = 3.0 * look.u
    columns = int(rect.width() / step) + 1
    rows = int(rect.height() / step) + 1
    points = [
        QPointF(rect.left() + (column + 0.5 + (row & 1) / 2) * step, rect.top() + (row + 0.5) * step)
        for row in range(rows)
        for column in range(columns)
    ]
    painter.drawPoints(points)


def _lined(painter: QPainter, look: DiagramStyle, rect: QRectF, color: QColor) -> None:
    painter.setPen(_pen(look, color, 1.0, 0.5))
    step = 4.0 * look.u
    y = rect.top() + step
    while y < rect.bottom():
        painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))
        y += step


def _crossed(painter: QPainter, look: DiagramStyle, rect: QRectF, color: QColor) -> None:
    pen = _pen(look, color, 1.0, 0.5)
    for rising in (True, False):
        hatch(painter, rect, pen, 6.0 * look.u, rising=rising, from_x=rect.left())


_PATTERNS = {1: _hatched, 2: _dotted, 3: _lined, 4: _crossed}
