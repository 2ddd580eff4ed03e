"""requires: from lead before to lag after every interval of `when`, the lane of `need` is in that state.

The stretch that is asked for lies within one interval of the need: the slack is what is left at the nearer
end. Where it does not, the slack is minus the longest stretch in which the need is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, turn_to, wrap
from shaftscore.model import Requires
from shaftscore.rules.times import (
    LOST,
    Angle,
    Bools,
    EventTimes,
    Floats,
    LinearSpan,
    MachineTimes,
    RulePlace,
    State,
    Stretches,
    apart,
    lanes_of,
)

Indices = npt.NDArray[np.intp]

AT_ONCE = 2_000
"""Stretches times needs times machines that are judged in one pass."""


def states(rule: Requires) -> tuple[State, ...]:
    """Return the state that is needed, and the one that needs it."""
    return rule.need, rule.when


def lead_lag(rule: Requires, deg_per_s: float) -> tuple[float, float]:
    """Return lead and lag of a rule, degrees; deg_per_s: of the master shaft."""
    lead = rule.lead_deg if rule.lead_s is None else rule.lead_s * deg_per_s
    lag = rule.lag_deg if rule.lag_s is None else rule.lag_s * deg_per_s
    return lead or 0.0, lag or 0.0


def within(asked: LinearSpan[Angle], held: LinearSpan[Angle]) -> tuple[Angle, Angle]:
    """Return what is left of an interval at both ends of a stretch; it covers it if both are at least 0."""
    return asked.start - held.start, held.end - asked.end


def ends(when: LinearSpan[Angle], need: LinearSpan[Angle], lead: float, lag: float) -> tuple[Angle, Angle]:
    """Return what is left at both ends of an interval of the need, degrees or steps.

    A stretch keeps the rule if both are at least 0 for one interval of the need at one whole turn.
    """
    before, after = within(when, need)
    return before - lead, after - lag


def slack_deg(asked: Stretches, need: Sequence[EventTimes]) -> Floats:
    """Return the slack of stretches, (n,) or (events, n), in which a need must hold, degrees.

    Infinite where it always does.
    """
    slack = inside_deg(asked, need)
    missed = np.nonzero(slack < 0)
    if missed[0].size:
        some = Stretches(asked.start[missed], asked.length[missed])
        slack[missed] = -_longest_missing(some, need, missed[-1])
    return slack


def inside_deg(asked: Stretches, need: Sequence[EventTimes]) -> Floats:
    """Return how far stretches, (n,) or (events, n), lie within one of the needed intervals, degrees.

    Negative where they stand out of the best of them, by so much; infinite where one always holds.
    """
    if asked.start.ndim == 1 and len(need) * asked.start.size > AT_ONCE:
        return _inside_of_many(asked, need)
    if not need:
        return np.full(asked.start.shape, LOST)
    shape = (len(need), *(1,) * (asked.start.ndim - 1), -1)
    start, length = (np.array([getattr(one, which) for one in need]) for which in ("start", "length"))
    held = Stretches(start.reshape(shape), length.reshape(shape))
    best: Floats = _within(asked, held, np.array([one.present for one in need]).reshape(shape)).max(axis=0)
    return best


def _inside_of_many(asked: Stretches, need: Sequence[EventTimes]) -> Floats:
    """Return the same of many machines, (n,) degrees: needs that are the best in none are passed over."""
    best = np.full(len(asked.start), LOST)
    shortest = float(np.min(asked.length))
    wander = float(np.max(np.abs(asked.middle - asked.middle[0])))
    middle = float(asked.middle[0])
    nearest = sorted(need, key=lambda held: abs(turn_to(middle, float(held.middle[0]))))
    for number, held in enumerate(nearest):
        way = abs(turn_to(middle, float(held.middle[0]))) - held.wander_deg - wander
        most = (held.longest_deg - shortest) / 2 - way
        if number and held.longest_deg < TURN and most < float(np.min(best)):
            continue
        best = np.maximum(best, _within(asked, held, held.present))
    return best


def _within(asked: Stretches, held: Stretches, present: Bools) -> Floats:
    """Return how far stretches lie within intervals that are there, degrees: (n,), or of any shape."""
    inside = (held.length - asked.length) / 2 - apart(asked.middle, held.middle)
    inside = np.where(held.length >= TURN, np.inf, inside)
    return np.where(present, inside, LOST)


def _longest_missing(asked: Stretches, need: Sequence[EventTimes], machines: Indices) -> Floats:
    """Return the longest part of stretches, one of each of some machines, without any need, (n,) degrees."""
    start, length = asked.start, asked.length
    begins, stops = [np.zeros(len(start))], [np.zeros(len(start))]
    for held in need:
        # A stretch of the whole turn has no ends of its own: it is read from a need on.
        start = np.where((length >= TURN) & held.present[machines], held.start[machines], start)
    for held in need:
        since, there = wrap(held.start[machines] - start), held.present[machines]
        for begin in (since - TURN, since):
            begins.append(np.where(there, np.clip(begin, 0.0, length), length))
            stops.append(np.where(there, np.clip(begin + held.length[machines], 0.0, length), length))
    order = np.argsort(np.array(begins), axis=0, kind="stable")
    ordered = np.take_along_axis(np.array(begins), order, axis=0)
    reached = np.maximum.accumulate(np.take_along_axis(np.array(stops), order, axis=0), axis=0)
    found: Floats = np.maximum((ordered[1:] - reached[:-1]).max(axis=0, initial=0.0), length - reached[-1])
    return found


def places(times: MachineTimes, rule: Requires) -> Iterator[RulePlace]:
    """Judge each interval of `when`; nothing where a lane is not known."""
    if not (times.knows(rule.when) and times.knows(rule.need)):
        return
    speed = times.deg_per_s
    lead = rule.lead_s * speed if rule.lead_s is not None else rule.lead_deg or 0.0
    lag = rule.lag_s * speed if rule.lag_s is not None else rule.lag_deg or 0.0
    need, lanes, whens = (
        times.held(rule.need),
        lanes_of(rule.need.lane, rule.when.lane),
        times.held(rule.when),
    )
    step = len(whens) if len(whens) * len(need) * times.count <= AT_ONCE else 1
    for first in range(0, len(whens), max(1, step)):
        some = whens[first : first + step]
        start, length = (np.array([getattr(one, which) for one in some]) for which in ("start", "length"))
        asked = Stretches(start - lead, np.minimum(length + lead + lag, TURN))
        if step == 1:
            asked = Stretches(asked.start[0], asked.length[0])
        slacks = slack_deg(asked, need).reshape(len(some), -1)
        for when, slack in zip(some, slacks, strict=True):
            yield RulePlace(lanes, np.where(when.present, slack, np.inf))


def in_seconds(rule: Requires) -> bool:
    """Return whether a rule counts seconds, so that the speed matters."""
    return rule.lead_s is not None or rule.lag_s is not None
