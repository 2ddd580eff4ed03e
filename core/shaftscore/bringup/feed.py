"""Feed planner: one answer for every supply, and how long magazines last that nothing fills.

An *answer* is a rate of the supply with capacities and initial counts of the magazines that it fills,
directly or through gates of other magazines. It holds for ever, or for a number of steps, in the machine
within the tolerances that needs most (`judge.flow.reserve.most_needed`: the fastest machine with the slowest
supplies and travels). Gates that open one after the other are counted as they open, since every number is
found by the exact run of the flow (`judge.flow.engine`, `judge.flow.needs`).

    least rate: with roomy, full magazines. What comes in must be what goes out: no capacity makes up for less
    rate: that of the file where it is enough, else the least one
    capacity, initial count: the least with that rate, magazine by magazine in file order

For a number of steps the rate stays as it is: an initial count bridges what is missing. A *refill* is what a
magazine without a supply holds less after the turns that it lasts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil

from shaftscore.base.angles import TURN, wrap
from shaftscore.bringup.flow_network import needing_most
from shaftscore.bringup.over_round import flow_over_round, too_long
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.needs import RATE_STEPS, Needs, smallest
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.simulate import MOST_TURNS
from shaftscore.judge.flow.work import RUN_STEPS, WorkBudget, WorkSpentError
from shaftscore.model import Flow, Project, replaced
from shaftscore.model.flow import MOST_CAPACITY, MOST_RATE_PER_MIN
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import Solution

ROOMY_TURNS = 3
"""Turns of what is drawn that a roomy magazine holds beyond what it holds now."""


@dataclass(frozen=True)
class StorePlan:
    """What one magazine needs: capacity and initial count, both the least that hold; item: what it holds."""

    magazine: str
    item: str
    capacity: int
    start_count: int


@dataclass(frozen=True)
class SupplyPlan:
    """The answer for one supply.

    supply: its id. least_rate_per_min: the least rate that holds for ever, None where none does.
    rate_per_min: with which the stores hold, None for an endless supply. stores: in file order; empty
    where nothing holds. holds_now: whether the file's numbers hold. why: a sentence where there is no
    answer.
    """

    supply: str
    least_rate_per_min: float | None
    rate_per_min: float | None
    stores: tuple[StorePlan, ...]
    holds_now: bool
    why: str = ""


@dataclass(frozen=True)
class Refill:
    """What is refilled by hand: a magazine, its item, and how many; start_count for a wanted run, or None."""

    magazine: str
    item: str
    count: int
    start_count: int | None = None


@dataclass(frozen=True)
class RefillPlan:
    """How long the magazines last that no supply fills.

    turns, steps: whole turns, and steps of the next one, until one of them runs empty; None for ever.
    refills: of all that lost items by then. why: a sentence where there is no answer.
    """

    turns: int | None
    steps: int
    refills: tuple[Refill, ...]
    why: str = ""


@dataclass(frozen=True)
class FeedPlan:
    """The whole answer; steps: that it holds for, None for ever. refill: None where supplies fill all.

    cycles: of the round that its turns are.
    """

    project: Project
    steps: int | None
    supplies: tuple[SupplyPlan, ...]
    refill: RefillPlan | None
    cycles: Fraction = CYCLE


PLAN_STEPS = 4 * RUN_STEPS
"""Steps of all runs that find the answers of one plan."""

TOO_MUCH = "Too many openings and turns to find it in a short time."
"""Why an answer is left out."""


@dataclass(eq=False)
class FeedPlanner:
    """Finds the answers of one solved project; steps: for how many they hold, None for ever.

    Raises ValueError if the project has no flow.
    """

    solution: Solution
    steps: int | None = None

    def __post_init__(self) -> None:
        if self.solution.project.flow is None:
            raise ValueError(f'the project "{self.solution.project.name}" has no flow')
        self._budget = WorkBudget(PLAN_STEPS)
        self._over = flow_over_round(self.solution)

    @property
    def project(self) -> Project:
        """The project."""
        return self.solution.project

    @cached_property
    def network(self) -> Network:
        """The network of the machine that needs most."""
        assert self._over is not None, "a round that is too long has no plan"
        found = needing_most(self._over[0])
        assert found is not None, "refused when it was made"
        return found

    def plan(self) -> FeedPlan:
        """Return all answers; none, with the reason, where the gates repeat together too late."""
        if self._over is None:
            return self._no_plan()
        found = tuple(self._supply(index) for index in range(len(self.network.sources)))
        return FeedPlan(self.project, self.steps, found, self._refill(), self._over[1])

    def _no_plan(self) -> FeedPlan:
        flow = self.project.flow
        assert flow is not None, "refused when it was made"
        why = too_long(self.project)
        supplies = tuple(SupplyPlan(one.id, None, None, (), False, why) for one in flow.supplies)
        return FeedPlan(
            self.project, self.steps, supplies, None if supplies else RefillPlan(None, 0, (), why)
        )

    # supplies

    def _supply(self, index: int) -> SupplyPlan:
        source = self.network.sources[index]
        if not source.members or not self.network.slots:
            return SupplyPlan(source.id, None, None, (), True, "No gate draws from it.")
        try:
            return self._answer(index)
        except WorkSpentError:
            return SupplyPlan(source.id, None, None, (), False, TOO_MUCH)

    def _answer(self, index: int) -> SupplyPlan:
        source = self.network.sources[index]
        linked = sorted(self.network.linked[source.members[0]])
        net = self.network.part(linked)
        own = next(place for place, one in enumerate(net.sources) if one.id == source.id)
        now = self._holds(net)
        roomy = _roomy(net)
        least = self._least_rate(roomy, own)
        given = self._given_rate(source.id)
        rate = given if self.steps is not None or least is None or given is None else max(given, least)
        if least is None and self.steps is None:
            return SupplyPlan(source.id, None, None, (), now, "No rate of this supply holds for ever.")
        fed = roomy.with_rate(own, rate)
        if not self._holds(fed):
            why = "Even large magazines that start full do not hold with it."
            return SupplyPlan(source.id, least, rate, (), now, why)
        small = self._least_stores(fed)
        members = {net.stores[place].id for place in _filled_by(net, own)}
        stores = tuple(
            StorePlan(store.id, self.item_of(store.id), store.capacity, store.start)
            for store in small.stores
            if store.id in members
        )
        return SupplyPlan(source.id, least, rate, stores, now)

    def _given_rate(self, supply: str) -> float | None:
        assert self.project.flow is not None
        return next(one.rate_per_min for one in self.project.flow.supplies if one.id == supply)

    def _least_rate(self, roomy: Network, own: int) -> float | None:
        """Return the least rate, in steps of a tenth, that holds for ever with roomy, full magazines."""
        if not _holds_for_ever(roomy.with_rate(own, None), self._budget):
            return None

        def feeds(tenths: int) -> bool:
            return _holds_for_ever(roomy.with_rate(own, tenths / RATE_STEPS), self._budget)

        alone = [place for place in roomy.sources[own].members if not roomy.feeders(place)]
        drawn = sum(Needs(roomy, place, MOST_TURNS).drawn_per_min for place in set(alone))
        balance = max(1, ceil(drawn * RATE_STEPS - 1e-6))  # what goes out must come in
        tenths = smallest(balance, int(MOST_RATE_PER_MIN) * RATE_STEPS, feeds)
        return None if tenths is None else tenths / RATE_STEPS

    def _least_stores(self, net: Network) -> Network:
        """Return the network with the least capacities, and then the least initial counts."""
        for place in range(len(net.stores)):
            net = self._smallest_store(net, place)
        for place in range(len(net.stores)):
            net = self._smallest_start(net, place)
        return net

    def _smallest_store(self, net: Network, place: int) -> Network:
        """Return the network with the least capacity of one magazine, which starts full."""
        most = net.stores[place].capacity
        found = smallest(1, most, lambda many: self._holds(net.with_store(place, many, many)))
        many = most if found is None else found
        return net.with_store(place, many, many)

    def _smallest_start(self, net: Network, place: int) -> Network:
        """Return the network with the least initial count of one magazine."""
        room = net.stores[place].capacity
        found = smallest(0, room, lambda many: self._holds(net.with_store(place, room, many)))
        return net.with_store(place, room, room if found is None else found)

    def _holds(self, net: Network) -> bool:
        if self.steps is None:
            return _holds_for_ever(net, self._budget)
        return _first_failure_us(net, self._until_us, self._budget) is None

    @cached_property
    def _until_us(self) -> int:
        """When the last of the wanted steps is over, µs from the start of the run."""
        starts = self.project.shaft.step_starts_deg
        steps = self.steps or 0
        turns = steps // len(starts)
        rest = steps - turns * len(starts)
        clock, cycles = self.network.clock, self._cycles
        if cycles == CYCLE:
            return turns * clock.cycle_us + clock.offset(starts[rest] - starts[0])
        return round((turns * TURN + starts[rest] - starts[0]) / TURN * clock.cycle_us / float(cycles))

    @property
    def _cycles(self) -> Fraction:
        return CYCLE if self._over is None else self._over[1]

    # what is filled by hand

    def _refill(self) -> RefillPlan | None:
        net = self.network
        drawn = {slot.store for slot in net.slots}
        by_hand = [
            index for index in sorted(drawn) if net.stores[index].supply < 0 and not net.feeders(index)
        ]
        if not by_hand:
            return None
        try:
            return self._lasting(net.part(by_hand))
        except WorkSpentError:
            return RefillPlan(None, 0, (), TOO_MUCH)

    def _lasting(self, alone: Network) -> RefillPlan:
        """Return how long magazines last that nothing fills; raises WorkSpentError where steps are spent."""
        self._budget = WorkBudget(RUN_STEPS)
        end = MOST_TURNS * alone.clock.cycle_us
        failed = _first_failure_us(alone, end, self._budget)
        if failed is None:
            return RefillPlan(None, 0, ())
        turns = failed // alone.clock.cycle_us
        return RefillPlan(turns, self._steps_before(failed), tuple(self._refills(alone, turns)))

    def _steps_before(self, time_us: int) -> int:
        """Return how many steps of the turn are over at a time."""
        starts = self.project.shaft.step_starts_deg
        master = self.network.clock.deg(time_us) * float(self._cycles)
        whole, deg = int(master // TURN), wrap(master)
        return whole * len(starts) + sum(end <= deg for end in (*starts[1:], TURN))

    def _refills(self, net: Network, turns: int) -> Iterator[Refill]:
        """Yield what each magazine lost after whole turns, and what a wanted run takes."""
        run = FlowRun(net)
        for _ in range(turns):
            run.turn()
        for place, store in enumerate(net.stores):
            wanted = None if self.steps is None else self._wanted(net, place)
            yield Refill(store.id, self.item_of(store.id), store.start - run.count[place], wanted)

    def _wanted(self, net: Network, place: int) -> int | None:
        """Return the initial count of a magazine that lasts for the wanted steps; None if none is legal."""
        alone = net.part([place])
        return smallest(
            0,
            MOST_CAPACITY,
            lambda many: self._holds(alone.with_store(0, max(many, alone.stores[0].capacity), many)),
        )

    def item_of(self, magazine: str) -> str:
        """Return what a magazine holds, by the gates that draw from it; "item" where they differ."""
        assert self.project.flow is not None
        names = {gate.item for gate in self.project.flow.gates if gate.source == magazine}
        return names.pop() if len(names) == 1 else "item"


def _roomy(net: Network) -> Network:
    """Return the network with full magazines that hold some turns of what is drawn from them."""
    for place, store in enumerate(net.stores):
        room = min(MOST_CAPACITY, store.capacity + ROOMY_TURNS * max(1, len(net.drawn_at[place])))
        travel = ceil(store.travel_us / net.clock.cycle_us) * len(net.drawn_at[place])
        room = min(MOST_CAPACITY, room + travel)
        net = net.with_store(place, room, room)
    return net


def _filled_by(net: Network, source: int) -> frozenset[int]:
    """Return the magazines that a supply fills, also through gates of others."""
    found, ahead = set[int](), set(net.sources[source].members)
    while ahead:
        found |= ahead
        ahead = {place for place in range(len(net.stores)) if set(net.feeders(place)) & found} - found
    return frozenset(found)


def _holds_for_ever(net: Network, budget: WorkBudget) -> bool:
    """Return whether no magazine ever runs empty or over; raises WorkSpentError where the steps are spent."""
    drawn = {slot.store for slot in net.slots}
    return all(Needs(net, place, MOST_TURNS, budget).holds(net) for place in sorted(drawn))


def _first_failure_us(net: Network, until_us: int, budget: WorkBudget) -> int | None:
    """Return when a gate first finds too little, or no room, before a time, µs from the start of the run.

    A state that comes back ends the run: nothing new follows. Raises WorkSpentError where no steps are left.
    """
    run, seen = FlowRun(net), set[bytes]()
    while run.turns * net.clock.cycle_us < until_us:
        state = run.state()
        if state in seen:
            return None
        seen.add(state)
        budget.spend(len(net.slots))
        run.turn()
        times = [
            _time_us(net, fall.slot, fall.turn)
            for (_, kind), fall in run.shortfalls.items()
            if kind != "more"
        ]
        if times:
            return min(times) if min(times) < until_us else None
    return None


def _time_us(net: Network, slot: int, turn: int) -> int:
    """Return when a slot of an opening is due that began in a turn, from 0, µs from the start of the run."""
    row = net.slots[slot]
    return (turn + row.carry) * net.clock.cycle_us + row.phase_us


def planned_flow(flow: Flow, plans: Sequence[SupplyPlan]) -> Flow:
    """Return a flow with the answers written in: rates, and what magazines lack in capacity and count.

    Nothing is made smaller: what the maker has is there already.
    """
    rates = {plan.supply: plan.rate_per_min for plan in plans if plan.stores}
    stores = {store.magazine: store for plan in plans for store in plan.stores}
    supplies = tuple(
        replaced(one, rate_per_min=rates[one.id])
        if one.rate_per_min is not None and (rates.get(one.id) or 0.0) > one.rate_per_min
        else one
        for one in flow.supplies
    )
    magazines = []
    for one in flow.magazines:
        own = stores.get(one.id)
        capacity = max(one.capacity, own.capacity) if own else one.capacity
        start = max(one.start_count, own.start_count) if own else one.start_count
        same = (capacity, start) == (one.capacity, one.start_count)
        magazines.append(one if same else replaced(one, capacity=capacity, start_count=start))
    return replaced(flow, supplies=supplies, magazines=tuple(magazines))


def item_kinds(flow: Flow) -> dict[str, tuple[str, ...]]:
    """Return the kinds of items that come into each channel, by channel, in file order."""
    found: dict[str, dict[str, None]] = {channel.id: {} for channel in flow.channels}
    for gate in flow.gates:
        if gate.to in found:
            found[gate.to][gate.item] = None
    return {channel: tuple(kinds) for channel, kinds in found.items()}
