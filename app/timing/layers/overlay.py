"""What gestures show over everything: a rectangle of selection, time being opened, where a lane would go."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from app.timing.layers.look import Look
from app.timing.scene import Scene


def paint_overlay(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint all of it."""
    overlay = scene.overlay
    if overlay.opened is not None:
        _paint_opened(painter, look, scene, *overlay.opened)
    if overlay.band is not None:
        left, top, right, bottom = overlay.band
        painter.setPen(look.pen("accent", 1.0 / look.u))
        painter.setBrush(look.color("accent", 0.13))
        painter.drawRect(QRectF(QPointF(left, top), QPointF(right, bottom)))


def paint_drop(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint the line at which a dragged lane would go, over headers and strips."""
    y = scene.overlay.drop_y
    if y is not None:
        painter.setPen(look.pen("accent", 2.0))
        painter.drawLine(QPointF(0.0, y), QPointF(scene.frame.axis.right, y))


def _paint_opened(painter: QPainter, look: Look, scene: Scene, at_deg: float, by_deg: float) -> None:
    """Paint the stretch that is new; where time is taken out, one line stands for what is gone."""
    frame = scene.frame
    for piece in frame.axis.pieces(at_deg, max(by_deg, 0.0)):
        stretch = QRectF(piece.begin, 0.0, piece.end - piece.begin, frame.strips_bottom)
        painter.fillRect(stretch, look.color("accent", 0.13))
        painter.setPen(look.pen("accent", 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for x in {piece.begin, piece.end}:
            painter.drawLine(QPointF(x, 0.0), QPointF(x, frame.strips_bottom))
