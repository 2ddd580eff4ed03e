"""The timing diagram by itself, with findings: sheets with a title and a caution, for files and print."""

from __future__ import annotations

from dataclasses import replace

from shaftscore.base import wording
from shaftscore.judge.report import Report
from shaftscore.make.drawing.fonts import shortened, written
from shaftscore.make.drawing.scene import Mark, Text, scene
from shaftscore.make.drawing.timing.page import TimingPage, timing_pages

TITLE_MM, FOOT_MM = 12.0, 7.0
"""Heights of the title and of the caution."""

TITLE_PT, TEXT_PT, NUMBER_MM = 11.0, 8.0, 26.0
"""Sizes of the title and of other texts, and the width kept for the sheet's number."""

CAUTION = (
    "Turning parts pinch, springs store energy, stalled motors grow hot. Cut the power before you reach in; "
    "follow local codes and licensed practice."
)


def timing_sheets(report: Report, wide_mm: float, high_mm: float | None = None) -> tuple[TimingPage, ...]:
    """Return the diagram on sheets of a width and at most a height, mm; without a height, on one sheet."""
    room = None if high_mm is None else high_mm - TITLE_MM - FOOT_MM
    return tuple(_sheet(report, page) for page in timing_pages(report, wide_mm, room, findings=True))


def _sheet(report: Report, page: TimingPage) -> TimingPage:
    """Return a page with its title and the caution."""
    high = page.high_mm + TITLE_MM + FOOT_MM
    project, shaft = report.project, report.project.shaft
    first = f"Cycle 1 of {project.period:,}, o" if project.period > 1 else "O"
    said = (
        f"{first}ne turn of the master shaft: {wording.rpm(shaft.speed_rpm)}, "
        f"{wording.seconds(60.0 / shaft.speed_rpm)} a turn, {shaft.turn} seen from the top. "
        "Angles run in the direction in which the machine runs."
    )
    name = shortened(project.name, TITLE_PT, page.wide_mm - NUMBER_MM, bold=True)
    marks: list[Mark] = [
        Text(1j * (high - 4.5), name, TITLE_PT, bold=True),
        Text(1j * (high - 9.5), shortened(said, TEXT_PT, page.wide_mm), TEXT_PT, tone="muted"),
        Text(2j, shortened(written(CAUTION), TEXT_PT, page.wide_mm), TEXT_PT, tone="muted"),
    ]
    if page.count > 1:
        at = complex(page.wide_mm, high - 4.5)
        marks.append(Text(at, f"{page.number} of {page.count}", TEXT_PT, "end", "muted"))
    return replace(page, scene=page.scene.placed(1.0, 1j * FOOT_MM) + scene(marks), high_mm=high)
