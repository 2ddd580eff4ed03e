"""How far each rule between lanes is from breaking, in every drawn machine.

Signs and sizes are those of `judge.checks.margin`: exclusive intervals count above the gap, and as deep as
they overlap; a need counts at its nearer end, and where it is missed as far as the worse end stands out of
the best of several needs (the checks then count the longest stretch that is missed). An
order is followed from pair to pair of the nominal machine: where `then` slips before `first`, the rule is
broken by as much, and not kept by the next turn's. A state that a machine does not reach cannot clash; where
it is needed or awaited, the rule is broken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from shaftscore.base.angles import TURN, ahead, turn_to
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.machines import DrawnIntervals, Machines, RulePlace, State, apart
from shaftscore.model import Exclusive, LevelState, Order, Requires, Rule

LOST = -np.inf
"""Slack of what a machine does not do at all, degrees: less than any other."""


def parts_of(machines: Machines, rule: Rule) -> Iterator[RulePlace]:
    """Judge one rule; nothing where a lane of it is not looked at or has no motion."""
    if isinstance(rule, Exclusive):
        yield from _exclusive(machines, rule)
    elif isinstance(rule, Requires):
        yield from _requires(machines, rule)
    else:
        yield from _order(machines, rule)


def _exclusive(machines: Machines, rule: Exclusive) -> Iterator[RulePlace]:
    """Judge all pairs that are the closest in some machine: neighbours first, then who may come nearer."""
    gap = rule.gap_s * machines.deg_per_s if rule.gap_s is not None else np.asarray(rule.gap_deg or 0.0)
    members = [(number, held) for number, state in enumerate(rule.states) for held in machines.held(state)]
    members.sort(key=lambda member: ahead(0.0, float(member[1].start[0])))
    near = {_sorted(a, (a + 1) % len(members)) for a in range(len(members))}
    pairs = [pair for pair in combinations(range(len(members)), 2) if _differ(members, pair)]
    first = [pair for pair in pairs if pair in near] or pairs
    worst = np.inf
    for pair in first:
        part = _pair(members[pair[0]][1], members[pair[1]][1], gap)
        worst = min(worst, float(part.slack_deg.max()))
        yield part
    reach = _Reach.of([held for _, held in members])
    for pair in pairs:
        if pair not in near and pair not in first and reach.least(pair) - float(gap.max()) < worst:
            yield _pair(members[pair[0]][1], members[pair[1]][1], gap)


def _sorted(one: int, other: int) -> tuple[int, int]:
    return min(one, other), max(one, other)


def _differ(members: Sequence[tuple[int, DrawnIntervals]], pair: tuple[int, int]) -> bool:
    return members[pair[0]][0] != members[pair[1]][0]


class _Reach:
    """How far intervals reach about their nominal middles in any machine, degrees."""

    def __init__(self, middles: Floats, reaches: Floats) -> None:
        self._middles, self._reaches = middles, reaches

    @staticmethod
    def of(members: Sequence[DrawnIntervals]) -> _Reach:
        """Look at the outermost machine of each."""
        middles = np.array([held.middle[0] for held in members])
        reaches = np.array(
            [float((np.abs(held.middle - held.middle[0]) + held.length / 2).max()) for held in members]
        )
        return _Reach(middles, reaches)

    def least(self, pair: tuple[int, int]) -> float:
        """Return a bound under which no machine's distance between two intervals falls."""
        way = abs(turn_to(float(self._middles[pair[0]]), float(self._middles[pair[1]])))
        return way - float(self._reaches[pair[0]] + self._reaches[pair[1]])


def _pair(first: DrawnIntervals, second: DrawnIntervals, gap: Floats) -> RulePlace:
    """Judge two intervals: the way between their middles less half their lengths, or their overlap."""
    way = apart(first.middle, second.middle) - (first.length + second.length) / 2
    shorter = np.minimum(first.length, second.length)
    full = np.maximum(first.length, second.length) >= TURN
    slack = np.where(full, -shorter, np.maximum(way, -shorter)) - gap
    there = first.present & second.present
    lanes = tuple(dict.fromkeys((first.state.lane, second.state.lane)))
    return RulePlace(lanes, np.where(there, slack, np.inf))


def _requires(machines: Machines, rule: Requires) -> Iterator[RulePlace]:
    if machines.lane(rule.when.lane) is None or machines.lane(rule.need.lane) is None:
        return
    speed = machines.deg_per_s
    lead = rule.lead_s * speed if rule.lead_s is not None else rule.lead_deg or 0.0
    lag = rule.lag_s * speed if rule.lag_s is not None else rule.lag_deg or 0.0
    lanes = tuple(dict.fromkeys((rule.need.lane, rule.when.lane)))
    need = machines.held(rule.need)
    for when in machines.held(rule.when):
        length = np.minimum(when.length + lead + lag, TURN)
        slack = np.maximum(covered(when.start - lead, length, need), -length)
        yield RulePlace(lanes, np.where(when.present, slack, np.inf))


def covered(start: Floats, length: Floats, need: Sequence[DrawnIntervals]) -> Floats:
    """Return how far stretches lie within the best of the needed intervals, or stand out, (n,) degrees."""
    best = np.full(len(start), LOST)
    middle = start + length / 2
    shortest, apart_by = float(np.min(length)), float(np.max(np.abs(middle - middle[0])))
    nearest = sorted(need, key=lambda held: abs(turn_to(float(middle[0]), float(held.middle[0]))))
    for number, held in enumerate(nearest):
        way_there = abs(turn_to(float(middle[0]), float(held.middle[0]))) - held.wander_deg - apart_by
        most = (held.longest_deg - shortest) / 2 - way_there
        if number and held.longest_deg < TURN and most < float(np.min(best)):
            continue  # in no machine it is the best
        way = apart(middle, held.middle)
        inside = (held.length - length) / 2 - way
        inside = np.where(held.length >= TURN, np.inf, inside)
        best = np.maximum(best, np.where(held.present, inside, LOST))
    return best


def _order(machines: Machines, rule: Order) -> Iterator[RulePlace]:
    if machines.lane(rule.first.lane) is None or machines.lane(rule.then.lane) is None:
        return
    low = rule.min_s * machines.deg_per_s
    high = np.asarray(np.inf) if rule.max_s is None else rule.max_s * machines.deg_per_s
    lanes = tuple(dict.fromkeys((rule.first.lane, rule.then.lane)))
    begins = [held for held in machines.held(rule.then) if held.present[0] and held.length[0] < TURN]
    for first in machines.held(rule.first):
        if not first.present[0] or first.length[0] >= TURN:
            continue
        slack = _waits(first, begins, low, high, same=rule.first == rule.then)
        yield RulePlace(lanes, np.where(first.present, slack, np.inf))


def _waits(
    first: DrawnIntervals, begins: Sequence[DrawnIntervals], low: Floats, high: Floats, *, same: bool
) -> Floats:
    """Return the slack of the wait from one begin to the nominal machine's next."""
    waits = [(_wait(first, then, same), number) for number, then in enumerate(begins)]
    if not waits:
        return np.full(len(first.start), LOST)
    nominal, number = min(waits)
    then = begins[number]
    wait = nominal + (then.start - then.start[0]) - (first.start - first.start[0])
    return np.where(then.present, np.minimum(wait - low, high - wait), LOST)


def _wait(first: DrawnIntervals, then: DrawnIntervals, same: bool) -> float:
    wait = ahead(float(first.start[0]), float(then.start[0]))
    return TURN if same and wait == 0 else wait


def sweeps(machines: Machines, lane_id: str, level: str) -> Iterator[RulePlace]:
    """Judge the guarded level of a lane: whoever comes there must have a block that asks for it."""
    state: State = LevelState(lane=lane_id, level=level)
    for held in machines.held(state):
        passing = held.present & ~held.meant
        yield RulePlace((lane_id,), np.where(passing, -held.length, np.inf))
