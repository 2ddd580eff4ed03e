"""Whether items reach the outlets in the order that is expected, in every drawn machine.

Items keep the turn in which they leave in the machine as drawn, and are called as their gate calls them. An
outlet that items reach through a second magazine is not judged (`is_followed`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from shaftscore.judge.flow.network import reach
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.items import Arrival
from shaftscore.judge.spread.judged import LOST
from shaftscore.judge.spread.machines import Part
from shaftscore.model import Flow, Outlet


def is_followed(flow: Flow, outlet: Outlet) -> bool:
    """Return whether all that can reach an outlet comes straight from the magazines of its first gates."""
    sources = {gate.source for gate in flow.gates if outlet.id in reach(flow, gate.to)}
    return not any(sources & reach(flow, gate.to) for gate in flow.gates)


def orders(outlet: Outlet, arrivals: Sequence[Arrival]) -> Iterator[Part]:
    """Judge each item with all others of another name that come before it."""
    items = sorted(arrivals, key=lambda item: float(item.earliest[0] + item.latest[0]))
    if tuple(item.name for item in items) != outlet.expects:
        yield from (Part((item.lane,), np.full(len(item.leaves), LOST)) for item in items[:1])
        return
    latest: dict[str, tuple[Floats, str]] = {}
    for item in items:
        for name, (before, lane) in latest.items():
            if name != item.name:
                there = np.where(item.present, item.earliest - before, np.inf)
                yield Part(tuple(dict.fromkeys((lane, item.lane))), there)
        own = np.where(item.present, item.latest, -np.inf)
        former = latest.get(item.name)
        latest[item.name] = (own if former is None else np.maximum(own, former[0]), item.lane)
