"""The network of the file format as processes of SimPy, a general-purpose discrete-event library.

Written from the format's text alone, in SimPy's own style: a process for each supply, gate and item,
events for free places, the library's queue for the order of events. Only the clock is shared by
agreement: whole microseconds, offsets rounded once, a supply's interval as an exact fraction. What it
gives is compared event for event with `shaftscore.judge.flow`.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import simpy

from shaftscore.model import Channel, Diverter, Flow, Gate, Magazine, State, Supply

Process = Generator[simpy.Event, None, None]
Window = tuple[int, int]
Angles = tuple[float, float, bool]
"""Start and length of a state interval, degrees, and whether it is a passing one."""

ARRIVAL, SUPPLY, GATE = 0, 2, 10
"""Priorities at one instant; what a freed place wakes has SimPy's normal priority, 1."""


@dataclass(eq=False)
class ModelItem:
    """One item: the turn and the name that the gate gave it which it left last; None without."""

    turn: int | None = None
    name: str = ""


@dataclass
class Arrived:
    """An item at a channel's end or at an outlet, with its window."""

    item: ModelItem
    gate: str
    window: Window


@dataclass
class ModelStore:
    """A magazine in the model."""

    record: Magazine
    items: list[tuple[int, int, ModelItem]] = field(default_factory=list)
    taken: int = 0
    freed: list[simpy.Event] = field(default_factory=list)

    @property
    def free(self) -> bool:
        return self.taken < self.record.capacity


class Model:
    """Builds the processes and logs (time, kind, id) for everything that happens."""

    def __init__(
        self, flow: Flow, speed_rpm: float, states: Callable[[State], Sequence[Angles]], turns: int
    ) -> None:
        self.env = simpy.Environment()
        self.flow, self.states, self.turns = flow, states, turns
        self.cycle = math.floor(60e6 / speed_rpm + 0.5)
        self.speed = Fraction(str(speed_rpm))
        self.log: list[tuple[int, str, str]] = []
        self.short: list[tuple[str, str, int]] = []
        self.starved: list[tuple[str, int]] = []
        self.lost: list[tuple[str, int]] = []
        self.ends: dict[str, list[Arrived]] = {c.id: [] for c in flow.channels}
        self.outlets: dict[str, list[Arrived]] = {o.id: [] for o in flow.outlets}
        self.lacking: list[tuple[int, str, set[str]]] = []
        self.serial = itertools.count()
        self.stores = {m.id: ModelStore(m) for m in flow.magazines}
        self.channels = {c.id: c for c in flow.channels}
        for store in self.stores.values():
            store.taken = store.record.start_count
            store.items = [(-1, next(self.serial), ModelItem()) for _ in range(store.taken)]
        for supply in flow.supplies:
            self.env.process(self.rated(supply) if supply.rate_per_min else self.endless(supply))
        for rank, gate in enumerate(flow.gates):
            self.env.process(self.gate(gate, rank))

    def run(self) -> Model:
        self.env.run(until=self.turns * self.cycle)
        return self

    # ---- time
    def at(self, time: int, priority: int) -> simpy.Event:
        """An event at a time with a priority among those of the same instant."""
        event = simpy.Event(self.env)
        event._ok, event._value = True, None
        self.env.schedule(event, priority=priority, delay=time - self.env.now)
        return event

    def us(self, seconds: float) -> int:
        return math.floor(seconds * 1e6 + 0.5)

    def offset(self, deg: float) -> int:
        return math.floor(deg * self.cycle / 360 + 0.5)

    def timed(self, state: State) -> list[tuple[int, int, bool]]:
        return sorted(
            (self.offset(start), self.offset(start + length), passing)
            for start, length, passing in self.states(state)
        )

    # ---- supplies
    def members(self, supply: Supply) -> list[ModelStore]:
        return [store for store in self.stores.values() if store.record.source == supply.id]

    def rated(self, supply: Supply) -> Process:
        members = self.members(supply)
        assert supply.rate_per_min is not None
        interval = self.cycle * self.speed / Fraction(str(supply.rate_per_min))
        begin, number = 0, 0
        while members:
            number += 1
            yield self.at(math.floor(begin + number * interval + Fraction(1, 2)), SUPPLY)
            if not any(store.free for store in members):
                yield self.env.any_of([self.freed(store) for store in members])
                begin, number = self.env.now, 0
            chosen = next(store for store in members if store.free)
            self.send(chosen, ModelItem())
            turn = members.index(chosen) + 1
            members = members[turn:] + members[:turn]

    def endless(self, supply: Supply) -> Process:
        for store in self.members(supply):
            self.env.process(self.kept_full(store))
        return
        yield

    def kept_full(self, store: ModelStore) -> Process:
        while True:
            while store.free:
                self.send(store, ModelItem())
            yield self.freed(store)

    def freed(self, store: ModelStore) -> simpy.Event:
        event = self.env.event()
        store.freed.append(event)
        return event

    def send(self, store: ModelStore, item: ModelItem, after: int = 0, *, log: bool = True) -> None:
        store.taken += 1
        if log:
            self.log.append((self.env.now, "sent", store.record.id))
        self.env.process(self.travel(store, item, self.env.now + after + self.us(store.record.travel_s)))

    def travel(self, store: ModelStore, item: ModelItem, arrives: int) -> Process:
        yield self.at(arrives, ARRIVAL)
        store.items.append((arrives, next(self.serial), item))
        self.log.append((arrives, "arrived", store.record.id))

    # ---- gates
    def gate(self, gate: Gate, rank: int) -> Process:
        openings = self.timed(gate.state)
        self.half_open(gate, openings)
        for turn in itertools.count():
            for place, (begin, end, passing) in enumerate(openings):
                start = turn * self.cycle + begin
                yield self.at(start, GATE + rank)
                meant = 0 if passing else 1 if gate.mode == "single" else gate.items
                moments = (
                    self.moments(gate, start, end - begin) if self.reloaded(gate, openings, place) else []
                )
                self.lacking += [(turn, gate.item, self.leads_to(gate.to))] * (meant - len(moments))
                out = 0
                for tried, moment in enumerate(moments):
                    if moment > self.env.now:
                        yield self.at(moment, GATE + rank)
                    out += self.try_out(gate, out, tried - out, meant)
                self.judge(gate, start, out, len(moments), meant)

    def half_open(self, gate: Gate, openings: list[tuple[int, int, bool]]) -> None:
        """Note what an opening that began before the start would have let out behind it."""
        for place, (begin, end, _) in enumerate(openings):
            if self.reloaded(gate, openings, place):
                for moment in self.moments(gate, begin - self.cycle, end - begin):
                    if moment >= 0:
                        to, _, lost = self.way(gate, moment)
                        ends = self.leads_to(gate.to) if lost else {to}
                        self.lacking.append((0, gate.item, ends))

    def moments(self, gate: Gate, start: int, length: int) -> list[int]:
        """When items can leave in an opening."""
        item = self.us(gate.item_s)
        if gate.mode == "single":
            return [start] if length >= item else []
        return list(range(start + item, start + length + 1, item))

    def reloaded(self, gate: Gate, openings: list[tuple[int, int, bool]], place: int) -> bool:
        if gate.reload is None:
            return True
        begin = openings[place][0]
        since = openings[place - 1][1] - (0 if place else self.cycle)
        stretches = [
            min(begin, end + lap) - max(since, start + lap)
            for start, end, _ in self.timed(gate.reload.state)
            for lap in range(-3 * self.cycle, 2 * self.cycle, self.cycle)
        ]
        return max([0, *stretches]) >= self.us(gate.reload.item_s)

    def try_out(self, gate: Gate, out: int, failed: int, meant: int) -> int:
        """Let an item out, or note that one that was meant did not leave."""
        left = self.let_out(gate)
        if not left and out + failed < meant:
            end, _, lost = self.way(gate, self.env.now)
            ends = self.leads_to(gate.to) if lost else {end}
            self.lacking.append((self.env.now // self.cycle, gate.item, ends))
        return left

    def let_out(self, gate: Gate) -> int:
        """Let one item out if there is one and room for it; tell how many left."""
        store = self.stores[gate.source]
        end, passed, lost = self.way(gate, self.env.now)
        after = passed[-1][1] if passed else (0, 0)
        if not store.items:
            self.log.append((self.env.now, "empty", gate.id))
        elif end in self.stores and not self.stores[end].free:
            self.log.append((self.env.now, "no room", gate.id))
        else:
            store.items.sort(key=lambda entry: entry[:2])
            store.items.pop(0)
            item = ModelItem(self.env.now // self.cycle, gate.item)
            self.log.append((self.env.now, "left", gate.id))
            store.taken -= 1
            waiting, store.freed = store.freed, []
            for event in waiting:
                if not event.triggered:
                    event.succeed()
            for channel, (early, late) in passed:
                self.ends[channel].append(Arrived(item, gate.id, (self.env.now + early, self.env.now + late)))
            self.arrive(gate, item, end, lost, after)
            return 1
        return 0

    def arrive(self, gate: Gate, item: ModelItem, end: str, lost: bool, after: Window) -> None:
        if end in self.stores:
            self.send(self.stores[end], item, after[1], log=False)
        elif lost:
            self.lost.append((gate.id, self.env.now))
            assert item.turn is not None
            self.lacking.append((item.turn, item.name, self.leads_to(gate.to)))
        elif end in self.outlets:
            window = (self.env.now + after[0], self.env.now + after[1])
            self.outlets[end].append(Arrived(item, gate.id, window))

    def judge(self, gate: Gate, start: int, out: int, tries: int, meant: int) -> None:
        turn = start // self.cycle
        if out > meant:
            self.short.append(("double-release", gate.id, turn))
        if tries < meant:
            self.short.append(("missed-release", gate.id, turn))
        if out < meant and (empty := self.since(start, "empty", gate)):
            self.short.append(("starvation", gate.id, turn))
            self.starved.append((gate.id, min(empty)))
        if out < meant and self.since(start, "no room", gate):
            self.short.append(("missed-release", gate.id, turn))

    def since(self, start: int, kind: str, gate: Gate) -> list[int]:
        return [entry[0] for entry in self.log if entry[1:] == (kind, gate.id) and entry[0] >= start]

    # ---- channels
    def way(self, gate: Gate, now: int) -> tuple[str, list[tuple[str, Window]], bool]:
        """Where an item that leaves now ends, its windows at the channels' ends, and whether it is lost."""
        early = late = 0
        here, passed = gate.to or "", []
        while here in self.channels:
            channel = self.channels[here]
            early, late = early + self.us(channel.travel_min_s), late + self.us(channel.travel_max_s)
            passed.append((here, (early, late)))
            found = self.leads(channel, now + early, now + late)
            if found is None:
                return "", passed, True
            here = found
        return here, passed, False

    def leads(self, channel: Channel, begin: int, end: int) -> str | None:
        """Where a channel leads an item that arrives between two times; None if misrouted."""
        if not isinstance(channel.to, Diverter):
            return channel.to
        through, partly = set(), set()
        for branch in channel.to.by_state:
            for start, stop in self.everywhere(branch.state, begin, end):
                if start <= begin and end <= stop:
                    through.add(branch.to)
                if min(stop, end) > max(start, begin) or (begin == end and start <= begin < stop):
                    partly.add(branch.to)
        return through.pop() if through and len(through | partly) == 1 else None

    def everywhere(self, state: State, begin: int, end: int) -> Iterator[Window]:
        """All times around a window at which a lane is in a state."""
        for start, stop, _ in self.timed(state):
            for turn in range(begin // self.cycle - 2, end // self.cycle + 3):
                yield start + turn * self.cycle, stop + turn * self.cycle

    # ---- what follows from the log
    def leads_to(self, to: str | None) -> set[str]:
        if to is None:
            return set()
        if to not in self.channels:
            return {to}
        ahead = self.channels[to].to
        ends = [b.to for b in ahead.by_state] if isinstance(ahead, Diverter) else [ahead]
        return {to} | set().union(*(self.leads_to(end) for end in ends))

    def meetings(self) -> set[tuple[str, frozenset[str]]]:
        """Channel and gates of all items that come closer than the headway, by looking at all pairs."""
        found = set()
        for channel in self.flow.channels:
            headway = self.us(channel.headway_s)
            for one, other in itertools.combinations(self.ends[channel.id], 2):
                apart = max(one.window[0] - other.window[1], other.window[0] - one.window[1], 0)
                if apart < headway:
                    found.add((channel.id, frozenset((one.gate, other.gate))))
        return found

    def wrong_turns(self, outlet: str, expects: Sequence[str]) -> set[int]:
        """The turns in which an outlet gets something else."""
        return {turn for turn in range(self.turns) if not self.as_expected(outlet, expects, turn)}

    def as_expected(self, outlet: str, expects: Sequence[str], turn: int) -> bool:
        came = [arrived for arrived in self.outlets[outlet] if arrived.item.turn == turn]
        came.sort(key=lambda arrived: sum(arrived.window))
        for one, other in itertools.combinations(came, 2):
            if one.item.name != other.item.name:
                swaps = one.window[1] > other.window[0] or sum(one.window) == sum(other.window)
                if swaps:
                    return False
        lacking = Counter(name for then, name, ends in self.lacking if then == turn and outlet in ends)
        names = [arrived.item.name for arrived in came]
        missing = len(expects) - len(names)
        return missing >= 0 and any(
            [name for place, name in enumerate(expects) if place not in gone] == names
            and not Counter(expects[place] for place in gone) - lacking
            for gone in itertools.combinations(range(len(expects)), missing)
        )
