"""Cures of collisions that move whole lanes, and why there is none.

Where moving one block only moves the trouble, a lane goes with all its blocks, a group with all its lanes, or
a lane with those whose items come right behind it (or before it). All are shifts of one edit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import hypot

from shaftscore.base.angles import TURN
from shaftscore.base.wording import counted, listed, seconds
from shaftscore.judge.checks.cures import Attempt, outward, shift_text
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.flow.clock import US_PER_S, CycleClock, microseconds
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.model import Channel, Flow, Project

MOST_PLACES = 12
"""Places for a block that is to leave a crowded channel, the nearest first."""

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


Moved = Callable[[Slot, int], Iterable[Attempt]]
"""Yields moves of the block in a slot's opening, by so many µs."""


@dataclass(frozen=True)
class CollisionCures:
    """Looks for what keeps the items of a channel apart; moved: what moves one block."""

    project: Project
    flow: Flow
    network: Network
    clock: CycleClock
    moved: Moved

    def attempts(self, meeting: Meeting) -> Iterator[Attempt]:
        """Move the later item's block later, or the earlier one's earlier; then their lanes and groups.

        By what holds with the tolerances first, then by what the machine as drawn needs.
        """
        near, clock = meeting.near, self.clock
        first, second = self.network.slots[near.first], self.network.slots[near.second]
        channel = self._channel_of(meeting)
        one, other = (_pass(slot, near.channel) for slot in (first, second))
        turns = (meeting.second_turn - meeting.first_turn) * clock.cycle_us
        gap = turns + second.phase_us + other[0] - first.phase_us - one[1]
        missing = microseconds(channel.headway_s) - gap
        safe = missing + self._headway_reserve(channel, one[1] - one[0])
        for by in (safe, missing):
            yield from self.moved(second, by)
            yield from self.moved(first, -by)
        places = [(by, slot) for slot in (second, first) for by in self._places(slot, channel)]
        for by, slot in sorted(places, key=lambda place: abs(place[0]))[:MOST_PLACES]:
            yield from self.moved(slot, by)
        order = self._coming_to(channel)
        for by in (safe, missing):
            by_deg = by * TURN / clock.cycle_us
            yield from shifts(self.project, order, self._lane(second), by_deg)
            yield from shifts(self.project, order, self._lane(first), -by_deg)

    def _channel_of(self, meeting: Meeting) -> Channel:
        return next(channel for channel in self.flow.channels if channel.id == meeting.near.channel)

    def _lane(self, slot: Slot) -> str:
        return self.network.gates[slot.gate].state.lane

    def _coming_to(self, channel: Channel) -> list[str]:
        """List the lanes whose items come to a channel, by when they come, round the turn."""
        coming = [
            ((slot.phase_us + step.earliest_us) % self.clock.cycle_us, self._lane(slot))
            for slot in self.network.slots
            for step in slot.route.passes
            if step.channel == channel.id
        ]
        return [lane for _, lane in sorted(coming)]

    def _headway_reserve(self, channel: Channel, window_us: int) -> int:
        """Return what a headway needs beyond the machine as drawn, µs: speed, travel and two printed angles.

        Root of the sum of squares, as in `shaftscore.rules.survival`.
        """
        sizes = self.project.tolerances
        faster = (window_us + microseconds(channel.headway_s)) * sizes.speed_percent / 100
        wider = window_us * sizes.travel_percent / 100
        printed = sizes.disc_angle_deg * self.clock.cycle_us / TURN
        return round(hypot(faster, wider, printed, printed))

    def _places(self, slot: Slot, channel: Channel) -> Iterator[int]:
        """Yield by how much, µs, to move an item just behind or before each other one in a channel."""
        cycle, headway = self.clock.cycle_us, microseconds(channel.headway_s)
        own = _pass(slot, channel.id)
        for other in self.network.slots:
            if other is slot or all(step.channel != channel.id for step in other.route.passes):
                continue
            window = _pass(other, channel.id)
            apart = other.phase_us - slot.phase_us
            for by in (apart + window[1] - own[0] + headway, apart + window[0] - own[1] - headway):
                yield (by + cycle // 2) % cycle - cycle // 2

    def too_full(self, meeting: Meeting) -> Cure | None:
        """Return that the items of a turn do not fit into a channel, however they come; None where they do.

        The order is no edit: a slower machine changes more than the channel.
        """
        channel = self._channel_of(meeting)
        windows = [
            step.latest_us - step.earliest_us
            for slot in self.network.slots
            for step in slot.route.passes
            if step.channel == channel.id
        ]
        needed = sum(windows) + len(windows) * microseconds(channel.headway_s)
        if needed <= self.clock.cycle_us:
            return None
        items, turn = counted(len(windows), "item"), seconds(self.clock.cycle_us / US_PER_S)
        need = f"with their travel spread and headway, {items} a turn need {seconds(needed / US_PER_S)}"
        return Cure(sentence=f"Run the machine slower: {need} in {channel.id}; a turn lasts {turn}.")

    def why_not(self, meeting: Meeting) -> Cure:
        """Return why no shift keeps two items apart, as an order that is no edit."""
        slots = [self.network.slots[number] for number in (meeting.near.first, meeting.near.second)]
        lanes = dict.fromkeys(map(self._lane, slots))
        names = listed([lane_text(self.project, lane) for lane in lanes])
        programs = [self.project.lane(self.project.lane(lane).program_id) for lane in lanes]
        if slots[0].opening == slots[1].opening:
            why = "they leave one opening too close together"
            return Cure(sentence=f"Give each item of {names} more time: {why}.")
        if all(any(block.locked for block in lane.blocks) for lane in programs):
            return Cure(sentence=f"Unlock blocks of {names}: locked blocks do not move.")
        why = f"every shift of {names}, alone or with neighbors, makes others fail"
        return Cure(sentence=f"Arrange the timing automatically: {why}.")


def _pass(slot: Slot, channel: str) -> tuple[int, int]:
    """Return the window in which a slot's item reaches a channel's end, µs after it left."""
    step = next(step for step in slot.route.passes if step.channel == channel)
    return step.earliest_us, step.latest_us
