"""The items of a flow: when they leave their gates, and the ways that they take.

Items of a turn are followed as the nominal machine leads them. Times are angles of the master shaft from the
start of the turn in which an item leaves, arrays (n,) over machines; seconds count at each machine's own
speed, travel times at its own share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from shaftscore.base.angles import ahead
from shaftscore.base.once import once
from shaftscore.model import Channel, Diverter, Flow, Gate
from shaftscore.rules import diverter
from shaftscore.rules.times import (
    Angle,
    Bools,
    Floats,
    LinearSpan,
    MachineTimes,
    RulePlace,
    Stretches,
    lanes_of,
)

Duration = TypeVar("Duration", int, float, Floats)
"""A time: whole microseconds, degrees or steps, or degrees over machines, (n,)."""

MOST_ITEMS = 1_000
"""Items a turn that are followed; with more, what moves is checked for the machine as drawn only."""


def is_crowded(times: MachineTimes, flow: Flow) -> bool:
    """Return whether more items leave in a turn than are followed."""
    return sum(_items_of(times, gate) for gate in flow.gates) > MOST_ITEMS


def meant_by(gate: Gate) -> int:
    """Return how many items an opening with a block is meant to let out."""
    return 1 if gate.mode == "single" else gate.items


def _items_of(times: MachineTimes, gate: Gate) -> int:
    """Count the items that a gate is meant to let out in a turn."""
    return sum(held.is_meant for held in times.held(gate.state)) * meant_by(gate)


@dataclass(frozen=True, eq=False)
class Arrival:
    """When items of one slot come to a place: angles (n,), from the begin of the turn in which they leave.

    leaves: when they left their gate. present: machines that have them.
    """

    lane: str
    name: str
    leaves: Floats
    earliest: Floats
    latest: Floats
    present: Bools


@dataclass(frozen=True, eq=False)
class ItemRoutes:
    """Everything that moves: arrivals by channel, the judgements of diverters, and by where items end."""

    arrivals: Mapping[str, list[Arrival]]
    diverted: Mapping[str, list[RulePlace]]
    ended: dict[str, list[Arrival]]


def ways(times: MachineTimes, flow: Flow) -> ItemRoutes:
    """Follow every item of a turn as the nominal machine leads it."""
    channels = {channel.id: channel for channel in flow.channels}
    found = ItemRoutes({name: [] for name in channels}, {name: [] for name in channels}, {})
    for gate in flow.gates:
        for item in leaving(times, gate):
            _follow(times, channels, gate, item, found)
    return found


def leaving(times: MachineTimes, gate: Gate) -> Iterator[Arrival]:
    """Yield the items that a gate is meant to let out in a turn, where they leave."""
    for held in times.held(gate.state):
        if not (held.is_meant and held.begins):
            continue
        there = held.present & held.meant
        begin = ahead(0.0, float(held.start[0])) + np.where(there, held.start - held.start[0], 0.0)
        for item in range(meant_by(gate)):
            leaves = begin + leaves_after(gate, gate.item_s * times.deg_per_s, item)
            yield Arrival(gate.state.lane, gate.item, leaves, leaves, leaves, there)


def leaves_after(gate: Gate, item: Duration, number: int) -> Duration:
    """Return how long after the start of an opening an item leaves; item: what one needs, number: from 0."""
    return item * (number + 1) if gate.mode == "stream" else item * 0


def onward(window: LinearSpan[Angle], least: float | Floats, most: float | Floats) -> LinearSpan[Angle]:
    """Return when items that enter a channel in a window come to its end.

    least, most: its travel, in the unit of the window; numbers, or (n,) over machines.
    """
    return LinearSpan(window.start + least, window.end + most)


def _follow(
    times: MachineTimes, channels: Mapping[str, Channel], gate: Gate, item: Arrival, found: ItemRoutes
) -> None:
    """Lead one item through channel after channel."""
    here = gate.to
    for _ in range(len(channels) + 1):
        channel = channels.get(here or "")
        if channel is None:
            found.ended.setdefault(here or "", []).append(item)
            return
        share = times.travel(channel.id) * times.deg_per_s
        window = LinearSpan(item.earliest, item.latest)
        window = onward(window, channel.travel_min_s * share, channel.travel_max_s * share)
        item = replace(item, earliest=window.start, latest=window.end)
        found.arrivals[channel.id].append(item)
        here = channel.to if isinstance(channel.to, str) else _divert(times, channel, item, found)


def _divert(times: MachineTimes, channel: Channel, item: Arrival, found: ItemRoutes) -> str | None:
    """Judge the diverter at a channel's end while an item arrives; return where the nominal one leads it."""
    assert isinstance(channel.to, Diverter)
    if not all(times.knows(branch.state) for branch in channel.to.by_state):
        return None
    window = Stretches(item.earliest, item.latest - item.earliest)
    slack, end = diverter.judged(times, channel.to, window)
    lanes = lanes_of(channel.to.lane, item.lane)
    found.diverted[channel.id].append(RulePlace(lanes, np.where(item.present, slack, np.inf)))
    return end


def reach(flow: Flow, to: str | None) -> frozenset[str]:
    """Return the ids of all channels, outlets and magazines that items sent `to` can get to by channels."""
    return flow.reach(to)


def supply_of(flow: Flow, magazine_id: str) -> str | None:
    """Return the one supply from which a magazine is filled, through others too; None for none or several."""
    return once(flow, ("supply of", magazine_id), lambda: _supply_of(flow, magazine_id))


def _supply_of(flow: Flow, magazine_id: str) -> str | None:
    supplies = once(flow, "supplies", lambda: {supply.id for supply in flow.supplies})
    sources = once(flow, "sources", lambda: {magazine.id: magazine.source for magazine in flow.magazines})
    found, seen, left = set[str](), set[str](), [magazine_id]
    while left:
        here = left.pop()
        if here in supplies:
            found.add(here)
        elif here in sources and here not in seen:
            seen.add(here)
            left += [source for source in (sources[here],) if source is not None]
            left += [gate.source for gate in flow.gates_into.get(here, ())]
    return found.pop() if len(found) == 1 else None
