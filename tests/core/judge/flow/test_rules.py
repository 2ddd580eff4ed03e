"""Every rule of the flow by a small case computed by hand. One turn takes 10 s, so 36 degrees are 1 s."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import ClassVar

import pytest

from shaftscore.judge.flow.engine import EventKind, FlowRun
from shaftscore.model import Branch, Channel, Diverter, Flow, Gate, LevelState, Magazine, Outlet, Reload
from tests.core.judge.flow.building import States, at, gate, magazine, one, opened, result, run, supply

NAMES = {
    EventKind.SENT: "sent",
    EventKind.ARRIVED: "arrived",
    EventKind.LEFT: "left",
    EventKind.EMPTY: "empty",
    EventKind.NO_ROOM: "no room",
}


def happened(made: FlowRun) -> list[tuple[float, str, str]]:
    """Everything that happened: (time s, what, magazine or gate), sorted."""
    network = made.network
    return sorted(
        (
            time / 1e6,
            NAMES[kind],
            network.stores[index].id
            if kind <= EventKind.ARRIVED
            else network.gates[network.slots[index].gate].id,
        )
        for time, kind, index in made.events or ()
    )


def times(made: FlowRun, what: str, who: str) -> list[float]:
    return [time for time, kind, name in happened(made) if (kind, name) == (what, who)]


def rules(flow: Flow, states: States) -> list[str]:
    return [finding.rule for finding in result(flow, states).findings]


OPEN_AT_1_S: States = {opened("g"): (at(36.0, 36.0),)}
"""A gate that opens at 1 s for 1 s."""


class TestGates:
    def test_a_single_gate_lets_one_out_at_each_begin(self) -> None:
        made = run(one(None), OPEN_AT_1_S, 3)
        assert times(made, "left", "g") == [1.0, 11.0, 21.0]

    def test_each_interval_of_a_turn_is_an_opening(self) -> None:
        made = run(one(None), {opened("g"): (at(36.0), at(180.0))}, 2)
        assert times(made, "left", "g") == [1.0, 5.0, 11.0, 15.0]

    @pytest.mark.parametrize(("item_s", "left"), [(0.999999, [1.0]), (1.0, [1.0]), (1.000001, [])])
    def test_an_interval_shorter_than_item_s_lets_none_out(self, item_s: float, left: list[float]) -> None:
        flow = one(None, item_s=item_s)
        assert times(run(flow, OPEN_AT_1_S, 1), "left", "g") == left
        assert rules(flow, OPEN_AT_1_S) == ([] if left else ["missed-release"])

    @pytest.mark.parametrize(
        ("item_s", "left"), [(0.4, [1.4, 1.8]), (0.5, [1.5, 2.0]), (1.0, [2.0]), (1.1, [])]
    )
    def test_a_stream_lets_items_out_item_s_after_the_begin_and_every_item_s(
        self, item_s: float, left: list[float]
    ) -> None:
        flow = one(None, mode="stream", item_s=item_s, items=2)
        assert times(run(flow, OPEN_AT_1_S, 1), "left", "g") == left
        assert rules(flow, OPEN_AT_1_S) == ([] if len(left) == 2 else ["missed-release"])

    def test_more_than_meant_is_a_double_release(self) -> None:
        found = result(one(None, mode="stream", item_s=0.3, items=2), OPEN_AT_1_S).findings
        assert [(f.rule, f.value, f.limit, f.turn) for f in found] == [("double-release", 3.0, 2.0, 1)]

    def test_in_a_passing_interval_none_is_meant(self) -> None:
        states = {opened("g"): (at(36.0, 36.0), at(180.0, 1.0, passing=True))}
        found = result(one(None), states).findings
        assert [(f.rule, f.value, f.limit) for f in found] == [("double-release", 1.0, 0.0)]

    def test_a_passing_interval_shorter_than_item_s_does_no_harm(self) -> None:
        states = {opened("g"): (at(36.0, 36.0), at(180.0, 1.0, passing=True))}
        assert rules(one(None, item_s=0.1), states) == []

    def test_an_interval_through_0_counts_at_its_begin_so_not_at_the_start(self) -> None:
        states = {opened("g"): (at(342.0, 36.0),)}
        assert times(run(one(None), states, 2), "left", "g") == [9.5, 19.5]

    def test_a_stream_runs_on_through_0(self) -> None:
        states = {opened("g"): (at(342.0, 36.0),)}
        made = run(one(None, mode="stream", item_s=0.4, items=2), states, 2)
        assert times(made, "left", "g") == [9.9, 10.3, 19.9]

    def test_a_gate_that_never_closes_has_no_begin(self) -> None:
        found = result(one(None), {opened("g"): (at(0.0, 360.0),)}).findings
        assert [(f.rule, f.facts["why"]) for f in found] == [("missed-release", "never-closes")]

    def test_a_gate_that_never_opens_lets_nothing_out_and_breaks_nothing(self) -> None:
        assert rules(one(None), {opened("g"): ()}) == []


class TestReload:
    def flow(self, item_s: float) -> Flow:
        return one(None, reload=Reload(state=opened("g", "closed"), item_s=item_s))

    @pytest.mark.parametrize(("item_s", "leaves"), [(2.0, True), (2.5, True), (2.6, False)])
    def test_the_lane_must_have_been_in_that_state_that_long(self, item_s: float, leaves: bool) -> None:
        states = {**OPEN_AT_1_S, opened("g", "closed"): (at(90.0, 90.0),)}
        made = run(self.flow(item_s), states, 2)
        assert times(made, "left", "g") == ([1.0, 11.0] if leaves else [])
        assert rules(self.flow(item_s), states) == ([] if leaves else ["missed-release"])

    def test_only_the_time_since_the_last_opening_counts(self) -> None:
        states = {opened("g"): (at(36.0), at(126.0)), opened("g", "closed"): (at(180.0, 90.0),)}
        assert times(run(self.flow(1.0), states, 2), "left", "g") == [1.0, 11.0]

    def test_two_short_stays_do_not_make_one_long_one(self) -> None:
        states = {**OPEN_AT_1_S, opened("g", "closed"): (at(90.0, 36.0), at(180.0, 36.0))}
        assert times(run(self.flow(1.5), states, 1), "left", "g") == []

    def test_a_stay_through_0_is_one_stay(self) -> None:
        states = {**OPEN_AT_1_S, opened("g", "closed"): (at(324.0, 54.0),)}
        assert times(run(self.flow(1.5), states, 2), "left", "g") == [1.0, 11.0]


class TestSupplies:
    def test_the_first_item_is_sent_one_interval_after_the_start_and_arrives_travel_s_later(self) -> None:
        made = run(one(12.0, start=0, travel_s=0.7), {opened("g"): ()}, 2)
        assert times(made, "sent", "m") == [5.0, 10.0, 15.0]
        assert times(made, "arrived", "m") == [5.7, 10.7, 15.7]

    def test_a_full_magazine_lets_an_item_wait_at_the_mouth(self) -> None:
        """Full at the start; a place is free at 1 s, but the first item comes at 5 s; then again at 11 s."""
        made = run(one(12.0, capacity=1, start=1), OPEN_AT_1_S, 3)
        assert times(made, "sent", "m") == [5.0, 11.0, 21.0]

    def test_the_next_interval_begins_when_the_waiting_item_is_sent(self) -> None:
        """At 6 s an item waits since 5 s; the next ones come at 11 s, not at 10 s, and at 16 s."""
        states = {opened("g"): (at(216.0), at(234.0))}
        made = run(one(12.0, capacity=2, start=2), states, 2)
        assert times(made, "sent", "m") == [6.0, 11.0, 16.0]

    def test_a_place_is_taken_from_the_moment_an_item_is_sent(self) -> None:
        """Travel takes 7 s: at 10 s one is under way and there is room for no other."""
        made = run(one(12.0, capacity=1, start=0, travel_s=7.0), {opened("g"): ()}, 2)
        assert times(made, "sent", "m") == [5.0]

    def test_an_endless_supply_sends_at_once(self) -> None:
        made = run(one(None, capacity=2, start=0, travel_s=0.5), OPEN_AT_1_S, 2)
        assert times(made, "sent", "m") == [0.0, 0.0, 1.0, 11.0]
        assert times(made, "arrived", "m") == [0.5, 0.5, 1.5, 11.5]

    def shared(self, rate: float) -> Flow:
        stores = tuple(magazine(name, "s", capacity=1) for name in ("a", "b", "c"))
        return Flow(supplies=(supply("s", rate),), magazines=stores, gates=(gate("g", "b"),))

    def test_magazines_on_one_supply_take_turns_in_file_order(self) -> None:
        made = run(self.shared(30.0), {opened("g"): ()}, 1)
        assert [times(made, "sent", name) for name in "abc"] == [[2.0], [4.0], [6.0]]

    def test_full_magazines_are_skipped(self) -> None:
        """After a, b, c one waits from 8 s on; b has a place at 9 s, and it is b's again at 19 s."""
        made = run(self.shared(30.0), {opened("g"): (at(324.0),)}, 2)
        assert [times(made, "sent", name) for name in "abc"] == [[2.0], [4.0, 9.0, 19.0], [6.0]]

    def test_the_turn_goes_on_after_the_magazine_that_was_served_last(self) -> None:
        stores = tuple(magazine(name, "s", capacity=9) for name in ("a", "b"))
        flow = Flow(supplies=(supply("s", 60.0),), magazines=stores)
        made = run(flow, {}, 1)
        assert times(made, "sent", "a") == [1.0, 3.0, 5.0, 7.0, 9.0]
        assert times(made, "sent", "b") == [2.0, 4.0, 6.0, 8.0]

    def test_a_rate_that_is_no_whole_number_of_microseconds_does_not_drift(self) -> None:
        """Three a turn, 3.333333 s apart: the 3000th comes at 10000 s to the microsecond."""
        flow = Flow(supplies=(supply("s", 18.0),), magazines=(magazine("m", "s", capacity=10_000),))
        sent = times(run(flow, {}, 1001), "sent", "m")
        assert sent[:3] == [3.333333, 6.666667, 10.0]
        assert sent[2999] == 10_000.0

    @pytest.mark.parametrize("rate", [73.0, 73.1, 97.0, 61.7])
    def test_nor_does_one_that_began_anew_after_an_item_had_waited(self, rate: float) -> None:
        """The first waits until a place is free at 1.01 s; then 40 leave at once and none waits again."""
        flow = one(rate, capacity=50, start=50, mode="stream", item_s=0.01, items=40)
        sent = times(run(flow, {opened("g"): (at(36.0, 14.4),)}, 4), "sent", "m")
        interval = Fraction(60_000_000) / Fraction(str(rate))
        exact = [floor(1_010_000 + step * interval + Fraction(1, 2)) / 1e6 for step in range(len(sent))]
        assert len(sent) > 30
        assert sent == exact


class TestOrderOfEvents:
    def test_arrivals_come_before_departures(self) -> None:
        """Sent at 0.5 s, there at 1 s, when the gate opens."""
        made = run(one(120.0, capacity=1, start=0, travel_s=0.5), OPEN_AT_1_S, 1)
        assert times(made, "left", "g") == [1.0]
        assert times(made, "empty", "g") == []

    def test_what_arrives_a_microsecond_later_comes_too_late(self) -> None:
        made = run(one(120.0, capacity=1, start=0, travel_s=0.500001), OPEN_AT_1_S, 1)
        assert times(made, "empty", "g") == [1.0]

    def test_the_run_starts_at_0_with_start_count(self) -> None:
        made = run(one(6.0, start=1), {opened("g"): (at(0.0),)}, 1)
        assert times(made, "left", "g") == [0.0]

    def test_an_endless_supply_has_filled_the_magazine_when_a_gate_opens_at_0(self) -> None:
        assert times(run(one(None, start=0), {opened("g"): (at(0.0),)}, 1), "left", "g") == [0.0]

    def test_gates_of_one_instant_open_in_file_order(self) -> None:
        flow = Flow(
            magazines=(magazine("m", start_count=1),),
            gates=(gate("later", "m"), gate("first", "m")),
        )
        made = run(flow, {opened("later"): (at(36.0),), opened("first"): (at(36.0),)}, 1)
        assert happened(made) == [(1.0, "empty", "first"), (1.0, "left", "later")]


class TestCascade:
    def flow(self, *, capacity: int = 2, travel_s: float = 0.5) -> Flow:
        stores = (magazine("a", "s"), magazine("b", "a", capacity=capacity, travel_s=travel_s))
        gates = (gate("fill", "a", "b"), gate("give", "b"))
        return Flow(supplies=(supply("s"),), magazines=stores, gates=gates)

    def states(self, fill: float, give: float) -> States:
        return {opened("fill"): (at(fill),), opened("give"): (at(give),)}

    def test_a_magazine_fills_another_one_through_a_gate(self) -> None:
        made = run(self.flow(), self.states(36.0, 72.0), 2)
        assert times(made, "left", "fill") == [1.0, 11.0]
        assert times(made, "arrived", "b") == [1.5, 11.5]
        assert times(made, "left", "give") == [2.0, 12.0]

    def test_what_is_still_under_way_cannot_leave(self) -> None:
        made = run(self.flow(travel_s=1.5), self.states(36.0, 72.0), 2)
        assert times(made, "empty", "give") == [2.0]
        assert times(made, "left", "give") == [12.0]

    def test_without_a_place_nothing_leaves_and_the_release_is_missed(self) -> None:
        flow = self.flow(capacity=1)
        states = {opened("fill"): (at(36.0), at(54.0)), opened("give"): (at(180.0),)}
        assert times(run(flow, states, 1), "no room", "fill") == [1.5]
        found = result(flow, states).findings
        assert [(f.rule, f.facts["full"], f.value, f.limit) for f in found] == [
            ("missed-release", "b", 0.0, 1.0)
        ]


class TestChannels:
    def flow(
        self, *channels: Channel, gates: tuple[Gate, ...] = (), expects: tuple[str, ...] | None = None
    ) -> Flow:
        gates = gates or (gate("g", "m", "chute"),)
        stores = tuple(magazine(name, "s") for name in dict.fromkeys(each.source for each in gates))
        outlets = (Outlet(id="cup", expects=expects), Outlet(id="tray"))
        return Flow(
            supplies=(supply("s"),), magazines=stores, channels=channels, outlets=outlets, gates=gates
        )

    def two(self, headway_s: float, spread_s: float = 0.0, expects: tuple[str, ...] | None = None) -> Flow:
        chute = Channel(
            id="chute", travel_min_s=1.0, travel_max_s=1.0 + spread_s, headway_s=headway_s, to="cup"
        )
        return self.flow(chute, gates=(gate("x", "m", "chute"), gate("y", "n", "chute")), expects=expects)

    def apart(self, seconds: float) -> States:
        return {opened("x"): (at(36.0),), opened("y"): (at(36.0 + 36.0 * seconds),)}

    @pytest.mark.parametrize(
        ("headway_s", "spread_s", "apart_s", "left_s"),
        [
            (0.5, 0.0, 0.5, None),
            (0.5, 0.0, 0.49, 0.49),
            (0.5, 0.3, 0.8, None),
            (0.5, 0.3, 0.7, 0.4),
            (0.5, 0.3, 0.2, 0.0),
        ],
    )
    def test_two_items_collide_that_could_arrive_closer_than_the_headway(
        self, headway_s: float, spread_s: float, apart_s: float, left_s: float | None
    ) -> None:
        found = result(self.two(headway_s, spread_s), self.apart(apart_s)).findings
        expected = [] if left_s is None else [("collision", ("x", "y"), left_s, headway_s, 1)]
        assert [(f.rule, f.lanes, f.value, f.limit, f.turn) for f in found] == expected

    def test_without_a_headway_nothing_collides(self) -> None:
        assert rules(self.two(0.0, 2.0), self.apart(0.0)) == []

    def test_items_of_two_turns_collide_across_0(self) -> None:
        """y leaves at 9.8 s and x at 10 s."""
        states = {opened("x"): (at(0.0),), opened("y"): (at(352.8),)}
        found = result(self.two(0.5), states).findings
        assert [(f.rule, f.lanes, f.value, f.turn) for f in found] == [("collision", ("y", "x"), 0.2, 2)]

    def test_items_of_one_gate_collide_too(self) -> None:
        chute = Channel(id="chute", headway_s=2.0, to="cup")
        found = result(self.flow(chute), {opened("g"): (at(0.0, 9.0), at(36.0, 9.0))}).findings
        assert [(f.rule, f.lanes, f.value) for f in found] == [("collision", ("g",), 1.0)]

    def test_travels_of_channels_in_a_row_add_up(self) -> None:
        """Both channels spread by 0.1 s; at the second's end y may be 0.3 s - 0.2 s behind x."""
        first = Channel(id="chute", travel_min_s=1.0, travel_max_s=1.1, headway_s=0.15, to="pipe")
        second = Channel(id="pipe", travel_min_s=0.5, travel_max_s=0.6, headway_s=0.15, to="cup")
        gates = (gate("x", "m", "chute"), gate("y", "n", "chute"))
        found = result(self.flow(first, second, gates=gates), self.apart(0.3)).findings
        assert [(f.rule, f.facts["channel"], f.value) for f in found] == [("collision", "pipe", 0.1)]
        assert found[0].span is not None
        assert found[0].span.start == pytest.approx(36.0 * (1.0 + 1.7))

    def test_one_that_left_later_may_meet_one_on_a_longer_way(self) -> None:
        """x leaves at 1 s and is at the end from 5 s on, y leaves at 4.9 s and is there at 4.9 s."""
        long = Channel(id="pipe", travel_min_s=4.0, travel_max_s=4.0, to="chute")
        chute = Channel(id="chute", headway_s=0.2, to="cup")
        gates = (gate("x", "m", "pipe"), gate("y", "n", "chute"))
        found = result(self.flow(long, chute, gates=gates), self.apart(3.9)).findings
        assert [(f.rule, f.lanes, f.value) for f in found] == [("collision", ("y", "x"), 0.1)]

    def test_a_channel_may_lead_to_a_magazine_and_the_latest_arrival_counts(self) -> None:
        chute = Channel(id="chute", travel_min_s=0.2, travel_max_s=0.7, to="b")
        flow = Flow(
            supplies=(supply("s"),),
            magazines=(magazine("a", "s"), Magazine(id="b", capacity=1, travel_s=0.1)),
            channels=(chute,),
            gates=(gate("fill", "a", "chute"), gate("give", "b")),
        )
        made = run(flow, {opened("fill"): (at(36.0),), opened("give"): (at(90.0),)}, 1)
        assert times(made, "arrived", "b") == [1.8]


class TestDiverters:
    CUP, TRAY = LevelState(lane="flap", level="open"), LevelState(lane="flap", level="far")

    def flow(self, spread_s: float = 0.5) -> Flow:
        ways = (Branch(state=self.CUP, to="cup"), Branch(state=self.TRAY, to="tray"))
        chute = Channel(
            id="chute", travel_min_s=1.0, travel_max_s=1.0 + spread_s, to=Diverter(lane="flap", by_state=ways)
        )
        return Flow(
            supplies=(supply("s"),),
            magazines=(magazine("m", "s"),),
            channels=(chute,),
            outlets=(Outlet(id="cup", expects=("g",)), Outlet(id="tray", expects=())),
            gates=(gate("g", "m", "chute"),),
        )

    def states(self, cup: tuple[float, float], tray: tuple[float, float]) -> States:
        """The item leaves at 1 s and arrives from 2 s (72 degrees) to 2.5 s (90 degrees)."""
        return {**OPEN_AT_1_S, self.CUP: (at(*cup),), self.TRAY: (at(*tray),)}

    @pytest.mark.parametrize(
        ("cup", "tray", "found"),
        [
            ((72.0, 18.0), (180.0, 20.0), []),
            ((300.0, 200.0), (180.0, 20.0), []),
            ((73.0, 30.0), (180.0, 20.0), ["misrouted"]),
            ((60.0, 29.0), (180.0, 20.0), ["misrouted"]),
            ((60.0, 20.0), (80.0, 20.0), ["misrouted"]),
            ((60.0, 40.0), (60.0, 40.0), ["misrouted"]),
            ((60.0, 40.0), (85.0, 40.0), ["misrouted"]),
            ((60.0, 30.0), (90.0, 40.0), []),
            ((180.0, 20.0), (60.0, 40.0), ["wrong-order"]),
        ],
    )
    def test_the_state_during_the_whole_arrival_window_decides(
        self, cup: tuple[float, float], tray: tuple[float, float], found: list[str]
    ) -> None:
        assert rules(self.flow(), self.states(cup, tray)) == found

    def test_a_misrouted_item_is_told_once_with_its_window(self) -> None:
        found = result(self.flow(), self.states((73.0, 30.0), (180.0, 20.0))).findings
        assert [(f.lanes, f.turn) for f in found] == [(("flap", "g"), 1)]
        assert found[0].span is not None
        assert (found[0].span.start, found[0].span.end) == pytest.approx((72.0, 90.0))
        assert found[0].facts["between"] == "open and far"


class TestOutlets:
    def flow(self, expects: tuple[str, ...] | None, spread_s: float = 0.0, **fields: object) -> Flow:
        chute = Channel(id="chute", travel_min_s=1.0, travel_max_s=1.0 + spread_s, to="cup")
        return Flow(
            supplies=(supply("s"), supply("slow", 3.0)),
            magazines=(magazine("m", "s"), magazine("n", fields.pop("source", "s"), start_count=1)),
            channels=(chute,),
            outlets=(Outlet(id="cup", expects=expects),),
            gates=(gate("x", "m", "chute"), gate("y", "n", "chute", **fields)),
        )

    XY: ClassVar[States] = {opened("x"): (at(36.0),), opened("y"): (at(72.0),)}

    @pytest.mark.parametrize(
        ("expects", "got"),
        [
            (("x", "y"), None),
            (None, None),
            (("y", "x"), ("x", "y")),
            (("x",), ("y", "")),
            (("x", "y", "x"), ("", "x")),
            ((), None),
        ],
    )
    def test_a_turn_is_compared_with_expects(
        self, expects: tuple[str, ...] | None, got: tuple[str, str] | None
    ) -> None:
        found = result(self.flow(expects), self.XY).findings
        assert [(f.facts["got"], f.facts["expected"]) for f in found] == ([] if got is None else [got])

    @pytest.mark.parametrize(("spread_s", "swap"), [(0.9, False), (1.0, False), (1.1, True)])
    def test_a_spread_that_could_swap_two_different_items_is_wrong_too(
        self, spread_s: float, swap: bool
    ) -> None:
        found = result(self.flow(("x", "y"), spread_s), self.XY).findings
        assert [(f.rule, f.facts["why"]) for f in found] == ([("wrong-order", "swap")] if swap else [])

    def test_items_of_one_name_may_swap(self) -> None:
        assert result(self.flow(("x", "x"), 3.0, item="x"), self.XY).findings == ()

    def test_a_turn_is_that_in_which_the_item_left(self) -> None:
        """y leaves at 9.9 s and arrives in the next turn; it is still the second of its own turn."""
        states = {opened("x"): (at(36.0),), opened("y"): (at(356.4),)}
        assert result(self.flow(("x", "y")), states).findings == ()

    def through_zero(self, *expects: str, items: int = 2) -> Flow:
        """A stream that lets one out at 9.9 s and one at 0.4 s of the next turn; y leaves at 2 s."""
        return Flow(
            supplies=(supply("s"),),
            magazines=(magazine("m", "s"), magazine("n", "s")),
            outlets=(Outlet(id="cup", expects=expects),),
            gates=(
                gate("x", "m", "cup", mode="stream", item_s=0.5, items=items),
                gate("y", "n", "cup"),
            ),
        )

    THROUGH_ZERO: ClassVar[States] = {opened("x"): (at(338.4, 36.0),), opened("y"): (at(72.0),)}

    def test_what_an_opening_before_the_start_would_have_let_out_is_left_out_of_turn_1(self) -> None:
        """In each turn the cup gets x, y, x; in turn 1 the opening that runs through 0 does not count yet."""
        assert result(self.through_zero("x", "y", "x"), self.THROUGH_ZERO).findings == ()

    @pytest.mark.parametrize("expects", [("y", "x", "x"), ("x", "x", "y"), ("x", "y", "x", "x"), ("x", "y")])
    def test_behind_the_start_an_opening_through_0_excuses_nothing(self, expects: tuple[str, ...]) -> None:
        """An item that leaves behind 0 belongs to the turn in which it leaves, before y."""
        found = result(self.through_zero(*expects), self.THROUGH_ZERO).findings
        assert [finding.rule for finding in found] == ["wrong-order"]

    def test_a_double_release_behind_the_start_is_reported_alone(self) -> None:
        """One was meant, at 9.9 s; what leaves behind 0 is more, and the cup expects it."""
        found = result(self.through_zero("x", "y", "x", items=1), self.THROUGH_ZERO).findings
        assert [(f.rule, f.turn) for f in found] == [("double-release", 1)]

    def test_starved_items_are_left_out(self) -> None:
        """n is fed 3 a minute and gives 6: y is missing in every other turn, and only that is told."""
        found = result(self.flow(("x", "y"), source="slow"), self.XY).findings
        assert [finding.rule for finding in found] == ["starvation"]

    def test_missed_items_are_left_out(self) -> None:
        found = result(self.flow(("x", "y"), item_s=5.0), self.XY).findings
        assert [finding.rule for finding in found] == ["missed-release"]

    def chained(self, *expects: str, start_count: int = 1) -> Flow:
        """Blanks go through a press; caps come out of it. The press opens before the gate that fills it."""
        stores = (magazine("m", "s"), Magazine(id="press", capacity=3, start_count=start_count))
        return Flow(
            supplies=(supply("s"),),
            magazines=stores,
            outlets=(Outlet(id="out", expects=expects),),
            gates=(gate("x", "m", "press", item="blank"), gate("tip", "press", "out", item="cap")),
        )

    CHAINED: ClassVar[States] = {opened("x"): (at(180.0),), opened("tip"): (at(36.0),)}

    def test_through_a_second_magazine_an_item_is_called_as_the_gate_calls_it_that_it_left_last(self) -> None:
        assert result(self.chained("cap"), self.CHAINED).findings == ()

    def test_a_message_names_the_item_that_really_arrives(self) -> None:
        found = result(self.chained("blank"), self.CHAINED).findings
        assert [(f.facts["got"], f.facts["expected"], f.turn) for f in found] == [("cap", "blank", 1)]

    def test_items_of_two_ways_come_as_they_leave_the_gates_that_they_left_last(self) -> None:
        """A lid leaves at 5 s, behind the cap of 1 s that came into the press one turn before."""
        flow = self.chained("cap", "lid")
        lids = gate("lid", "m", "out")
        both = Flow(**{**dict(flow), "gates": (*flow.gates, lids)})
        states = {**self.CHAINED, opened("lid"): (at(200.0),)}
        assert result(both, states).findings == ()

    def test_what_starves_behind_a_second_magazine_is_left_out(self) -> None:
        found = result(self.chained("cap", start_count=0), self.CHAINED).findings
        assert [(f.rule, f.lanes, f.turn) for f in found] == [("starvation", ("tip",), 1)]

    def test_what_lacks_on_another_way_excuses_nothing(self) -> None:
        """The tray's x starves in every turn; the cup wants an x that no gate sends there."""
        flow = Flow(
            supplies=(supply("s"),),
            magazines=(magazine("m", "s"), magazine("n")),
            outlets=(Outlet(id="cup", expects=("y", "x")), Outlet(id="tray")),
            gates=(gate("x", "n", "tray"), gate("y", "m", "cup")),
        )
        found = {f.rule: f for f in result(flow, self.XY).findings}
        assert found.keys() == {"starvation", "wrong-order"}
        assert (found["wrong-order"].facts["outlet"], found["wrong-order"].facts["expected"]) == ("cup", "x")


class TestStarvation:
    def test_a_gate_that_opens_with_nothing_to_let_out(self) -> None:
        """Two at the start, 3 a minute fed, 6 drawn: sent at 20 s; 1 s, 11 s, then empty at 31 s, turn 4."""
        found = result(one(3.0, start=2), OPEN_AT_1_S).findings
        assert [(f.rule, f.turn, f.start_deg, f.end_deg, f.value) for f in found] == [
            ("starvation", 4, 36.0, 36.0, 1.0)
        ]
        assert (found[0].facts["fed_per_min"], found[0].facts["gives_per_min"]) == (3.0, 6.0)

    def test_all_that_an_opening_lacks_is_counted(self) -> None:
        flow = Flow(
            magazines=(magazine("m", start_count=4),),
            gates=(gate("g", "m", mode="stream", item_s=0.2, items=3),),
        )
        found = result(flow, {opened("g"): (at(36.0, 21.6),)}).findings
        assert [(f.rule, f.turn, f.value, f.limit) for f in found] == [("starvation", 2, 2.0, 3.0)]
        assert found[0].start_deg == pytest.approx(36.0 * 1.4)

    def test_only_what_was_meant_can_be_lacking(self) -> None:
        """Three could leave and two are meant; one is there."""
        flow = Flow(
            magazines=(magazine("m", start_count=1),),
            gates=(gate("g", "m", mode="stream", item_s=0.3, items=2),),
        )
        found = result(flow, OPEN_AT_1_S).findings
        assert [(f.rule, f.turn, f.value, f.limit) for f in found] == [("starvation", 1, 1.0, 2.0)]

    def test_a_stream_that_runs_dry_behind_0_does_so_in_the_next_turn(self) -> None:
        """One leaves at 9.9 s; at 10.3 s, 10.8 degrees, nothing is left."""
        flow = Flow(
            magazines=(magazine("m", start_count=1),),
            gates=(gate("g", "m", mode="stream", item_s=0.4, items=2),),
        )
        found = result(flow, {opened("g"): (at(342.0, 36.0),)}).findings
        assert [(f.rule, f.turn) for f in found] == [("starvation", 2)]
        assert found[0].start_deg == pytest.approx(10.8)

    def test_an_opening_that_runs_through_0_starves_after_the_one_before_it(self) -> None:
        """The first opening lacks its item at 230 degrees of turn 1, the other one at 7 degrees of turn 2."""
        flow = Flow(magazines=(magazine("m"),), gates=(gate("g", "m", mode="stream", item_s=0.5, items=1),))
        found = result(flow, {opened("g"): (at(212.0, 20.0), at(349.0, 20.0))}).findings
        assert [(f.rule, f.turn) for f in found] == [("starvation", 1)]
        assert found[0].start_deg == pytest.approx(230.0)

    def test_a_stream_starves_where_it_was_empty_not_where_there_was_no_room(self) -> None:
        """No room in n at 1.4 s; at 1.6 s another gate takes m's only item; m is empty at 1.8 s."""
        flow = Flow(
            magazines=(magazine("m", start_count=1), magazine("n", capacity=1, start_count=1)),
            gates=(gate("fill", "m", "n", mode="stream", item_s=0.4, items=2), gate("take", "m")),
        )
        states = {opened("fill"): (at(36.0, 36.0),), opened("take"): (at(57.6),)}
        found = {f.rule: f for f in result(flow, states).findings if f.lanes == ("fill",)}
        assert found["starvation"].start_deg == pytest.approx(36.0 * 1.8)

    def test_an_empty_passing_opening_starves_nobody(self) -> None:
        flow = Flow(magazines=(magazine("m", start_count=0),), gates=(gate("g", "m"),))
        assert rules(flow, {opened("g"): (at(36.0, passing=True),)}) == []

    def test_a_gate_is_told_once_and_the_run_goes_on_for_the_others(self) -> None:
        flow = Flow(
            magazines=(magazine("m", start_count=1), magazine("n", start_count=3)),
            gates=(gate("x", "m"), gate("y", "n")),
        )
        found = result(flow, {opened("x"): (at(36.0),), opened("y"): (at(72.0),)}).findings
        assert [(f.lanes, f.turn) for f in found] == [(("x",), 2), (("y",), 4)]


class TestResult:
    def test_it_holds_for_ever_when_the_state_comes_back(self) -> None:
        made = result(one(6.0), OPEN_AT_1_S)
        assert (made.holds_for_ever, made.findings) == (True, ())

    def test_turns_is_that_of_the_first_failure(self) -> None:
        made = result(one(3.0, start=2), OPEN_AT_1_S)
        assert (made.holds_for_ever, made.turns) == (False, 4)

    def test_neither_within_the_most_turns_is_not_known(self) -> None:
        """Fed 6.1 and drawn 6.0 a minute the magazine fills up, for longer than 20 turns."""
        made = result(one(6.1, capacity=1000, start=5), OPEN_AT_1_S, max_turns=20)
        assert (made.holds_for_ever, made.turns) == (None, 20)

    def test_a_gate_without_motion_leaves_it_open(self) -> None:
        made = result(one(6.0), {})
        assert (made.holds_for_ever, made.findings) == (None, ())

    def test_lowest_count_with_its_first_turn_and_angle(self) -> None:
        """4 at the start; 3 at 1 s; sent at 15 s, so 2 at 11 s; 3, 2 again at 21 s."""
        made = result(one(4.0, start=4), OPEN_AT_1_S, max_turns=2)
        assert made.magazines["m"].lowest_count == 2
        assert (made.magazines["m"].turn, made.magazines["m"].deg) == (2, 36.0)

    def test_a_magazine_that_only_fills_is_lowest_at_the_start(self) -> None:
        made = result(one(4.0, start=1), {opened("g"): ()})
        assert (made.magazines["m"].lowest_count, made.magazines["m"].turn, made.magazines["m"].deg) == (
            1,
            1,
            0.0,
        )

    def test_another_speed_is_another_clock(self) -> None:
        """At 12 rev/min the gate draws 12 a minute, so 6 a minute are too few."""
        assert result(one(6.0), OPEN_AT_1_S, speed_rpm=12.0).holds_for_ever is False

    def test_lanes_alone(self) -> None:
        flow = Flow(
            magazines=(magazine("m", start_count=1), magazine("n", start_count=1)),
            gates=(gate("x", "m"), gate("y", "n")),
        )
        made = result(flow, {opened("x"): (at(36.0),), opened("y"): (at(72.0),)}, lanes={"x"})
        assert [finding.lanes for finding in made.findings] == [("x",)]
        assert list(made.magazines) == ["m"]
