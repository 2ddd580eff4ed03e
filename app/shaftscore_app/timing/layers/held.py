"""A held block: its old place, its body with a shadow, the guides up to the ruler, the ring that holds it.

Also the states of blocks that follow the pointer and the selection without repainting a lane:
hovered and selected.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore.base import wording
from shaftscore.make.drawing.timing.bodies import BEAD, RADIUS, pieces_of
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore_app.timing.layers.blocks import (
    paint_bead,
    paint_block,
    paint_edge,
    paint_focus,
    paint_hover,
    paint_selected,
    paint_shadow,
    shape_rect,
)
from shaftscore_app.timing.layers.cursor import broken_line
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.timing.scene import DiagramScene, Holding

FLAG = Font(11.0, 600)
WHY = Font(11.0, 500)

RING, RING_OPENS = 4.5, 6.0
"""Radius of a snap's ring, and by how much it is wider when it begins to close, px of the design."""


def held_shapes(scene: DiagramScene) -> list[BlockShape]:
    """Return the held block as it stands now, once for each copy on the axis."""
    holding = scene.holding
    if holding is None:
        return []
    return [shape for shape in scene.shapes(holding.lane_id) if shape.index == holding.held.ref.index]


def held_rects(look: DiagramStyle, scene: DiagramScene) -> list[QRectF]:
    """Return the seen rectangles of the held block."""
    strip = scene.strip(scene.holding.lane_id) if scene.holding else None
    if strip is None:
        return []
    return [
        shape_rect(strip, piece, shape, look.u)
        for shape in held_shapes(scene)
        for piece in pieces_of(scene.frame.axis, shape, BEAD * look.u)
    ]


def lifted_rects(look: DiagramStyle, scene: DiagramScene) -> list[QRectF]:
    """Return the seen rectangles of all blocks that are held, in every lane."""
    return [
        shape_rect(strip, piece, shape, look.u)
        for lane_id, indices in scene.lifted.items()
        if (strip := scene.strip(lane_id)) is not None
        for shape in scene.shapes(lane_id)
        if shape.index in indices
        for piece in pieces_of(scene.frame.axis, shape, BEAD * look.u)
    ]


def paint_old_place(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, holding: Holding, strip: Strip
) -> None:
    """Paint the dashed outline of where the block stood."""
    if not holding.held.changed:
        return
    painter.setPen(look.dashes("edge", 1.25, 4.0, 3.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for piece in pieces_of(scene.frame.axis, holding.old, BEAD * look.u):
        rect = shape_rect(strip, piece, holding.old, look.u).adjusted(0.6, 0.6, -0.6, -0.6)
        if holding.old.is_stop:
            painter.drawEllipse(rect)
        else:
            painter.drawRoundedRect(rect, RADIUS * look.u, RADIUS * look.u)


def paint_held(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the old place, and what is held with its shadow."""
    holding = scene.holding
    strip = scene.strip(holding.lane_id) if holding else None
    if holding is not None and strip is not None:
        paint_old_place(painter, look, scene, holding, strip)
    for lane_id, indices in scene.lifted.items():
        strip = scene.strip(lane_id)
        if strip is not None:
            shapes = [shape for shape in scene.shapes(lane_id) if shape.index in indices]
            _paint_lifted(painter, look, scene, strip, shapes)


def _paint_lifted(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, strip: Strip, shapes: Sequence[BlockShape]
) -> None:
    for shape in shapes:
        for piece in pieces_of(scene.frame.axis, shape, BEAD * look.u):
            rect = shape_rect(strip, piece, shape, look.u)
            radius = rect.width() / 2 if shape.is_stop else RADIUS * look.u
            paint_shadow(painter, look, rect, radius)
            paint_block(painter, look, strip, piece, shape)
            if shape.is_stop:
                fill = look.level(shape.level.rank).fill
                paint_bead(painter, rect, fill, look.color("accent"), 2.0 * look.u)
            else:
                paint_edge(painter, rect, look.color("accent"), 2.0 * look.u, look.u)


def paint_marked(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint what selection and pointer add to blocks."""
    _paint_hovered(painter, look, scene)
    for ref in scene.selection.blocks:
        strip = scene.strip(ref.lane_id)
        if strip is None or scene.is_held(ref.lane_id, ref.index):
            continue
        for shape in scene.shapes(ref.lane_id):
            if shape.index != ref.index:
                continue
            for piece in pieces_of(scene.frame.axis, shape, BEAD * look.u):
                rect = shape_rect(strip, piece, shape, look.u)
                if scene.focus_by_keys and ref == scene.selection.blocks[-1]:
                    paint_focus(painter, look, rect)
                paint_selected(painter, look, rect, stop=shape.is_stop, grip=scene.grip)


def _paint_hovered(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    hit, lane_id = scene.hover.block, scene.hover.lane_id
    if hit is None or lane_id is None or scene.holding is not None:
        return
    strip = scene.strip(lane_id)
    if strip is None or strip.detail is Detail.THIN or hit.shape.is_stop or hit.shape.locked:
        return
    edge = look.level(hit.shape.level.rank).edge
    for piece in pieces_of(scene.frame.axis, hit.shape, BEAD * look.u):
        paint_hover(painter, look, shape_rect(strip, piece, hit.shape, look.u), edge)


# Guides


def guide_flags(look: DiagramStyle, scene: DiagramScene) -> list[tuple[QRectF, float, str]]:
    """Return the flags of start and end on the degree ruler: rectangle, place of the edge, text."""
    flags: list[tuple[QRectF, float, str]] = []
    u = look.u
    for shape in held_shapes(scene):
        for piece in scene.frame.axis.pieces(shape.start_deg, shape.length_deg):
            texts = (
                wording.degrees(_shown(shape.start_deg)),
                wording.degrees(_shown(shape.start_deg + shape.length_deg)),
            )
            width = look.width(texts[0], FLAG) + 12.0 * u
            flags.append((QRectF(piece.begin - width, 3.0 * u, width, 16.0 * u), piece.begin, texts[0]))
            width = look.width(texts[1], FLAG) + 12.0 * u
            flags.append((QRectF(piece.end, 3.0 * u, width, 16.0 * u), piece.end, texts[1]))
    return flags


def _shown(deg: float) -> float:
    """Return the angle as it is written: an end past 360 in its turn, 360 itself as 360."""
    return deg - 360.0 if deg > 360.0 + 1e-9 else deg


def paint_guides(painter: QPainter, look: DiagramStyle, scene: DiagramScene, texts: Sequence[QRectF]) -> None:
    """Paint flags, the bar between them, and the lines from the ruler down to the block."""
    holding = scene.holding
    strip = scene.strip(holding.lane_id) if holding else None
    if holding is None or strip is None:
        return
    frame, u = scene.frame, look.u
    accent = look.color("accent")
    rail = frame.ruler_top(3)
    for shape in held_shapes(scene):
        for piece in frame.axis.pieces(shape.start_deg, shape.length_deg):
            bottom = frame.ruler_top(1)
            painter.fillRect(QRectF(piece.begin, bottom - 4.0 * u, piece.end - piece.begin, 4.0 * u), accent)
    for rect, x, text in guide_flags(look, scene):
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("accent-soft"))
        painter.drawRoundedRect(rect, 4.0 * u, 4.0 * u)
        baseline = look.baseline(rect.center().y(), FLAG)
        look.text_middle(painter, rect.center().x(), baseline, text, accent, font=FLAG)
        painter.setPen(look.pen("accent", 1.25))
        broken_line(painter, x, 3.0 * u, rail, texts)
        painter.setPen(look.dashes("accent", 1.25, 1.25, 2.75))
        top = max(frame.lanes_top, strip.y(shape_level(scene)))
        painter.drawLine(QPointF(x, frame.lanes_top), QPointF(x, top))


def shape_level(scene: DiagramScene) -> float:
    """Return the output of the held block's level, mm."""
    shapes = held_shapes(scene)
    return shapes[0].level.output_mm if shapes else 0.0


def paint_hold(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the ring on the edge that is drawn to something, with the words why."""
    holding = scene.holding
    strip = scene.strip(holding.lane_id) if holding else None
    if holding is None or strip is None or holding.held.hold is None:
        return
    u = look.u
    hold = holding.held.hold
    for rect in held_rects(look, scene):
        at_start = hold.grip is Grip.START
        x = rect.left() if at_start else rect.right()
        painter.setPen(look.pen("accent", 1.5))
        painter.setBrush(look.color("strip"))
        radius = (RING + (1.0 - scene.ring) * RING_OPENS) * u
        painter.drawEllipse(QPointF(x, rect.center().y()), radius, radius)
        width = look.width(hold.target.words, WHY)
        left = x - 10.0 * u - width if at_start else x + 10.0 * u
        if left < scene.frame.axis.left + 4.0:
            left = rect.right() + 10.0 * u
        elif left + width > scene.frame.axis.right - 4.0:
            left = rect.left() - 10.0 * u - width
        middle = rect.center().y()
        words = QRectF(left - 4.0 * u, middle - 8.0 * u, width + 8.0 * u, 16.0 * u)
        if any(words.intersects(other) for other in lifted_rects(look, scene)):
            continue  # the drag tag says the rest: words never lie over what is held
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("strip", 0.92))  # a bay's own word may stand there
        painter.drawRoundedRect(words, 4.0 * u, 4.0 * u)
        look.text(
            painter, left, look.baseline(middle, WHY), hold.target.words, look.color("accent"), font=WHY
        )
