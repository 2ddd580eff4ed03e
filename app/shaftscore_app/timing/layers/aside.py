"""Lanes set aside while others are checked alone: under a veil, over the whole row."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.scene import DiagramScene

ASIDE = 0.55
"""Share of `window` that lies over a lane that is not checked."""


def paint_aside(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Dim the lanes that are not checked; the one that is held stays as it is."""
    alone = scene.report.lanes
    if alone is None:
        return
    held = scene.holding.lane_id if scene.holding else None
    veil = look.color("window", ASIDE)
    for row in scene.frame.seen_rows():
        if row.lane_id is not None and row.lane_id not in alone and row.lane_id != held:
            painter.fillRect(QRectF(0.0, scene.frame.top_of(row), scene.frame.width, row.height), veil)
