"""Cures of the flow's findings: the smallest change that makes one go away, tried before it is offered.

What runs empty is fed faster, filled more at the start or given more room; what comes at the wrong time
is moved or stretched. Numbers come from `judge.flow.needs` or from the microseconds that are missing, with
what they must survive (`judge.flow.reserve`): a cure that holds as drawn, and no more, is taken only where
none holds with the tolerances. Each attempt is tried first (`judge.flow.tried`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property, partial
from itertools import chain, tee

from shaftscore.base.angles import TURN
from shaftscore.base.progress import Progress
from shaftscore.base.wording import counted, part_name, per_minute
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, begun, ended, is_free, moved
from shaftscore.judge.findings import Cure, Finding
from shaftscore.judge.flow.clock import microseconds
from shaftscore.judge.flow.engine import Shortfall
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.needs import Needs, Plan
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.judge.flow.observed import Observed, Observer
from shaftscore.judge.flow.openings import GateOpening, StateSpan
from shaftscore.judge.flow.order import WrongOrder
from shaftscore.judge.flow.places import last_channel, place_of, release_place
from shaftscore.judge.flow.reserve import JudgedPlace, Reserve, most_needed
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.shifts import CollisionCures
from shaftscore.judge.flow.tried import CureTrials
from shaftscore.judge.flow.verdicts import CausedFinding, LostItem
from shaftscore.judge.flow.work import CURE_STEPS, WorkBudget, WorkSpentError
from shaftscore.model import Branch, Diverter, Project, State, replaced
from shaftscore.model.flow import MOST_CAPACITY, MOST_RATE_PER_MIN
from shaftscore.rules.outlet import room

MOST_THIN = 12
"""Edits that cure the machine as drawn, but not with the tolerances, that are looked at."""

Edge = Callable[[Project, BlockRef, float], Attempt | None]
"""Makes the attempt to move one edge of a block by some degrees."""


class Cures:
    """Looks for the cures of one observed project."""

    def __init__(
        self,
        reserve: Reserve,
        states: States,
        observer: Observer,
        observed: Observed,
    ) -> None:
        project = reserve.project
        assert project.flow is not None, "called for projects with a flow"
        self._project, self._flow = project, project.flow
        self._reserve, self._clock, self._states = reserve, reserve.clock, states
        self._max_turns, self._network = observer.max_turns, observed.network
        self._needed: dict[tuple[int, bool], Needs] = {}
        self._budget = WorkBudget(CURE_STEPS)
        self._trials = CureTrials(reserve, self._flow, states, observer, observed, self._budget)
        self._planned_for: dict[int, Iterator[Plan]] = {}
        self._collisions = CollisionCures(reserve, self._flow, self._network, self._moved)

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
        full = self._collisions.too_full(judged.cause) if isinstance(judged.cause, Meeting) else None
        if full is not None:
            return full
        thin: Attempt | None = None
        for looked, attempt in enumerate(filter(partial(self._trials.cures, judged), self._attempts(judged))):
            if self._trials.survives(judged, attempt):
                return _cure(attempt)
            thin = thin or attempt
            if looked + 1 == MOST_THIN:
                break
        if thin is not None:
            return _cure(thin)
        if isinstance(judged.cause, Meeting):
            return self._collisions.why_not(judged.cause)
        return None

    def _amounts(self, place: JudgedPlace | None, missing_us: int) -> tuple[int, ...]:
        """Return by how much to change a time, µs: with the reserve of a place first, then without."""
        reserve = 0 if place is None else self._reserve.us(place)
        return (missing_us + reserve, missing_us) if reserve else (missing_us,)

    def _attempts(self, judged: CausedFinding) -> Iterable[Attempt]:
        cause = judged.cause
        if isinstance(cause, GateOpening):
            return self._longer(cause)
        if isinstance(cause, Shortfall):
            return self._shortfall(judged.finding.rule, cause)
        if isinstance(cause, Meeting):
            return self._collisions.attempts(cause)
        return self._in_state(cause) if isinstance(cause, LostItem) else self._in_order(cause)

    # What runs empty or full

    def _shortfall(self, rule: str, fall: Shortfall) -> Iterator[Attempt]:
        slot = self._network.slots[fall.slot]
        if rule == "starvation":
            yield from self._fed(slot)
        elif rule == "double-release":
            yield from self._shorter(self._network.openings[fall.opening])
        else:
            store = self._network.ends[slot.route.end]
            item = self._network.gates[slot.gate].item
            for in_reserve in (True, False):
                capacity = self._needs(store, in_reserve=in_reserve).capacity()
                if capacity is not None and capacity <= MOST_CAPACITY:
                    yield self._planned(store, Plan(capacity=capacity), item)

    @cached_property
    def _most_needed(self) -> Network:
        return most_needed(self._network, self._project.tolerances)

    def _needs(self, store: int, *, in_reserve: bool) -> Needs:
        """Return the needs of a magazine: in the machine that needs most, or as drawn."""
        key = (store, in_reserve)
        if key not in self._needed:
            net = self._most_needed if in_reserve else self._network
            self._needed[key] = Needs.of(net, store, self._max_turns, self._budget)
        return self._needed[key]

    def _plans(self, store: int) -> Iterator[Plan]:
        """Yield the plans for a magazine, those that hold with the tolerances first.

        Each is made once, for whichever finding asks first.
        """
        if store not in self._planned_for:
            both = (self._needs(store, in_reserve=one).plans() for one in (True, False))
            self._planned_for[store], _ = tee(chain.from_iterable(both))
        return copy(self._planned_for[store])

    def _fed(self, slot: Slot) -> Iterator[Attempt]:
        """Feed faster, start fuller, give more room, or several of these."""
        item = self._network.gates[slot.gate].item
        for plan in filter(_can_be_given, self._plans(slot.store)):
            yield self._planned(slot.store, plan, item)

    def _planned(self, store: int, plan: Plan, item: str) -> Attempt:
        """Make the edit of the flow that a plan asks for."""
        source = self._needs(store, in_reserve=False).source_id
        flow = self._flow
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

    # What opens too short or too long

    def _longer(self, opening: GateOpening) -> Iterator[Attempt]:
        """Stretch the block so that what is meant can leave; or that of the reload."""
        gate = self._network.gates[opening.gate]
        if opening.why == "reload" and gate.reload is not None:
            refs = self._blocks_in(gate.reload.state, self._states(gate.reload.state) or ())
            asked = microseconds(gate.reload.item_s)
            for by in self._amounts(release_place(gate, max(1, opening.meant)), asked - opening.reload_us):
                yield from self._stretched(refs, by)
        elif opening.why == "short":
            asked = microseconds(gate.item_s) * max(1, opening.meant)
            for by in self._amounts(release_place(gate, max(1, opening.meant)), asked - opening.length_us):
                yield from self._stretched(self._blocks(opening), by)

    def _shorter(self, opening: GateOpening) -> Iterator[Attempt]:
        """Shorten the block so that no more leaves than is meant."""
        gate = self._network.gates[opening.gate]
        most = microseconds(gate.item_s) * (opening.meant + 1)
        place = release_place(gate, opening.meant + 1)
        for by in self._amounts(place, opening.length_us - most + 1):
            yield from self._stretched(self._blocks(opening), -by)

    def _stretched(self, refs: Sequence[BlockRef], by_us: int) -> Iterator[Attempt]:
        for ref in refs:
            by_deg = self._own_deg(ref.lane_id, by_us)
            yield from filter(None, (ended(self._project, ref, by_deg, "give"),))
            yield from filter(None, (begun(self._project, ref, -by_deg, "give"),))

    # What comes at the wrong time

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
        missing = self._headway(*slots) - room(other.window, got.window)
        for by in self._amounts(place_of(order, self._network, self._flow), missing):
            yield from self._moved(slots[0], by)
            yield from self._moved(slots[1], -by)

    def _headway(self, *slots: Slot) -> int:
        """Return the most that the channels on the way of some slots ask for, µs, at least 1."""
        passed = {step.channel for slot in slots for step in slot.route.passes}
        asked = [channel.headway_s for channel in self._flow.channels if channel.id in passed]
        return max(1, *(microseconds(headway) for headway in asked), 1)

    def _in_state(self, item: LostItem) -> Iterator[Attempt]:
        """Hold a state of the diverter for the whole arrival, or let the item come while it holds."""
        slot = self._network.slots[item.slot]
        channel = last_channel(slot, self._flow)
        branches = channel.to.by_state if isinstance(channel.to, Diverter) else ()
        for more in self._amounts(place_of(item, self._network, self._flow), 0):
            sized = [entry for branch in branches for entry in self._holding(branch, slot, more)]
            yield from (attempt for _, attempt in sorted(sized, key=lambda entry: entry[0]))

    def _holding(self, branch: Branch, slot: Slot, more: int) -> Iterator[tuple[int, Attempt]]:
        """Yield attempts with their sizes, µs, to bring a branch's state and an item's window together.

        more: what is to be left at the ends, µs.
        """
        cycle, (earliest, latest) = self._clock.cycle_us, slot.route.window
        for interval in self._states(branch.state) or ():
            begin, length = self._clock.offset(interval.span.start), self._clock.offset(interval.span.length)
            since = (slot.phase_us + earliest - begin) % cycle
            after, before = since + latest - earliest - length + more, cycle - since + more
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


def _cure(attempt: Attempt) -> Cure:
    return Cure(sentence=attempt.sentence, edit=attempt.edit, arguments=attempt.arguments)


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
        orders.append(f"make room for {counted(plan.capacity, item)} in {part_name(magazine)}")
    if plan.start_count is not None:
        orders.append(f"start with {counted(plan.start_count, item)} in {part_name(magazine)}")
    text = " and ".join(filter(None, [", ".join(orders[:-1]), orders[-1]]))
    return f"{text[0].upper()}{text[1:]}."
