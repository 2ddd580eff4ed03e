"""The lines of a drawn flow: how much passes along each, and which fail.

A line fails from a cause up to and including what it starves: from a supply that gives too little to its
magazine, and from an empty magazine to the gates that open in vain.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shaftscore.judge.flow.drawn.marks import About
from shaftscore.judge.flow.drawn.placing import Places
from shaftscore.judge.flow.drawn.records import ElementKey, ElementKind, FlowLine, LineState, key_of
from shaftscore.judge.flow.drawn.run import DrawnRun
from shaftscore.model import Flow


@dataclass(frozen=True)
class DrawnDemand:
    """What is drawn from magazines and supplies, items a minute; None where no gate of it could be judged."""

    of_magazine: dict[str, float | None]
    of_supply: dict[str, float]


def demand_of(flow: Flow, run: DrawnRun | None) -> DrawnDemand:
    """Return what the gates are meant to draw."""
    drawn: dict[str, float | None] = {one.id: None for one in flow.magazines}
    for gate in flow.gates:
        meant = None if run is None else run.meant.get(gate.id)
        if run is not None and meant is not None:
            drawn[gate.source] = (drawn.get(gate.source) or 0.0) + run.rate(meant)
    supplied = dict.fromkeys((one.id for one in flow.supplies), 0.0)
    for magazine in flow.magazines:
        if magazine.source in supplied:
            supplied[magazine.source] += drawn[magazine.id] or 0.0
    return DrawnDemand(drawn, supplied)


def failing_lines(abouts: tuple[About, ...]) -> frozenset[tuple[ElementKey, ElementKey]]:
    """Return the ends of the lines that fail."""
    failing: set[tuple[ElementKey, ElementKey]] = set()
    for about in abouts:
        if about.finding.rule == "starvation":
            failing |= {(about.cause, key_of(ElementKind.GATE, gate.id)) for gate in about.gates}
            failing |= {(key_of(ElementKind.SUPPLY, about.supply), about.cause)} if about.supply else set()
    return frozenset(failing)


_Passed = tuple[ElementKey, ElementKey | None, float]
"""A line: from, to (None where nothing is so called), items a minute."""


def lines_of(
    places: Places,
    run: DrawnRun | None,
    demand: DrawnDemand,
    failing: frozenset[tuple[ElementKey, ElementKey]],
) -> tuple[FlowLine, ...]:
    """Return the lines of a flow."""
    made: dict[tuple[ElementKey, ElementKey], FlowLine] = {}
    for start, end, per_min in (*_fed(places.flow, demand), *_gated(places, run), *_led(places, run)):
        if end is not None:
            flows = LineState.FLOWS if per_min > 0 else LineState.NOTHING
            state = LineState.FAILS if (start, end) in failing else flows
            made.setdefault((start, end), FlowLine(start, end, per_min, state))
    return tuple(made.values())


def _fed(flow: Flow, demand: DrawnDemand) -> Iterator[_Passed]:
    """Yield the lines from supplies: what is drawn, as far as the supply gives it."""
    supplies = {one.id: one for one in flow.supplies}
    for magazine in flow.magazines:
        supply = supplies.get(magazine.source or "")
        if supply is None:
            continue
        drawn, total = demand.of_magazine[magazine.id] or 0.0, demand.of_supply[supply.id]
        rate = supply.rate_per_min
        share = 1.0 if rate is None or total <= rate else rate / total
        start, end = key_of(ElementKind.SUPPLY, supply.id), key_of(ElementKind.MAGAZINE, magazine.id)
        yield start, end, drawn * share


def _gated(places: Places, run: DrawnRun | None) -> Iterator[_Passed]:
    """Yield the lines to gates and from them."""
    for gate in places.gates:
        here, magazine = key_of(ElementKind.GATE, gate.id), key_of(ElementKind.MAGAZINE, gate.source)
        meant = 0 if run is None else run.meant.get(gate.id, 0)
        passed = 0 if run is None or gate.to is None else run.passed.get((gate.id, gate.to), 0)
        yield magazine, here, 0.0 if run is None else run.rate(max(meant, passed))
        yield here, places.end(gate.to), 0.0 if run is None else run.rate(passed)


def _led(places: Places, run: DrawnRun | None) -> Iterator[_Passed]:
    """Yield the lines from channels and diverters."""
    for channel in places.flow.channels:
        here = key_of(ElementKind.CHANNEL, channel.id)
        if isinstance(channel.to, str):
            yield here, places.end(channel.to), _rate(run, channel.id, channel.to)
            continue
        flap = key_of(ElementKind.DIVERTER, channel.id)
        ends = dict.fromkeys(branch.to for branch in channel.to.by_state)
        yield here, flap, sum(_rate(run, channel.id, to) for to in ends)
        yield from ((flap, places.end(to), _rate(run, channel.id, to)) for to in ends)


def _rate(run: DrawnRun | None, here: str, there: str) -> float:
    return 0.0 if run is None else run.rate(run.passed.get((here, there), 0))
