"""How far the flow is from failing, in every drawn machine.

Judged are, each on its own: that every opening lets out what is meant (the time that it is open, and the
time in its reload state, against what its items need), that items which follow one another through a
channel keep its headway, that a diverter holds its state while an item arrives, and that a supply gives what
the nominal machine needs of it, faster machines more. Not judged: what a magazine's capacity and start count
must be in other machines than the nominal one, and the order at the outlets. Seconds count at each
machine's own speed, travel times at its own share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from core.angles import TURN, ahead
from core.flow import FlowResult
from core.flow.network import reach
from core.model import Channel, Diverter, Flow, Gate
from core.spread.draws import Floats
from core.spread.judged import LOST, covered
from core.spread.machines import Held, Machines, Part
from core.tolerance import LIMIT


def openings(machines: Machines, gate: Gate) -> Iterator[Part]:
    """Judge every opening of a gate."""
    for held in machines.held(gate.state):
        meant = gate.items if gate.mode == "stream" else 1
        asked = gate.item_s * machines.deg_per_s
        right = held.length - asked * meant
        if gate.mode == "stream":
            right = np.minimum(right, asked * (meant + 1) - held.length)
        none = np.where(held.present & ~held.meant, asked - held.length, np.inf)
        if not (held.present[0] and held.meant[0]):
            yield Part((gate.state.lane,), none)
            continue
        open_ = held.present & held.meant & (held.length < TURN)
        yield Part((gate.state.lane,), np.where(open_, _reloaded(machines, gate, held, right), LOST))


def _reloaded(machines: Machines, gate: Gate, opening: Held, slack: Floats) -> Floats:
    """Lower the slack to that of the longest reload since the opening before."""
    if gate.reload is None:
        return slack
    others = [held for held in machines.held(gate.state) if held.present[0]]
    begin = float(opening.start[0])
    since = min(ahead(float(held.start[0]), begin) or TURN for held in others)
    loads = [
        np.where(held.present, held.length - gate.reload.item_s * machines.deg_per_s, LOST)
        for held in machines.held(gate.reload.state)
        if ahead(float(held.middle[0]), begin) < since
    ]
    longest = np.maximum.reduce(loads) if loads else np.full(len(slack), LOST)
    return np.minimum(slack, longest)


@dataclass(frozen=True, eq=False)
class Arrival:
    """When items of one slot come to a channel's end: angles (n,), unrolled, in machines that have them."""

    lane: str
    earliest: Floats
    latest: Floats
    present: np.typing.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Ways:
    """Everything that moves through channels: arrivals by channel, and the judgements of diverters."""

    arrivals: Mapping[str, list[Arrival]]
    diverted: Mapping[str, list[Part]]


def ways(machines: Machines, flow: Flow) -> Ways:
    """Follow every item of a turn as the nominal machine leads it."""
    channels = {channel.id: channel for channel in flow.channels}
    found = Ways({name: [] for name in channels}, {name: [] for name in channels})
    for gate in flow.gates:
        for held in machines.held(gate.state):
            if held.present[0] and held.meant[0] and held.length[0] < TURN:
                for item in range(1 if gate.mode == "single" else gate.items):
                    after = 0.0 if gate.mode == "single" else gate.item_s * (item + 1)
                    leaves = held.start + after * machines.deg_per_s
                    there = held.present & held.meant
                    _follow(machines, channels, gate, Arrival(gate.state.lane, leaves, leaves, there), found)
    return found


def _follow(
    machines: Machines, channels: Mapping[str, Channel], gate: Gate, item: Arrival, found: Ways
) -> None:
    """Lead one item through channel after channel."""
    here = gate.to
    for _ in channels:
        channel = channels.get(here or "")
        if channel is None:
            return
        share = machines.errors.travel(channel.id) * machines.deg_per_s
        early = item.earliest + channel.travel_min_s * share
        item = Arrival(item.lane, early, item.latest + channel.travel_max_s * share, item.present)
        found.arrivals[channel.id].append(item)
        here = channel.to if isinstance(channel.to, str) else _divert(machines, channel, item, found)


def _divert(machines: Machines, channel: Channel, item: Arrival, found: Ways) -> str | None:
    """Judge whether the nominal machine's branch holds while an item arrives; give its end."""
    assert isinstance(channel.to, Diverter)
    if machines.lane(channel.to.lane) is None:
        return None
    width = item.latest - item.earliest
    each = [
        (covered(item.earliest, width, machines.held(branch.state)), branch.to)
        for branch in channel.to.by_state
    ]
    slack, end = max(each, key=lambda pair: float(pair[0][0]))
    lanes = tuple(dict.fromkeys((channel.to.lane, item.lane)))
    found.diverted[channel.id].append(Part(lanes, np.where(item.present, slack, np.inf)))
    return end


def headways(machines: Machines, channel: Channel, arrivals: Sequence[Arrival]) -> Iterator[Part]:
    """Judge each item with the next that comes to a channel's end."""
    if channel.headway_s <= 0 or not arrivals:
        return
    ring = sorted(arrivals, key=lambda item: ahead(0.0, float(item.earliest[0])))
    asked = channel.headway_s * machines.deg_per_s
    for first, second in pairwise([*ring, ring[0]]):
        nominal = ahead(float(first.earliest[0]), float(second.earliest[0]))
        nominal = TURN if first is second else nominal
        moved = (second.earliest - second.earliest[0]) - (first.earliest - first.earliest[0])
        slack = nominal + moved - (first.latest - first.earliest) - asked
        there = first.present & second.present
        yield Part(tuple(dict.fromkeys((first.lane, second.lane))), np.where(there, slack, np.inf))


def feeds(machines: Machines, flow: Flow, result: FlowResult, supply: str) -> Iterator[Part]:
    """Judge whether a supply gives what each magazine on it needs; no degrees: it does or does not."""
    rate = next(one.rate_per_min for one in flow.supplies if one.id == supply)
    if rate is None:
        return
    for magazine, known in result.magazines.items():
        needed = known.needed_rate_per_min
        if needed is None or supply_of(flow, magazine) != supply:
            continue
        # The needed rate is rounded up to 0.1: what runs for ever in the nominal machine is enough there.
        needed = min(needed, rate) if result.holds_for_ever is True else needed
        enough = rate * machines.errors.rate(supply) >= needed * machines.errors.speed * (1 - LIMIT)
        yield Part((), np.where(enough, np.inf, LOST))


def supply_of(flow: Flow, magazine_id: str) -> str | None:
    """Give the one supply from which a magazine is filled, through others too; None for none or several."""
    supplies = {supply.id for supply in flow.supplies}
    sources = {magazine.id: magazine.source for magazine in flow.magazines}
    found, seen, left = set[str](), set[str](), [magazine_id]
    while left:
        here = left.pop()
        if here in supplies:
            found.add(here)
        elif here in sources and here not in seen:
            seen.add(here)
            left += [source for source in (sources[here],) if source is not None]
            left += [gate.source for gate in flow.gates if here in reach(flow, gate.to)]
    return found.pop() if len(found) == 1 else None
