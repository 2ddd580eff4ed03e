"""Cures of collisions that move whole lanes, and why there is none.

Where moving one block only moves the trouble, a lane goes with all its blocks, a group with all its lanes, or
a lane with those whose items come right behind it (or before it). Where no shift does it that is the same for
all, there are different ones: a lane or a group pushes those behind it just as far as they are in its way, or
one of two that meet goes a part of the way and the other the rest. All are shifts of one edit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from shaftscore.base.angles import TURN
from shaftscore.base.wording import counted, listed, part_name, seconds
from shaftscore.judge.checks.cures import Attempt, outward, shift_text
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.flow.clock import US_PER_S, CycleClock, microseconds
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.judge.flow.places import place_of
from shaftscore.judge.flow.reserve import Reserve
from shaftscore.model import Channel, Flow, Project
from shaftscore.rules.headway import room
from shaftscore.rules.times import LinearSpan

MOST_PLACES = 12
"""Places for a block that is to leave a crowded channel, the nearest first."""

PARTS = (0.5, 0.25, 0.75)
"""Shares of a way that one of two lanes goes, where the other goes the rest."""

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

    reserve: Reserve
    flow: Flow
    network: Network
    moved: Moved

    @property
    def project(self) -> Project:
        """The project that is to be cured."""
        return self.reserve.project

    @property
    def clock(self) -> CycleClock:
        """The clock of its run."""
        return self.reserve.clock

    def attempts(self, meeting: Meeting) -> Iterator[Attempt]:
        """Move the later item's block later, or the earlier one's earlier; then their lanes and groups.

        By what holds with the tolerances first, then by what the machine as drawn needs.
        """
        near, clock = meeting.near, self.clock
        first, second = self.network.slots[near.first], self.network.slots[near.second]
        channel = self._channel_of(meeting)
        one, other = (_pass(slot, near.channel) for slot in (first, second))
        turns = (meeting.second_turn - meeting.first_turn) * clock.cycle_us
        here = LinearSpan(first.phase_us + one[0], first.phase_us + one[1])
        there = LinearSpan(turns + second.phase_us + other[0], turns + second.phase_us + other[1])
        headway = microseconds(channel.headway_s)
        missing = -room(here, there, headway)
        lanes = (self._lane(first), self._lane(second))
        amounts = (missing + self._reserve_us(meeting), missing)
        for by in amounts:
            yield from self.moved(second, by)
            yield from self.moved(first, -by)
        places = [(by, slot) for slot in (second, first) for by in self._places(slot, channel)]
        for by, slot in sorted(places, key=lambda place: abs(place[0]))[:MOST_PLACES]:
            yield from self.moved(slot, by)
        order = self._coming_to(channel)
        for by in amounts:
            yield from shifts(self.project, order, lanes[1], self._deg(by))
            yield from shifts(self.project, order, lanes[0], -self._deg(by))
        for by in amounts if lanes[0] != lanes[1] else ():
            yield from self._pushed(channel, lanes[1], by, by - missing)
            yield from self._pushed(channel, lanes[0], -by, by - missing)
            yield from self._parted(lanes, self._deg(by))

    def _reserve_us(self, meeting: Meeting) -> int:
        """Return what is to be left between two items, µs."""
        place = place_of(meeting, self.network, self.flow)
        return 0 if place is None else self.reserve.us(place)

    def _deg(self, time_us: int) -> float:
        return time_us * TURN / self.clock.cycle_us

    def _sets(self, lane_id: str) -> list[tuple[str, ...]]:
        """Return a lane alone, and with its group."""
        own = self.project.lane(lane_id)
        group = tuple(one.id for one in self.project.lanes if own.group and one.group == own.group)
        programs = tuple(dict.fromkeys(self.project.lane(one).program_id for one in group))
        return [(own.program_id,), *([programs] if len(programs) > 1 else [])]

    def _parted(self, lanes: tuple[str, str], by_deg: float) -> Iterator[Attempt]:
        """Let the first of two lanes, or its group, go a part of the way, and the second come the rest."""
        for share in PARTS:
            for earlier, later in product(self._sets(lanes[0]), self._sets(lanes[1])):
                if not {*earlier} & {*later}:
                    shift = dict.fromkeys(later, by_deg * share)
                    yield self._each({**shift, **dict.fromkeys(earlier, -by_deg * (1 - share))})

    def _pushed(self, channel: Channel, lane_id: str, by_us: int, spare_us: int) -> Iterator[Attempt]:
        """Shift a lane, or its group, and others as far as they are in its way; spare_us: what is to be left.

        by_us: how far, later, or earlier where it is negative.
        """
        ring = self._arrivals(channel, later=by_us > 0)
        for lanes in self._sets(lane_id):
            pushed = dict.fromkeys(lanes, abs(by_us))
            for _ in range(MOST_FOLLOWING):
                before = dict(pushed)
                for (lane, behind), (following, _) in zip(ring, [*ring[1:], ring[0]], strict=True):
                    need = pushed.get(lane, 0) - max(0, behind - spare_us)
                    if lane != following and need > pushed.get(following, 0):
                        pushed[following] = need
                if pushed == before or len(pushed) > MOST_FOLLOWING:
                    break
            if len({*pushed.values()}) > 1 and len(pushed) < len(self.project.lanes):
                sign = 1 if by_us > 0 else -1
                yield self._each({lane: self._deg(sign * by) for lane, by in pushed.items()})

    def _arrivals(self, channel: Channel, *, later: bool) -> list[tuple[str, int]]:
        """List the lanes whose items come to a channel, with what is left to the next one, µs.

        They are in the order in which they come, or in the reverse one where they are to be moved earlier.
        """
        cycle, headway = self.clock.cycle_us, microseconds(channel.headway_s)
        ring = sorted(
            ((slot.phase_us + step.earliest_us) % cycle, step.latest_us - step.earliest_us, self._lane(slot))
            for slot in self.network.slots
            for step in slot.route.passes
            if step.channel == channel.id
        )
        ahead = [*ring[1:], (ring[0][0] + cycle, *ring[0][1:])]
        left = [
            room(LinearSpan(start, start + long), LinearSpan(following, following), headway)
            for (start, long, _), (following, _, _) in zip(ring, ahead, strict=True)
        ]
        lanes = [self.project.lane(lane).program_id for _, _, lane in ring]
        if later:
            return list(zip(lanes, left, strict=True))
        return list(zip(lanes[::-1], [*left[-2::-1], left[-1]], strict=True))

    def _each(self, by_deg: dict[str, float]) -> Attempt:
        """Make the edit that shifts lanes, each by at least its own degrees."""
        by = {lane: outward(own) for lane, own in by_deg.items()}
        said = [
            f"{listed([lane_text(self.project, lane) for lane in by if by[lane] == own])} {shift_text(own)}"
            for own in dict.fromkeys(by.values())
        ]
        return Attempt("shift_each", {"shifts": tuple(by.items())}, f"Shift {listed(said)}.")

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
        return Cure(
            sentence=f"Run the machine slower: {need} in {part_name(channel.id)}; a turn lasts {turn}."
        )

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
