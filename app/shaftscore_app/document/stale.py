"""Which findings of a report are of an earlier machine, until what takes longer is computed again."""

from __future__ import annotations

from shaftscore.judge.findings import Finding
from shaftscore.judge.report import AREA_OF, CHANCE, Report

STALE_OPACITY = 0.45
"""How strongly a finding is drawn that is being computed again."""

WITH_CHANCE = ("fits", "torque", CHANCE)
"""Areas whose late findings come with the chance."""


def stale_areas(report: Report) -> frozenset[str]:
    """Return the areas whose findings are of an earlier machine than the report's."""
    project, shafts, chance = report.project, report.shafts, report.chance
    stale = set() if report.is_current else {"items"}
    if shafts is None or shafts.project is not project:
        stale.add("shaft")
    if chance is None or chance.project is not project:
        stale.update(WITH_CHANCE)
    return frozenset(stale)


def is_stale(report: Report, finding: Finding) -> bool:
    """Return whether a finding is of an earlier machine than the report's."""
    return AREA_OF.get(finding.rule) in stale_areas(report)
