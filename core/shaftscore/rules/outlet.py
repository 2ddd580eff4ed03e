"""outlet order: items reach an outlet in the order that it expects.

Items keep the turn in which they leave in the machine as drawn, and are called as the gate calls them that
they left last.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.model import Outlet
from shaftscore.rules.items import Arrival
from shaftscore.rules.times import LOST, Floats, RulePlace, lanes_of


def places(outlet: Outlet, arrivals: Sequence[Arrival]) -> Iterator[RulePlace]:
    """Judge each item with all others of another name that come before it."""
    items = sorted(map(_in_its_turn, arrivals), key=lambda item: float(item.earliest[0] + item.latest[0]))
    if tuple(item.name for item in items) != outlet.expects:
        yield from (RulePlace((item.lane,), np.full(len(item.leaves), LOST)) for item in items[:1])
        return
    latest: dict[str, tuple[Floats, str]] = {}
    for item in items:
        for name, (before, lane) in latest.items():
            if name != item.name:
                there = np.where(item.present, item.earliest - before, np.inf)
                yield RulePlace(lanes_of(lane, item.lane), there)
        own = np.where(item.present, item.latest, -np.inf)
        former = latest.get(item.name)
        latest[item.name] = (own if former is None else np.maximum(own, former[0]), item.lane)


def _in_its_turn(item: Arrival) -> Arrival:
    """Count an item from the begin of the turn in which it leaves in the machine as drawn."""
    turns = float(item.leaves[0] // TURN)
    if not turns:
        return item
    earliest, latest = (angles - turns * TURN for angles in (item.earliest, item.latest))
    return replace(item, earliest=earliest, latest=latest)
