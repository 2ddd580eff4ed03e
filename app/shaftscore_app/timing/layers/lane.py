"""One lane's picture: ground, step lines, level lines, material, free zones, blocks, curve, veil, seams.

The picture is painted once and kept until something that it shows is another; see `LaneKey`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from shaftscore.base.angles import TURN, Angles, Arcs
from shaftscore.make.drawing.thinning import thinned
from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.bodies import BEAD, RADIUS, pieces_of
from shaftscore.make.drawing.timing.curves import LaneCurve, curve_line, highest, stretch_points, turns_seen
from shaftscore.make.drawing.timing.shapes import BlockShape, Level
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore_app.theme.polygons import places_of, polygon_of
from shaftscore_app.timing.layers.blocks import paint_block
from shaftscore_app.timing.layers.labels import CALM, PlacedLabel, paint_placed
from shaftscore_app.timing.layers.look import DiagramStyle, half

CURVE = 1.75
THIN_CURVE = 1.25
SEAM = 1.5
VEIL = 0.62
DENSE = 2.0
"""Widths in px of the design; the veil's share of `window`; corners a px from which a line is a band."""


@dataclass(frozen=True)
class Zones:
    """Free zones of a held block: where its start could stand, its length, its level (master angles)."""

    starts: Arcs
    length_deg: float
    level: Level


@dataclass(frozen=True)
class LaneKey:
    """All that a lane's picture shows, apart from shapes and curve, which are compared by identity.

    The strip stands at top 0. left_out: index of the held block, which is painted later. marks: the
    severity of findings about single blocks. labels: those that nothing crosses; otherwise they are
    painted later, over what crosses them.
    """

    axis: Axis
    strip: Strip
    levels: tuple[Level, ...]
    steps: tuple[float, ...]
    marks: tuple[tuple[int, str], ...] = ()
    left_out: int | None = None
    zones: Zones | None = None
    labels: tuple[PlacedLabel, ...] = ()


def paint_lane(
    painter: QPainter, look: DiagramStyle, shapes: Sequence[BlockShape], curve: LaneCurve | None, key: LaneKey
) -> None:
    """Paint one lane's picture; see the module's text."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    axis, strip = key.axis, key.strip
    area = QRectF(axis.left, strip.top, axis.width, strip.height)
    painter.fillRect(area, look.color("strip"))
    _paint_steps(painter, look, key)
    if strip.detail is not Detail.THIN:
        _paint_levels(painter, look, axis, strip, key.levels)
    line = polygon_of(*curve_line(axis, strip, curve)) if curve is not None else QPolygonF()
    begins = turns_seen(axis, float(curve.theta_deg[0])) if curve is not None else []
    _paint_material(painter, look, strip, line, begins)
    if key.zones is not None:
        paint_zones(painter, look, key, key.zones, curve)
    _paint_blocks(painter, look, shapes, key)
    width = THIN_CURVE if strip.detail is Detail.THIN else CURVE
    _paint_curve(painter, look.pen("curve", width), line, begins)
    _paint_bottom(painter, look, axis, strip)
    paint_veil(painter, axis, look.color("window", VEIL), strip.top, strip.height - 1.0)
    paint_seams(painter, look, axis, strip.top, strip.height)
    paint_placed(painter, look, strip, key.labels, CALM)


def _paint_steps(painter: QPainter, look: DiagramStyle, key: LaneKey) -> None:
    painter.setPen(look.pen("grid-major", 1.0 / look.u))
    for deg in key.steps:
        for x in key.axis.places(deg):
            painter.drawLine(QPointF(half(x), key.strip.top), QPointF(half(x), key.strip.bottom))


def _paint_levels(
    painter: QPainter, look: DiagramStyle, axis: Axis, strip: Strip, levels: Sequence[Level]
) -> None:
    for level in levels:
        y = half(strip.y(level.output_mm))
        if level.guarded:
            painter.setPen(look.dashes("edge", 1.0, 6.0, 3.0))
        elif level.output_mm > 0:
            painter.setPen(look.dashes("grid-major", 1.0, 1.0, 3.0))
        else:
            continue
        painter.drawLine(QPointF(axis.left, y), QPointF(axis.right, y))


def _paint_material(
    painter: QPainter, look: DiagramStyle, strip: Strip, line: QPolygonF, begins: Sequence[float]
) -> None:
    if line.isEmpty():
        return
    shape = QPolygonF(line)
    shape.append(QPointF(line.last().x(), strip.floor))
    shape.append(QPointF(line.first().x(), strip.floor))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.color("material"))
    for begin in begins:
        painter.drawPolygon(shape.translated(begin, 0.0))


def _paint_curve(painter: QPainter, pen: QPen, line: QPolygonF, begins: Sequence[float]) -> None:
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if line.size() > DENSE * max(1.0, line.boundingRect().width()):
        covered = band(*places_of(line), pen.widthF())
        for begin in begins:
            painter.fillPath(covered.translated(begin, 0.0), pen.color())
        return
    for begin in begins:
        painter.drawPolyline(line.translated(begin, 0.0))


def _paint_blocks(painter: QPainter, look: DiagramStyle, shapes: Sequence[BlockShape], key: LaneKey) -> None:
    marks = dict(key.marks)
    for shape in shapes:
        if shape.index == key.left_out:
            continue
        for piece in pieces_of(key.axis, shape, BEAD * look.u):
            paint_block(painter, look, key.strip, piece, shape, mark=marks.get(shape.index))


def _paint_bottom(painter: QPainter, look: DiagramStyle, axis: Axis, strip: Strip) -> None:
    y = half(strip.bottom - 1.0)
    painter.setPen(look.pen("line", 1.0 / look.u))
    painter.drawLine(QPointF(axis.left, y), QPointF(axis.right, y))


def paint_zones(
    painter: QPainter, look: DiagramStyle, key: LaneKey, zones: Zones, curve: LaneCurve | None
) -> None:
    """Paint where a held block could stand: bays over the whole strip, with the body's outline.

    The word "free" stands where no line would cross it.
    """
    axis, strip = key.axis, key.strip
    top = strip.y(zones.level.output_mm)
    for zone in zones.starts:
        start, length = zone.spans[0]
        for piece in axis.pieces(start, min(TURN, length + zones.length_deg)):
            _paint_bay(painter, look, strip, piece, top)
            part = piece.clipped(*axis.home)
            if part is None or strip.detail is not Detail.FULL or part.width < 40.0 * look.u:
                continue
            middle, half_width = (part.left + part.right) / 2, look.width("free") / 2 + 3.0 * look.u
            reach = axis.deg(middle - half_width), axis.deg(middle + half_width)
            if curve is None or highest(curve, *reach) < strip.output(top + strip.body):
                baseline = look.baseline(top + strip.body / 2)
                look.text_middle(painter, middle, baseline, "free", look.color("accent"))


def _paint_bay(painter: QPainter, look: DiagramStyle, strip: Strip, piece: SeenPiece, top: float) -> None:
    bay = QRectF(piece.begin, strip.top, piece.end - piece.begin, strip.height - 1.0)
    painter.fillRect(bay, look.color("accent", 0.13))
    painter.setPen(look.pen("accent", 1.5, 0.85))
    for x in (bay.left(), bay.right()):
        painter.drawLine(QPointF(x, bay.top()), QPointF(x, bay.bottom()))
    body = QRectF(bay.left(), top, bay.width(), strip.body)
    painter.setPen(look.dashes("accent-line", 1.25, 5.0, 3.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    radius = RADIUS * look.u
    painter.drawRoundedRect(body.adjusted(0.6, 0.6, -0.6, -0.6), radius, radius)


def paint_veil(painter: QPainter, axis: Axis, veil: QColor, top: float, height: float) -> None:
    """Cover what lies outside the home turn."""
    left, right = axis.home
    if left > axis.left:
        painter.fillRect(QRectF(axis.left, top, left - axis.left, height), veil)
    if right < axis.right:
        painter.fillRect(QRectF(right, top, axis.right - right, height), veil)


def paint_seams(painter: QPainter, look: DiagramStyle, axis: Axis, top: float, height: float) -> None:
    """Draw the seams, where the next turn starts."""
    painter.setPen(look.pen("edge", SEAM))
    for x in axis.places(0.0):
        painter.drawLine(QPointF(x, top), QPointF(x, top + height))


def thick_stretches(axis: Axis, strip: Strip, curve: LaneCurve, spans: Arcs) -> list[QPainterPath]:
    """Return the curve over stretches of master angles, once for each seen copy."""
    paths = []
    for xs, ys in stretch_points(axis, strip, curve, spans):
        path = QPainterPath()
        path.addPolygon(polygon_of(*thinned(xs, ys)))
        paths.append(path)
    return paths


def band(xs: Angles, ys: Angles, width: float) -> QPainterPath:
    """Return what a line covers that turns back within the width of its pen, px: a band to be filled.

    xs, ys: n corners from left to right, px, shape (n,) each. It takes as long to fill as it is long, while
    the line itself would take as long as it has corners.
    """
    first = np.flatnonzero(np.diff(np.floor(xs), prepend=-np.inf))
    last = np.append(first[1:], len(xs) - 1)  # each column ends where the next one begins
    upper = np.minimum(np.minimum.reduceat(ys, first), ys[last]) - width / 2
    lower = np.maximum(np.maximum.reduceat(ys, first), ys[last]) + width / 2
    edges = np.column_stack([xs[first], xs[last]]).ravel()
    there, back = np.repeat(upper, 2), np.repeat(lower, 2)
    path = QPainterPath()
    path.addPolygon(polygon_of(np.concatenate([edges, edges[::-1]]), np.concatenate([there, back[::-1]])))
    path.closeSubpath()
    return path
