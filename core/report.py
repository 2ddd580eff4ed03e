"""The report of a project: its solution, all findings and the smallest margin.

`examine` makes it, reusing from the report before whatever did not change. A report belongs to one
project object and holds it.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass, field

from core.checks import CHECKS
from core.checks.base import Kept, Memo
from core.checks.margin import Margin, smallest_margin
from core.findings import Finding, Severity
from core.model import Project
from core.solution import Solution, solve


@dataclass(frozen=True)
class Report:
    """What is known of one project.

    findings: sorted, errors first. checked: names of the rules that were judged. margin: the smallest
    slack of all rules between lanes, or None without such rules. lanes: ids of the lanes that were
    looked at, or None for the whole machine. kept: findings of parts, for the next report.
    """

    project: Project
    solution: Solution
    findings: tuple[Finding, ...]
    checked: tuple[str, ...]
    margin: Margin | None = None
    lanes: frozenset[str] | None = None
    kept: Mapping[Hashable, Kept] = field(default_factory=dict, repr=False)

    def count(self, severity: Severity) -> int:
        """Count the findings of a severity."""
        return sum(finding.severity == severity for finding in self.findings)

    @property
    def is_clean(self) -> bool:
        """Whether nothing above a note was found, and nothing was left unchecked."""
        return all(finding.severity is Severity.NOTE for finding in self.findings)


def examine(
    project: Project,
    previous: Report | None = None,
    late: bool = True,
    lanes: Collection[str] | None = None,
) -> Report:
    """Solve and judge a project.

    previous: the report before; what did not change is taken from it. late: False leaves out what takes
    longer than a frame (the flow keeps the result of `previous`). lanes: only these lanes, and only the
    rules that lie within them. Raises KeyError for an unknown lane.
    """
    chosen = None if lanes is None else frozenset(lanes)
    for lane_id in chosen or ():
        project.lane(lane_id)
    before = previous if previous is not None and previous.lanes == chosen else None
    solution = solve(project, before.solution if before else None, chosen)
    memo = Memo(before.kept if before else {})
    checks = [check for check in CHECKS if late or not check.late]
    findings = [finding for check in checks for finding in check.run(solution, memo)]
    rules = [rule for check in checks for rule in check.rules]
    return Report(
        project=project,
        solution=solution,
        findings=tuple(sorted(findings, key=lambda finding: finding.order)),
        checked=tuple(dict.fromkeys(rules)),
        margin=smallest_margin(solution),
        lanes=chosen,
        kept=memo.now,
    )
