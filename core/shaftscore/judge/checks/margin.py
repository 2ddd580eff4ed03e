"""The smallest margin of a machine: how far, in degrees, its rules between lanes are from breaking.

Slack is measured rule by rule as `shaftscore.rules` defines it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from shaftscore.base.angles import TURN
from shaftscore.model import Rule
from shaftscore.rules.kinds import lanes_of_rule, meaning_of
from shaftscore.rules.nominal import KeptTimes, NominalTimes
from shaftscore.solution import Solution
from shaftscore.solution.lane import Reads, same_reads

DIGITS = 9
"""Decimals of degrees to which slacks are compared."""


@dataclass(frozen=True)
class Margin:
    """The smallest slack, degrees (negative where a rule is broken), and the lanes between which it is.

    Minus infinity where what a rule waits for never begins.
    """

    smallest_deg: float
    between: tuple[str, ...]


@dataclass(frozen=True)
class RuleMargin:
    """The smallest slack of one rule, None where it limits nothing.

    reads: what it was computed from. kept: times of the machine, for the next one.
    """

    reads: Reads
    least: Margin | None
    kept: KeptTimes = field(repr=False, compare=False)


def smallest_of(margins: Iterable[RuleMargin]) -> Margin | None:
    """Return the smallest slack of some rules, or None where none limits anything."""
    found = [one.least for one in margins if one.least is not None]
    return min(found, key=lambda margin: margin.smallest_deg, default=None)


def rule_margins(solution: Solution, before: Sequence[RuleMargin] = ()) -> tuple[RuleMargin, ...]:
    """Return the smallest slack of every rule; taken over from before where it reads the same."""
    rules = solution.project.rules
    kept = before if len(before) == len(rules) else [None] * len(rules)
    times = NominalTimes.of(solution, before[0].kept if before else None)
    return tuple(_rule_margin(solution, times, rule, one) for rule, one in zip(rules, kept, strict=True))


def _rule_margin(
    solution: Solution, times: NominalTimes, rule: Rule, before: RuleMargin | None
) -> RuleMargin:
    order = lanes_of_rule(rule)
    lanes = [solution.lanes.get(lane_id) for lane_id in order]
    reads: Reads = (rule, solution.project.shaft, *solution.project.stacks, *lanes)
    if before is not None and same_reads(reads, before.reads):
        return before
    places = [(float(part.slack_deg[0]), part.lanes) for part in meaning_of(rule).places(times, rule)]
    # Among equals the first: they differ by rounding alone.
    least = min(places, key=lambda place: round(place[0], DIGITS), default=None)
    if least is None or least[0] >= TURN:
        return RuleMargin(reads, None, times.kept)
    return RuleMargin(reads, Margin(least[0], tuple(sorted(least[1], key=order.index))), times.kept)
