"""requires: from lead before to lag after every interval of `when`, the lane of `need` is in that state.

The stretch that is asked for lies within one interval of the need: the slack is what is left at the nearer
end. Where it does not, the slack is minus the longest stretch in which the need is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.tolerance import LIMIT
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


@dataclass(frozen=True, eq=False)
class NeedTimes:
    """The intervals of a need with what says which of them can matter, each (needs,) degrees.

    middle: of the nominal machine. longest: in any machine. wander: of the middles from the nominal one.
    """

    each: Sequence[EventTimes]
    middle: Floats
    longest: Floats
    wander: Floats

    @staticmethod
    def of(each: Sequence[EventTimes]) -> NeedTimes:
        """Return them for intervals."""
        middle = np.array([one.middle[0] for one in each])
        longest, wander = (
            np.array([getattr(one, which) for one in each]) for which in ("longest_deg", "wander_deg")
        )
        return NeedTimes(each, middle, longest, wander)

    def way(self, middle_deg: float) -> Floats:
        """Return how far each is at least from a middle in any machine, degrees; negative if it may pass."""
        return np.asarray(apart(np.array([wrap(middle_deg)]), wrap(self.middle)) - self.wander)


def slack_deg(asked: Stretches, need: NeedTimes) -> Floats:
    """Return the slack of stretches, (n,) or (events, n), in which a need must hold, degrees.

    Infinite where it always does.
    """
    slack = inside_deg(asked, need)
    missed = np.nonzero(slack < 0)
    if missed[0].size:
        some = Stretches(asked.start[missed], asked.length[missed])
        slack[missed] = -_longest_missing(some, _in_reach(some, need), missed[-1])
    return slack


def _in_reach(asked: Stretches, need: NeedTimes) -> Sequence[EventTimes]:
    """Return the needs that may have a part of the stretches, (n,), in some machine; all for a whole turn."""
    longest = float(np.max(asked.length))
    if longest >= TURN:
        return need.each
    middle = float(asked.middle[0])
    wander = float(np.max(np.abs(asked.middle - middle)))
    may = (need.way(middle) - wander <= (need.longest + longest) / 2 + LIMIT) | (need.longest >= TURN)
    return [need.each[int(place)] for place in np.nonzero(may)[0]]


def inside_deg(asked: Stretches, need: NeedTimes) -> Floats:
    """Return how far stretches, (n,) or (events, n), lie within one of the needed intervals, degrees.

    Negative where they stand out of the best of them, by so much; infinite where one always holds.
    """
    if asked.start.ndim == 1 and len(need.each) * asked.start.size > AT_ONCE:
        return _inside_of_many(asked, need)
    return _inside_of_all(asked, need.each)


def _inside_of_all(
    asked: Stretches, need: Sequence[EventTimes], machines: Indices | slice = slice(None)
) -> Floats:
    """Return how far stretches lie within one of the needed intervals of machines, degrees, all at once."""
    if not need:
        return np.full(asked.start.shape, LOST)
    shape = (len(need), *(1,) * (asked.start.ndim - 1), -1)
    start, length, present = (
        np.array([getattr(one, which)[machines] for one in need]).reshape(shape)
        for which in ("start", "length", "present")
    )
    best: Floats = _within(asked, Stretches(start, length), present).max(axis=0)
    return best


def _inside_of_many(asked: Stretches, need: NeedTimes) -> Floats:
    """Return the same of many machines, (n,) degrees: needs that are the best in none are passed over.

    The nearest is looked at first; what may still be better, some at once.
    """
    middle, shortest = float(asked.middle[0]), float(np.min(asked.length))
    way = need.way(middle) - float(np.max(np.abs(asked.middle - middle)))
    most = np.where(need.longest >= TURN, np.inf, (need.longest - shortest) / 2 - way)
    nearest = np.argsort(way + need.wander, kind="stable")
    best = _inside_of_all(asked, [need.each[int(nearest[0])]])
    left = nearest[1:]
    while len(left := left[most[left] >= float(np.min(best))]):
        rows = np.nonzero(best <= float(np.max(most[left])))[0]
        some = max(1, AT_ONCE // len(rows))
        tried = [need.each[int(place)] for place in left[:some]]
        better = _inside_of_all(Stretches(asked.start[rows], asked.length[rows]), tried, rows)
        best[rows] = np.maximum(best[rows], better)
        left = left[some:]
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
    needs = NeedTimes.of(need)
    for first in range(0, len(whens), max(1, step)):
        some = whens[first : first + step]
        start, length = (np.array([getattr(one, which) for one in some]) for which in ("start", "length"))
        asked = Stretches(start - lead, np.minimum(length + lead + lag, TURN))
        if step == 1:
            asked = Stretches(asked.start[0], asked.length[0])
        slacks = slack_deg(asked, needs).reshape(len(some), -1)
        for when, slack in zip(some, slacks, strict=True):
            yield RulePlace(lanes, np.where(when.present, slack, np.inf))


def in_seconds(rule: Requires) -> bool:
    """Return whether a rule counts seconds, so that the speed matters."""
    return rule.lead_s is not None or rule.lag_s is not None
