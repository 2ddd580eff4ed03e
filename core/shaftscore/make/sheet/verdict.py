"""The verdict on the first page: errors that were open, what was judged, and what is not described."""

from __future__ import annotations

from shaftscore.base.wording import counted
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import Report, coverage_text, verdict_text
from shaftscore.make.drawing.fonts import POINT_MM, wrapped
from shaftscore.make.sheet.paper import INK, MUTED, TEXT_PT, Paper

NAMED = 6
"""So many open errors are named; of the others the number is given."""

PAD_MM, LINE_MM = 2.0, TEXT_PT * 1.35 * POINT_MM
"""Margin inside the box, and the pitch of its lines."""


def write_verdict(paper: Paper, report: Report) -> None:
    """Write the verdict in two lines, below a black box with the errors that are open, if any."""
    errors = open_errors(report)
    if errors:
        _write_box(paper, errors)
    paper.say(verdict_text(report))
    if coverage_text(report):
        paper.say(coverage_text(report), colour=MUTED)
    paper.gap()


def open_errors(report: Report) -> list[str]:
    """Return what the box says, line by line: how many errors, then their titles; empty without errors."""
    errors = [one for one in report.folded.roots if one.severity is Severity.ERROR]
    if not errors:
        return []
    were = "was" if len(errors) == 1 else "were"
    lines = [f"{counted(len(errors), 'error')} {were} open when this was written"]
    for error in errors[:NAMED]:
        said = words(error, report.project)
        lines.append(": ".join(filter(None, (said.title, ", ".join(filter(None, (said.lanes, said.where)))))))
    more = len(errors) - NAMED
    return [*lines, f"and {more:,} more"] if more > 0 else lines


def _write_box(paper: Paper, said: list[str]) -> None:
    lines = [line for text in said for line in wrapped(text, TEXT_PT, paper.wide_mm - 2 * PAD_MM)]
    high = len(lines) * LINE_MM + 2 * PAD_MM
    paper.need(high)
    paper.box(paper.left_mm, paper.y_mm, paper.wide_mm, high, fill=INK)
    for number, line in enumerate(lines, start=1):
        y = paper.y_mm + PAD_MM + number * LINE_MM - 0.3 * TEXT_PT * POINT_MM
        paper.words(paper.left_mm + PAD_MM, y, line, TEXT_PT, "#ffffff")
    paper.y_mm += high
    paper.gap()
