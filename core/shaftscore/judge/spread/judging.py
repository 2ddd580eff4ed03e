"""All rules of a project, judged in every drawn machine."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.items import ItemRoutes, feeds, headways, is_crowded, openings, ways
from shaftscore.judge.spread.judged import LOST, parts_of, sweeps
from shaftscore.judge.spread.machines import Machines, RulePlace
from shaftscore.judge.spread.outlets import orders
from shaftscore.judge.spread.stock import stocks
from shaftscore.model import Channel, Exclusive, Flow, Magazine, Outlet, Project, Requires, Supply

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


@dataclass(frozen=True, eq=False)
class JudgedRule:
    """One rule in all machines.

    what: the number of the rule in the project (from 0), the guarded lane and level, or the id of the gate,
    channel, magazine, outlet, supply or sprung lane. parts: its places; never empty.
    """

    kind: Kind
    what: str
    parts: tuple[RulePlace, ...]

    @property
    def key(self) -> Key:
        """What identifies it."""
        return self.kind, self.what

    def first(self, count: int) -> JudgedRule:
        """Return the rule in the first machines."""
        parts = tuple(RulePlace(part.lanes, part.slack_deg[:count]) for part in self.parts)
        return JudgedRule(self.kind, self.what, parts)

    @cached_property
    def slack_deg(self) -> Floats:
        """Slack of the worst place in each machine, (n,)."""
        least: Floats = np.minimum.reduce([part.slack_deg for part in self.parts])
        return least

    @property
    def tightest(self) -> RulePlace:
        """The place that is the tightest in the nominal machine."""
        return min(self.parts, key=lambda part: float(part.slack_deg[0]))


def judge(
    machines: Machines, flow: FlowResult | None, wanted: Collection[Key] | None = None
) -> tuple[JudgedRule, ...]:
    """Judge every rule of the project that limits anything; those in `wanted` alone, unless it is None."""
    found = (
        JudgedRule(kind, what, tuple(parts))
        for kind, what, parts in _all(machines, flow)
        if wanted is None or (kind, what) in wanted
    )
    return tuple(judged for judged in found if judged.parts)


def _all(machines: Machines, flow: FlowResult | None) -> Iterator[tuple[Kind, str, Iterable[RulePlace]]]:
    for number, rule in enumerate(machines.project.rules):
        yield rule.kind, str(number), parts_of(machines, rule)
    for lane in machines.project.lanes:
        if machines.lane(lane.id) is not None:
            for level in lane.guarded:
                yield "pass-through", f"{lane.id} {level}", sweeps(machines, lane.id, level)
    yield from _items(machines, flow)
    for lane_id in machines.errors.effects.fails:
        yield "spring", lane_id, springs(machines, lane_id)


def springs(machines: Machines, lane_id: str) -> Iterator[RulePlace]:
    """Judge whether a lane's spring holds it in each machine; no degrees: it does or does not."""
    errors = machines.errors
    fails = errors.effects.fails[lane_id](*errors.spring_draws(lane_id))
    # What the nominal machine's spring does is a finding of its own.
    yield RulePlace((lane_id,), np.where(fails & (errors.draws.built > 0), LOST, np.inf))


def _items(machines: Machines, result: FlowResult | None) -> Iterator[tuple[Kind, str, Iterable[RulePlace]]]:
    flow = machines.project.flow
    if flow is None:
        return
    for gate in flow.gates:
        yield "release", gate.id, openings(machines, gate)
    if is_crowded(machines, flow):
        return
    moved = _Late(machines, flow)
    for channel in flow.channels:
        yield "headway", channel.id, moved.headways(channel)
        yield "diverter", channel.id, moved.diverted(channel)
    for magazine in flow.magazines:
        yield "stock", magazine.id, moved.stocks(magazine)
    for outlet in flow.outlets:
        yield "outlet-order", outlet.id, moved.orders(outlet)
    if result is not None:
        for supply in flow.supplies:
            yield "supply", supply.id, moved.feeds(result, supply)


@dataclass(frozen=True, eq=False)
class _Late:
    """The ways of all items, followed when they are first asked for."""

    machines: Machines
    flow: Flow

    @cached_property
    def _ways(self) -> ItemRoutes:
        return ways(self.machines, self.flow)

    def headways(self, channel: Channel) -> Iterator[RulePlace]:
        yield from headways(self.machines, channel, self._ways.arrivals[channel.id])

    @cached_property
    def _stocks(self) -> dict[str, tuple[RulePlace, ...]]:
        return {
            magazine.id: tuple(stocks(self.machines, self.flow, self._ways, magazine))
            for magazine in self.flow.magazines
        }

    def stocks(self, magazine: Magazine) -> Iterator[RulePlace]:
        yield from self._stocks[magazine.id]

    def feeds(self, result: FlowResult, supply: Supply) -> Iterator[RulePlace]:
        judged = [name for name, parts in self._stocks.items() if parts] if supply.rate_per_min else ()
        yield from feeds(self.machines, self.flow, result, supply.id, judged)

    def orders(self, outlet: Outlet) -> Iterator[RulePlace]:
        if outlet.expects:
            yield from orders(outlet, self._ways.ended.get(outlet.id, ()))

    def diverted(self, channel: Channel) -> Iterator[RulePlace]:
        yield from self._ways.diverted[channel.id]


def lanes_of(project: Project, key: Key) -> frozenset[str]:
    """Return the lanes on which a rule can depend."""
    kind, what = key
    if kind in OF_FLOW:
        return _lanes_of_flow(project)
    if kind in ("pass-through", "spring"):
        return frozenset((what.split(" ", 1)[0],))
    rule = project.rules[int(what)]
    if isinstance(rule, Exclusive):
        return frozenset(state.lane for state in rule.states)
    states = (rule.when, rule.need) if isinstance(rule, Requires) else (rule.first, rule.then)
    return frozenset(state.lane for state in states)


def _lanes_of_flow(project: Project) -> frozenset[str]:
    """Return the lanes of all gates and diverters."""
    assert project.flow is not None, "there are rules about items"
    return project.flow.lanes


def smallest(judged: Iterable[JudgedRule], count: int) -> Floats:
    """Return the smallest slack of all rules in each machine, (n,); infinite where nothing limits it."""
    least: Floats = np.minimum.reduce([np.full(count, np.inf), *(one.slack_deg for one in judged)])
    return least


def holding(slack_deg: Floats) -> int:
    """Count the drawn machines (the nominal one left out) in which a slack, (n,) degrees, is not broken."""
    return int(np.count_nonzero(slack_deg[1:] >= -LIMIT))
