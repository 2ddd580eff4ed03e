"""headway: items that come to a channel's end keep apart.

An item arrives somewhere in its window, from its earliest to its latest; between the latest of one and the
earliest of the next lies at least the headway.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.model import Channel
from shaftscore.rules.items import Arrival
from shaftscore.rules.times import Angle, Floats, LinearSpan, MachineTimes, RulePlace, lanes_of


def room(first: LinearSpan[Angle], second: LinearSpan[Angle], headway: float | Floats) -> Angle:
    """Return what is left between the window of an item and that of the one which comes after it.

    headway: in the unit of the windows; a number, or (n,) over machines.
    """
    left: Angle = second.start - first.end - headway
    return left


def places(times: MachineTimes, channel: Channel, arrivals: Sequence[Arrival]) -> Iterator[RulePlace]:
    """Judge each item with the next that comes to a channel's end."""
    if channel.headway_s <= 0 or not arrivals:
        return
    ring = sorted(arrivals, key=lambda item: ahead(0.0, float(item.earliest[0])))
    asked = channel.headway_s * times.deg_per_s
    for first, second in pairwise([*ring, ring[0]]):
        nominal = ahead(float(first.earliest[0]), float(second.earliest[0]))
        nominal = TURN if first is second else nominal
        moved = (second.earliest - second.earliest[0]) - (first.earliest - first.earliest[0])
        window = LinearSpan(np.zeros(times.count), first.latest - first.earliest)
        behind = nominal + moved
        slack = room(window, LinearSpan(behind, behind + second.latest - second.earliest), asked)
        there = first.present & second.present
        yield RulePlace(lanes_of(first.lane, second.lane), np.where(there, slack, np.inf))
