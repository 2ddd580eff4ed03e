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
from shaftscore.rules.times import LOST, Angle, Floats, LinearSpan, RulePlace, lanes_of


def rank(window: LinearSpan[Angle]) -> Angle:
    """Return by what items are put in order: twice the middle of their windows."""
    twice: Angle = window.start + window.end
    return twice


def room(first: LinearSpan[Angle], second: LinearSpan[Angle]) -> Angle:
    """Return what is left between the window of an item and that of another name which comes after it."""
    left: Angle = second.start - first.end
    return left


def places(outlet: Outlet, arrivals: Sequence[Arrival]) -> Iterator[RulePlace]:
    """Judge each item with all others of another name that come before it."""
    items = sorted(map(_in_its_turn, arrivals), key=lambda item: float(rank(_window(item))[0]))
    if tuple(item.name for item in items) != outlet.expects:
        yield from (RulePlace((item.lane,), np.full(len(item.leaves), LOST)) for item in items[:1])
        return
    latest: dict[str, tuple[Floats, str]] = {}
    for item in items:
        for name, (before, lane) in latest.items():
            if name != item.name:
                left = room(LinearSpan(before, before), _window(item))
                there = np.where(item.present, left, np.inf)
                yield RulePlace(lanes_of(lane, item.lane), there)
        own = np.where(item.present, item.latest, -np.inf)
        former = latest.get(item.name)
        latest[item.name] = (own if former is None else np.maximum(own, former[0]), item.lane)


def _window(item: Arrival) -> LinearSpan[Floats]:
    return LinearSpan(item.earliest, item.latest)


def _in_its_turn(item: Arrival) -> Arrival:
    """Count an item from the begin of the turn in which it leaves in the machine as drawn."""
    turns = float(item.leaves[0] // TURN)
    if not turns:
        return item
    earliest, latest = (angles - turns * TURN for angles in (item.earliest, item.latest))
    return replace(item, earliest=earliest, latest=latest)
