"""Where elements stand: columns, banks, and the order in a column. Nobody lays out boxes.

A magazine that is filled through another magazine's gate stands one column further right than that one; its
gates follow it. Where magazines fill one another round, the first in the file stands leftmost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from shaftscore.judge.flow.drawn.records import ElementKey, ElementKind, FlowColumn, key_of
from shaftscore.model import Channel, Diverter, Flow, Gate, Project
from shaftscore.rules.items import reach

TITLES: Mapping[ElementKind, str] = {
    ElementKind.SUPPLY: "Supplies",
    ElementKind.MAGAZINE: "Magazines",
    ElementKind.GATE: "Gates on lanes",
    ElementKind.CHANNEL: "Channels",
    ElementKind.DIVERTER: "Diverters",
    ElementKind.OUTLET: "Outlets",
}
"""The headings of the columns."""

DEEPEST = 12
"""Magazines one behind the other that have columns of their own; those beyond stand in the last one."""


Member = TypeVar("Member")


@dataclass(frozen=True)
class Places:
    """Where the elements of one flow stand."""

    project: Project
    flow: Flow

    @cached_property
    def columns(self) -> tuple[FlowColumn, ...]:
        """The columns from left to right: magazines and gates once for each depth that there is."""
        stored = [
            self._column(kind, depth)
            for depth in range(max(self.depth.values(), default=0) + 1)
            for kind in (ElementKind.MAGAZINE, ElementKind.GATE)
        ]
        ends = (ElementKind.CHANNEL, ElementKind.DIVERTER, ElementKind.OUTLET)
        return (self._column(ElementKind.SUPPLY), *stored, *map(self._column, ends))

    def _column(self, kind: ElementKind, depth: int = 0) -> FlowColumn:
        there = (entry for entry in self._standing if entry == (kind, depth))
        return FlowColumn(kind, TITLES[kind], depth, is_empty=next(there, None) is None)

    @cached_property
    def _standing(self) -> frozenset[tuple[ElementKind, int]]:
        """What stands somewhere, and how deep."""
        flow = self.flow
        flat = {
            ElementKind.SUPPLY: flow.supplies,
            ElementKind.CHANNEL: flow.channels,
            ElementKind.OUTLET: flow.outlets,
            ElementKind.DIVERTER: tuple(one for one in flow.channels if isinstance(one.to, Diverter)),
        }
        deep = {(ElementKind.MAGAZINE, self.depth[one.id]) for one in flow.magazines}
        deep |= {(ElementKind.GATE, self.depth.get(one.source, 0)) for one in flow.gates}
        return frozenset([*((kind, 0) for kind, parts in flat.items() if parts), *deep])

    def column(self, kind: ElementKind, magazine: str = "") -> int:
        """Return the index of a column; magazine: id of the one that stands there, or whose gate does."""
        depth = self.depth.get(magazine, 0)
        return next(n for n, one in enumerate(self.columns) if one.kind is kind and one.depth == depth)

    @cached_property
    def depth(self) -> Mapping[str, int]:
        """By magazine, how many others it is filled through, at the most, those that go round left out."""
        fillers = self._fillers
        depth: dict[str, int] = {}
        for magazine in _fillers_first([one.id for one in self.flow.magazines], fillers):
            before = (depth[one] + 1 for one in fillers[magazine] if one in depth)
            depth[magazine] = min(DEEPEST, max(before, default=0))
        return depth

    @cached_property
    def _fillers(self) -> dict[str, list[str]]:
        """By magazine, those through whose gates it is filled, in file order."""
        found: dict[str, dict[str, None]] = {one.id: {} for one in self.flow.magazines}
        ends: dict[str | None, frozenset[str]] = {}
        for gate in self.flow.gates:
            if gate.to not in ends:
                ends[gate.to] = reach(self.flow, gate.to)
            for end in sorted(ends[gate.to] & found.keys() - {gate.source}):
                found[end][gate.source] = None
        return {magazine: list(sources) for magazine, sources in found.items()}

    # Banks

    @cached_property
    def banks(self) -> tuple[str, ...]:
        """The keys of the banks: groups of lanes that gates are on, in the order of the lanes."""
        used = {gate.state.lane for gate in self.flow.gates}
        return tuple(dict.fromkeys(lane.group for lane in self.project.lanes if lane.id in used))

    def bank_of_gate(self, gate: Gate) -> str:
        """Return the bank of a gate: its lane's group."""
        return self.project.lane(gate.state.lane).group

    @cached_property
    def bank_of_magazine(self) -> Mapping[str, str | None]:
        """By magazine, the bank that all its gates are in; None for none or several."""
        groups: dict[str, set[str]] = {one.id: set() for one in self.flow.magazines}
        for gate in self.flow.gates:
            groups.setdefault(gate.source, set()).add(self.bank_of_gate(gate))
        return {magazine: _only(own) for magazine, own in groups.items()}

    @cached_property
    def bank_of_supply(self) -> Mapping[str, str | None]:
        """By supply, the bank that all magazines which it fills are in; None for none or several."""
        groups: dict[str, set[str | None]] = {one.id: set() for one in self.flow.supplies}
        for magazine in self.flow.magazines:
            if magazine.source in groups:
                groups[magazine.source].add(self.bank_of_magazine[magazine.id])
        return {supply: _only(own) for supply, own in groups.items()}

    def bank_place(self, bank: str | None) -> int:
        """Return the place of a bank from the top; what is in none comes last."""
        return len(self.banks) if bank is None else self._bank_places[bank]

    @cached_property
    def _bank_places(self) -> Mapping[str, int]:
        return {bank: place for place, bank in enumerate(self.banks)}

    @cached_property
    def gates(self) -> tuple[Gate, ...]:
        """The gates from the top: by bank, then by magazine, then in file order."""
        magazines = {one.id: place for place, one in enumerate(self.flow.magazines)}

        def place(gate: Gate) -> tuple[int, int]:
            return self.bank_place(self.bank_of_gate(gate)), magazines.get(gate.source, -1)

        return tuple(sorted(self.flow.gates, key=place))

    # Parts by id

    @cached_property
    def lane_of(self) -> Mapping[str, str]:
        """By gate, the id of its lane."""
        return {gate.id: gate.state.lane for gate in self.flow.gates}

    def end(self, to: str | None) -> ElementKey | None:
        """Return the key of what items come to that are sent to an id: a channel, an outlet or a magazine."""
        return None if to is None else self._ends.get(to)

    @cached_property
    def _ends(self) -> Mapping[str, ElementKey]:
        parts = (
            (ElementKind.MAGAZINE, self.flow.magazines),
            (ElementKind.OUTLET, self.flow.outlets),
            (ElementKind.CHANNEL, self.flow.channels),
        )
        return {part.id: key_of(kind, part.id) for kind, own in parts for part in own}

    @property
    def diverted(self) -> Iterator[tuple[Channel, Diverter]]:
        """The channels with a diverter at their end."""
        for channel in self.flow.channels:
            if isinstance(channel.to, Diverter):
                yield channel, channel.to


def _only(own: set[Member]) -> Member | None:
    return next(iter(own)) if len(own) == 1 else None


def _fillers_first(magazines: list[str], fillers: Mapping[str, list[str]]) -> Iterator[str]:
    """Yield magazines so that those which fill one come before it, but for those that go round."""
    begun: set[str] = set()
    for root in magazines:
        way = [] if root in begun else [(root, iter(fillers[root]))]
        begun.add(root)
        while way:
            magazine, left = way[-1]
            ahead = next((one for one in left if one not in begun), None)
            if ahead is None:
                way.pop()
                yield magazine
            else:
                begun.add(ahead)
                way.append((ahead, iter(fillers[ahead])))
