"""exclusive: of some states at most one holds at a time, and a gap lies between two of them.

Two intervals of different states lie apart by the gap between them, or overlap by what they share, at most
by the shorter of both; where they meet on both sides of the turn, the worse side counts.

    (1) slack = max(way between the middles - half of both lengths, -shorter length) - gap

with the shorter way round. An interval that lasts the whole turn overlaps by all of the other. A state that a
machine does not reach cannot clash.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, ahead
from shaftscore.base.tolerance import LIMIT
from shaftscore.model import Exclusive
from shaftscore.rules.times import (
    Angle,
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

AT_ONCE = 20_000
"""Pairs times machines that are judged in one pass."""

MOST_COMPARED = 200_000
"""Pairs whose distance in the nominal machine is looked at in one pass."""

Indices = npt.NDArray[np.intp]


def states(rule: Exclusive) -> tuple[State, ...]:
    """Return the states of which one holds at a time."""
    return rule.states


def gap_deg(rule: Exclusive, deg_per_s: float) -> float:
    """Return the gap that a rule asks for, degrees; deg_per_s: of the master shaft."""
    return rule.gap_s * deg_per_s if rule.gap_s is not None else rule.gap_deg or 0.0


def slack_deg(first: Stretches, second: Stretches, gap: Floats | float) -> Floats:
    """Return the slack between stretches, degrees: (n,) or (pairs, n) as they are; formula (1)."""
    way = apart(first.middle, second.middle) - (first.length + second.length) / 2
    shorter = np.minimum(first.length, second.length)
    full = np.maximum(first.length, second.length) >= TURN
    found: Floats = np.where(full, -shorter, np.maximum(way, -shorter)) - gap
    return found


def room(first: LinearSpan[Angle], second: LinearSpan[Angle], gap: float) -> Angle:
    """Return what is left above the gap, degrees or steps, where the second comes after the first.

    Two intervals keep the rule if, for each whole turn by which one is shifted, they have room either way;
    then the slack is the least of all that are not negative.
    """
    left: Angle = second.start - first.end - gap
    return left


def close_pairs(
    start: Sequence[float], length: Sequence[float], member: Sequence[int], gap: float
) -> Iterator[tuple[int, int]]:
    """Yield pairs of intervals of different members that lie closer than a gap, by their places, sorted.

    start: rising, degrees. length: degrees. The sweep goes twice round the turn, with all intervals at hand
    that still hold or ended less than the gap ago.
    """
    seen: set[tuple[int, int]] = set()
    at_hand: list[tuple[float, int]] = []
    for turn in (0.0, TURN):
        for index, begin in enumerate(start):
            while at_hand and at_hand[0][0] < begin + turn - LIMIT:
                heapq.heappop(at_hand)
            for _, other in at_hand:
                pair = _sorted(index, other)
                if member[other] != member[index] and pair not in seen:
                    seen.add(pair)
                    yield pair
            heapq.heappush(at_hand, (begin + turn + length[index] + gap, index))


def _sorted(one: int, other: int) -> tuple[int, int]:
    return min(one, other), max(one, other)


def places(times: MachineTimes, rule: Exclusive) -> Iterator[RulePlace]:
    """Judge all pairs that are the closest in some machine: neighbours first, then who may come nearer."""
    gap = np.asarray(gap_deg(rule, 1.0) * times.deg_per_s if rule.gap_s is not None else rule.gap_deg or 0.0)
    found = [(number, held) for number, state in enumerate(rule.states) for held in times.held(state)]
    if len(found) < 2:
        return
    found.sort(key=lambda member: ahead(0.0, float(member[1].start[0])))
    members = _Members([held for _, held in found], np.array([number for number, _ in found]))
    near = members.near()
    if not len(near):  # all of one member: the others are never held
        return
    judged = [*members.judged(near, gap)]
    worst = min(float(slack.max(axis=1).min()) for _, slack in judged)
    for pairs, slack in (*judged, *members.judged(members.others(near, worst + float(gap.max())), gap)):
        lanes = members.lanes_of(pairs)
        yield from map(RulePlace, lanes, slack)


Pairs = Indices
"""Places of the members of pairs, the lower first, (pairs, 2)."""


class _Members:
    """The intervals of all members, by their starts in the nominal machine."""

    def __init__(self, held: Sequence[EventTimes], member: Indices) -> None:
        """Stack the times; member: the number of the state of each, (m,)."""
        self._lanes, self._member = [one.state.lane for one in held], member
        self._start, self._length = (np.array([getattr(one, w) for one in held]) for w in ("start", "length"))
        self._present = np.array([one.present for one in held])

    def near(self) -> Pairs:
        """Return neighbours of different members; all pairs of such where no neighbours differ."""
        each = np.arange(len(self._member) - 1)
        pairs = np.stack((each, each + 1), axis=1)
        if len(each) > 1:
            pairs = np.concatenate((pairs, [[0, len(each)]]))
        pairs = pairs[self._member[pairs[:, 0]] != self._member[pairs[:, 1]]]
        return pairs if len(pairs) else self.others(pairs, np.inf)

    def others(self, known: Pairs, most: float) -> Pairs:
        """Return all other pairs of different members that come nearer than `most` degrees in any machine."""
        count = len(self._member)
        if len(known) == count * (count - 1) // 2:
            return known[:0]
        middle = self._start + self._length / 2
        reach = (np.abs(middle - middle[:, :1]) + self._length / 2).max(axis=1)
        step = max(1, MOST_COMPARED // count)
        found = [
            self._nearer(np.arange(first, min(first + step, count)), middle[:, 0], reach, most)
            for first in range(0, count, step)
        ]
        every = np.concatenate(found)
        seen = np.isin(every @ [count, 1], known @ [count, 1])
        return every[~seen]

    def _nearer(self, rows: Indices, middle: Floats, reach: Floats, most: float) -> Pairs:
        """Return pairs, of some first members with all after them, that come nearer than `most` degrees.

        rows: (r,) numbers of members. middle, reach: (m,) degrees.
        """
        way = apart(middle[rows, None], middle) - reach[rows, None] - reach
        after = rows[:, None] < np.arange(len(middle))
        one, other = np.nonzero((way < most) & after & (self._member[rows, None] != self._member))
        return np.stack((rows[one], other), axis=1)

    def judged(self, pairs: Pairs, gap: Floats) -> Iterator[tuple[Pairs, Floats]]:
        """Yield pairs with their slack, (pairs, n) degrees, many at once where there are few machines."""
        step = max(1, AT_ONCE // self._start.shape[1])
        for first in range(0, len(pairs), step):
            some = pairs[first : first + step]
            one, other = (Stretches(self._start[at], self._length[at]) for at in some.T)
            there = self._present[some[:, 0]] & self._present[some[:, 1]]
            yield some, np.where(there, slack_deg(one, other, gap), np.inf)

    def lanes_of(self, pairs: Pairs) -> list[tuple[str, ...]]:
        """Return the lanes of pairs."""
        return [lanes_of(self._lanes[low], self._lanes[high]) for low, high in pairs.tolist()]


def in_seconds(rule: Exclusive) -> bool:
    """Return whether a rule counts seconds, so that the speed matters."""
    return rule.gap_s is not None
