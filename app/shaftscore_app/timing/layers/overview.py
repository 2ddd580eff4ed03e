"""The bar of the whole turn below the lanes: where findings and the cursor are, and what is in view."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore.judge.findings import Severity
from shaftscore.judge.report import Report
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.columns import MOST_APART
from shaftscore.make.drawing.timing.frame import OVERVIEW
from shaftscore.make.drawing.timing.signs import PlacedFinding, places_of
from shaftscore_app.document.stale import STALE_OPACITY, is_stale, stale_areas
from shaftscore_app.timing.layers.lane import VEIL, paint_veil
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.scene import DiagramScene

BAR = 8.0
TICK = (3.0, 10.0)
"""Thickness of the bar; width and height of a finding's mark; px of the design."""


def overview_axis(axis: Axis) -> Axis:
    """Return the axis of the bar: always the whole turn."""
    return Axis.whole(axis.left, axis.width)


def paint_overview(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the bar with its marks; zoomed in, what is in view is framed."""
    frame, u = scene.frame, look.u
    top = frame.lanes_bottom
    painter.fillRect(QRectF(0.0, top, frame.width, round(OVERVIEW * u)), look.color("panel"))
    bar = overview_axis(frame.axis)
    middle = top + 8.0 * u
    rect = QRectF(bar.left, middle - BAR * u / 2, bar.width, BAR * u)
    _paint_bar(painter, look, bar, rect)
    label = look.baseline(middle)
    look.text_right(painter, bar.left - 11.0 * u, label, "Whole turn", look.color("muted"))
    if not frame.axis.is_whole:
        _paint_view(painter, look, frame.axis, bar, rect)
    _paint_marks(painter, look, scene, bar, middle)


def _paint_bar(painter: QPainter, look: DiagramStyle, bar: Axis, rect: QRectF) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.color("material"))
    painter.drawRoundedRect(rect, rect.height() / 2, rect.height() / 2)
    painter.save()
    painter.setClipRect(rect)
    paint_veil(painter, bar, look.color("panel", VEIL), rect.top(), rect.height())
    painter.restore()


def _paint_view(painter: QPainter, look: DiagramStyle, axis: Axis, bar: Axis, rect: QRectF) -> None:
    painter.setPen(look.pen("edge", 1.25))
    painter.setBrush(look.color("panel", 0.6))
    painter.save()
    painter.setClipRect(rect.adjusted(0.0, -2.0, 0.0, 2.0))
    for piece in bar.pieces(axis.start_deg, min(360.0, axis.length_deg)):
        view = QRectF(piece.begin, rect.top() - 1.0, piece.end - piece.begin, rect.height() + 2.0)
        painter.drawRoundedRect(view, 3.0 * look.u, 3.0 * look.u)
    painter.restore()


def _paint_marks(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, bar: Axis, middle: float
) -> None:
    u = look.u
    width, height = TICK[0] * u, TICK[1] * u
    left, right = bar.home
    painter.setPen(Qt.PenStyle.NoPen)
    report, placed = scene.report, scene.placed
    reads = (bar, u, stale_areas(report))
    marks = scene.kept.get("marks", "", (placed,), reads, lambda: _marks(report, placed, bar, width))
    for opacity, severity, begin, end in marks:
        painter.setOpacity(opacity)
        painter.setBrush(look.color(severity.value))
        painter.drawRoundedRect(QRectF(begin, middle - height / 2, end - begin, height), u, u)
    painter.setOpacity(1.0)
    painter.setPen(look.pen("accent", 2.0))
    for x in bar.places(scene.cursor_deg):
        if left <= x < right:
            painter.drawLine(QPointF(x, middle - height / 2), QPointF(x, middle + height / 2))


def _marks(
    report: Report, placed: Sequence[PlacedFinding], bar: Axis, width: float
) -> list[tuple[float, Severity, float, float]]:
    """Return opacity, severity, left and right (px) of all marks; last the worst that is current."""
    old = [one for one in placed if is_stale(report, one[0])]
    new = [one for one in placed if not is_stale(report, one[0])]
    return [
        (opacity, *mark)
        for opacity, some in ((STALE_OPACITY, old), (1.0, new))
        for mark in dict.fromkeys(reversed(marks_of(some, bar, width)))  # faint ones do not add up
    ]


def marks_of(
    findings: Sequence[PlacedFinding], bar: Axis, width: float
) -> list[tuple[Severity, float, float]]:
    """Return the marks of findings on the bar: severity, left and right, px; the worst first.

    Each is `width` px wide; of very many, those of one severity that overlap are one.
    """
    left, right = bar.home
    places: dict[Severity, list[float]] = {}
    for finding, x in places_of(findings, bar):
        if left <= x <= right:
            places.setdefault(finding.severity, []).append(x)
    few = sum(map(len, places.values())) <= MOST_APART
    marks: list[tuple[Severity, float, float]] = []
    for severity in sorted(places, key=lambda severity: severity.rank):
        begin = end = -math.inf
        for x in sorted(places[severity]):
            if few or x - width / 2 > end:
                begin = x - width / 2
                marks.append((severity, begin, x + width / 2))
            end = x + width / 2
            marks[-1] = (severity, begin, end)
    return marks
