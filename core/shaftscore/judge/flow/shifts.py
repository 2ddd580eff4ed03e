"""Cures of collisions that move whole lanes, and why there is none.

Where moving one block only moves the trouble, a lane goes with all its blocks, a group with all its lanes, or
a lane with those whose items come right behind it (or before it). All are shifts of one edit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.wording import counted, listed, seconds
from shaftscore.judge.checks.cures import Attempt, outward, shift_text
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.flow.clock import US_PER_S, microseconds
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.model import Channel, Project

MOST_FOLLOWING = 8
"""Lanes that are shifted together at most, where one comes right behind the other."""


def shifts(project: Project, order: Sequence[str], lane_id: str, by_deg: float) -> Iterator[Attempt]:
    """Yield shifts of a lane by at least `by_deg` master degrees: alone, with its group, with its followers.

    order: lanes by when their items come to the channel, round the turn.
    """
    own = project.lane(lane_id)
    sets = [[own.program_id]]
    if own.group:
        sets.append([lane.id for lane in project.lanes if lane.group == own.group and lane.kind == "disc"])
    ring = [*dict.fromkeys(project.lane(one).program_id for one in order)]
    place, step = ring.index(own.program_id), 1 if by_deg > 0 else -1
    behind = [ring[(place + step * count) % len(ring)] for count in range(min(len(ring), MOST_FOLLOWING))]
    sets += [behind[:count] for count in range(2, len(behind))]
    known: set[frozenset[str]] = set()
    for lanes in sets:
        if frozenset(lanes) not in known and len(lanes) < len(project.lanes):
            known.add(frozenset(lanes))
            yield _shifted(project, lanes, by_deg)


def _shifted(project: Project, lanes: Sequence[str], by_deg: float) -> Attempt:
    names = listed([lane_text(project, lane) for lane in lanes])
    by = outward(by_deg)
    return Attempt(
        "shift_lanes", {"lane_ids": tuple(lanes), "by_deg": by}, f"Shift {names} {shift_text(by)}."
    )


def too_full(network: Network, channel: Channel) -> Cure | None:
    """Return that the items of a turn do not fit into a channel, however they come; None where they do.

    The order is no edit: a slower machine changes more than the channel.
    """
    windows = [
        step.latest_us - step.earliest_us
        for slot in network.slots
        for step in slot.route.passes
        if step.channel == channel.id
    ]
    needed = sum(windows) + len(windows) * microseconds(channel.headway_s)
    if needed <= network.clock.cycle_us:
        return None
    items, turn = counted(len(windows), "item"), seconds(network.clock.cycle_us / US_PER_S)
    need = f"with their travel spread and headway, {items} a turn need {seconds(needed / US_PER_S)}"
    return Cure(sentence=f"Run the machine slower: {need} in {channel.id}; a turn lasts {turn}.")


def why_not(project: Project, network: Network, first: Slot, second: Slot) -> Cure:
    """Return why no shift keeps two items apart, as an order that is no edit."""
    lanes = dict.fromkeys(network.gates[slot.gate].state.lane for slot in (first, second))
    names = listed([lane_text(project, lane) for lane in lanes])
    programs = [project.lane(project.lane(lane).program_id) for lane in lanes]
    if first.opening == second.opening:
        return Cure(
            sentence=f"Let {names} give each item more time: they leave one opening too close together."
        )
    if all(any(block.locked for block in lane.blocks) for lane in programs):
        return Cure(sentence=f"Unlock blocks of {names}: locked blocks do not move.")
    why = f"every shift of {names}, alone or with neighbors, makes others fail"
    return Cure(sentence=f"Arrange the timing automatically: {why}.")
