"""Items that meet in a channel.

Two items collide if at a channel's end their arrivals could be closer than its headway: if the windows
in which they can arrive overlap, or lie less than the headway apart. Slots repeat every turn, so the
pairs of slots that come too close, and how many turns lie between their openings, are found once; the
run only looks whether both items were really let out. Each pair of gates is reported once a channel.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shaftscore.judge.flow.clock import CycleClock, microseconds
from shaftscore.judge.flow.engine import RunWatch, State
from shaftscore.judge.flow.network import Network
from shaftscore.model import Channel
from shaftscore.rules.headway import room
from shaftscore.rules.times import LinearSpan


@dataclass(frozen=True)
class NearMeeting:
    """Two slots whose items come too close in a channel.

    first, second: slots; `first` reaches the channel's end earlier. least, most: turns from the one in
    which the first leaves to that of the second, for which that is so.
    """

    channel: str
    first: int
    second: int
    least: int
    most: int


@dataclass(frozen=True)
class Meeting:
    """A collision: the pair, and the turns (from 0) in which its two items left."""

    near: NearMeeting
    first_turn: int
    second_turn: int


@dataclass(frozen=True)
class _Arrival:
    """When a slot's items reach the channel's end, µs after the begin of the turn in which they leave."""

    slot: int
    earliest: int
    latest: int


def near_pairs(network: Network, channels: tuple[Channel, ...]) -> tuple[NearMeeting, ...]:
    """Find all pairs of slots whose items come closer than the headway at a channel's end."""
    arrivals: dict[str, list[_Arrival]] = {}
    for index, slot in enumerate(network.slots):
        for step in slot.route.passes:
            window = (slot.phase_us + step.earliest_us, slot.phase_us + step.latest_us)
            arrivals.setdefault(step.channel, []).append(_Arrival(index, *window))
    return tuple(
        near
        for channel in channels
        if channel.headway_s > 0
        for near in _near(channel, arrivals.get(channel.id, []), network.clock)
    )


def _near(channel: Channel, arrivals: list[_Arrival], clock: CycleClock) -> Iterator[NearMeeting]:
    """Sweep once round the cycle: behind each arrival, those that begin before its window and headway end."""
    cycle, headway = clock.cycle_us, microseconds(channel.headway_s)
    ring = sorted(arrivals, key=lambda arrival: arrival.earliest % cycle)
    for place, first in enumerate(ring):
        here = LinearSpan(0, first.latest - first.earliest)
        for ahead in range(1, len(ring) + 1):
            second = ring[(place + ahead) % len(ring)]
            lap = cycle if place + ahead >= len(ring) else 0
            behind = second.earliest % cycle + lap - first.earliest % cycle
            left = room(here, LinearSpan(behind, behind + second.latest - second.earliest), headway)
            if left >= 0:
                break
            least = (first.earliest + behind - second.earliest) // cycle
            yield NearMeeting(channel.id, first.slot, second.slot, least, least + (-left - 1) // cycle)


class Meetings(RunWatch):
    """Listens to a run and keeps the first meeting of each pair of gates in each channel."""

    def __init__(self, network: Network, channels: tuple[Channel, ...]) -> None:
        self.found: list[Meeting] = []
        self._network = network
        self._near: dict[int, list[NearMeeting]] = {}
        for near in near_pairs(network, channels):
            for slot in {near.first, near.second}:
                self._near.setdefault(slot, []).append(near)
        self._turns: dict[int, list[int]] = {slot: [] for slot in self._near}
        self._told: set[tuple[str, frozenset[int]]] = set()
        self._forgotten = 0
        self._turn = 0

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:  # noqa: ARG002
        """Look whether items that left met one another, then forget the pairs of gates that were told."""
        self._turn = turn + 1
        if not self._near:
            return
        for slot in left:
            if slot in self._near:
                self._left(slot, turn)
        if len(self._told) > self._forgotten:
            self._forget()

    def _left(self, slot: int, turn: int) -> None:
        """Look whether an item that left meets one that left before."""
        for near in self._near[slot]:
            if self._group(near) not in self._told:
                self._look(near, slot, turn)
        self._turns[slot].append(turn)

    def _forget(self) -> None:
        self._forgotten = len(self._told)
        for slot, pairs in list(self._near.items()):
            left = [near for near in pairs if self._group(near) not in self._told]
            if left:
                self._near[slot] = left
            else:
                del self._near[slot], self._turns[slot]

    def _look(self, near: NearMeeting, slot: int, turn: int) -> None:
        if slot == near.second:
            other = self._latest(near.first, turn - near.most, turn - near.least)
            if other is not None:
                self._tell(Meeting(near, other, turn))
                return
        if slot == near.first:
            other = self._latest(near.second, turn + near.least, turn + near.most)
            if other is not None:
                self._tell(Meeting(near, turn, other))

    def _latest(self, slot: int, since: int, until: int) -> int | None:
        """Return the last turn from `since` to `until` in which a slot let an item out."""
        turns = self._turns[slot]
        place = bisect_right(turns, until)
        return turns[place - 1] if place > bisect_left(turns, since) else None

    def _tell(self, meeting: Meeting) -> None:
        group = self._group(meeting.near)
        if group not in self._told:
            self._told.add(group)
            self.found.append(meeting)

    def _group(self, near: NearMeeting) -> tuple[str, frozenset[int]]:
        slots = self._network.slots
        return near.channel, frozenset((slots[near.first].gate, slots[near.second].gate))

    def state(self) -> State:
        """Return, for the pairs not told yet, the turns ago in which their items left."""
        return tuple((slot, *self._recent(slot)) for slot in sorted(self._near))

    def _recent(self, slot: int) -> Iterator[int]:
        span = max(max(abs(near.least), abs(near.most)) for near in self._near[slot])
        turns = self._turns[slot]
        return (self._turn - then for then in turns[bisect_left(turns, self._turn - span) :])
