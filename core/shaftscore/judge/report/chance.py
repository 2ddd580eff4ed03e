"""The chance that a real machine works, kept from report to report.

It takes longer than a frame of the editor: in a hurry the last result stands in, with the project that it
belongs to; where nothing that it reads changed, it still holds.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.judge.findings import Finding
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread import Spread, find_spread, thin_margin
from shaftscore.model import Project
from shaftscore.solution import Solution
from shaftscore.solution.lane import Reads, same_reads

RULES = ("thin-margin",)
"""The rules that it decides."""


@dataclass(frozen=True)
class Chance:
    """A spread (None where no rule limits anything), its finding, its project, and what it was read from."""

    spread: Spread | None
    finding: Finding | None
    project: Project
    reads: Reads


def chance(
    solution: Solution, flow: FlowResult | None, before: Chance | None, *, late: bool, current: bool
) -> Chance | None:
    """Draw machines, or take the last result where it still holds or where there is no time.

    current: `before` belonged to the project of its report. None in a hurry without a result before.
    """
    project = solution.project
    reads = _reads(solution, flow)
    if before is not None and same_reads(reads, before.reads):
        return Chance(before.spread, before.finding, project if current else before.project, reads)
    if not late:
        return before
    spread = find_spread(solution, flow)
    finding = None if spread is None else thin_margin(solution, flow, spread)
    return Chance(spread, finding, project, reads)


def _reads(solution: Solution, flow: FlowResult | None) -> Reads:
    """Return all that the chance depends on."""
    project = solution.project
    lists = (*project.rules, *project.stacks, *solution.lanes.values())
    counts = (len(project.rules), len(project.stacks))
    return (project.flow, project.tolerances, project.shaft.speed_rpm, flow, *counts, *lists)
