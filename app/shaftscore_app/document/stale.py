"""Which findings of a report are of an earlier machine, until what takes longer is computed again."""

from __future__ import annotations

from shaftscore.judge.findings import Finding
from shaftscore.judge.report import AREA_OF, CHANCE, Report

STALE_OPACITY = 0.45
"""How strongly a finding is drawn that is being computed again."""

WITH_CHANCE = ("fits", "torque", CHANCE)
"""Areas whose late findings come with the chance."""


def is_stale(report: Report, finding: Finding) -> bool:
    """Return whether a finding is of an earlier machine than the report's."""
    area = AREA_OF.get(finding.rule)
    if area == "items":
        return not report.is_current
    if area == "shaft":
        return report.shafts is None or report.shafts.project is not report.project
    return area in WITH_CHANCE and (report.chance is None or report.chance.project is not report.project)
