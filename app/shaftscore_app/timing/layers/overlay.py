"""What gestures show over everything: a rectangle of selection, time being opened, where a lane would go."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.scene import DiagramScene


def paint_overlay(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint all of it."""
    overlay = scene.overlay
    if overlay.opened is not None:
        _paint_opened(painter, look, scene, *overlay.opened)
    if overlay.band is not None:
        left, top, right, bottom = overlay.band
        painter.setPen(look.pen("accent", 1.0 / look.u))
        painter.setBrush(look.color("accent", 0.13))
        painter.drawRect(QRectF(QPointF(left, top), QPointF(right, bottom)))


def paint_drop(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the line at which a dragged lane would go, over headers and strips."""
    y = scene.overlay.drop_y
    if y is not None:
        painter.setPen(look.pen("accent", 2.0))
        painter.drawLine(QPointF(0.0, y), QPointF(scene.frame.axis.right, y))


def _paint_opened(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, at_deg: float, by_deg: float
) -> None:
    """Paint the stretch that is new; where time is taken out, one line stands for what is gone."""
    frame = scene.frame
    top, bottom = frame.lanes_top, frame.strips_bottom
    for piece in frame.axis.pieces(at_deg, max(by_deg, 0.0)):
        width = piece.end - piece.begin
        painter.fillRect(QRectF(piece.begin, top, width, bottom - top), look.color("accent", 0.13))
        ruler = QRectF(piece.begin, frame.ruler_top(1) - 4.0 * look.u, max(width, 1.5), 4.0 * look.u)
        painter.fillRect(ruler, look.color("accent"))
        painter.setPen(look.pen("accent", 1.5))
        for x in {piece.begin, piece.end}:
            painter.drawLine(QPointF(x, top), QPointF(x, bottom))
