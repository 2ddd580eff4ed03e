"""What `check` prints: the findings as text, or the JSON object."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from math import isfinite

from shaftscore.base.errors import one_line
from shaftscore.base.wording import counted, degrees, listed
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import Report, coverage_text, migrated_text, report_json, verdict_text

STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "dim"}
"""Colours of severities on a terminal."""

INDENT = " " * 9


def print_report(report: Report, *, as_json: bool, migrated: bool = False) -> None:
    """Print a report on stdout; migrated: of a file of an earlier version, which is said in one line."""
    if as_json:
        print(json.dumps(report_json(report), indent=2, ensure_ascii=True, allow_nan=False))
        return
    lines = list(report_lines(report))
    if migrated and report.lanes is None:
        lines.append((migrated_text(report), ""))
    if not sys.stdout.isatty():
        print("\n".join(text for text, _ in lines))
        return
    from rich.console import Console  # only a terminal has colours
    from rich.text import Text

    console = Console()
    for text, style in lines:
        console.print(Text(text, style=style), soft_wrap=True)


def report_lines(report: Report) -> Iterator[tuple[str, str]]:
    """Yield the lines of a report, each with its style."""
    for text, style in _lines(report):
        yield one_line(text), style


def _lines(report: Report) -> Iterator[tuple[str, str]]:
    yield f"{report.project.name}: {counted(len(report.solution.lanes), 'lane')}", "bold"
    folded = report.folded
    for finding in folded.roots:
        yield from _finding_lines(finding, report, len(folded.following(finding)))
    yield " ".join(filter(None, (verdict_text(report), _margin(report)))), "bold"
    if report.lanes is None and coverage_text(report):
        yield coverage_text(report), "bold"


def _finding_lines(finding: Finding, report: Report, following: int) -> Iterator[tuple[str, str]]:
    """Yield the lines of a cause, with how much follows from it."""
    said = words(finding, report.project)
    head = "  ".join(filter(None, (said.title, said.lanes, said.where)))
    more = (
        f"  and {following:,} that {'follows' if following == 1 else 'follow'} from it" if following else ""
    )
    yield f"{finding.severity!s:<7}  {head}{more}", STYLES[finding.severity]
    yield INDENT + said.what, ""
    if said.cure:
        yield INDENT + said.cure, ""


def _margin(report: Report) -> str:
    if report.margin is None or not isfinite(report.margin.smallest_deg):
        return ""
    names = listed([report.project.lane(lane).label for lane in report.margin.between])
    return f"Smallest margin {degrees(report.margin.smallest_deg)}, {names}."
