"""The chance that a real machine works, kept from report to report.

It takes longer than a frame of the editor: in the quick stage the last result stands in, with the project
that it belongs to; where nothing that it reads changed, it still holds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from shaftscore.judge.findings import Finding
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.loads import MachineLoads
from shaftscore.judge.spread import (
    NO_EFFECTS,
    SPREAD_RULES,
    BuiltEffects,
    Spread,
    find_spread,
    thin_margin,
)
from shaftscore.model import Project
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental, Reads

RULES = SPREAD_RULES
"""The rules that it decides."""


@dataclass(frozen=True)
class Chance:
    """A spread (None where no rule limits anything), its finding, and its project.

    errors: how many the machine as drawn has; with any the chance is 0, also where there is no spread.
    """

    spread: Spread | None
    finding: Finding | None
    project: Project
    errors: int = 0

    @property
    def share(self) -> float | None:
        """The chance, 0 to 1, or None where nothing was judged."""
        if self.spread is None:
            return 0.0 if self.errors else None
        return self.spread.chance


@dataclass(frozen=True)
class _Between:
    """A progress that nobody sees: it only asks whether to go on."""

    between: Callable[[], object]

    def report(self, _fraction: float, _what: str) -> None:
        """Ask; raises what it raises."""
        self.between()


def chance(
    solution: Solution,
    flow: FlowResult | None,
    kept: Incremental | None = None,
    *,
    errors: int,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
    cures: bool = True,
    between: Callable[[], object] | None = None,
) -> Chance | None:
    """Draw machines, or take the last result where it still holds or where there is no time.

    kept: the store of the last one. errors: how many the machine as drawn has. loads: of the same solution.
    effects: what other modules add. cures: whether cures are searched for. between: called while machines are
    drawn; the work ends with what it raises. None in a hurry without a result before.
    """
    project = solution.project

    def drawn(_inside: Incremental) -> Chance:
        said = None if between is None else _Between(between)
        spread = find_spread(solution, flow, progress=said, errors=errors, loads=loads, effects=effects)
        finding = None
        if spread is not None:
            finding = thin_margin(solution, flow, spread, effects, cures=cures, progress=said)
        return Chance(spread, finding, project, errors)

    reads = (errors > 0, cures, *_reads(solution, flow), *_effects_read(effects))
    found, is_present = (kept or Incremental()).keep_late("chance", reads, drawn)
    if found is None or not is_present:
        return found
    spread = found.spread
    if spread is not None and spread.errors != errors:
        spread = replace(spread, errors=errors)
    return Chance(spread, found.finding, project, errors)


def _reads(solution: Solution, flow: FlowResult | None) -> Reads:
    """Return all that the chance depends on, but for the errors of the machine as drawn."""
    project = solution.project
    lists = (*project.rules, *project.stacks, *solution.lanes.values())
    counts = (len(project.rules), len(project.stacks))
    limits = (project.limits.chance_percent, project.limits.least_chance_percent)
    return (project.flow, project.tolerances, project.shaft.speed_rpm, *limits, flow, *counts, *lists)


def _effects_read(effects: BuiltEffects) -> Reads:
    """Return what other modules add, as plain values and objects."""
    each = (effects.lift_mm, effects.angle_deg)
    numbers = (value for errors in each for value in (len(errors), *errors, *errors.values()))
    return (*numbers, *effects.fails, *(effects.reads or effects.fails.values()))
