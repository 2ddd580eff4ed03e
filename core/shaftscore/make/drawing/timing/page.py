"""The timing diagram on paper: the whole turn, from the geometry of the diagram on the screen.

A page holds as many lanes as have room, under the rulers of degrees, steps and seconds; what signs and fills
mean is below. Each block says where it starts and ends: in it where that has room, beside it where it is
short. With findings, they are shown as on the screen: columns, signs, stretches of curves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import TURN
from shaftscore.judge.report import Report
from shaftscore.make.drawing.scene import Scene, Stroke
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.bodies import BodyBox
from shaftscore.make.drawing.timing.columns import columns_of, drawn_columns
from shaftscore.make.drawing.timing.curves import stretch_points
from shaftscore.make.drawing.timing.cycle import curve_in, findings_in
from shaftscore.make.drawing.timing.frame import OVERVIEW, RULERS, Frame
from shaftscore.make.drawing.timing.inking import PX_MM, SIZE, Inking, baseline_of, fitted, text_width
from shaftscore.make.drawing.timing.page_lane import EDGE, HAIR, SMALL, PaperLane, draw_lane
from shaftscore.make.drawing.timing.page_legend import LEAST as SMALLEST
from shaftscore.make.drawing.timing.page_legend import (
    SEVERITIES,
    TimingLegend,
    cells_of,
    draw_column,
    draw_sign,
    paper_step_text,
    timing_legend,
)
from shaftscore.make.drawing.timing.rows import (
    DiagramRow,
    Rows,
    Shown,
    fitting_factor,
    lay_out,
    natural_height,
)
from shaftscore.make.drawing.timing.shapes import highest_mm
from shaftscore.make.drawing.timing.signs import placed_findings, signs_of
from shaftscore.make.drawing.timing.stretches import thick_spans
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore.make.drawing.timing.ticks import degree_ticks, second_ticks
from shaftscore.model import Project

HEADERS, WIDE_FROM = (138.0, 176.0), 900.0
"""Widths of the headers on upright and on wide paper, and from which width paper is wide, px."""

STRETCH, SHRINK, LEAST = 1.6, 0.7, 120.0
"""Strips are made higher or lower by this at most to fill one page; height of lanes on one at least, px."""

TICKS_AT = 0.85
"""Ticks of the rulers may be nearer to one another than on the screen, by this."""

THICK_PX = 3.0
"""Stretches nearer to one another than this are one, px."""


@dataclass(frozen=True)
class TimingPage:
    """A page of the diagram: its drawing, mm from its lower left corner, its size, its number of how many."""

    scene: Scene
    wide_mm: float
    high_mm: float
    number: int
    count: int


def timing_pages(
    report: Report, wide_mm: float, high_mm: float | None = None, *, findings: bool = False
) -> tuple[TimingPage, ...]:
    """Return the diagram on pages of a width and at most a height, mm; without a height, on one page."""
    project, wide = report.project, wide_mm / PX_MM
    header = HEADERS[1] if wide >= WIDE_FROM else HEADERS[0]
    axis = Axis(header, wide - header, 0.0, (wide - header) / TURN)
    legend = timing_legend(project, axis, findings=findings)
    rulers = round(sum(RULERS))
    room = None if high_mm is None else max(high_mm / PX_MM - rulers - legend.high, LEAST)
    rows = _rows(project, room)
    parts = _parts(rows, rows.height if room is None else room)
    pages = []
    for number, (first, last) in enumerate(parts, start=1):
        frame = Frame(wide, rulers + last - first + round(OVERVIEW), axis, rows, first, 1.0)
        page = _PageDrawing(report, frame, findings)
        drawing, high = page.drawn(legend), frame.lanes_bottom + legend.high
        pages.append(TimingPage(drawing, wide_mm, high * PX_MM, number, len(parts)))
    return tuple(pages)


def _rows(project: Project, room: float | None) -> Rows:
    """Lay the rows out, higher than on the screen where one page has room, a little lower if all then fit."""
    usual = lay_out(project, Shown())
    if room is None or not usual.height:
        return usual
    if usual.height > room:
        lower = fitting_factor(project, Shown(), 1.0, room)
        return lay_out(project, Shown(), factor=lower) if SHRINK <= lower < 1.0 else usual
    factor = min(STRETCH, room / usual.height)
    heights = {lane.id: factor * natural_height(project, lane, {}) for lane in project.lanes}
    higher = lay_out(project, Shown(heights=heights))
    return higher if higher.height <= room else usual


def _parts(rows: Rows, room: float) -> list[tuple[float, float]]:
    """Cut the rows into stretches that have room, between two rows; a group's row stays with a lane."""
    parts: list[tuple[float, float]] = []
    top = 0.0
    for row, after in zip(rows.rows, (*rows.rows[1:], None), strict=True):
        last = after.bottom if row.lane_id is None and after is not None else row.bottom
        if last - top > room and row.top > top:
            parts.append((top, row.top))
            top = row.top
    return [*parts, (top, rows.height)]


class _PageDrawing:
    """Draws one page."""

    def __init__(self, report: Report, frame: Frame, findings: bool) -> None:
        self._report, self._project, self._frame = report, report.project, frame
        self._axis, self._findings = frame.axis, findings
        self._ink = Inking()

    def drawn(self, legend: TimingLegend) -> Scene:
        self._rulers()
        for row in self._frame.seen_rows():
            if row.lane_id is None:
                self._group(row)
            else:
                draw_lane(self._ink, self._lane(row.lane_id))
        if self._findings:
            self._mark_findings()
        self._border()
        legend.draw(self._ink, self._frame.lanes_bottom + 4.0)
        return self._ink.drawn(self._frame.lanes_bottom + legend.high)

    def _lane(self, lane_id: str) -> PaperLane:
        lane = self._project.lane(lane_id)
        curve = curve_in(self._report.solution.lanes.get(lane_id), 1)
        return PaperLane(self._project, lane, self._axis, self._strip(lane_id), curve)

    def _strip(self, lane_id: str) -> Strip:
        row = self._frame.rows.of_lane(lane_id)
        assert row is not None
        return self._frame.strip(row, highest_mm(self._project.named_lane(self._project.lane(lane_id))))

    def _group(self, row: DiagramRow) -> None:
        top, wide = self._frame.top_of(row), self._frame.width
        name = fitted(row.group, wide - 8.0, SIZE, True)
        self._ink.text(0.0, baseline_of(top + row.height / 2), name, bold=True)
        self._ink.line([0.0, wide], [top + row.height] * 2, EDGE)

    def _border(self) -> None:
        """Draw the frame of the strips."""
        frame, axis = self._frame, self._axis
        high = frame.lanes_bottom - frame.lanes_top
        self._ink.box(BodyBox(axis.left, frame.lanes_top, axis.width, high), None, EDGE, name="turn")
        self._ink.line([0.0, axis.left], [frame.lanes_top] * 2, EDGE)

    # Rulers

    def _rulers(self) -> None:
        names = ("Degrees", "Steps", "Seconds", "Findings")
        for index, name in enumerate(names[: 4 if self._findings else 3]):
            middle = (self._frame.ruler_top(index) + self._frame.ruler_top(index + 1)) / 2
            self._ink.text(0.0, baseline_of(middle, SMALL), name, size=SMALL, tone="muted")
        self._degrees()
        self._steps()
        self._seconds()

    def _degrees(self) -> None:
        bottom, last = self._frame.ruler_top(1), -np.inf
        for tick in degree_ticks(self._axis, TICKS_AT):
            if tick.rank < 2:
                self._ink.line([tick.x, tick.x], [bottom - (5.0 if tick.text else 3.0), bottom], HAIR)
            half = text_width(tick.text, SMALL) / 2
            x = min(max(tick.x, self._axis.left + half), self._axis.right - half)
            if tick.text and x - half > last:
                self._ink.text(x, bottom - 7.0, tick.text, size=SMALL, anchor="middle")
                last = x + half + 4.0

    def _steps(self) -> None:
        top, bottom = self._frame.ruler_top(1), self._frame.ruler_top(2)
        baseline = baseline_of((top + bottom) / 2, SMALL)
        for cell in cells_of(self._project, self._axis):
            piece = cell.piece
            box = BodyBox(piece.left, top, piece.width, bottom - top)
            self._ink.box(box, "face" if cell.number & 1 else None, HAIR)
            middle = (piece.left + piece.right) / 2
            self._ink.text(middle, baseline, paper_step_text(cell), size=SMALLEST, anchor="middle")

    def _seconds(self) -> None:
        top, bottom = self._frame.ruler_top(2), self._frame.ruler_top(3)
        baseline, turn = baseline_of((top + bottom) / 2, SMALL), 60.0 / self._project.shaft.speed_rpm
        whole = f"{wording.plain(turn, 2)} s"
        self._ink.text(self._axis.right, baseline, whole, size=SMALL, anchor="end", tone="muted")
        limit = self._axis.right - text_width(whole, SMALL) - 6.0
        for tick in second_ticks(self._axis, turn, TICKS_AT):
            self._ink.line([tick.x, tick.x], [top, top + (5.0 if tick.text else 3.0)], HAIR)
            if tick.text and tick.x + 4.0 + text_width(tick.text, SMALL) < limit:
                self._ink.text(tick.x + 4.0, baseline, tick.text, size=SMALL, tone="muted")

    # Findings

    def _mark_findings(self) -> None:
        frame, findings = self._frame, findings_in(self._report.findings, 1)
        for column in reversed(drawn_columns(columns_of(frame, findings))):
            box = BodyBox(column.left, column.top, column.right - column.left, column.bottom - column.top)
            for inside in self._within(box):
                draw_column(self._ink, inside, column.finding.severity)
        self._thicken()
        middle = (frame.ruler_top(3) + frame.ruler_top(4)) / 2
        for sign in signs_of(placed_findings(findings), frame):
            draw_sign(self._ink, sign.x, middle, sign.severity)
            count = f"{len(sign.things)}" if len(sign.things) > 1 else ""
            self._ink.text(sign.x + 8.0, baseline_of(middle, SMALL), count, size=SMALL, bold=True)

    def _within(self, box: BodyBox) -> Sequence[BodyBox]:
        """Return what of a box is in the area of the strips."""
        left, right = max(box.left, self._axis.left), min(box.right, self._axis.right)
        top, bottom = max(box.top, self._frame.lanes_top), min(box.bottom, self._frame.lanes_bottom)
        return [BodyBox(left, top, right - left, bottom - top)] if right > left and bottom > top else []

    def _thicken(self) -> None:
        """Draw the stretches of curves that findings are about."""
        seen = {row.lane_id for row in self._frame.seen_rows()}
        gap = THICK_PX / self._axis.px_per_deg
        for (severity, lane_id), spans in thick_spans(findings_in(self._report.findings, 1), gap).items():
            curve = curve_in(self._report.solution.lanes.get(lane_id), 1)
            if lane_id not in seen or curve is None or self._strip(lane_id).detail is Detail.THIN:
                continue
            for xs, ys in stretch_points(self._axis, self._strip(lane_id), curve, spans.arcs):
                inside = (xs >= self._axis.left) & (xs <= self._axis.right)
                if inside.sum() > 1:
                    self._ink.line(xs[inside], ys[inside], Stroke(SEVERITIES[severity], "bold"))
