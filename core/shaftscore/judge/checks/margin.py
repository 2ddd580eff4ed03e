"""The smallest margin of a machine: how far, in degrees, its rules between lanes are from breaking.

Slack is measured rule by rule as `shaftscore.rules` defines it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

from shaftscore.base.angles import TURN
from shaftscore.judge.checks.base import rule_runs
from shaftscore.model import Rule
from shaftscore.rules.kinds import lanes_of_rule, meaning_of
from shaftscore.rules.nominal import NominalTimes
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental, Reads

DIGITS = 9
"""Decimals of degrees to which slacks are compared."""


@dataclass(frozen=True)
class Margin:
    """The smallest slack, degrees (negative where a rule is broken), and the lanes between which it is.

    Minus infinity where what a rule waits for never begins.
    """

    smallest_deg: float
    between: tuple[str, ...]


def smallest_of(margins: Iterable[Margin | None]) -> Margin | None:
    """Return the smallest slack of some rules, or None where none limits anything."""
    found = [one for one in margins if one is not None]
    return min(found, key=lambda margin: margin.smallest_deg, default=None)


def rule_margins(solution: Solution, kept: Incremental | None = None) -> tuple[Margin | None, ...]:
    """Return the smallest slack of every rule, None of one that limits nothing; kept: the store of them."""
    kept, project, found = kept or Incremental(), solution.project, list[Margin | None]()
    around = (project.shaft, *project.stacks)
    for number, rules, reads in rule_runs(solution, kept):

        def margins(inside: Incremental, rules: range = rules) -> tuple[Margin | None, ...]:
            return tuple(_kept_margin(solution, number, around, inside) for number in rules)

        found += kept.keep_together(("margins", number), (*around, *reads), margins)
    return tuple(found)


def _kept_margin(solution: Solution, number: int, around: Reads, kept: Incremental) -> Margin | None:
    rule = solution.project.rules[number]
    lanes = [solution.lanes.get(lane_id) for lane_id in lanes_of_rule(rule)]
    reads = (rule, *around, *lanes)
    return kept.keep(("margin", number), reads, partial(_rule_margin, solution, rule))


def _rule_margin(solution: Solution, rule: Rule, kept: Incremental) -> Margin | None:
    times = NominalTimes.of(solution, kept)
    order = lanes_of_rule(rule)
    places = [(float(part.slack_deg[0]), part.lanes) for part in meaning_of(rule).places(times, rule)]
    # Among equals the first: they differ by rounding alone.
    least = min(places, key=lambda place: round(place[0], DIGITS), default=None)
    if least is None or least[0] >= TURN:
        return None
    return Margin(least[0], tuple(sorted(least[1], key=order.index)))
