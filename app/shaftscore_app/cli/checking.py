"""What `check` prints: the findings as text, or the JSON object."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from math import isfinite

from shaftscore.base.errors import one_line
from shaftscore.base.wording import counted, degrees, listed
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import Report, report_json

STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "dim"}
"""Colours of severities on a terminal."""

INDENT = " " * 9


def print_report(report: Report, *, as_json: bool) -> None:
    """Print a report on stdout."""
    if as_json:
        print(json.dumps(report_json(report), indent=2, ensure_ascii=True, allow_nan=False))
        return
    lines = list(report_lines(report))
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
    for finding in report.findings:
        said = words(finding, report.project)
        head = "  ".join(filter(None, (said.title, said.lanes, said.where)))
        yield f"{finding.severity!s:<7}  {head}", STYLES[finding.severity]
        yield INDENT + said.what, ""
        if said.cure:
            yield INDENT + said.cure, ""
    yield " ".join(filter(None, (verdict(report), _margin(report)))), "bold"


def verdict(report: Report) -> str:
    """Write the outcome in a sentence; "clean" only of a whole machine that was checked in everything."""
    counts = [(report.count(severity), str(severity)) for severity in Severity]
    found = listed([counted(count, name) for count, name in counts if count])
    if report.lanes is not None:
        return f"Within the chosen lanes: {found or 'nothing found'}."
    if report.is_clean:
        return f"Clean, {found}." if found else "Clean: nothing found."
    return f"{found}."


def _margin(report: Report) -> str:
    if report.margin is None or not isfinite(report.margin.smallest_deg):
        return ""
    names = listed([report.project.lane(lane).label for lane in report.margin.between])
    return f"Smallest margin {degrees(report.margin.smallest_deg)}, {names}."
