"""Cures of the flow's findings: the smallest change that makes one go away, tried before it is offered.

What runs empty is fed faster, filled more at the start or given more room; what comes at the wrong time
is moved or stretched. Numbers come from `judge.flow.needs` or from the microseconds that are missing; rates
hold with the tolerances, not on the edge of what the machine as drawn needs.
An attempt counts only if the edited project, simulated again with the motions that the edit makes, has
fewer findings and not this one. Findings share attempts (an item that meets many is moved once), so each
edit is simulated once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from copy import copy
from dataclasses import replace
from itertools import tee
from math import ceil, floor, hypot

from shaftscore.base.angles import TURN
from shaftscore.base.progress import Progress, Silent
from shaftscore.base.wording import counted, per_minute, up_to
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, begun, ended, intervals_in, is_free, moved, tried
from shaftscore.judge.findings import Cure, Finding
from shaftscore.judge.flow.clock import CycleClock, microseconds
from shaftscore.judge.flow.engine import Shortfall
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.needs import RATE_STEPS, Needs, Plan
from shaftscore.judge.flow.network import Slot
from shaftscore.judge.flow.observed import Observed, Observer
from shaftscore.judge.flow.openings import GateOpening, StateSpan
from shaftscore.judge.flow.order import WrongOrder
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.shifts import shifts, too_full, why_not
from shaftscore.judge.flow.verdicts import Cause as FlowCause
from shaftscore.judge.flow.verdicts import CausedFinding, LostItem
from shaftscore.judge.flow.work import CURE_STEPS, WorkBudget, WorkSpentError
from shaftscore.model import Branch, Channel, Diverter, Project, State, replaced
from shaftscore.model.flow import MOST_CAPACITY, MOST_RATE_PER_MIN
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import broken_places
from shaftscore.rules.supply import rate_in_reserve

MOST_TRIED = 600
"""Edits that are simulated at most; what is found later has a cure only if one of these is it."""

MOST_PLACES = 12
"""Places for a block that is to leave a crowded channel, the nearest first."""

_LAYOUT = 10
"""Steps a slot that laying out the network of an edited project costs."""

Key = tuple[str, tuple[tuple[str, Hashable], ...]]
"""An edit with its arguments."""

Names = Counter[tuple[object, ...]]
"""How often what is found, by name."""

Edge = Callable[[Project, BlockRef, float], Attempt | None]
"""Makes the attempt to move one edge of a block by some degrees."""


class Cures:
    """Looks for the cures of one observed project."""

    def __init__(
        self, project: Project, clock: CycleClock, states: States, observer: Observer, observed: Observed
    ) -> None:
        assert project.flow is not None, "called for projects with a flow"
        self._project, self._flow = project, project.flow
        self._clock, self._states = clock, states
        self._observer, self._observed = observer, observed
        self._network = observed.network
        self._tried: dict[Key, Names | None] = {}
        self._needed: dict[int, Needs] = {}
        self._budget = WorkBudget(CURE_STEPS)
        self._planned_for: dict[int, Iterator[Plan]] = {}

    def cured(self, judged: Sequence[CausedFinding], progress: Progress) -> Iterator[Finding]:
        """Yield the findings, those with a cure holding it."""
        for number, one in enumerate(judged):
            progress.report(number / len(judged), "Cures")
            cure = self.cure(one)
            yield one.finding if cure is None else replace(one.finding, cure=cure)

    @property
    def cut(self) -> bool:
        """Whether cures were left untried because the steps are spent."""
        return self._budget.left < 0

    def cure(self, judged: CausedFinding) -> Cure | None:
        """Return the first attempt that does it, or None, also where the steps are spent."""
        try:
            return self._found_for(judged)
        except WorkSpentError:
            return None

    def _found_for(self, judged: CausedFinding) -> Cure | None:
        if self.cut:
            raise WorkSpentError
        full = self._too_full(judged.cause)
        if full is not None:
            return full
        name, before = _name(judged.finding), len(self._observed.judged)
        for attempt in self._attempts(judged):
            after = self._after(attempt)
            fewer = after is not None and sum(after.values()) < before and name not in after
            if fewer and self._keeps_rules(attempt):
                return Cure(sentence=attempt.sentence, edit=attempt.edit, arguments=attempt.arguments)
        if isinstance(judged.cause, Meeting):
            near = judged.cause.near
            slots = (self._network.slots[number] for number in (near.first, near.second))
            return why_not(self._project, self._network, *slots)
        return None

    def _too_full(self, cause: FlowCause) -> Cure | None:
        """Return that the items of a collision's channel do not fit into a turn, where that is so."""
        return too_full(self._network, self._channel_of(cause)) if isinstance(cause, Meeting) else None

    def _keeps_rules(self, attempt: Attempt) -> bool:
        """Return whether an edit breaks no rule between lanes that holds without it."""
        edited = tried(self._project, attempt)
        states = None if edited is None else self._states_of(edited)
        if edited is None or states is None:
            return False
        changed = self._changed(edited)
        before = broken_places(NominalTimes(self._project, self._states), changed)
        return broken_places(NominalTimes(edited, states), changed) <= before

    def _after(self, attempt: Attempt) -> Names | None:
        """Count what is found after an edit, by name; None where it cannot be made or tried."""
        key = (attempt.edit, tuple(attempt.arguments.items()))
        if key not in self._tried:
            if len(self._tried) >= MOST_TRIED:
                return None
            edited = tried(self._project, attempt)
            self._tried[key] = None if edited is None else self._found_in(edited)
        return self._tried[key]

    def _found_in(self, edited: Project) -> Names | None:
        states = self._states_of(edited)
        if edited.flow is None or states is None:
            return None
        self._budget.spend(_LAYOUT * len(self._network.slots))
        observed = self._observer.observe(edited, self._clock, states, Silent(), self._budget)
        if observed.cut:
            raise WorkSpentError
        return Counter(_name(one.finding) for one in observed.judged)

    def _attempts(self, judged: CausedFinding) -> Iterable[Attempt]:
        cause = judged.cause
        if isinstance(cause, GateOpening):
            return self._longer(cause)
        if isinstance(cause, Shortfall):
            return self._shortfall(judged.finding.rule, cause)
        if isinstance(cause, Meeting):
            return self._apart(cause)
        return self._in_state(cause) if isinstance(cause, LostItem) else self._in_order(cause)

    def _states_of(self, edited: Project) -> States | None:
        """Return the states of an edited project; None where the edit leaves a lane without motion."""
        changed = self._changed(edited)
        fresh: dict[State, tuple[StateSpan, ...] | None] = {}

        def states(state: State) -> tuple[StateSpan, ...] | None:
            if state.lane not in changed:
                return self._states(state)
            if state not in fresh:
                fresh[state] = intervals_in(edited, state)
            return fresh[state]

        needed = filter(lambda state: state.lane in changed, self._flow.states)
        return None if any(states(state) is None for state in needed) else states

    def _changed(self, edited: Project) -> set[str]:
        """Return the lanes that an edit changes, and the riders on them."""
        before = {lane.id: lane for lane in self._project.lanes}
        changed = {lane.id for lane in edited.lanes if before.get(lane.id) is not lane}
        return changed | {lane.id for lane in edited.lanes if lane.disc_of in changed}

    # What runs empty or full

    def _shortfall(self, rule: str, fall: Shortfall) -> Iterator[Attempt]:
        slot = self._network.slots[fall.slot]
        if rule == "starvation":
            yield from self._fed(slot)
        elif rule == "double-release":
            yield from self._shorter(self._network.openings[fall.opening])
        else:
            store = self._network.ends[slot.route.end]
            capacity = self._needs(store).capacity()
            if capacity is not None and capacity <= MOST_CAPACITY:
                item = self._network.gates[slot.gate].item
                yield self._planned(store, Plan(capacity=capacity), item)

    def _needs(self, store: int) -> Needs:
        if store not in self._needed:
            self._needed[store] = Needs.of(self._network, store, self._observer.max_turns, self._budget)
        return self._needed[store]

    def _plans(self, store: int) -> Iterator[Plan]:
        """Yield the plans for a magazine; each is made once, for whichever finding asks first."""
        if store not in self._planned_for:
            self._planned_for[store], _ = tee(self._needs(store).plans())
        return copy(self._planned_for[store])

    def _fed(self, slot: Slot) -> Iterator[Attempt]:
        """Feed faster, start fuller, give more room, or several of these."""
        item = self._network.gates[slot.gate].item
        for plan in filter(_can_be_given, self._plans(slot.store)):
            yield self._planned(slot.store, plan, item)

    def _planned(self, store: int, plan: Plan, item: str) -> Attempt:
        """Make the edit of the flow that a plan asks for."""
        source = self._needs(store).source_id
        flow = self._flow
        plan = self._in_reserve(plan)
        if plan.rate_per_min is not None:
            changed = [
                replaced(supply, rate_per_min=plan.rate_per_min) if supply.id == source else supply
                for supply in flow.supplies
            ]
            flow = replaced(flow, supplies=tuple(changed))
        fields = {"start_count": plan.start_count, "capacity": plan.capacity}
        magazines = list(flow.magazines)
        magazines[store] = replaced(magazines[store], **{k: v for k, v in fields.items() if v is not None})
        flow = replaced(flow, magazines=tuple(magazines))
        return Attempt("set_flow", {"flow": flow}, _order_of(plan, magazines[store].id, item))

    def _in_reserve(self, plan: Plan) -> Plan:
        """Raise the rate of a plan to one that holds with the tolerances of speed and rates, up to 0.1."""
        if plan.rate_per_min is None:
            return plan
        rate = rate_in_reserve(plan.rate_per_min, self._project.tolerances)
        return replace(plan, rate_per_min=min(up_to(rate, 1 / RATE_STEPS), MOST_RATE_PER_MIN))

    # What opens too short or too long

    def _longer(self, opening: GateOpening) -> Iterator[Attempt]:
        """Stretch the block so that what is meant can leave, in fast machines too; or that of the reload."""
        gate = self._network.gates[opening.gate]
        if opening.why == "reload" and gate.reload is not None:
            refs = self._blocks_in(gate.reload.state, self._states(gate.reload.state) or ())
            yield from self._stretched(refs, microseconds(gate.reload.item_s) - opening.reload_us)
        elif opening.why == "short":
            asked = microseconds(gate.item_s) * max(1, opening.meant)
            for share in (1.0 + self._speed_share, 1.0):
                yield from self._stretched(self._blocks(opening), ceil(asked * share) - opening.length_us)

    @property
    def _speed_share(self) -> float:
        """By what share a machine may turn faster or slower."""
        return self._project.tolerances.speed_percent / 100

    def _shorter(self, opening: GateOpening) -> Iterator[Attempt]:
        """Shorten the block so that no more leaves than is meant; in slow machines too."""
        gate = self._network.gates[opening.gate]
        most = microseconds(gate.item_s) * (opening.meant + 1)
        for share in (1.0 - self._speed_share, 1.0):
            yield from self._stretched(self._blocks(opening), floor(most * share) - 1 - opening.length_us)

    def _stretched(self, refs: Sequence[BlockRef], by_us: int) -> Iterator[Attempt]:
        for ref in refs:
            by_deg = self._own_deg(ref.lane_id, by_us)
            yield from filter(None, (ended(self._project, ref, by_deg, "give"),))
            yield from filter(None, (begun(self._project, ref, -by_deg, "give"),))

    # What comes at the wrong time

    def _apart(self, meeting: Meeting) -> Iterator[Attempt]:
        """Move the later item's block later, or the earlier one's earlier; then their lanes and groups.

        By what holds with the tolerances first, then by what the machine as drawn needs.
        """
        near, clock = meeting.near, self._clock
        first, second = self._network.slots[near.first], self._network.slots[near.second]
        channel = self._channel_of(meeting)
        one, other = (_pass(slot, near.channel) for slot in (first, second))
        turns = (meeting.second_turn - meeting.first_turn) * clock.cycle_us
        gap = turns + second.phase_us + other[0] - first.phase_us - one[1]
        missing = microseconds(channel.headway_s) - gap
        safe = missing + self._headway_reserve(channel, one[1] - one[0])
        for by in (safe, missing):
            yield from self._moved(second, by)
            yield from self._moved(first, -by)
        places = [(by, slot) for slot in (second, first) for by in self._places(slot, channel)]
        for by, slot in sorted(places, key=lambda place: abs(place[0]))[:MOST_PLACES]:
            yield from self._moved(slot, by)
        order = self._coming_to(channel)
        for by in (safe, missing):
            by_deg = by * TURN / clock.cycle_us
            yield from shifts(self._project, order, self._lane(second), by_deg)
            yield from shifts(self._project, order, self._lane(first), -by_deg)

    def _channel_of(self, meeting: Meeting) -> Channel:
        return next(channel for channel in self._flow.channels if channel.id == meeting.near.channel)

    def _lane(self, slot: Slot) -> str:
        return self._network.gates[slot.gate].state.lane

    def _coming_to(self, channel: Channel) -> list[str]:
        """List the lanes whose items come to a channel, by when they come, round the turn."""
        coming = [
            ((slot.phase_us + step.earliest_us) % self._clock.cycle_us, self._lane(slot))
            for slot in self._network.slots
            for step in slot.route.passes
            if step.channel == channel.id
        ]
        return [lane for _, lane in sorted(coming)]

    def _headway_reserve(self, channel: Channel, window_us: int) -> int:
        """Return what a headway needs beyond the machine as drawn, µs: speed, travel and two printed angles.

        Root of the sum of squares, as in `shaftscore.rules.survival`.
        """
        sizes = self._project.tolerances
        faster = (window_us + microseconds(channel.headway_s)) * self._speed_share
        wider = window_us * sizes.travel_percent / 100
        printed = sizes.disc_angle_deg * self._clock.cycle_us / TURN
        return round(hypot(faster, wider, printed, printed))

    def _places(self, slot: Slot, channel: Channel) -> Iterator[int]:
        """Yield by how much, µs, to move an item just behind or before each other one in a channel."""
        cycle, headway = self._clock.cycle_us, microseconds(channel.headway_s)
        own = _pass(slot, channel.id)
        for other in self._network.slots:
            if other is slot or all(step.channel != channel.id for step in other.route.passes):
                continue
            window = _pass(other, channel.id)
            apart = other.phase_us - slot.phase_us
            for by in (apart + window[1] - own[0] + headway, apart + window[0] - own[1] - headway):
                yield (by + cycle // 2) % cycle - cycle // 2

    def _moved(self, slot: Slot, by_us: int) -> Iterator[Attempt]:
        """Move the block in a slot's opening."""
        for ref in self._blocks(self._network.openings[slot.opening])[:1]:
            yield moved(self._project, ref, self._own_deg(ref.lane_id, by_us))

    def _in_order(self, order: WrongOrder) -> Iterator[Attempt]:
        """Move what comes too early after what is expected, or that before it; let out no more than meant."""
        got, other = order.mismatch.got, order.mismatch.other
        if got is None:
            return
        if other is None:
            yield from self._shorter(self._network.openings[self._network.slots[got.slot].opening])
            return
        slots = (self._network.slots[got.slot], self._network.slots[other.slot])
        by_us = other.latest_us - got.earliest_us + self._headway(*slots)
        yield from self._moved(slots[0], by_us)
        yield from self._moved(slots[1], -by_us)

    def _headway(self, *slots: Slot) -> int:
        """Return the most that the channels on the way of some slots ask for, µs, at least 1."""
        passed = {step.channel for slot in slots for step in slot.route.passes}
        asked = [channel.headway_s for channel in self._flow.channels if channel.id in passed]
        return max(1, *(microseconds(headway) for headway in asked), 1)

    def _in_state(self, item: LostItem) -> Iterator[Attempt]:
        """Hold a state of the diverter for the whole arrival, or let the item come while it holds."""
        slot = self._network.slots[item.slot]
        channel = next(c for c in self._flow.channels if c.id == slot.route.passes[-1].channel)
        branches = channel.to.by_state if isinstance(channel.to, Diverter) else ()
        sized = [entry for branch in branches for entry in self._holding(branch, slot)]
        yield from (attempt for _, attempt in sorted(sized, key=lambda entry: entry[0]))

    def _holding(self, branch: Branch, slot: Slot) -> Iterator[tuple[int, Attempt]]:
        """Yield attempts with their sizes, µs, to bring a branch's state and an item's window together."""
        cycle, (earliest, latest) = self._clock.cycle_us, slot.route.window
        for interval in self._states(branch.state) or ():
            begin, length = self._clock.offset(interval.span.start), self._clock.offset(interval.span.length)
            since = (slot.phase_us + earliest - begin) % cycle
            after, before = since + latest - earliest - length, cycle - since
            refs = self._blocks_in(branch.state, (interval,))
            if after > 0:
                yield from ((after, attempt) for attempt in self._edged(ended, refs[-1:], after))
            yield from ((before, attempt) for attempt in self._edged(begun, refs[:1], -before))
            yield from ((after, attempt) for attempt in self._moved(slot, -after) if after > 0)
            yield from ((before, attempt) for attempt in self._moved(slot, before))

    def _edged(self, edit: Edge, refs: Sequence[BlockRef], by_us: int) -> Iterator[Attempt]:
        """Move an edge of a block; as the move beside it grows shorter, the state follows by less."""
        for ref in refs:
            by_deg = self._own_deg(ref.lane_id, by_us)
            attempts = [edit(self._project, ref, by_deg * more) for more in (1.0, 1.1, 1.2, 1.35, 1.5)]
            yield from (attempt for attempt in attempts if attempt is not None)

    def _blocks(self, opening: GateOpening) -> list[BlockRef]:
        return self._blocks_in(self._network.gates[opening.gate].state, (opening.interval,))

    def _blocks_in(self, state: State, intervals: Sequence[StateSpan]) -> list[BlockRef]:
        """Name the blocks in some intervals of a state that an edit may touch."""
        own = self._project.lane(state.lane).program_id
        count = len(self._project.lane(own).blocks)
        refs = [BlockRef(own, block) for i in intervals for block in i.blocks if block < count]
        return [ref for ref in dict.fromkeys(refs) if is_free(self._project, ref)]

    def _own_deg(self, lane_id: str, time_us: int) -> float:
        """Turn a time into an angle of a lane's own stack, degrees."""
        turns = self._project.stack_of(self._project.lane(lane_id)).turns
        return time_us * TURN / self._clock.cycle_us * turns


def _pass(slot: Slot, channel: str) -> tuple[int, int]:
    """Return the window in which a slot's item reaches a channel's end, µs after it left."""
    step = next(step for step in slot.route.passes if step.channel == channel)
    return step.earliest_us, step.latest_us


def _name(finding: Finding) -> tuple[object, ...]:
    """Name what a finding is about, the same before and after an edit."""
    where = [finding.facts.get(key) for key in ("magazine", "channel", "outlet", "full")]
    return (finding.rule, frozenset(finding.lanes), *where)


def _can_be_given(plan: Plan) -> bool:
    """Return whether the records hold what a plan asks for."""
    places = max(plan.capacity or 0, plan.start_count or 0)
    return (plan.rate_per_min or 0.0) <= MOST_RATE_PER_MIN and places <= MOST_CAPACITY


def _order_of(plan: Plan, magazine: str, item: str) -> str:
    """Write a plan as an order to the maker."""
    orders = []
    if plan.rate_per_min is not None:
        orders.append(f"feed at least {per_minute(plan.rate_per_min)}")
    if plan.capacity is not None:
        orders.append(f"make room for {counted(plan.capacity, item)} in {magazine}")
    if plan.start_count is not None:
        orders.append(f"start with {counted(plan.start_count, item)} in {magazine}")
    text = " and ".join(filter(None, [", ".join(orders[:-1]), orders[-1]]))
    return f"{text[0].upper()}{text[1:]}."
