"""Rules between lanes as inequalities of the arranging problem.

All intervals come again every period. *Turns* are whole periods, variables of their own, that bring two
intervals beside each other. Where two intervals have different periods, the one with the longer is
compared with the other's repeats; where neither period is a multiple of the other, one of them is
repeated over the whole turn first.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from shaftscore.judge.checks.exclusive import gap_of
from shaftscore.judge.checks.interlock import lead_lag, order_limits
from shaftscore.model import Exclusive, Order, Requires
from shaftscore.placing.affine import STEPS, Affine
from shaftscore.placing.lanes import PER_DEG, HeldInterval, Lanes
from shaftscore.placing.problem import Problem, Reason

IMPOSSIBLE = Affine({}, -STEPS)
"""An expression that is never at least 0."""


def add_rules(problem: Problem, lanes: Lanes) -> None:
    """Add every rule of the project."""
    for number, rule in enumerate(lanes.project.rules):
        reason = Reason("rule", number)
        if isinstance(rule, Exclusive):
            _exclusive(problem, lanes, rule, reason)
        elif isinstance(rule, Requires):
            _requires(problem, lanes, rule, reason)
        else:
            _order(problem, lanes, rule, reason)


def _exclusive(problem: Problem, lanes: Lanes, rule: Exclusive, reason: Reason) -> None:
    gap = gap_of(lanes.project, rule) * PER_DEG
    members = [lanes.held(state) for state in rule.states]
    for first, second in combinations(members, 2):
        for one in first:
            for other in second:
                apart(problem, one, other, gap, reason, margin=1.0)


def apart(
    problem: Problem,
    one: HeldInterval,
    other: HeldInterval,
    gap: float,
    reason: Reason,
    *,
    literals: tuple[int, ...] = (),
    margin: float = 0.0,
) -> None:
    """Keep two intervals `gap` steps (and `margin` margins) apart, both ways round the turn."""
    if one.full or other.full:
        problem.at_least_0(IMPOSSIBLE, reason, literals)
        return
    for first, second in same_base(one, other):
        period = min(first.period, second.period)
        later = second.start - first.start
        later = later + _turns(problem, first, second, later, period)
        # Both ways at once: from the first's end to the second's begin, and on to the first again.
        between = later - first.length - gap
        back = later * -1.0 + period - second.length - gap
        problem.at_least_0(between, reason, literals, margin=margin)
        problem.at_least_0(back, reason, literals, margin=margin)


def _turns(
    problem: Problem, first: HeldInterval, second: HeldInterval, later: Affine, period: float
) -> Affine:
    """Return the whole periods between two intervals: known where one lane has both."""
    if first.lane == second.lane and first.place >= 0 and second.place >= 0:
        return Affine({}, period if second.place < first.place else 0.0)
    return problem.turns("turns", later, period, period)


def same_base(one: HeldInterval, other: HeldInterval) -> Iterator[tuple[HeldInterval, HeldInterval]]:
    """Yield pairs of which one period is a multiple of the other's."""
    if _multiple(one.period, other.period) or _multiple(other.period, one.period):
        yield one, other
    else:
        for repeat in one.repeated(STEPS):
            yield repeat, other


def _multiple(period: float, of: float) -> bool:
    return abs(period / of - round(period / of)) < 1e-9


def _requires(problem: Problem, lanes: Lanes, rule: Requires, reason: Reason) -> None:
    lead, lag = lead_lag(lanes.project, rule)
    need = lanes.held(rule.need)
    for when in lanes.held(rule.when):
        asked = _grown(when, lead * PER_DEG, lag * PER_DEG)
        for base in _bases(asked, need):
            covered(problem, base, need, reason, margin=1.0)


def _grown(held: HeldInterval, before: float, after: float) -> HeldInterval:
    return HeldInterval(
        held.lane, held.start - before, held.end + after, held.period, place=held.place, full=held.full
    )


def _bases(held: HeldInterval, others: tuple[HeldInterval, ...]) -> list[HeldInterval]:
    """Return the interval itself where its period is a multiple of the others', else its repeats."""
    return [held] if all(_multiple(held.period, o.period) for o in others) else held.repeated(STEPS)


def covered(
    problem: Problem,
    asked: HeldInterval,
    need: tuple[HeldInterval, ...],
    reason: Reason,
    literals: tuple[int, ...] = (),
    *,
    margin: float = 0.0,
) -> None:
    """Ask that one of the needed intervals covers a stretch, with a margin in steps."""
    if any(held.full for held in need):
        return
    if not need or asked.full:
        problem.at_least_0(IMPOSSIBLE, reason, literals)
        return
    chosen = [problem.literal("covers") for _ in need] if len(need) > 1 else []
    for number, held in enumerate(need):
        into = asked.start - held.start
        turns = problem.turns("turns", into, held.period, held.period)
        on = (*literals, chosen[number]) if chosen else literals
        problem.at_least_0(into + turns, reason, on, margin=margin)
        problem.at_least_0(held.length - into - turns - asked.length, reason, on, margin=margin)
    if chosen:
        problem.at_least_0(Affine(dict.fromkeys(chosen, 1.0), -1.0), None, literals)


def _order(problem: Problem, lanes: Lanes, rule: Order, reason: Reason) -> None:
    low, high = order_limits(lanes.project, rule)
    then = tuple(held for held in lanes.held(rule.then) if not held.full)
    if rule.max_s is None and low <= 0:
        return
    for first in lanes.held(rule.first):
        if not first.full:
            for base in _bases(first, then):
                _follows(problem, base, then, (low * PER_DEG, high * PER_DEG), reason)


def _follows(
    problem: Problem,
    first: HeldInterval,
    then: tuple[HeldInterval, ...],
    limits: tuple[float, float],
    reason: Reason,
) -> None:
    """Let the next begin come no sooner than the first limit and, one of them, by the second."""
    low, high = limits
    if not then:
        problem.at_least_0(IMPOSSIBLE, reason)
        return
    chosen = []
    for held in then:
        wait = held.start - first.start
        same = held.lane == first.lane and held.place == first.place
        wait = wait + (held.period if same else problem.turns("turns", wait, held.period, held.period))
        problem.at_least_0(wait - low, reason, margin=1.0)
        problem.at_least_0(wait * -1.0 + held.period, reason)
        if high < STEPS:
            chosen.append(problem.literal("follows"))
            problem.at_least_0(wait * -1.0 + high, reason, (chosen[-1],), margin=1.0)
    if chosen:
        problem.one_of(chosen)
