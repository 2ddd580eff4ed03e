"""The run: what leaves, arrives and is sent, event by event, turn after turn.

All that can happen is due to the slots of the gates (see `judge.flow.openings`), which repeat every turn.
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
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from hashlib import blake2b
from marshal import dumps

from shaftscore.judge.flow.clock import Pace
from shaftscore.judge.flow.network import Network

WAITING = 1 << 100
"""When the next item of a supply is due that waits at the mouth: never, until a place is free."""


SHORT_STATE = 500
"""Bytes up to which a state is kept as it is."""


class EventKind(IntEnum):
    """What an event is: sent to a magazine, arrived in it, left it through a slot, or did not leave."""

    SENT = 0
    ARRIVED = 1
    LEFT = 2
    EMPTY = 3
    NO_ROOM = 4


State = tuple["int | str | State", ...]
"""Part of a run's state: nested tuples of whole numbers and texts."""

Event = tuple[int, EventKind, int]
"""(time µs, kind, index): of the magazine (SENT, ARRIVED) or of the slot (LEFT, EMPTY, NO_ROOM)."""


@dataclass(frozen=True)
class Shortfall:
    """An opening that let out another number of items than meant.

    turn: in which the opening began, from 0. slot: where this kind was first seen. out: items that left.
    empty, no_room: slots at which nothing was there, or no place to go to.
    """

    opening: int
    turn: int
    slot: int
    out: int
    empty: int
    no_room: int


class RunWatch:
    """What listens to the items that leave: this one does nothing; see those made of it."""

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:
        """Handle the end of a turn.

        left: slots at which items left, in the order of time. missed: slots at which an item that was
        meant did not leave.
        """

    def state(self) -> State:
        """Return what the future depends on at the begin of the next turn."""
        return ()


@dataclass(frozen=True)
class Feed:
    """A supply with a rate as the loop reads it.

    many: whether it serves several magazines, or one that gates fill too. pace: its interval; twice
    its parts are counted, so that moments are rounded to the nearest, halves up. first_us, first_rest:
    length and rest of an interval that begins when an item is sent.
    """

    many: bool
    members: tuple[int, ...]
    whole: int
    step: int
    wrap: int
    first_us: int
    first_rest: int

    @staticmethod
    def of(pace: Pace, members: tuple[int, ...], *, fed: bool) -> Feed:
        """Lay out a supply; `fed` says that gates fill one of its magazines too."""
        step, wrap = 2 * pace.part, 2 * pace.parts
        over = pace.parts + step >= wrap
        first = pace.whole + over, pace.parts + step - wrap * over
        return Feed(len(members) > 1 or fed, members, pace.whole, step, wrap, *first)


_Row = tuple[int, int, int, int, "Feed | None", int, bool]


class FlowRun:
    """One run of a network, from the start on; `turn()` runs one more turn.

    count: items in each magazine. lowest, lowest_at: lowest count and (turn, slot) at which it was
    reached, slot -1 at the start. shortfalls: the first of each opening and kind, in order.
    events: what happened, where it is asked for. found_full: magazines that were found full when an item was
    to be sent there. held_back: magazines whose item could not leave, since the next one was full.
    """

    def __init__(self, network: Network, watches: tuple[RunWatch, ...] = (), *, record: bool = False) -> None:
        self.network = network
        self.turns = 0
        self.shortfalls: dict[tuple[int, str], Shortfall] = {}
        self.events: list[Event] | None = [] if record else None
        self.found_full: set[int] = set()
        self.held_back: set[int] = set()
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
        self._first_empty = [-1] * len(network.openings)
        self._first_no_room = [-1] * len(network.openings)
        self._set_up_sources()
        self._set_up_slots()
        self._fill_from_endless()

    def _set_up_sources(self) -> None:
        sources, stores = self.network.sources, self.network.stores
        self._next = [0] * len(sources)
        self._due = [WAITING] * len(sources)
        self._rest = [0] * len(sources)
        self._endless = [False] * len(stores)
        self._feeds: list[Feed | None] = [None] * len(sources)
        for index, source in enumerate(sources):
            if source.pace is not None and source.members:
                fed = any(stores[member].fed for member in source.members)
                feed = self._feeds[index] = Feed.of(source.pace, source.members, fed=fed)
                self._due[index], self._rest[index] = feed.first_us, feed.first_rest
            for member in source.members if source.pace is None else ():
                self._endless[member] = True

    def _set_up_slots(self) -> None:
        slots = self.network.slots
        self._rows = [self._row(index) for index in range(len(slots))]
        self._all = tuple(range(len(slots)))
        self._first_all = tuple(index for index, slot in enumerate(slots) if not slot.carry)
        self._first_rows = [self._rows[index] for index in self._first_all]
        self._runs_on = any(slot.carry for slot in slots)
        self._kept: list[int] = []
        self._missed: list[int] = []

    def _row(self, index: int) -> _Row:
        """Return a slot as the loop reads it: phase, slot, magazine, supply, feed, next magazine, counted."""
        slot, network = self.network.slots[index], self.network
        supply = network.stores[slot.store].supply
        feed = self._feeds[supply] if supply >= 0 else None
        opening = network.openings[slot.opening]
        counted = opening.slots != 1 or opening.meant != 1
        return slot.phase_us, index, slot.store, supply, feed, network.ends.get(slot.route.end, -1), counted

    def _fill_from_endless(self) -> None:
        """Let endless supplies fill their magazines at the start."""
        for store, endless in enumerate(self._endless):
            free = self._room[store] - self._taken[store] if endless else 0
            self._taken[store] += free
            self._pending[store].extend([self._travel[store]] * free)
            if self.events is not None:
                self.events.extend([(0, EventKind.SENT, store)] * free)

    def turn(self) -> None:
        """Run one turn, and tell the watches."""
        turn, self.turns = self.turns, self.turns + 1
        left: Sequence[int] = self._all if turn else self._first_all
        self._run(self._rows if turn else self._first_rows, turn)
        if self._kept:
            kept = set(self._kept)
            left = [slot for slot in left if slot not in kept]
        for watch in self._watches:
            watch.turn_over(turn, left, self._missed)
        if self._kept:
            self._kept, self._missed = [], []

    def _run(self, rows: Sequence[_Row], turn: int) -> None:  # noqa: PLR0912 - all time goes here
        """Go from slot to slot; written flat, and calling only what is rare, since all time is spent here."""
        base = turn * self.network.clock.cycle_us
        count, pending, taken, room = self.count, self._pending, self._taken, self._room
        due, rest, travel, lowest = self._due, self._rest, self._travel, self.lowest
        endless, events = self._endless, self.events
        for phase, slot, store, supply, feed, to, counted in rows:
            time = base + phase
            line = pending[store]
            if feed is not None and due[supply] <= time:
                if feed.many or events is not None or taken[store] < room[store]:
                    self._send(supply, time)
                else:
                    due[supply], rest[supply] = WAITING, 0
                    self.found_full.add(store)
            while line and line[0] <= time:
                arrived = line.popleft()
                count[store] += 1
                if events is not None:
                    events.append((arrived, EventKind.ARRIVED, store))
            left = count[store] - 1
            if left < 0 or (to >= 0 and self._is_full(to, time)):
                self._keep(slot, turn, time, no_room=left >= 0)
                continue
            count[store] = left
            if left < lowest[store]:
                lowest[store] = left
                self.lowest_at[store] = (turn, slot)
            if events is not None:
                events.append((time, EventKind.LEFT, slot))
            if feed is not None and due[supply] == WAITING:
                if feed.many or events is not None:
                    self._send_waiting(feed, store, time)
                else:
                    line.append(time + travel[store])
                due[supply] = time + feed.first_us
                rest[supply] = feed.first_rest
            elif endless[store]:
                line.append(time + travel[store])
                if events is not None:
                    events.append((time, EventKind.SENT, store))
            else:
                taken[store] -= 1
            if to >= 0:
                self._send_on(slot, to, time)
            if counted:
                self._count_out(slot, turn)

    def _send(self, supply: int, until: int) -> None:
        """Let a supply send all that is due up to a time, to its magazines in turn."""
        feed = self._feeds[supply]
        assert feed is not None, "endless supplies are never due"
        time, rest = self._due[supply], self._rest[supply]
        while time <= until:
            store = self._served(supply, feed.members)
            if store < 0:
                time, rest = WAITING, 0
                break
            self._dispatch(store, time)
            time += feed.whole
            rest += feed.step
            if rest >= feed.wrap:
                rest -= feed.wrap
                time += 1
        self._due[supply], self._rest[supply] = time, rest

    def _served(self, supply: int, members: tuple[int, ...]) -> int:
        """Return the next magazine in turn that has a place free, -1 for none."""
        start = self._next[supply]
        for place in (*range(start, len(members)), *range(start)):
            store: int = members[place]
            if self._taken[store] < self._room[store]:
                self._next[supply] = (place + 1) % len(members)
                return store
            self.found_full.add(store)
        return -1

    def _dispatch(self, store: int, time: int) -> None:
        """Send one item to a magazine."""
        self._taken[store] += 1
        self._queue(store, time + self._travel[store])
        if self.events is not None:
            self.events.append((time, EventKind.SENT, store))

    def _queue(self, store: int, arrives: int) -> None:
        """Note an arrival; those from gates may overtake those from a supply."""
        line = self._pending[store]
        if line and line[-1] > arrives:
            insort(line, arrives)
        else:
            line.append(arrives)

    def _send_waiting(self, feed: Feed, store: int, time: int) -> None:
        """Send the item that waits at the mouth to the magazine in which a place is free now."""
        self._next[self.network.stores[store].supply] = (feed.members.index(store) + 1) % len(feed.members)
        self._taken[store] -= 1
        self._dispatch(store, time)

    def _is_full(self, store: int, time: int) -> bool:
        """Return whether a magazine has no place free at a time."""
        supply = self.network.stores[store].supply
        if supply >= 0 and self._due[supply] <= time:
            self._send(supply, time)
        is_full = self._taken[store] >= self._room[store]
        if is_full:
            self.found_full.add(store)
        return is_full

    def _send_on(self, slot: int, store: int, time: int) -> None:
        """Send an item that left through a gate on to the next magazine."""
        latest = self.network.slots[slot].route.window[1]
        self._taken[store] += 1
        self._queue(store, time + latest + self._travel[store])

    def _count_out(self, slot: int, turn: int) -> None:
        """Count an item that left through an opening that may let out several, or none."""
        row = self.network.slots[slot]
        self._out[row.opening] += 1
        if row.last:
            self._close(row.opening, slot, turn - row.carry)

    def _keep(self, slot: int, turn: int, time: int, *, no_room: bool) -> None:
        """Note that nothing left at a slot."""
        row = self.network.slots[slot]
        self._kept.append(slot)
        counts = self._no_room if no_room else self._empty
        counts[row.opening] += 1
        if no_room:
            self.held_back.add(row.store)
        tried = self._out[row.opening] + self._empty[row.opening] + self._no_room[row.opening]
        if tried <= self.network.openings[row.opening].meant:
            self._missed.append(slot)
        firsts = self._first_no_room if no_room else self._first_empty
        if firsts[row.opening] < 0:
            firsts[row.opening] = slot
        if self.events is not None:
            self.events.append((time, EventKind.NO_ROOM if no_room else EventKind.EMPTY, slot))
        if row.last:
            self._close(row.opening, slot, turn - row.carry)

    def _close(self, opening: int, slot: int, turn: int) -> None:
        """Compare what an opening let out with what was meant, at its last slot."""
        out, empty, no_room = self._out[opening], self._empty[opening], self._no_room[opening]
        meant = self.network.openings[opening].meant
        firsts = {"empty": self._first_empty[opening], "no room": self._first_no_room[opening]}
        self._out[opening] = self._empty[opening] = self._no_room[opening] = 0
        self._first_empty[opening] = self._first_no_room[opening] = -1
        kinds = {"more": slot} if out > meant else {}
        if out < meant:
            kinds = {kind: first for kind, first in firsts.items() if first >= 0}
        for kind, seen in kinds.items():
            fall = Shortfall(opening, turn, seen, out, min(empty, meant - out), no_room)
            self.shortfalls.setdefault((opening, kind), fall)

    def state(self) -> bytes:
        """Return all that the future depends on, at the begin of the next turn; long ones as a digest.

        Turn 0 alone goes without the openings that run through theta = 0, so where there are any, the start
        is a state of its own. 128 bits of BLAKE2: two states that differ do not share one.
        """
        return _short([self.count, *self._parts()])

    def shape(self) -> bytes:
        """Return the same without how many items the magazines hold."""
        return _short(self._parts())

    def _parts(self) -> list[object]:
        """Bring all up to date and return the parts of the state, but for the counts."""
        start = self.turns * self.network.clock.cycle_us
        self._bring_up(start)
        under_way = [[time - start for time in line] if line else 0 for line in self._pending]
        supplies = [-1 if due == WAITING else due - start for due in self._due]
        half_open = (self.turns > 0, self._out, self._empty, self._no_room) if self._runs_on else ()
        watched = [watch.state() for watch in self._watches]
        return [under_way, supplies, self._rest, self._next, half_open, watched]

    def watch_turn(self) -> None:
        """Note lowest counts, full magazines and those held back from here on, as for one turn."""
        self.lowest[:] = self.count
        self.found_full.clear()
        self.held_back.clear()

    def skip(self, turns: int, gained: Sequence[int]) -> None:
        """Be so many turns later, with so many more items in each magazine, and all else as it is."""
        later = turns * self.network.clock.cycle_us
        self.turns += turns
        for store, more in enumerate(gained):
            self.count[store] += more
            self._taken[store] += more
            self._pending[store] = deque(time + later for time in self._pending[store])
        self._due = [due if due == WAITING else due + later for due in self._due]

    def _bring_up(self, start: int) -> None:
        """Let all be sent and arrive that was due before a time."""
        if self._due and min(self._due) < start:
            for supply, due in enumerate(self._due):
                if due < start:
                    self._send(supply, start - 1)
        for store, line in enumerate(self._pending):
            while line and line[0] < start:
                self._arrive(store)

    def _arrive(self, store: int) -> None:
        """Take the next item under way into its magazine."""
        time = self._pending[store].popleft()
        self.count[store] += 1
        if self.events is not None:
            self.events.append((time, EventKind.ARRIVED, store))


def _short(parts: list[object]) -> bytes:
    """Pack parts of a state; long ones as a digest."""
    packed = dumps(parts, 2)
    return packed if len(packed) <= SHORT_STATE else blake2b(packed, digest_size=16).digest()
