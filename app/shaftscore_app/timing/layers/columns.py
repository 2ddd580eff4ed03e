"""Findings where they happen: hatched columns, the stretch of curve, and the bars of state intervals.

Columns of errors are hatched falling and dense, of warnings rising and wide; notes have dotted sides only.
Where they stand is in `geometry.columns`.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef
from shaftscore.judge.findings import Finding, Severity
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.curves import stretch_points
from shaftscore.make.drawing.timing.shapes import highest_mm
from shaftscore.make.drawing.timing.stretches import ThickSpans, thick_spans
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore.model import LevelState, RangeState
from shaftscore_app.document.stale import STALE_OPACITY, is_stale
from shaftscore_app.timing.layers.lane import CURVE, band, thick_stretches
from shaftscore_app.timing.layers.look import DiagramStyle, hatch
from shaftscore_app.timing.scene import DiagramScene

THICK = 3.0
"""Width of a stretch of curve in a finding, px of the design."""

BAR = 2.5
BAR_LIFT = 4.0
"""Thickness of a state bar, and how far its upper side lies above the level, px of the design."""


def paint_columns(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the columns of all findings, the worst last."""
    for column in reversed(scene.drawn_columns):
        rect = QRectF(column.left, column.top, column.right - column.left, column.bottom - column.top)
        painter.setOpacity(STALE_OPACITY if is_stale(scene.report, column.finding) else 1.0)
        paint_column(painter, look, rect, column.finding.severity)
    painter.setOpacity(1.0)
    findings, gap = scene.findings, THICK * scene.frame.u / scene.frame.axis.px_per_deg
    stretches = scene.kept.get("stretches", "", (findings,), gap, lambda: thick_spans(findings, gap))
    for (severity, lane_id), spans in stretches.items():
        painter.setPen(look.pen(severity.value, THICK))
        _paint_stretches(painter, scene, lane_id, spans)


def paint_column(painter: QPainter, look: DiagramStyle, rect: QRectF, severity: Severity) -> None:
    """Paint one column."""
    token = severity.value
    if severity is Severity.NOTE:
        painter.setPen(look.dashes("note", 1.25, 1.5, 2.5))
    else:
        spacing = 5.0 if severity is Severity.ERROR else 8.0
        pen = look.pen(token, 1.25, 0.6)
        hatch(painter, rect, pen, spacing * look.u, rising=severity is Severity.WARNING, from_x=rect.left())
        painter.setPen(look.pen(token, 1.25, 0.85))
    for x in (rect.left() + 0.6, rect.right() - 0.6):
        painter.drawLine(QPointF(x, rect.top()), QPointF(x, rect.bottom()))


def _paint_stretches(painter: QPainter, scene: DiagramScene, lane_id: str, spans: ThickSpans) -> None:
    """Thicken the curve of a lane where it is about something."""
    strip, curve = scene.strip(lane_id), scene.curve(lane_id)
    if strip is None or curve is None or strip.detail is Detail.THIN:
        return
    painter.setBrush(Qt.BrushStyle.NoBrush)
    axis, width = scene.frame.axis, THICK * scene.frame.u
    if not spans.dense:
        for path in thick_stretches(axis, strip, curve, spans.arcs):
            painter.drawPath(path)
        return
    for xs, ys in stretch_points(axis, strip, curve, spans.arcs):
        painter.fillPath(band(xs, ys, width), painter.pen().color())


def paint_chosen(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint what the chosen finding adds: the line up to its sign, and its state bars."""
    finding = scene.chosen
    if finding is None or finding.span is None or finding.span.is_full:
        return
    frame = scene.frame
    token = finding.severity.value
    columns = [column for column in scene.columns if column.finding is finding]
    left, right = frame.axis.home
    for x in {round(column.middle, 2) for column in columns if left <= column.middle <= right}:
        top = min(column.top for column in columns)
        painter.setPen(look.dashes(token, 1.25, 2.0, 2.0, alpha=0.85))
        painter.drawLine(QPointF(x, frame.lanes_top), QPointF(x, max(top, frame.lanes_top)))
    for subject in finding.subjects:
        if not isinstance(subject, BlockRef):
            _paint_state_bars(painter, look, scene, subject, finding)


@dataclass(frozen=True)
class StateBar:
    """A state interval (master angles) shown above a level of a strip, in a token's colour."""

    strip: Strip
    output_mm: float
    span: Arcs
    token: str


def _paint_state_bars(
    painter: QPainter,
    look: DiagramStyle,
    scene: DiagramScene,
    state: LevelState | RangeState,
    finding: Finding,
) -> None:
    """Paint the intervals of a state that reach into the finding's span, or lie nearest to it."""
    strip, solution = scene.strip(state.lane), scene.solution(state.lane)
    near = finding.span
    if strip is None or solution is None or near is None or strip.detail is Detail.THIN:
        return
    spans = [interval.span for interval in solution.intervals(state)]
    if not spans:
        return
    least = min(span.gap(near) for span in spans)
    height = _height(scene, state)
    for span in spans:
        if span.gap(near) <= least + 1e-6:
            bar = StateBar(strip, height, span, finding.severity.value)
            paint_state_bar(painter, look, scene.frame.axis, bar)


def _height(scene: DiagramScene, state: LevelState | RangeState) -> float:
    if isinstance(state, LevelState):
        return float(scene.named(state.lane).levels[state.level])
    return min(state.to_mm, highest_mm(scene.named(state.lane)))


def paint_state_bar(painter: QPainter, look: DiagramStyle, axis: Axis, bar: StateBar) -> None:
    """Paint one state bar with its end ticks above a level."""
    u = look.u
    if bar.span.is_full:
        return
    start, length = bar.span.spans[0]
    top = bar.strip.y(bar.output_mm) - BAR_LIFT * u
    color = look.color(bar.token)
    for piece in axis.pieces(start, length):
        painter.fillRect(QRectF(piece.begin, top, piece.end - piece.begin, BAR * u), color)
        for x in (piece.begin, piece.end - 1.25 * u):
            painter.fillRect(QRectF(x, top, 1.25 * u, (CURVE + BAR_LIFT - 0.5) * u), color)


def paint_selected_state(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the state bar of the selected block, in `edge`: the state, not the block, is what collides."""
    for ref in scene.selection.blocks:
        strip, solution = scene.strip(ref.lane_id), scene.solution(ref.lane_id)
        if strip is None or solution is None or strip.detail is Detail.THIN:
            continue
        lane = scene.lane(ref.lane_id)
        level = lane.blocks[ref.index].level
        for interval in solution.states.get(level, ()):
            if ref.index in interval.blocks:
                bar = StateBar(strip, lane.levels[level], interval.span, "edge")
                paint_state_bar(painter, look, scene.frame.axis, bar)
