"""Rules between lanes as inequalities of the arranging problem.

All intervals come again every period. *Turns* are whole periods, variables of their own, that bring two
intervals beside each other. Where two intervals have different periods, the one with the longer is
compared with the other's repeats; where neither period is a multiple of the other, one of them is
repeated over the whole turn first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import combinations
from typing import Any

from shaftscore.model import Exclusive, Order, Requires
from shaftscore.placing.affine import STEPS, Affine
from shaftscore.placing.lanes import PER_DEG, HeldInterval, Lanes
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.weights import IN_DEGREES, MarginWeights
from shaftscore.rules import exclusive, order, requires
from shaftscore.rules.nominal import deg_per_s
from shaftscore.rules.requires import lead_lag
from shaftscore.rules.times import LinearSpan

IMPOSSIBLE = Affine({}, -STEPS)
"""An expression that is never at least 0."""


Margins = Callable[[Affine], float]
"""How many margins an expression of a place must keep (`placing.weights`)."""


Room = Callable[[LinearSpan[Affine], LinearSpan[Affine], float], Affine]
"""What is left between two stretches, the second after the first, above a gap, steps."""


def no_margin(_: Affine) -> float:
    """Return 0, the factor of an expression that keeps no margin."""
    return 0.0


def add_rules(problem: Problem, lanes: Lanes, weights: MarginWeights = IN_DEGREES) -> None:
    """Add every rule of the project; weights: how many margins each place must keep."""
    for number, rule in enumerate(lanes.project.rules):
        ADD[rule.kind](problem, lanes, rule, Reason("rule", number), weights)


def _exclusive(
    problem: Problem, lanes: Lanes, rule: Exclusive, reason: Reason, weights: MarginWeights
) -> None:
    gap = exclusive.gap_deg(rule, deg_per_s(lanes.project)) * PER_DEG
    members = [lanes.held(state) for state in rule.states]
    for first, second in combinations(members, 2):
        for one in first:
            for other in second:
                margins = weights.of("exclusive", reason.of, (one.lane, other.lane))
                apart(problem, one, other, gap, reason, margins=margins)


def apart(
    problem: Problem,
    one: HeldInterval,
    other: HeldInterval,
    gap: float,
    reason: Reason,
    *,
    literals: tuple[int, ...] = (),
    margins: Margins = no_margin,
    room: Room = exclusive.room,
) -> None:
    """Keep two intervals `gap` steps (and so many margins) apart, both ways round the turn.

    room: what is left above the gap, by the rule's meaning.
    """
    if one.full or other.full:
        problem.at_least_0(IMPOSSIBLE, reason, literals)
        return
    for first, second in same_base(one, other):
        period = min(first.period, second.period)
        turns = _turns(problem, first, second, second.start - first.start, period)
        # Both ways at once: from the first's end to the second's begin, and on to the first again.
        here = LinearSpan(first.start, first.end)
        there = LinearSpan(second.start + turns, second.end + turns)
        again = LinearSpan(here.start + period, here.end + period)
        for left in (room(here, there, gap), room(there, again, gap)):
            problem.at_least_0(left, reason, literals, margin=margins(left))


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


def _requires(problem: Problem, lanes: Lanes, rule: Requires, reason: Reason, weights: MarginWeights) -> None:
    lead, lag = lead_lag(rule, deg_per_s(lanes.project))
    need = lanes.held(rule.need)
    margins = weights.of("requires", reason.of, (rule.need.lane, rule.when.lane))
    for when in lanes.held(rule.when):
        asked = _grown(when, lead * PER_DEG, lag * PER_DEG)
        for base in _bases(asked, need):
            covered(problem, base, need, reason, margins=margins)


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
    margins: Margins = no_margin,
) -> None:
    """Ask that one of the needed intervals covers a stretch, with so many margins at both ends."""
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
        shifted = LinearSpan(held.start - turns, held.end - turns)
        for left in requires.within(LinearSpan(asked.start, asked.end), shifted):
            problem.at_least_0(left, reason, on, margin=margins(left))
    if chosen:
        problem.at_least_0(Affine(dict.fromkeys(chosen, 1.0), -1.0), None, literals)


def _order(problem: Problem, lanes: Lanes, rule: Order, reason: Reason, weights: MarginWeights) -> None:
    low, high = order.limits_deg(rule, deg_per_s(lanes.project))
    then = tuple(held for held in lanes.held(rule.then) if not held.full)
    margins = weights.of("order", reason.of, (rule.first.lane, rule.then.lane))
    for first in lanes.held(rule.first):
        if not first.full:
            for base in _bases(first, then):
                _follows(problem, base, then, (low * PER_DEG, high * PER_DEG), reason, margins=margins)


def _follows(
    problem: Problem,
    first: HeldInterval,
    then: tuple[HeldInterval, ...],
    limits: tuple[float, float],
    reason: Reason,
    *,
    margins: Margins,
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
        turns = held.period if same else problem.turns("turns", wait, held.period, held.period)
        early, late = order.ends(first.start, held.start + turns, low, high)
        problem.at_least_0(early, reason, margin=margins(early))
        problem.at_least_0((wait + turns) * -1.0 + held.period, reason)
        if high < STEPS:
            chosen.append(problem.literal("follows"))
            problem.at_least_0(late, reason, (chosen[-1],), margin=margins(late))
    if chosen:
        problem.one_of(chosen)


ADD: Mapping[str, Callable[[Problem, Lanes, Any, Reason, MarginWeights], None]] = {
    "exclusive": _exclusive,
    "requires": _requires,
    "order": _order,
}
"""What adds a rule, by its kind; Any, since each takes rules of its own."""
