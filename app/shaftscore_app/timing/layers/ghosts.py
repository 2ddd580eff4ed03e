"""Ghosts: blocks as an arrangement proposes them, over the blocks as they are.

A ghost is a dashed outline in the accent over a light tint; blocks that would stay have none.
"""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from shaftscore.make.drawing.timing.bodies import BEAD, RADIUS, pieces_of
from shaftscore.make.drawing.timing.cycle import shapes_in
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore_app.timing.layers.blocks import shape_rect
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.scene import DiagramScene

TINT = 0.12
"""How much of the accent lies over what is there."""


def ghosts_of(scene: DiagramScene, lane_id: str) -> Iterator[BlockShape]:
    """Yield the proposed blocks of a lane that stand nowhere yet."""
    proposed = scene.ghosts[lane_id]
    there = {(shape.level.name, *_place(shape)) for shape in scene.shapes(lane_id)}
    for shape in shapes_in(proposed, scene.seen(lane_id)):
        if (shape.level.name, *_place(shape)) not in there:
            yield shape


def _place(shape: BlockShape) -> tuple[float, float]:
    return round(shape.start_deg, 6), round(shape.length_deg, 6)


def paint_ghosts(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the ghosts of all lanes."""
    for lane_id in scene.ghosts:
        strip = scene.strip(lane_id)
        if strip is None or lane_id not in scene.project.lane_index:
            continue
        painter.setPen(look.dashes("accent", 1.5, 3.0, 2.0))
        painter.setBrush(look.color("accent", TINT))
        for shape in ghosts_of(scene, lane_id):
            for piece in pieces_of(scene.frame.axis, shape, BEAD * look.u):
                _paint(painter, look, shape_rect(strip, piece, shape, look.u), shape)


def _paint(painter: QPainter, look: DiagramStyle, rect: QRectF, shape: BlockShape) -> None:
    inner = rect.adjusted(0.75, 0.75, -0.75, -0.75)
    if shape.is_stop:
        painter.drawEllipse(inner)
    else:
        painter.drawRoundedRect(inner, RADIUS * look.u, RADIUS * look.u)
