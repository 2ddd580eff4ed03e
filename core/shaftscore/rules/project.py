"""All rules of a project, place by place, in one machine or in many."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any, Literal

from shaftscore.base.tolerance import LIMIT
from shaftscore.model import Channel, Flow, LevelState, Magazine, Outlet, Project, Rule, Supply
from shaftscore.rules import guarded, headway, opening, outlet, stock, supply
from shaftscore.rules.items import Arrival, ItemRoutes, is_crowded, supply_of, ways
from shaftscore.rules.kinds import MEANINGS, lanes_of_rule, meaning_of
from shaftscore.rules.times import MachineTimes, RulePlace, State

Kind = Literal[
    "exclusive",
    "requires",
    "order",
    "pass-through",
    "release",
    "headway",
    "diverter",
    "stock",
    "outlet-order",
    "supply",
    "spring",
]
"""What is judged: a rule of the project, a guarded level, a part of the flow, or the spring of a lane."""

OF_FLOW: frozenset[Kind] = frozenset(("release", "headway", "diverter", "stock", "outlet-order", "supply"))
"""Kinds that are about items."""

Key = tuple[str, str]
"""The kind of a rule, and what it is about."""

NeededRates = Mapping[str, float]
"""The rate that a magazine's supply must yield in the nominal machine, per minute, by its id."""

Judged = tuple[Kind, str, Iterator[RulePlace]]
"""A rule: its kind, what it is about, and its places.

What: the number of the rule in the project (from 0), the guarded lane and level, or the id of the gate,
channel, magazine, outlet, supply or sprung lane.
"""


@dataclass(frozen=True)
class _WantedRules:
    """What wanted rules are about, by their kind; None where all are wanted."""

    by_kind: Mapping[str, Collection[str]] | None

    @staticmethod
    def of(keys: Collection[Key] | None) -> _WantedRules:
        if keys is None:
            return _WantedRules(None)
        by_kind = defaultdict[str, set[str]](set)
        for kind, what in keys:
            by_kind[kind].add(what)
        return _WantedRules(by_kind)

    def some(self, kind: Kind) -> bool:
        """Return whether any rule of a kind is wanted."""
        return self.by_kind is None or kind in self.by_kind

    def one(self, kind: Kind, what: str) -> bool:
        """Return whether a rule is wanted."""
        return self.by_kind is None or what in self.by_kind.get(kind, ())

    def between_lanes(self, project: Project) -> Iterable[tuple[int, Rule]]:
        """Return the wanted rules between lanes with their numbers, without a look at the others."""
        if self.by_kind is None:
            return enumerate(project.rules)
        numbers = sorted(int(what) for kind in MEANINGS for what in self.by_kind.get(kind, ()))
        return ((number, project.rules[number]) for number in numbers)


def rules_of(
    times: MachineTimes, needed: NeededRates | None = None, wanted: Collection[Key] | None = None
) -> Iterator[Judged]:
    """Yield the rules of a project in its order; their places are judged when they are asked for.

    needed: rates that supplies must yield; without them supplies are not judged. wanted: the rules that are
    yielded; all if None.
    """
    chosen = _WantedRules.of(wanted)
    for number, rule in chosen.between_lanes(times.project):
        yield rule.kind, str(number), meaning_of(rule).places(times, rule)
    for lane in times.project.lanes if chosen.some("pass-through") else ():
        for level in lane.guarded:
            what = f"{lane.id} {level}"
            if chosen.one("pass-through", what) and times.knows(LevelState(lane=lane.id, level=level)):
                yield "pass-through", what, guarded.places(times, lane.id, level)
    if times.project.flow is not None:
        yield from _of_flow(times, times.project.flow, needed, chosen)


def _of_flow(
    times: MachineTimes, flow: Flow, needed: NeededRates | None, chosen: _WantedRules
) -> Iterator[Judged]:
    moved = _MovedItems(times, flow, needed or {})
    rows: tuple[tuple[Sequence[Any], dict[Kind, Callable[[Any], Iterator[RulePlace]]]], ...] = (
        (flow.gates, {"release": partial(opening.places, times)}),
        (flow.channels, {"headway": moved.headways, "diverter": moved.diverted}),
        (flow.magazines, {"stock": moved.stocks}),
        (flow.outlets, {"outlet-order": moved.orders}),
        (flow.supplies if needed is not None else (), {"supply": moved.feeds}),
    )
    for parts, judges in rows:
        if not any(map(chosen.some, judges)):
            continue
        for part in parts:
            for kind, places in judges.items():
                if chosen.one(kind, part.id):
                    yield kind, part.id, places(part)


@dataclass(frozen=True, eq=False)
class _MovedItems:
    """The ways of all items, followed when they are first asked for; none of a flow that is crowded.

    What magazines hold that supplies fill asks for no way.
    """

    times: MachineTimes
    flow: Flow
    needed: NeededRates

    @cached_property
    def _is_crowded(self) -> bool:
        return is_crowded(self.times, self.flow)

    @cached_property
    def _ways(self) -> ItemRoutes | None:
        return None if self._is_crowded else ways(self.times, self.flow)

    def _ended(self, magazine: Magazine) -> Sequence[Arrival]:
        return () if self._ways is None else self._ways.ended.get(magazine.id, ())

    def headways(self, channel: Channel) -> Iterator[RulePlace]:
        if self._ways is not None:
            yield from headway.places(self.times, channel, self._ways.arrivals[channel.id])

    @cached_property
    def _stocks(self) -> dict[str, tuple[RulePlace, ...]]:
        if self._is_crowded:
            return {}
        return {
            magazine.id: tuple(stock.places(self.times, self.flow, self._ended, magazine))
            for magazine in self.flow.magazines
        }

    def stocks(self, magazine: Magazine) -> Iterator[RulePlace]:
        yield from self._stocks.get(magazine.id, ())

    @cached_property
    def _needed_of(self) -> Mapping[str | None, NeededRates]:
        """The needed rates by the supply that alone fills the magazine."""
        found = defaultdict[str | None, dict[str, float]](dict)
        for magazine, rate in self.needed.items():
            found[supply_of(self.flow, magazine)][magazine] = rate
        return found

    def feeds(self, source: Supply) -> Iterator[RulePlace]:
        needed = self._needed_of.get(source.id)
        if needed is None or self._is_crowded:
            return
        judged = [name for name in needed if self._stocks.get(name)] if source.rate_per_min else ()
        yield from supply.places(self.times, source, needed, judged)

    def orders(self, end: Outlet) -> Iterator[RulePlace]:
        if end.expects and self._ways is not None:
            yield from outlet.places(end, self._ways.ended.get(end.id, ()))

    def diverted(self, channel: Channel) -> Iterator[RulePlace]:
        if self._ways is not None:
            yield from self._ways.diverted[channel.id]


def states_by_lane(project: Project) -> dict[str, tuple[State, ...]]:
    """Return the states that the rules of a project speak of, each once, by their lanes."""
    states = [state for rule in project.rules for state in meaning_of(rule).states(rule)]
    states += [LevelState(lane=lane.id, level=level) for lane in project.lanes for level in lane.guarded]
    states += [] if project.flow is None else project.flow.states
    found: dict[str, list[State]] = {}
    for state in dict.fromkeys(states):
        found.setdefault(state.lane, []).append(state)
    return {lane_id: tuple(own) for lane_id, own in found.items()}


def lanes_of_key(project: Project, key: Key) -> frozenset[str]:
    """Return the lanes on which a rule can depend: of one about items, those of all gates and diverters."""
    kind, what = key
    if kind in OF_FLOW:
        assert project.flow is not None, "there are rules about items"
        return project.flow.lanes
    if kind in ("pass-through", "spring"):
        return frozenset((what.split(" ", 1)[0],))
    return frozenset(lanes_of_rule(project.rules[int(what)]))


def broken_places(times: MachineTimes, lanes: Collection[str]) -> int:
    """Count the places that the nominal machine breaks, of the rules between lanes that name some lanes."""
    rules = [rule for rule in times.project.rules if not set(lanes).isdisjoint(lanes_of_rule(rule))]
    places = (part for rule in rules for part in meaning_of(rule).places(times, rule))
    return sum(float(part.slack_deg[0]) < -LIMIT for part in places)
