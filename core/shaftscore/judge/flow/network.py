"""The network of a project made ready to run: ids become indices, openings and routes are laid out.

*Magazines* are numbered in file order, and so are supplies and gates. A *slot* (see
`judge.flow.openings`) is numbered in the order in which the slots of one turn are due: by time, then by
the gates' order in the file. A gate that cannot be judged (its lane has no motion or is not looked at,
or its magazine is filled through such a gate) is left out.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from shaftscore.judge.flow.clock import CycleClock, Pace, microseconds
from shaftscore.judge.flow.openings import GateOpening, Stated, gate_openings, slot_times
from shaftscore.judge.flow.routes import ChannelRoutes, Route, States
from shaftscore.judge.flow.work import MOST_ITEMS
from shaftscore.model import Flow, Gate
from shaftscore.rules.items import reach


@dataclass(frozen=True)
class MagazineStore:
    """A magazine: supply is the index of its supply (-1: none), fed whether gates or channels lead here."""

    id: str
    capacity: int
    start: int
    travel_us: int
    supply: int
    fed: bool


@dataclass(frozen=True)
class Source:
    """A supply: pace is None where it is endless; members are the magazines that it fills, file order."""

    id: str
    pace: Pace | None
    members: tuple[int, ...]


@dataclass(frozen=True)
class Slot:
    """One moment of the cycle at which an item can leave.

    phase_us: offset in the turn in which it is due, 0 <= phase < cycle. carry: turns after the one in
    which its opening began (1 where a stream runs on through theta = 0). last: of its opening.
    """

    opening: int
    gate: int
    store: int
    phase_us: int
    carry: int
    last: bool
    route: Route


@dataclass(frozen=True)
class Network:
    """Everything that a run reads; see the module's text.

    stores, sources, gates, openings, slots: by index. ends: index of the magazine that each id names.
    left_out: ids of gates that are not judged. outside: ids of the magazines that none of the lanes that
    are looked at has to do with. whole: whether every gate that is looked at could be judged. crowded: items
    that the openings could let out in a turn, where these are too many to simulate: there are no slots then.
    """

    clock: CycleClock
    stores: tuple[MagazineStore, ...]
    sources: tuple[Source, ...]
    gates: tuple[Gate, ...]
    openings: tuple[GateOpening, ...]
    slots: tuple[Slot, ...]
    ends: Mapping[str, int]
    left_out: frozenset[str] = frozenset()
    outside: frozenset[str] = frozenset()
    whole: bool = True
    crowded: int = 0

    def slot_deg(self, index: int) -> float:
        """Return the master angle at which a slot is due, as exact as its opening's begin is."""
        slot = self.slots[index]
        opening = self.openings[slot.opening]
        after = slot.phase_us + slot.carry * self.clock.cycle_us - opening.begin_us
        return opening.interval.span.start if after == 0 else self.clock.deg(slot.phase_us)

    def part(self, stores: Collection[int]) -> Network:
        """Return the network of some magazines alone, renumbered; other gates are not in it."""
        kept = sorted(stores)
        store_at = {old: new for new, old in enumerate(kept)}
        own = [self.slots[index] for index in sorted(index for old in kept for index in self.drawn_at[old])]
        opened = sorted({slot.opening for slot in own})
        opening_at = {old: new for new, old in enumerate(opened)}
        sources = [source for source in self.sources if not store_at.keys().isdisjoint(source.members)]
        source_at = {source.id: new for new, source in enumerate(sources)}
        return replace(
            self,
            stores=tuple(
                replace(
                    store,
                    supply=source_at.get(self.sources[store.supply].id, -1) if store.supply >= 0 else -1,
                )
                for store in (self.stores[old] for old in kept)
            ),
            sources=tuple(
                replace(source, members=tuple(store_at[m] for m in source.members if m in store_at))
                for source in sources
            ),
            openings=tuple(self.openings[old] for old in opened),
            slots=tuple(
                replace(slot, store=store_at[slot.store], opening=opening_at[slot.opening]) for slot in own
            ),
            ends={self.stores[old].id: new for new, old in enumerate(kept)},
        )

    def with_rate(self, source: int, rate_per_min: float | None) -> Network:
        """Return the network with another rate of one supply (None: endless)."""
        pace = None if rate_per_min is None else self.clock.pace(rate_per_min)
        sources = list(self.sources)
        sources[source] = replace(sources[source], pace=pace)
        return replace(self, sources=tuple(sources))

    def with_store(self, store: int, capacity: int, start: int) -> Network:
        """Return the network with another capacity and start count of one magazine."""
        stores = list(self.stores)
        stores[store] = replace(stores[store], capacity=capacity, start=start)
        return replace(self, stores=tuple(stores))

    def feeders(self, store: int) -> list[int]:
        """Return the magazines out of which gates fill this one."""
        return sorted(self._fillers.get(store, ()))

    @cached_property
    def _fillers(self) -> dict[int, set[int]]:
        """By magazine, those out of which gates fill it."""
        found: dict[int, set[int]] = {}
        for slot in self.slots:
            if slot.route.end in self.ends:
                found.setdefault(self.ends[slot.route.end], set()).add(slot.store)
        return found

    @cached_property
    def drawn_at(self) -> list[list[int]]:
        """By magazine, the slots at which something leaves it."""
        found: list[list[int]] = [[] for _ in self.stores]
        for index, slot in enumerate(self.slots):
            found[slot.store].append(index)
        return found

    @cached_property
    def drawn_by_source(self) -> list[int]:
        """By supply, the slots of all magazines that it fills."""
        counts = [len(slots) for slots in self.drawn_at]
        return [sum(counts[member] for member in set(source.members)) for source in self.sources]

    @cached_property
    def own_openings(self) -> dict[int, list[int]]:
        """By gate, its openings."""
        found: dict[int, list[int]] = {}
        for index, opening in enumerate(self.openings):
            found.setdefault(opening.gate, []).append(index)
        return found

    @cached_property
    def linked(self) -> tuple[frozenset[int], ...]:
        """For each magazine, those (itself too) that influence one another by supplies or gates."""
        group = [{index} for index in range(len(self.stores))]
        pairs = [
            (slot.store, self.ends[slot.route.end]) for slot in self.slots if slot.route.end in self.ends
        ]
        pairs += [(source.members[0], member) for source in self.sources for member in source.members[1:]]
        for one, other in pairs:
            if group[one] is not group[other]:
                small, large = sorted((group[one], group[other]), key=len)
                large |= small
                for member in small:
                    group[member] = large
        return tuple(frozenset(members) for members in group)


def network(flow: Flow, clock: CycleClock, states: States, lanes: Collection[str] | None = None) -> Network:
    """Make the network of a flow ready to run.

    states: returns the intervals of states. lanes: the gates of other lanes are left out, and items that
    come to a diverter of another lane are not followed further.
    """
    ways = ChannelRoutes.of(flow, clock, states)
    away = {gate.id for gate in flow.gates if lanes is not None and gate.state.lane not in lanes}
    blind = {gate.id for gate in flow.gates if gate.id not in away and _blind(gate, states)}
    left_out = _behind(flow, away | blind)
    numbers = {magazine.id: index for index, magazine in enumerate(flow.magazines)}
    openings = tuple(
        opening
        for index, gate in enumerate(flow.gates)
        if gate.id not in left_out and gate.source in numbers
        for opening in gate_openings(index, gate, clock, _stated(gate, states))
    )
    many = sum(opening.slots for opening in openings)
    crowded = many if many > MOST_ITEMS else 0
    return Network(
        clock=clock,
        stores=_stores(flow),
        sources=_sources(flow, clock),
        gates=flow.gates,
        openings=openings,
        slots=() if crowded else _slots(flow, openings, numbers, ways),
        ends=numbers,
        left_out=left_out,
        outside=_outside(flow, away),
        whole=not blind and not crowded,
        crowded=crowded,
    )


def _stated(gate: Gate, states: States) -> Stated:
    own = states(gate.state) or ()
    return Stated(own, None if gate.reload is None else states(gate.reload.state) or ())


def _behind(flow: Flow, found: Collection[str]) -> frozenset[str]:
    """Return the gates found, and those whose magazines are filled through them."""
    known, grown = set[str](), set(found)
    while grown != known:
        known = set(grown)
        dark = {end for gate in flow.gates if gate.id in known for end in reach(flow, gate.to)}
        grown |= {gate.id for gate in flow.gates if gate.source in dark}
    return frozenset(known)


def _outside(flow: Flow, away: Collection[str]) -> frozenset[str]:
    """Return the magazines that have gates, but all of them on lanes that are not looked at."""
    drawn = {gate.source for gate in flow.gates}
    near = {gate.source for gate in flow.gates if gate.id not in away}
    return frozenset(drawn - near)


def _blind(gate: Gate, states: States) -> bool:
    asked = [gate.state] if gate.reload is None else [gate.state, gate.reload.state]
    return any(states(state) is None for state in asked)


def _stores(flow: Flow) -> tuple[MagazineStore, ...]:
    supplies = {supply.id: index for index, supply in enumerate(flow.supplies)}
    fed = {end for gate in flow.gates for end in reach(flow, gate.to)}
    return tuple(
        MagazineStore(
            id=magazine.id,
            capacity=magazine.capacity,
            start=magazine.start_count,
            travel_us=microseconds(magazine.travel_s),
            supply=supplies.get(magazine.source or "", -1),
            fed=magazine.id in fed,
        )
        for magazine in flow.magazines
    )


def _sources(flow: Flow, clock: CycleClock) -> tuple[Source, ...]:
    members: dict[str, list[int]] = {supply.id: [] for supply in flow.supplies}
    for index, magazine in enumerate(flow.magazines):
        if magazine.source in members:
            members[magazine.source].append(index)
    return tuple(
        Source(
            supply.id,
            None if supply.rate_per_min is None else clock.pace(supply.rate_per_min),
            tuple(members[supply.id]),
        )
        for supply in flow.supplies
    )


def _slots(
    flow: Flow, openings: tuple[GateOpening, ...], numbers: Mapping[str, int], ways: ChannelRoutes
) -> tuple[Slot, ...]:
    cycle = ways.clock.cycle_us
    slots: list[Slot] = []
    for index, opening in enumerate(openings):
        gate = flow.gates[opening.gate]
        times = list(slot_times(gate, opening))
        for step, time in enumerate(times):
            last, store = step == len(times) - 1, numbers[gate.source]
            phase, carry = time % cycle, time // cycle
            route = ways.route(gate.to, phase)
            slots.append(Slot(index, opening.gate, store, phase, carry, last, route))
    return tuple(sorted(slots, key=lambda slot: (slot.phase_us, slot.gate)))
