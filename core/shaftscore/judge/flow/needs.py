"""What a magazine needs, found by solving again: the smallest rate, capacity and start count that hold.

A trial changes one number of the network and runs the part of it that is linked with the magazine, until
its state comes back, until one of the magazine's gates finds it empty (or a gate that fills it finds it
full), or for the most turns. The smallest number is found by halving the range. A rate under what the
magazine's own gates draw never holds, however long it lasts.

Formulas, with T the time of a cycle, D the items that the magazine's own gates draw in a turn, p the interval
of its supply:

    (1) least rate: ceil(D / T) on the grid of 0.1 a minute, since what comes in must be what goes out
    (2) underfed: p D / T > 1, the same for the rate that the supply has
    (3) most capacity with an endless supply: slots of its gates x (whole turns of travel + 2) + 1, all that
        can leave while an item that was sent is under way
    (4) no state came back: it holds if the content at the end is within D of that at half time, since one
        turn's draws are all that a periodic content can differ by
    (5) smallest number: doubling, then halving, on a property that all larger numbers share
    (6) rate that is tried first: sum of min(D_j, D) / T over the magazines j that the supply serves, each in
        its turn: whoever draws less is full and passed over, whoever draws more gets as much as this one

(1) and (2) are the balance of a store over a period; (5) is binary search. (6) is the max-min fair share of
a round; it is a guess that a run with it, and one with a step less, confirm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property

from shaftscore.judge.flow.clock import US_PER_MIN
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.repeats import Repeats
from shaftscore.judge.flow.work import WorkBudget

RATE_STEPS = 10
"""Rates are found in steps of one tenth per minute."""

FEW_STEPS = 8
"""Doublings after which it is asked whether anything holds at all."""

MOST_RATE = 1_000_000
"""Largest rate of the file format, per minute."""

_TURNS_IN_STORE = 3
"""For how many turns a magazine is to hold items where rate and capacity are both too small."""

MOST_CAPACITY = 1_000_000
"""Largest capacity of the file format."""


@dataclass(frozen=True)
class Plan:
    """Numbers that would keep a magazine from running empty; None leaves one as it is."""

    rate_per_min: float | None = None
    start_count: int | None = None
    capacity: int | None = None


@dataclass(frozen=True)
class Needs:
    """The needs of one magazine of a network; `most_turns` bounds each trial, `budget` all of them together.

    Make it of a whole network with `Needs.of`, which leaves out all that has no influence. What needs trials
    raises shaftscore.judge.flow.work.WorkSpentError where the budget is spent.
    """

    network: Network
    store: int
    most_turns: int
    budget: WorkBudget | None = None

    @staticmethod
    def of(network: Network, store: int, most_turns: int, budget: WorkBudget | None = None) -> Needs:
        """Look at a magazine and what is linked with it."""
        linked = network.linked[store]
        if budget is not None:
            budget.spend(sum(len(network.drawn_at[index]) for index in linked))
        return Needs(network.part(linked), sorted(linked).index(store), most_turns, budget)

    @cached_property
    def source(self) -> int | None:
        """The one supply that feeds the magazine, through other magazines too; None for none or several."""
        found: set[int] = set()
        seen: set[int] = set()
        ahead = [self.store]
        while ahead:
            here = ahead.pop()
            if here not in seen:
                seen.add(here)
                supply = self.network.stores[here].supply
                found |= {supply} if supply >= 0 else set()
                ahead += self.network.feeders(here)
        return found.pop() if len(found) == 1 else None

    @property
    def source_id(self) -> str:
        """The id of that supply, "" for none."""
        return "" if self.source is None else self.network.sources[self.source].id

    def holds(self, network: Network) -> bool:
        """Return whether the magazine's gates never find it empty, nor those that fill it find it full.

        Where the state does not come back within the most turns, the content decides: what kept falling
        would run out, and what other magazines kept filling would run over.
        """
        self._spend(network)
        mine = self._failures(network)
        run = FlowRun(network)
        repeats = Repeats(run)
        halfway, half = 0, self.most_turns // 2
        while run.turns < self.most_turns:
            self._spend(network)
            run.turn()
            if not mine.isdisjoint(run.shortfalls):
                return False
            if repeats.comes_back():
                return True
            repeats.skip(half if run.turns < half else self.most_turns)
            if run.turns == half:
                halfway = run.count[self.store]
        gained, noise = run.count[self.store] - halfway, self._drawn
        # (4)
        return gained >= -noise and not (network.stores[self.store].fed and gained > noise)

    def _spend(self, network: Network) -> None:
        if self.budget is not None:
            self.budget.spend(len(network.slots))

    def _failures(self, network: Network) -> set[tuple[int, str]]:
        """Return the shortfalls (opening, kind) that are this magazine's."""
        empty = {(slot.opening, "empty") for slot in network.slots if slot.store == self.store}
        filling = (slot for slot in network.slots if network.ends.get(slot.route.end) == self.store)
        return empty | {(slot.opening, "no room") for slot in filling}

    @cached_property
    def _drawn(self) -> int:
        """Items that the magazine's own gates are meant to let out in a turn, and can."""
        return self._drawn_of(self.store)

    def _drawn_of(self, store: int) -> int:
        openings = {slot.opening for slot in self.network.slots if slot.store == store}
        found = [self.network.openings[index] for index in openings]
        return sum(min(opening.meant, opening.slots) for opening in found)

    @property
    def _is_hopeless(self) -> bool:
        """Whether it is drawn from and nothing fills it, so that no number holds for ever."""
        here = self.network.stores[self.store]
        return self._drawn > 0 and here.supply < 0 and not self.network.feeders(self.store)

    @property
    def drawn_per_min(self) -> float:
        """What the magazine's own gates are meant to draw, items a minute."""
        return float(self._drawn * self.network.clock.speed_rpm)

    def rate_per_min(self, near_per_min: float | None = None) -> float | None:
        """Return the smallest rate of its supply, up to 0.1 per min, with which it holds; None for none.

        near_per_min: what another magazine on that supply needs, which is tried first.
        """
        source = self.source
        if source is None:
            return None
        least = max(1, math.ceil(self.drawn_per_min * RATE_STEPS - 1e-6))  # (1)

        @cache
        def feeds(steps: int) -> bool:
            return self.holds(self.network.with_rate(source, steps / RATE_STEPS))

        near = 0 if near_per_min is None else round(near_per_min * RATE_STEPS)
        if near >= least and feeds(near) and not (near > least and feeds(near - 1)):
            return near / RATE_STEPS
        if not self.holds(self.network.with_rate(source, None)):
            return None
        found = self._confirmed(least, feeds) or smallest(least, MOST_RATE * RATE_STEPS, feeds)
        return None if found is None else found / RATE_STEPS

    def _confirmed(self, least: int, feeds: Callable[[int], bool]) -> int | None:
        """Return the fair rate where it is the smallest that feeds, in steps; None where that is not sure.

        A step less must not feed. What the search would try above it must all feed; what it would try below
        is what takes long, since a supply a little too slow fails late.
        """
        fair = self._fair_steps
        if fair is None or fair < least or not feeds(fair) or (fair > least and feeds(fair - 1)):
            return None
        found = smallest(least, MOST_RATE * RATE_STEPS, lambda steps: steps >= fair and feeds(steps))
        return fair if found == fair else None

    @property
    def _fair_steps(self) -> int | None:
        """The rate at which a supply that serves magazines in turn gives this one what is drawn, in steps.

        None where no supply serves it itself.
        """
        supply = self.network.stores[self.store].supply
        if supply < 0:
            return None
        drawn = [self._drawn_of(member) for member in self.network.sources[supply].members]
        least = sum(min(one, self._drawn) for one in drawn) * self.network.clock.speed_rpm  # (6)
        return math.ceil(least * RATE_STEPS - 1e-6)

    def capacity(self) -> int | None:
        """Return the smallest capacity with which it holds; None for none.

        The start count is lowered where it is over the capacity that is tried.
        """
        start = self.network.stores[self.store].start
        if self._is_hopeless:
            return None
        return smallest(
            1,
            self._most_capacity,
            lambda many: self.holds(self.network.with_store(self.store, many, min(start, many))),
        )

    @property
    def _most_capacity(self) -> int:
        """A capacity above which more is no help.

        An endless supply keeps a magazine filled: it needs what is drawn while an item is under way.
        """
        here = self.network.stores[self.store]
        if here.supply < 0 or self.network.sources[here.supply].pace is not None:
            return MOST_CAPACITY
        # (3)
        slots = sum(slot.store == self.store for slot in self.network.slots)
        return min(
            MOST_CAPACITY, max(here.start, slots * (here.travel_us // self.network.clock.cycle_us + 2)) + 1
        )

    def start_count(self) -> int | None:
        """Return the smallest start count, up to the capacity, with which it holds; None for none."""
        if self._is_hopeless:
            return None
        capacity = self.network.stores[self.store].capacity
        return smallest(
            0, capacity, lambda many: self.holds(self.network.with_store(self.store, capacity, many))
        )

    def plans(self) -> Iterator[Plan]:
        """Yield what would keep it from running empty: one number, where slow feeding first; then several."""
        makes = [self._fuller, self._larger, self._faster]
        makes = makes[-1:] + makes[:-1] if self._underfed else makes
        yield from (plan for plan in (make() for make in makes) if plan != Plan())
        yield from self._joint_plans()

    def _faster(self) -> Plan:
        return Plan(rate_per_min=self.rate_per_min())

    def _fuller(self) -> Plan:
        return Plan(start_count=self.start_count())

    def _larger(self) -> Plan:
        return Plan(capacity=self.capacity())

    @property
    def _underfed(self) -> bool:
        """Whether its supply alone gives less than is drawn from it."""
        pace = None if self.source is None else self.network.sources[self.source].pace
        if pace is None:
            return False
        return (pace.whole + pace.part / pace.parts) * self.drawn_per_min > US_PER_MIN * (1 + 1e-9)  # (2)

    def _joint_plans(self) -> Iterator[Plan]:
        """Yield plans that change several numbers: start full; be larger and full; be fed faster too."""
        capacity = self.network.stores[self.store].capacity
        full = self._with_store(capacity, capacity)
        rate = full.rate_per_min()
        if rate is not None and self.source is not None:
            fed = replace(self, network=self.network.with_rate(self.source, rate))
            yield Plan(rate_per_min=rate, start_count=fed.start_count())
        if self._is_hopeless:
            return
        larger = smallest(
            capacity,
            max(capacity, self._most_capacity),
            lambda many: self.holds(self._with_store(many, many).network),
        )
        if larger is not None:
            yield Plan(capacity=larger, start_count=larger)
        elif self.source is not None:
            yield from self._plan_of_all()

    def _plan_of_all(self) -> Iterator[Plan]:
        """Yield the plan that changes rate, capacity and start count, if it holds."""
        capacity = self.network.stores[self.store].capacity
        roomy = capacity + _TURNS_IN_STORE * max(1, self._drawn)
        rate = self._with_store(roomy, roomy).rate_per_min()
        if rate is None or self.source is None:
            return
        fed = replace(self, network=self.network.with_rate(self.source, rate))
        larger = smallest(capacity, roomy, lambda many: fed.holds(fed._with_store(many, many).network))
        if larger is not None:
            yield Plan(rate_per_min=rate, capacity=larger, start_count=larger)

    def _with_store(self, capacity: int, start: int) -> Needs:
        return replace(self, network=self.network.with_store(self.store, capacity, start))


def smallest(least: int, most: int, holds: Callable[[int], bool]) -> int | None:
    """Find the smallest number from `least` to `most` that holds, where all above one that does do.

    Steps up by doubling, after some steps only if `most` itself holds, then halves the range. None if
    nothing holds.
    """
    low, high, steps = least - 1, least, 0  # (5)
    while not holds(high):
        steps += 1
        if steps == FEW_STEPS and not holds(most):
            return None
        if high >= most:
            return None
        low, high = high, min(most, max(1, 2 * high))
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
