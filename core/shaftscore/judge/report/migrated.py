"""What is said once of a file of version 1: what is judged now, what was found, what is not stated."""

from __future__ import annotations

from collections import Counter

from shaftscore.base.wording import counted, listed
from shaftscore.judge.findings import RULES, Severity
from shaftscore.judge.report.coverage import CoverageState
from shaftscore.judge.report.examine import Report
from shaftscore.model.project import Area

NEW_RULES = frozenset(
    {
        "bad-part",
        "between-layers",
        "free-part",
        "joint-opens",
        "joint-slips",
        "off-edge",
        "shaft-bends",
        "spring-solid",
        "spring-stress",
        "unlikely",
        "weak-spring",
    }
)
"""Rules that version 1 did not have: those of the built machine."""

NEW_AREAS: tuple[Area, ...] = ("fits", "heights", "shaft")
"""Areas that version 1 did not know."""


def migrated_text(report: Report) -> str:
    """Return what is seen of a file of version 1 that version 1 did not see, in one line."""
    text = "File version 1 described the drawing; the built machine is judged now: fits, heights, shaft."
    found = _found(report)
    gaps = [area for area in NEW_AREAS if report.coverage.areas[area].state.is_gap]
    partly = set(report.coverage.in_state(CoverageState.PARTLY))
    assumed = [area for area in gaps if area in partly]
    missing = [area for area in gaps if area not in partly]
    parts = [
        text,
        f"New: {found}." if found else "",
        f"Assumed until you state it: {listed(assumed)}." if assumed else "",
        f"Not described: {listed(missing)}." if missing else "",
    ]
    return " ".join(filter(None, parts))


def _found(report: Report) -> str:
    """Return how much the rules found that version 1 did not have, with their titles; empty for nothing."""
    new = [one for one in report.findings if one.rule in NEW_RULES]
    counts = Counter(one.severity for one in new)
    said = listed([counted(counts[severity], str(severity)) for severity in Severity if counts[severity]])
    titles = dict.fromkeys(RULES[one.rule].title for one in new)
    return f"{said} ({', '.join(titles)})" if new else ""
