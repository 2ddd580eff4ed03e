"""How a cell of a frame is painted: a level by its place, height, fill and pattern; rest is a small mark."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from shaftscore.model import Project
from shaftscore.program.frames import ranked_levels
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.look import DiagramStyle

SHARE = 0.38
"""Width of a body to that of its cell."""


def paint_ground(painter: QPainter, look: DiagramStyle, cell: QRectF, *, empty: bool) -> None:
    """Paint the ground of a cell; one without a lane is an outline of points."""
    painter.setPen(look.dashes("line", 1.0, 2.0, 2.0) if empty else look.pen("line"))
    painter.setBrush(Qt.BrushStyle.NoBrush if empty else look.color("field"))
    painter.drawRoundedRect(cell, 3.0 * look.u, 3.0 * look.u)


def paint_level(
    painter: QPainter, look: DiagramStyle, cell: QRectF, *, project: Project, lane_id: str, level: str
) -> None:
    """Paint the body of a painted level."""
    rank, rect = ranked_levels(project, lane_id).index(level), body_of(project, cell, lane_id, level)
    style = look.level(rank)
    paint_body(painter, look, rect, style)
    paint_edge(painter, rect, style.edge, 1.25 * look.u, look.u)
    if style.double:
        paint_edge(painter, rect.adjusted(2, 2, -2, -2), style.edge, look.u, look.u)


def body_of(project: Project, cell: QRectF, lane_id: str, level: str) -> QRectF:
    """Return the body of a level in a cell: further right, and higher, the higher the level."""
    at = _share(project, lane_id, level)
    wide, high = cell.width() * SHARE, cell.height() * (0.5 + 0.28 * at)
    left = cell.left() + cell.width() * 0.08 + (cell.width() * 0.84 - wide) * at
    return QRectF(left, cell.bottom() - cell.height() * 0.12 - high, wide, high)


def paint_rest(
    painter: QPainter, look: DiagramStyle, cell: QRectF, *, project: Project, lane_id: str, rest: str
) -> None:
    """Paint the small mark of a lane at rest, on the line of all levels."""
    at, base = _share(project, lane_id, rest), cell.bottom() - cell.height() * 0.12
    wide = cell.width() * 0.84
    left = cell.left() + cell.width() * 0.08
    painter.setPen(QPen(look.color("grid-major"), max(1.0, 1.5 * look.u)))
    painter.drawLine(QRectF(left, base, wide, 0.0).topLeft(), QRectF(left, base, wide, 0.0).topRight())
    size = min(4.0 * look.u, cell.width() * 0.3)
    painter.fillRect(QRectF(left + (wide - size) * at, base - size, size, size * 1.3), look.color("edge"))


def _share(project: Project, lane_id: str, level: str) -> float:
    """Return how high a level stands between the lowest and the highest one, 0 to 1."""
    levels = project.lane(lane_id).levels
    low, high = min(levels.values()), max(levels.values())
    return 0.5 if high == low else (levels[level] - low) / (high - low)
