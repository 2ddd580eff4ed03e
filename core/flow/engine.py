"""The run: what leaves, arrives and is sent, event by event, turn after turn.

All that can happen is due to the slots of the gates (see `core.flow.openings`), which repeat every turn.
Between two slots only supplies send and sent items arrive, and both depend on nothing but the slots
before. So the run goes from slot to slot and, at each, first brings what it touches up to date: the
supply's sends that were due, then the magazine's arrivals. No queue of events is needed.

Order at one instant: sends of supplies whose interval is over, arrivals, then the gates in file order.
A place that a gate frees is filled at once where an item waits at the mouth; an item that travels for no
time at all is there for the next gate of that same instant. A place is taken from the moment an item is
sent. Times are whole microseconds from the start of the run; turns count from 0 in here.
"""

from __future__ import annotations

from bisect import insort
from collections import deque
from dataclasses import dataclass
from enum import IntEnum
from hashlib import blake2b
from marshal import dumps

from core.flow.network import Network

WAITING = 1 << 100
"""When the next item of a supply is due that waits at the mouth: never, until a place is free."""


class Kind(IntEnum):
    """What an event is: sent to a magazine, arrived in it, left it through a slot, or did not leave."""

    SENT = 0
    ARRIVED = 1
    LEFT = 2
    EMPTY = 3
    NO_ROOM = 4


State = tuple["int | str | State", ...]
"""Part of a run's state: nested tuples of whole numbers and texts."""

Event = tuple[int, Kind, int]
"""(time µs, kind, index): of the magazine (SENT, ARRIVED) or of the slot (LEFT, EMPTY, NO_ROOM)."""


@dataclass(frozen=True)
class Shortfall:
    """An opening that let out another number of items than meant.

    turn: in which the opening began, from 0. slot: where it was first seen. out: items that left.
    empty, no_room: slots at which nothing was there, or no place to go to.
    """

    opening: int
    turn: int
    slot: int
    out: int
    empty: int
    no_room: int


class Watch:
    """What listens to the items that leave: this one does nothing; see those made of it."""

    def slots(self) -> frozenset[int]:
        """Give the slots whose items are to be told of."""
        return frozenset()

    def left(self, slot: int, turn: int) -> None:
        """Hear that an item left through a slot."""

    def missed(self, slot: int, turn: int) -> None:
        """Hear that an item that was meant did not leave through a slot."""

    def turn_over(self) -> None:
        """Hear that a turn is over."""

    def state(self) -> State:
        """Give what the future depends on at the begin of a turn."""
        return ()


class Run:
    """One run of a network, from the start on; `turn()` runs one more turn.

    count: items in each magazine. lowest, lowest_at: lowest count and (turn, slot) at which it was
    reached, slot -1 at the start. shortfalls: the first of each opening and kind, in order.
    events: what happened, where it is asked for.
    """

    def __init__(self, network: Network, watches: tuple[Watch, ...] = (), *, record: bool = False) -> None:
        self.network = network
        self.turns = 0
        self.shortfalls: dict[tuple[int, str], Shortfall] = {}
        self.events: list[Event] | None = [] if record else None
        self._watches = watches
        stores = network.stores
        self.count = [store.start for store in stores]
        self.lowest = list(self.count)
        self.lowest_at = [(0, -1)] * len(stores)
        self._taken = list(self.count)
        self._room = [store.capacity for store in stores]
        self._travel = [store.travel_us for store in stores]
        self._pending: list[deque[int]] = [deque() for _ in stores]
        self._out = [0] * len(network.openings)
        self._empty = [0] * len(network.openings)
        self._no_room = [0] * len(network.openings)
        self._first = [-1] * len(network.openings)
        self._set_up_sources()
        heard = [(watch, watch.slots()) for watch in watches]
        self._listeners = [
            tuple(watch for watch, slots in heard if index in slots) for index in range(len(network.slots))
        ]
        self._rows = [self._row(index) for index in range(len(network.slots))]
        self._first_rows = [self._rows[i] for i, slot in enumerate(network.slots) if not slot.carry]
        self._rated = [i for i, source in enumerate(network.sources) if source.pace and source.members]
        self._runs_on = any(slot.carry for slot in network.slots)
        self._fill_from_endless()

    def _set_up_sources(self) -> None:
        sources = self.network.sources
        self._next = [0] * len(sources)
        self._due = [WAITING] * len(sources)
        self._rest = [0] * len(sources)
        self._endless = [False] * len(self.network.stores)
        for index, source in enumerate(sources):
            if source.pace is not None:
                self._begin_interval(index, 0)
            for member in source.members if source.pace is None else ():
                self._endless[member] = True

    def _row(self, index: int) -> tuple[int, int, int, int, int, bool]:
        """Give a slot as the loop reads it: phase, slot, magazine, supply, magazine led to, special."""
        slot, network = self.network.slots[index], self.network
        supply = network.stores[slot.store].supply
        rated = supply >= 0 and network.sources[supply].pace is not None
        opening = network.openings[slot.opening]
        plain = opening.slots == 1 and opening.meant == 1
        to = network.ends.get(slot.route.end, -1)
        return (
            slot.phase_us,
            index,
            slot.store,
            supply if rated else -1,
            to,
            bool(self._listeners[index]) or not plain,
        )

    def _fill_from_endless(self) -> None:
        """Let endless supplies fill their magazines at the start."""
        for store, endless in enumerate(self._endless):
            free = self._room[store] - self._taken[store] if endless else 0
            self._taken[store] += free
            self._pending[store].extend([self._travel[store]] * free)
            if self.events is not None:
                self.events.extend([(0, Kind.SENT, store)] * free)

    def turn(self) -> None:  # noqa: PLR0912 - all time is spent here, so it is written flat
        """Run one turn."""
        turn = self.turns
        base = turn * self.network.clock.cycle_us
        count, pending, taken, due = self.count, self._pending, self._taken, self._due
        lowest, endless, travel, events = self.lowest, self._endless, self._travel, self.events
        for phase, slot, store, supply, to, special in self._rows if turn else self._first_rows:
            time = base + phase
            if supply >= 0 and due[supply] <= time:
                self._send(supply, time)
            line = pending[store]
            while line and line[0] <= time:
                arrived = line.popleft()
                count[store] += 1
                if events is not None:
                    events.append((arrived, Kind.ARRIVED, store))
            left = count[store] - 1
            if left < 0 or (to >= 0 and self._full(to, time)):
                self._kept(slot, turn, time, no_room=left >= 0)
                continue
            count[store] = left
            if left < lowest[store]:
                lowest[store] = left
                self.lowest_at[store] = (turn, slot)
            if events is not None:
                events.append((time, Kind.LEFT, slot))
            if supply >= 0 and due[supply] == WAITING:
                self._send_waiting(supply, store, time)
            elif endless[store]:
                line.append(time + travel[store])
                if events is not None:
                    events.append((time, Kind.SENT, store))
            else:
                taken[store] -= 1
            if to >= 0:
                self._send_on(slot, to, time)
            if special:
                self._left(slot, turn)
        self.turns = turn + 1
        for watch in self._watches:
            watch.turn_over()

    def _send(self, supply: int, until: int) -> None:
        """Let a supply send all that is due up to a time, to its magazines in turn."""
        source = self.network.sources[supply]
        members, pace = source.members, source.pace
        assert pace is not None, "endless supplies are never due"
        time, rest, next_one = self._due[supply], self._rest[supply], self._next[supply]
        taken, room = self._taken, self._room
        step, wrap = 2 * pace.part, 2 * pace.parts
        while time <= until:
            for ahead in range(len(members)):
                store = members[(next_one + ahead) % len(members)]
                if taken[store] < room[store]:
                    break
            else:
                time = WAITING
                break
            next_one = (next_one + ahead + 1) % len(members)
            self._dispatch(store, time)
            time += pace.whole
            rest += step
            if rest >= wrap:
                rest -= wrap
                time += 1
        self._due[supply], self._rest[supply], self._next[supply] = time, rest, next_one

    def _dispatch(self, store: int, time: int) -> None:
        """Send one item to a magazine."""
        self._taken[store] += 1
        self._queue(store, time + self._travel[store])
        if self.events is not None:
            self.events.append((time, Kind.SENT, store))

    def _queue(self, store: int, arrives: int) -> None:
        """Note an arrival; those from gates may overtake those from a supply."""
        line = self._pending[store]
        if line and line[-1] > arrives:
            insort(line, arrives)
        else:
            line.append(arrives)

    def _send_waiting(self, supply: int, store: int, time: int) -> None:
        """Send the item that waits at the mouth to the magazine in which a place is free now."""
        members = self.network.sources[supply].members
        self._next[supply] = (members.index(store) + 1) % len(members)
        self._taken[store] -= 1
        self._dispatch(store, time)
        self._begin_interval(supply, time)

    def _begin_interval(self, supply: int, time: int) -> None:
        """Start a supply's interval afresh; moments are rounded to the nearest, halves up."""
        pace = self.network.sources[supply].pace
        assert pace is not None, "endless supplies have no interval"
        due, rest = time + pace.whole, pace.parts + 2 * pace.part
        if rest >= 2 * pace.parts:
            due, rest = due + 1, rest - 2 * pace.parts
        self._due[supply], self._rest[supply] = due, rest

    def _full(self, store: int, time: int) -> bool:
        """Tell whether a magazine has no place free at a time."""
        supply = self.network.stores[store].supply
        if supply >= 0 and self._due[supply] <= time:
            self._send(supply, time)
        return self._taken[store] >= self._room[store]

    def _send_on(self, slot: int, store: int, time: int) -> None:
        """Send an item that left through a gate on to the next magazine."""
        latest = self.network.slots[slot].route.window[1]
        self._taken[store] += 1
        self._queue(store, time + latest + self._travel[store])

    def _left(self, slot: int, turn: int) -> None:
        """Count and tell of an item that left where more than the plain case is looked at."""
        row = self.network.slots[slot]
        opening = self.network.openings[row.opening]
        if opening.slots != 1 or opening.meant != 1:
            self._out[row.opening] += 1
            if row.last:
                self._close(row.opening, slot, turn - row.carry)
        for watch in self._listeners[slot]:
            watch.left(slot, turn)

    def _kept(self, slot: int, turn: int, time: int, *, no_room: bool) -> None:
        """Note that nothing left at a slot."""
        row = self.network.slots[slot]
        counts = self._no_room if no_room else self._empty
        counts[row.opening] += 1
        missed = self._out[row.opening] + self._empty[row.opening] + self._no_room[row.opening]
        if missed <= self.network.openings[row.opening].meant:
            for watch in self._listeners[slot]:
                watch.missed(slot, turn)
        if self._first[row.opening] < 0:
            self._first[row.opening] = slot
        if self.events is not None:
            self.events.append((time, Kind.NO_ROOM if no_room else Kind.EMPTY, slot))
        if row.last:
            self._close(row.opening, slot, turn - row.carry)

    def _close(self, opening: int, slot: int, turn: int) -> None:
        """Compare what an opening let out with what was meant, at its last slot."""
        out, empty, no_room = self._out[opening], self._empty[opening], self._no_room[opening]
        first, meant = self._first[opening], self.network.openings[opening].meant
        self._out[opening] = self._empty[opening] = self._no_room[opening] = 0
        self._first[opening] = -1
        kinds = ["more"] if out > meant else []
        if out < meant:
            kinds = ["empty"] * (empty > 0) + ["no room"] * (no_room > 0)
        for kind in kinds:
            seen = slot if first < 0 else first
            fall = Shortfall(opening, turn, seen, out, min(empty, meant - out), no_room)
            self.shortfalls.setdefault((opening, kind), fall)

    def state(self) -> bytes:
        """Give a digest of all that the future depends on, at the begin of the next turn.

        128 bits of BLAKE2: two states that differ do not share one.
        """
        start = self.turns * self.network.clock.cycle_us
        supplies = [self._supply_state(index, start) for index in self._rated]
        stores = [self._store_state(store, start) for store in range(len(self.count))]
        half_open = (self._out, self._empty, self._no_room) if self._runs_on else ()
        watched = tuple(watch.state() for watch in self._watches)
        return blake2b(dumps([supplies, stores, half_open, watched], 2), digest_size=16).digest()

    def _supply_state(self, supply: int, start: int) -> tuple[int, int, int]:
        if self._due[supply] < start:
            self._send(supply, start - 1)
        due = self._due[supply]
        if due == WAITING:
            return -1, 0, self._next[supply]
        return due - start, self._rest[supply], self._next[supply]

    def _store_state(self, store: int, start: int) -> tuple[int, ...]:
        line = self._pending[store]
        while line and line[0] < start:
            self._arrive(store)
        return (self.count[store], *[arrives - start for arrives in line])

    def _arrive(self, store: int) -> None:
        """Take the next item under way into its magazine."""
        time = self._pending[store].popleft()
        self.count[store] += 1
        if self.events is not None:
            self.events.append((time, Kind.ARRIVED, store))
