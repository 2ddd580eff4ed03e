"""What a magazine needs, against closed forms and against trying every number."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.judge.flow.needs import Needs, smallest
from shaftscore.model import Flow, replaced
from tests.core.judge.flow.building import States, at, gate, magazine, one, opened, result, run, supply
from tests.core.judge.flow.building import net as networked

SINGLE: States = {opened("g"): (at(36.0, 36.0),)}


def holds(flow: Flow, states: States) -> bool:
    return result(flow, states).holds_for_ever is not False


def with_rate(flow: Flow, rate: float) -> Flow:
    return replaced(flow, supplies=(supply("s", rate),))


def with_capacity(flow: Flow, capacity: int) -> Flow:
    (stored,) = flow.magazines
    return replaced(
        flow,
        magazines=(replaced(stored, capacity=capacity, start_count=min(capacity, stored.start_count)),),
    )


class TestClosedForms:
    @pytest.mark.parametrize("start", [1, 2, 7])
    def test_what_is_drawn_once_a_turn_must_be_fed_once_a_turn(self, start: int) -> None:
        assert result(one(3.0, capacity=9, start=start), SINGLE).magazines["m"].needed_rate_per_min == 6.0

    def test_from_nothing_the_first_item_must_come_before_the_first_opening(self) -> None:
        """Sent after 60 / rate, there 0.5 s later, drawn at 1 s: 120 per min."""
        flow = one(6.0, start=0, travel_s=0.5)
        assert result(flow, SINGLE).magazines["m"].needed_rate_per_min == 120.0

    def test_a_rate_is_rounded_up_to_a_tenth(self) -> None:
        """Drawn at 1 s, from nothing, 0.1 s under way: 60 / 0.9 = 66.667 per min."""
        flow = one(6.0, start=0, travel_s=0.1)
        assert result(flow, SINGLE).magazines["m"].needed_rate_per_min == 66.7

    def test_no_rate_cures_a_travel_that_is_too_long(self) -> None:
        """One place, 12 s under way: it is never there in the next turn."""
        needs = result(one(6.0, capacity=1, start=1, travel_s=12.0), SINGLE).magazines["m"]
        assert (needs.needed_rate_per_min, needs.needed_capacity) == (None, None)

    def test_an_endless_supply_needs_room_for_what_is_under_way(self) -> None:
        """25 s under way and one drawn each 10 s: three are on the way at once, with none to spare."""
        needs = result(one(None, capacity=9, start=9, travel_s=25.0), SINGLE).magazines["m"]
        assert needs.needed_capacity == 3

    def test_a_shot_of_seven_needs_room_for_six_with_one_at_the_mouth(self) -> None:
        flow = one(60.0, capacity=20, start=20, mode="stream", item_s=0.1, items=7)
        needs = result(flow, {opened("g"): (at(36.0, 36.0 * 0.75),)}).magazines["m"]
        assert (needs.needed_rate_per_min, needs.needed_capacity) == (42.0, 6)

    def test_without_a_supply_nothing_holds_for_ever(self) -> None:
        flow = Flow(magazines=(magazine("m", start_count=4),), gates=(gate("g", "m"),))
        needs = result(flow, SINGLE).magazines["m"]
        assert (needs.needed_rate_per_min, needs.needed_capacity) == (None, None)

    def test_no_stock_makes_up_for_ever_for_slow_feeding(self) -> None:
        """5.9 fed and 6.0 drawn a minute; a million at the start would last some 60 million turns."""
        net = networked(one(5.9, capacity=1_000_000, start=10), SINGLE)
        needs = Needs.of(net, 0, 10_000)
        assert (needs.start_count(), needs.capacity(), needs.rate_per_min()) == (None, None, 6.0)

    def test_what_is_filled_faster_than_it_gives_runs_over_in_the_end(self) -> None:
        flow = Flow(
            supplies=(supply("s"),),
            magazines=(magazine("a", "s", start_count=1), magazine("b", "a", start_count=1)),
            gates=(gate("fill", "a", "b"), gate("g", "b")),
        )
        needs = result(flow, {opened("fill"): (at(180.0), at(270.0)), **SINGLE}).magazines
        assert needs["b"].needed_capacity is None

    def test_a_cascade_needs_the_rate_of_the_supply_behind_it(self) -> None:
        flow = Flow(
            supplies=(supply("s", 3.0),),
            magazines=(magazine("a", "s", start_count=1), magazine("b", "a", start_count=1)),
            gates=(gate("fill", "a", "b"), gate("g", "b")),
        )
        needs = result(flow, {opened("fill"): (at(180.0),), **SINGLE}).magazines
        assert needs["b"].needed_rate_per_min == 6.0

    def test_two_magazines_share_a_supply_by_turns(self) -> None:
        """a draws one a turn and gets every second item: 12 a minute. b draws two, both three: 18."""
        flow = Flow(
            supplies=(supply("s", 12.0),),
            magazines=(magazine("a", "s", start_count=4), magazine("b", "s", start_count=4)),
            gates=(gate("g", "a"), gate("h", "b")),
        )
        needs = result(flow, {**SINGLE, opened("h"): (at(36.0), at(216.0))}).magazines
        assert (needs["a"].needed_rate_per_min, needs["b"].needed_rate_per_min) == (12.0, 18.0)


class TestInvariants:
    def test_a_magazine_runs_empty_after_its_content_over_the_difference_of_rates(self) -> None:
        """40 pieces, 90 drawn and 75 fed a minute: 40 / 15 = 2.66667 min (items are conserved).

        A closed form, no outside source: in - out = change of content. The last piece leaves within one
        interval of a piece, 60 / 75 s, of that time.
        """
        flow = one(75.0, capacity=1000, start=40, mode="stream", item_s=60.0 / 90.0 - 1e-4, items=15)
        states = {opened("g"): (at(0.0, 359.99),)}
        found = result(flow, states).findings
        starved = next(f for f in found if f.rule == "starvation")
        assert starved.turn is not None
        assert starved.start_deg is not None
        minutes = (starved.turn - 1 + starved.start_deg / 360.0) / 6.0
        assert minutes == pytest.approx(40 / 15, abs=1 / 75 + 1 / 90)

    @given(
        st.integers(1, 6),
        st.integers(0, 6),
        st.sampled_from([None, 6.0, 13.0, 40.0]),
        st.integers(0, 8),
        st.lists(st.integers(0, 19), min_size=1, max_size=5, unique=True),
    )
    def test_items_are_conserved(
        self, capacity: int, start: int, rate: float | None, travel: int, opens: list[int]
    ) -> None:
        flow = one(rate, capacity=capacity, start=min(start, capacity), travel_s=travel / 2)
        made = run(flow, {opened("g"): tuple(at(18.0 * n, 9.0) for n in opens)}, 9)
        sent, arrived, left = (sum(kind == which for _, kind, _ in made.events or ()) for which in range(3))
        assert min(start, capacity) + arrived - left == made.count[0]
        assert 0 <= made.count[0] <= made.count[0] + sent - arrived <= capacity

    def test_littles_law(self) -> None:
        """The mean number under way is the rate times the travel (J. D. C. Little, 1961, from memory)."""
        flow = one(None, capacity=50, start=50, travel_s=7.3)
        states = {opened("g"): tuple(at(72.0 * n, 9.0) for n in range(5))}
        made = run(flow, states, 200)
        sent = [time for time, kind, _ in made.events or () if kind == 0]
        arrived = [time for time, kind, _ in made.events or () if kind == 1]
        span = 200 * 10e6
        under_way = sum(a - s for s, a in zip(sorted(sent), sorted(arrived), strict=False)) / span
        assert under_way == pytest.approx(5 / 10 * 7.3, rel=0.01)


@st.composite
def small_flows(draw: st.DrawFn) -> tuple[Flow, States]:
    rate = draw(st.sampled_from([None, 6.0, 11.0, 20.0]))
    capacity = draw(st.integers(1, 5))
    start = draw(st.integers(0, capacity))
    flow = one(rate, capacity=capacity, start=start, travel_s=draw(st.integers(0, 24)) / 2)
    opens = draw(st.lists(st.integers(0, 9), min_size=1, max_size=3, unique=True))
    return flow, {opened("g"): tuple(at(36.0 * n + 3.6, 9.0) for n in opens)}


class TestAgainstTryingEveryNumber:
    @settings(max_examples=20)
    @given(small_flows())
    def test_the_needed_capacity_holds_and_one_less_does_not(self, case: tuple[Flow, States]) -> None:
        flow, states = case
        found = result(flow, states).magazines["m"].needed_capacity
        tried = [many for many in range(1, 12) if holds(with_capacity(flow, many), states)]
        assert found == (tried[0] if tried else None)

    @settings(max_examples=12)
    @given(small_flows())
    def test_the_needed_rate_holds_and_a_tenth_less_does_not(self, case: tuple[Flow, States]) -> None:
        flow, states = case
        found = result(flow, states).magazines["m"].needed_rate_per_min
        if found is None:
            assert not holds(with_rate(flow, 1e6), states)
        else:
            assert holds(with_rate(flow, found), states)
            assert not holds(with_rate(flow, found - 0.1), states)


@given(st.integers(1, 2000), st.integers(1, 2000))
def test_smallest_is_that_of_trying_all(least: int, threshold: int) -> None:
    found = smallest(least, 2000, lambda number: number >= threshold)
    assert found == (max(least, threshold) if threshold <= 2000 else None)


def test_smallest_of_nothing_that_holds() -> None:
    asked: list[int] = []

    def never(number: int) -> bool:
        asked.append(number)
        return False

    assert smallest(1, 1_000_000, never) is None
    assert len(asked) <= math.ceil(math.log2(1_000_000)) + 2
