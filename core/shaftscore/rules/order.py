"""order: from each start of `first` to the next start of `then` it takes min_s to max_s.

The next start is in this cycle or the next; a state that always holds never starts. Slack is what is left
before the wait is too short or too long. It is followed from pair to pair of the nominal machine: where
`then` slips before `first` in a machine, the rule is broken by as much, and not kept by the next turn's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.model import Order
from shaftscore.rules.times import (
    LOST,
    Angle,
    EventTimes,
    Floats,
    MachineTimes,
    RulePlace,
    State,
    lanes_of,
)


def states(rule: Order) -> tuple[State, ...]:
    """Return the state that starts first, and the one that follows."""
    return rule.first, rule.then


def limits_deg(rule: Order, deg_per_s: float) -> tuple[float, float]:
    """Return the least and the greatest wait, degrees; infinite where none is required."""
    return rule.min_s * deg_per_s, inf if rule.max_s is None else rule.max_s * deg_per_s


def slack_deg(wait: Floats, low: Floats | float, high: Floats | float) -> Floats:
    """Return what is left before waits are too short or too long, (n,) degrees."""
    found: Floats = np.minimum(wait - low, high - wait)
    return found


def ends(first: Angle, then: Angle, low: float, high: float) -> tuple[Angle, Angle]:
    """Return what is left before the wait is too short, and too long, degrees or steps.

    The first is at least 0 for every start of `then` that follows, the second for one of them.
    """
    return then - first - low, first - then + high


def wait_deg(first_start: float, then_start: float, *, same: bool) -> float:
    """Return the wait from one start to another, degrees; same: both are of one state, which waits a turn."""
    wait = ahead(first_start, then_start)
    return TURN if same and wait == 0 else wait


def places(times: MachineTimes, rule: Order) -> Iterator[RulePlace]:
    """Judge each start of `first`; nothing where a lane is not known."""
    if not (times.knows(rule.first) and times.knows(rule.then)):
        return
    low = rule.min_s * times.deg_per_s
    high = np.asarray(np.inf) if rule.max_s is None else rule.max_s * times.deg_per_s
    begins = [held for held in times.held(rule.then) if held.begins]
    for first in times.held(rule.first):
        if first.begins:
            slack = _waits(first, begins, low, high, same=rule.first == rule.then)
            there = np.where(first.present, slack, np.inf)
            yield RulePlace(lanes_of(rule.first.lane, rule.then.lane), there)


def _waits(
    first: EventTimes, begins: Sequence[EventTimes], low: Floats, high: Floats, *, same: bool
) -> Floats:
    """Return the slack of the wait from one start to the nominal machine's next, (n,) degrees."""
    waits = [
        (wait_deg(float(first.start[0]), float(then.start[0]), same=same), number)
        for number, then in enumerate(begins)
    ]
    if not waits:
        return np.full(len(first.start), LOST)
    nominal, number = min(waits)
    then = begins[number]
    wait = nominal + (then.start - then.start[0]) - (first.start - first.start[0])
    return np.where(then.present, slack_deg(wait, low, high), LOST)


def in_seconds(_: Order) -> bool:
    """Return that a rule counts seconds, so that the speed matters."""
    return True
