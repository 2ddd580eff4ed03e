"""The smallest margin of a machine: how far, in degrees, its rules between lanes are from breaking.

Slack is measured rule by rule as `judge.checks.exclusive` and `judge.checks.interlock` define it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN, ahead
from shaftscore.judge.checks.exclusive import MemberInterval, close_pairs, gap_of, held_of, slack
from shaftscore.judge.checks.interlock import (
    asked_for,
    followed,
    judged_lanes,
    lead_lag,
    missing,
    order_limits,
    order_slack,
)
from shaftscore.model import Exclusive, Order, Requires, Rule
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental


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
    kept = kept or Incremental()
    return tuple(
        _rule_margin(solution, number, rule, kept) for number, rule in enumerate(solution.project.rules)
    )


def _rule_margin(solution: Solution, number: int, rule: Rule, kept: Incremental) -> Margin | None:
    lanes = [solution.lanes.get(lane_id) for lane_id in _lanes_of(rule)]
    return kept.keep(("margin", number), (rule, *lanes), lambda _: smallest_of(_slacks(solution, rule)))


def _lanes_of(rule: Rule) -> Iterable[str]:
    if isinstance(rule, Exclusive):
        return [state.lane for state in rule.states]
    states = (rule.when, rule.need) if isinstance(rule, Requires) else (rule.first, rule.then)
    return [state.lane for state in states]


def _slacks(solution: Solution, rule: Rule) -> Iterator[Margin]:
    if isinstance(rule, Exclusive):
        return _exclusive(solution, rule)
    return _requires(solution, rule) if isinstance(rule, Requires) else _order(solution, rule)


def _exclusive(solution: Solution, rule: Exclusive) -> Iterator[Margin]:
    """Judge every close pair, and each interval with the next one of another member."""
    gap = gap_of(solution.project, rule)
    held = held_of(rule, solution)
    for first, second in [*close_pairs(held, gap), *_neighbours(held)]:
        between = dict.fromkeys(rule.states[one.member].lane for one in (first, second))
        yield Margin(slack(first.span, second.span, gap), tuple(between))


def _neighbours(held: Sequence[MemberInterval]) -> Iterator[tuple[MemberInterval, MemberInterval]]:
    """Pair each interval with the first of another member that begins after it; lower member first."""
    count = len(held)
    for index, one in enumerate(held):
        following = (held[(index + step) % count] for step in range(1, count))
        other = next((other for other in following if other.member != one.member), None)
        if other is not None:
            yield (one, other) if one.member < other.member else (other, one)


def _requires(solution: Solution, rule: Requires) -> Iterator[Margin]:
    if judged_lanes(solution, rule) is None:
        return
    lead, lag = lead_lag(solution.project, rule)
    need = solution.intervals(rule.need)
    for interval in solution.intervals(rule.when):
        asked = asked_for(interval.span, lead, lag)
        gone = missing(asked, need)
        if gone:
            yield Margin(-max(part.length for part in gone), (rule.need.lane, rule.when.lane))
            continue
        around = next((other.span for other in need if other.span.covers(asked)), None)
        if around is not None and not around.is_full:
            spare = around.length - asked.length
            before = min(ahead(around.start, asked.start), spare)
            yield Margin(min(before, spare - before), (rule.need.lane, rule.when.lane))


def _order(solution: Solution, rule: Order) -> Iterator[Margin]:
    if judged_lanes(solution, rule) is None:
        return
    limits = order_limits(solution.project, rule)
    for follows in followed(rule, solution.intervals(rule.first), solution.intervals(rule.then)):
        left = order_slack(follows, *limits)
        if left < TURN or rule.max_s is not None:
            yield Margin(left, (rule.first.lane, rule.then.lane))
