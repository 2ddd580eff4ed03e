"""The verdict on the cover: errors that were open, what was judged, and what is not described."""

from __future__ import annotations

from shaftscore.base.wording import counted
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import Report

NAMED = 6
"""So many open errors are named; of the others the number is given."""


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
