"""The least stagger of visits in one step with which items keep apart in the channels they fall into.

Two items that leave one after another arrive, at the end of a channel, at least their distance in time less
the spread of its travel times apart; along several channels the spreads add up. So visits that let items into
one channel start at least its headway and that spread apart, at the machine's nominal speed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from shaftscore.model.flow import Channel, Diverter, Flow
from shaftscore.model.project import Project

DEG_S_PER_RPM = 6.0
"""Degrees a second of one revolution a minute."""


def least_stagger_deg(project: Project, lane_ids: Collection[str]) -> float:
    """Return the least stagger of some lanes, by id, degrees of their stacks; 0 where nothing asks for one.

    Only channels that at least two of the lanes let items into count.
    """
    flow = project.flow
    if flow is None:
        return 0.0
    into: dict[str, set[str]] = {}
    for gate in flow.gates:
        if gate.state.lane in lane_ids and gate.to is not None:
            for channel_id in _way_from(flow, gate.to):
                into.setdefault(channel_id, set()).add(gate.state.lane)
    most = 0.0
    for gate in flow.gates:
        if gate.state.lane in lane_ids and gate.to is not None:
            turns = project.rate_of(project.lane(gate.state.lane))
            for channel_id, needed_s in _needed(flow, gate.to, 0.0):
                if len(into[channel_id]) > 1:
                    most = max(most, needed_s * project.shaft.speed_rpm * DEG_S_PER_RPM * turns)
    return most


def _way_from(flow: Flow, start: str) -> set[str]:
    """Return the ids of all channels that items from a place may pass."""
    return {channel_id for channel_id, _ in _needed(flow, start, 0.0)}


def _needed(flow: Flow, start: str, spread_s: float) -> Iterator[tuple[str, float]]:
    """Yield each channel on the ways from a place, and how far apart items must set out for it, s."""
    channel = next((one for one in flow.channels if one.id == start), None)
    if channel is None:
        return
    spread = spread_s + channel.travel_max_s - channel.travel_min_s
    if channel.headway_s > 0:
        yield channel.id, channel.headway_s + spread
    for following in _ends(channel):
        yield from _needed(flow, following, spread)


def _ends(channel: Channel) -> list[str]:
    if isinstance(channel.to, Diverter):
        return [branch.to for branch in channel.to.by_state]
    return [channel.to]
