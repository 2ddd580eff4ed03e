"""The verdict in words: two lines that can be read alone, wherever it is repeated."""

from __future__ import annotations

from shaftscore.base.wording import counted, listed
from shaftscore.judge.findings import Severity
from shaftscore.judge.report.coverage import CoverageState, coverage_json, not_described_json
from shaftscore.judge.report.examine import Report

_HEADS = (
    ("Partly described", CoverageState.PARTLY),
    ("Not described", CoverageState.NOT_DESCRIBED),
    ("Not needed", CoverageState.NOT_NEEDED),
)


def verdict_text(report: Report) -> str:
    """Return the outcome in a sentence; "clean" only of a whole machine that was checked in everything.

    Counts are of causes; what follows from them is counted beside them.
    """
    found = found_text(report)
    if report.lanes is not None:
        return f"Within the chosen lanes: {found or 'nothing found'}."
    if report.is_clean:
        return f"Clean, {found}." if found else "Clean: nothing found."
    if report.coverage.is_empty and not found:
        return "Nothing was checked."
    areas = ", ".join(report.coverage.in_state(CoverageState.CHECKED))
    if not report.found_nothing or not areas:
        return f"{found or 'Nothing found'}."
    return f"Nothing but {found} found in {areas}." if found else f"Nothing found in {areas}."


def coverage_text(report: Report) -> str:
    """Return what is not checked in full, in sentences; empty where nothing is left out."""
    named = [(head, ", ".join(report.coverage.in_state(state))) for head, state in _HEADS]
    return " ".join(f"{head}: {areas}." for head, areas in named if areas)


def verdict_lines(report: Report) -> tuple[str, ...]:
    """Return the verdict in one line, or in two where something is not checked in full."""
    return tuple(filter(None, (verdict_text(report), coverage_text(report))))


def verdict_json(report: Report) -> dict[str, object]:
    """Return the verdict as an object of JSON: its lines, and what is described area by area."""
    return {
        "lines": list(verdict_lines(report)),
        "coverage": coverage_json(report.coverage),
        "not_described": not_described_json(report.coverage),
    }


def found_text(report: Report) -> str:
    """Return how many causes were found, by severity, and how much follows from them; empty for nothing."""
    roots = report.folded.roots
    counts = [(sum(one.severity is severity for one in roots), str(severity)) for severity in Severity]
    found = listed([counted(count, name) for count, name in counts if count])
    more = len(report.findings) - len(roots)
    if not more:
        return found
    follow = "follows" if more == 1 else "follow"
    return f"{found}, and {more:,} that {follow} from {'it' if len(roots) == 1 else 'them'}"
