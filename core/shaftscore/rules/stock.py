"""Whether the magazines of drawn machines are ever empty, or full, when a gate asks: over all turns.

Moments are angles of the master shaft from the start of the run, arrays (n,) over machines. A *train* is
what repeats every turn (a gate's items, arrivals), in rising order in every machine, k = 0, 1, 2, ...
With departures D, start count s, capacity c and a supply that needs the angle P for one item, item k
is sent at S(k) = max(S(k - 1) + P, D(k - (c - s))): an interval after the one before, and not before its
place is free. Written out that is the largest of (k + 1) P and of D(b) + (k - i) P over the places b freed
before. As long as a turn's items need no more than a turn, places freed more than a turn
earlier cannot bind, so the smallest slack D(k + s) - S(k) - travel over all turns is among those of the
first turns: nothing has to be run.

Exact for a magazine that an endless supply fills, or alone a supply with a rate, or that only gates fill.
Where several magazines share a supply, each is served at the latest when all others were once: where
that bound holds in the machine as drawn it is taken; where not, the magazine is not judged
(`is_judged`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.base.tolerance import LIMIT
from shaftscore.model import Flow, Magazine, Supply
from shaftscore.rules.items import Arrival, leaving
from shaftscore.rules.times import LOST, Angle, Floats, MachineTimes, RulePlace, lanes_of

Amount = TypeVar("Amount", float, Floats)
"""A number, or an array over machines, (n,)."""

Ended = Callable[[Magazine], Sequence[Arrival]]
"""Returns the items of a turn that come to a magazine through gates."""


@dataclass(frozen=True, eq=False)
class Shares(Generic[Amount]):
    """What a rate, and a travel to a magazine, are of what the project says: 1, or (n,) over machines."""

    rate: Amount
    fill: Amount


@dataclass(frozen=True, eq=False)
class Train:
    """Moments that come again every turn, rising: `head` once (h, n), then `period` (m, n) turn after turn.

    lanes: whose they are in the machine as drawn, (h + m).
    """

    head: Floats
    period: Floats
    lanes: tuple[str, ...]

    @staticmethod
    def of(moments: Sequence[Floats], lanes: Sequence[str]) -> Train:
        """Make a train of the moments of one turn; some may lie turns later than their turn's begin."""
        each = np.array(moments)
        late = int(each[:, 0].max() // TURN)
        turns = np.repeat(np.arange(late + 2) * TURN, len(each))
        unrolled = np.tile(each, (late + 2, 1)) + turns[:, None]
        order = np.argsort(unrolled[:, 0], kind="stable")
        once = int(np.count_nonzero(unrolled[:, 0] < late * TURN))
        rising = np.sort(unrolled, axis=0)[: once + len(each)]
        names = tuple(lanes[int(place) - len(each) * (int(place) // len(each))] for place in order)
        return Train(rising[:once], rising[once:], names[: once + len(each)])

    @property
    def each_turn(self) -> int:
        """How many there are in a turn."""
        return len(self.period)

    @property
    def settled(self) -> int:
        """After how many all repeats."""
        return len(self.head)

    def __getitem__(self, number: int) -> Floats:
        """Return the moment of a number, counted from 0, (n,)."""
        if number < len(self.head):
            head: Floats = self.head[number]
            return head
        turns, place = self._place(number)
        moment: Floats = self.period[place] + turns * TURN
        return moment

    def _place(self, number: int) -> tuple[int, int]:
        """Return how many turns after the first period a number lies, and its place in it."""
        after = number - len(self.head)
        turns = after // len(self.period)
        return turns, after - turns * len(self.period)

    def lane(self, number: int) -> str:
        """Return whose moment it is."""
        if number < len(self.head):
            return self.lanes[number]
        return self.lanes[len(self.head) + self._place(number)[1]]


def room(asked: Angle, sent: Angle, travel: float | Floats) -> Angle:
    """Return how long before an item is asked for it has arrived that was sent at a moment.

    travel: to the magazine, in the unit of the moments; a number, or (n,) over machines.
    """
    left: Angle = asked - sent - travel
    return left


def sent_after(freed: Angle, more: int, apart: float | Floats) -> Angle:
    """Return when the last of `more` items is sent that follow the one which took a place as it was freed.

    apart: from one item to the next, in the unit of the moment; a number, or (n,) over machines.
    """
    sent: Angle = freed + apart * more
    return sent


def filling(
    supply: Supply, magazine: Magazine, sharing: int, per_s: Amount, shares: Shares[Amount]
) -> tuple[Amount, Amount]:
    """Return how long it takes from one item to the next, and until an item that was sent arrives.

    sharing: magazines on the supply, each of which is served at the latest when all others were once.
    per_s: degrees or steps of a second. shares: of the rate and of the travel, as the project says them.
    """
    travel = magazine.travel_s * shares.fill * per_s
    if supply.rate_per_min is None:
        return per_s * 0.0, travel
    apart = 60.0 / (supply.rate_per_min * shares.rate / sharing) * per_s
    return apart, travel + (apart if sharing > 1 else per_s * 0.0)


def places(times: MachineTimes, flow: Flow, ended: Ended, magazine: Magazine) -> Iterator[RulePlace]:
    """Judge one magazine; nothing where nothing is drawn from it, or it cannot be judged.

    ended: asked only where gates fill it.
    """
    if not is_judged(flow, magazine) or not _is_looked_at(times, flow, magazine):
        return
    drawn = _train(item for gate in flow.gates_from.get(magazine.id, ()) for item in leaving(times, gate))
    if drawn is None:
        return
    supply = _supply(flow, magazine)
    if supply is None:
        yield from _through_gates(times, magazine, drawn, ended(magazine))
        return
    sharing = flow.filled_by[supply.id]
    parts = tuple(_supplied(times, magazine, drawn, supply, sharing))
    if sharing == 1 or supply.rate_per_min is None or min(float(p.slack_deg[0]) for p in parts) >= 0:
        yield from parts


def is_judged(flow: Flow, magazine: Magazine) -> bool:
    """Return whether a magazine's content in time can be judged: a supply fills it, or gates, not both."""
    return (magazine.id in flow.gates_into) != (_supply(flow, magazine) is not None)


def _supply(flow: Flow, magazine: Magazine) -> Supply | None:
    return flow.supplies_by_id.get(magazine.source or "")


def _is_looked_at(times: MachineTimes, flow: Flow, magazine: Magazine) -> bool:
    """Return whether all gates at a magazine are looked at."""
    gates = (*flow.gates_from.get(magazine.id, ()), *flow.gates_into.get(magazine.id, ()))
    return all(times.knows(gate.state) for gate in gates)


def _train(items: Iterator[Arrival]) -> Train | None:
    found = [(item.leaves, item.lane) for item in items]
    return Train.of(*zip(*found, strict=True)) if found else None


def _supplied(
    times: MachineTimes, magazine: Magazine, drawn: Train, supply: Supply, sharing: int
) -> Iterator[RulePlace]:
    """Judge a magazine that a supply fills; `sharing` counts those on the supply."""
    shares = Shares(times.rate(supply.id), times.fill(magazine.id))
    apart, travel = filling(supply, magazine, sharing, times.deg_per_s, shares)
    keeps_pace = apart * drawn.each_turn <= TURN * (1 + LIMIT)
    for asked, sent, lanes in (
        *_from_the_start(drawn, magazine, apart),
        *_from_places(drawn, magazine, apart),
    ):
        yield RulePlace(lanes, np.where(keeps_pace, room(asked, sent, travel), LOST))


_Sent = tuple[Floats, Floats, tuple[str, ...]]
"""When an item is asked for and when it is sent, with the lanes whose errors move that."""


def _from_the_start(drawn: Train, magazine: Magazine, apart: Floats) -> Iterator[_Sent]:
    """Yield the first items, which are sent one after the other from the start of the run on."""
    start, none = magazine.start_count, np.zeros(len(apart))
    for item in range(drawn.settled + drawn.each_turn):
        yield drawn[item + start], sent_after(none, item + 1, apart), (drawn.lane(item + start),)


def _from_places(drawn: Train, magazine: Magazine, apart: Floats) -> Iterator[_Sent]:
    """Yield the items that are sent when their places are free, or after those sent since another was."""
    best, whose = np.full(drawn[0].shape, -np.inf), ""
    for freed in range(drawn.settled + 2 * drawn.each_turn):
        since = sent_after(drawn[freed], -freed, apart)
        whose = drawn.lane(freed) if since[0] > best[0] else whose
        best = np.maximum(best, since)
        asked = freed + magazine.capacity
        lanes = lanes_of(drawn.lane(asked), whose)
        yield drawn[asked], sent_after(best, freed, apart), lanes


def _through_gates(
    times: MachineTimes, magazine: Magazine, drawn: Train, items: Sequence[Arrival]
) -> Iterator[RulePlace]:
    """Judge a magazine that gates fill: items come before they are asked for, and find a place."""
    if len(items) != drawn.each_turn:
        return  # it runs empty or over in the end, which the machine as drawn shows
    travel = magazine.travel_s * times.fill(magazine.id) * times.deg_per_s
    lanes = [item.lane for item in items]
    come = Train.of([item.latest + travel for item in items], lanes)
    sent = Train.of([item.leaves for item in items], lanes)
    most = max(come.settled, sent.settled, drawn.settled) + drawn.each_turn
    for item in range(most):
        asked = item + magazine.start_count
        yield RulePlace(lanes_of(drawn.lane(asked), come.lane(item)), drawn[asked] - come[item])
    for place in range(most):
        item = place + magazine.capacity - magazine.start_count
        yield RulePlace(lanes_of(sent.lane(item), drawn.lane(place)), sent[item] - drawn[place])
