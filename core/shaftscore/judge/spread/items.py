"""How far the flow is from failing, in every drawn machine.

Judged are, each on its own: that every opening lets out what is meant (the time that it is open, and the
time in its reload state, against what its items need), that items which follow one another through a
channel keep its headway, that a diverter holds its state while an item arrives, and that a supply gives what
the nominal machine needs of it, faster machines more (for magazines that `judge.spread.stock` does not
judge). Seconds count at each machine's own speed, travel times at its own share.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.flow.network import reach
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.judged import LOST, covered
from shaftscore.judge.spread.machines import DrawnIntervals, Machines, RulePlace
from shaftscore.model import Channel, Diverter, Flow, Gate

MOST_ITEMS = 1_000
"""Items a turn that are followed; with more, what moves is judged in the machine as drawn only."""


def is_crowded(machines: Machines, flow: Flow) -> bool:
    """Return whether more items leave in a turn than are followed."""
    return sum(_meant(machines, gate) for gate in flow.gates) > MOST_ITEMS


def _meant(machines: Machines, gate: Gate) -> int:
    """Count the items that a gate is meant to let out in a turn."""
    held = [one for one in machines.held(gate.state) if one.present[0] and one.meant[0]]
    return len(held) * (1 if gate.mode == "single" else gate.items)


def openings(machines: Machines, gate: Gate) -> Iterator[RulePlace]:
    """Judge every opening of a gate."""
    for held in machines.held(gate.state):
        meant = gate.items if gate.mode == "stream" else 1
        asked = gate.item_s * machines.deg_per_s
        right = held.length - asked * meant
        if gate.mode == "stream":
            right = np.minimum(right, asked * (meant + 1) - held.length)
        none = np.where(held.present & ~held.meant, asked - held.length, np.inf)
        if not (held.present[0] and held.meant[0]):
            yield RulePlace((gate.state.lane,), none)
            continue
        open_ = held.present & held.meant & (held.length < TURN)
        yield RulePlace((gate.state.lane,), np.where(open_, _reloaded(machines, gate, held, right), LOST))


def _reloaded(machines: Machines, gate: Gate, opening: DrawnIntervals, slack: Floats) -> Floats:
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
    """When items of one slot come to a place: angles (n,), from the begin of the turn in which they leave.

    leaves: when they left their gate. present: machines that have them.
    """

    lane: str
    name: str
    leaves: Floats
    earliest: Floats
    latest: Floats
    present: np.typing.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class ItemRoutes:
    """Everything that moves: arrivals by channel, the judgements of diverters, and by where items end."""

    arrivals: Mapping[str, list[Arrival]]
    diverted: Mapping[str, list[RulePlace]]
    ended: dict[str, list[Arrival]]


def ways(machines: Machines, flow: Flow) -> ItemRoutes:
    """Follow every item of a turn as the nominal machine leads it."""
    channels = {channel.id: channel for channel in flow.channels}
    found = ItemRoutes({name: [] for name in channels}, {name: [] for name in channels}, {})
    for gate in flow.gates:
        for item in leaving(machines, gate):
            _follow(machines, channels, gate, item, found)
    return found


def leaving(machines: Machines, gate: Gate) -> Iterator[Arrival]:
    """Yield the items that a gate is meant to let out in a turn, where they leave."""
    for held in machines.held(gate.state):
        if not (held.present[0] and held.meant[0] and held.length[0] < TURN):
            continue
        there = held.present & held.meant
        begin = ahead(0.0, float(held.start[0])) + np.where(there, held.start - held.start[0], 0.0)
        for item in range(1 if gate.mode == "single" else gate.items):
            after = 0.0 if gate.mode == "single" else gate.item_s * (item + 1)
            leaves = begin + after * machines.deg_per_s
            yield Arrival(gate.state.lane, gate.item, leaves, leaves, leaves, there)


def _follow(
    machines: Machines, channels: Mapping[str, Channel], gate: Gate, item: Arrival, found: ItemRoutes
) -> None:
    """Lead one item through channel after channel."""
    here = gate.to
    for _ in range(len(channels) + 1):
        channel = channels.get(here or "")
        if channel is None:
            found.ended.setdefault(here or "", []).append(item)
            return
        share = machines.errors.travel(channel.id) * machines.deg_per_s
        early = item.earliest + channel.travel_min_s * share
        item = replace(item, earliest=early, latest=item.latest + channel.travel_max_s * share)
        found.arrivals[channel.id].append(item)
        here = channel.to if isinstance(channel.to, str) else _divert(machines, channel, item, found)


def _divert(machines: Machines, channel: Channel, item: Arrival, found: ItemRoutes) -> str | None:
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
    found.diverted[channel.id].append(RulePlace(lanes, np.where(item.present, slack, np.inf)))
    return end


def headways(machines: Machines, channel: Channel, arrivals: Sequence[Arrival]) -> Iterator[RulePlace]:
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
        yield RulePlace(tuple(dict.fromkeys((first.lane, second.lane))), np.where(there, slack, np.inf))


def feeds(
    machines: Machines, flow: Flow, result: FlowResult, supply: str, judged: Collection[str]
) -> Iterator[RulePlace]:
    """Judge whether a supply gives what each magazine on it needs; no degrees: it does or does not.

    judged: magazines whose content is judged in time, which says it better.
    """
    rate = next(one.rate_per_min for one in flow.supplies if one.id == supply)
    if rate is None:
        return
    for magazine, known in result.magazines.items():
        needed = known.needed_rate_per_min
        if needed is None or magazine in judged or supply_of(flow, magazine) != supply:
            continue
        # The needed rate is rounded up to 0.1: what runs for ever in the nominal machine is enough there.
        needed = min(needed, rate) if result.holds_for_ever is True else needed
        enough = rate * machines.errors.rate(supply) >= needed * machines.errors.speed * (1 - LIMIT)
        yield RulePlace((), np.where(enough, np.inf, LOST))


def supply_of(flow: Flow, magazine_id: str) -> str | None:
    """Return the one supply from which a magazine is filled, through others too; None for none or several."""
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
