"""That it "holds for every further turn" is a promise: what comes after repeats, and nothing fails later."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Silent
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.meetings import Meetings
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.observed import run_on
from shaftscore.judge.flow.order import OutletOrder
from shaftscore.judge.flow.repeats import Repeats
from shaftscore.model import Flow
from tests.core.judge.flow.building import (
    Intervals,
    States,
    at,
    gate,
    magazine,
    one,
    opened,
    result,
    supply,
)
from tests.core.judge.flow.test_against_simpy import Case, cases

MORE = 60


@settings(max_examples=80)
@given(cases())
def test_after_the_state_came_back_nothing_new_happens(case: Case) -> None:
    flow, states, speed = case
    net = network(flow, CycleClock.of(speed), states.get)
    meetings, order = Meetings(net, flow.channels), OutletOrder(net, flow)
    run = FlowRun(net, (meetings, order))
    if not run_on(run, 300, Silent()):
        return
    told = (dict(run.shortfalls), list(meetings.found), list(order.found), list(run.lowest))
    for _ in range(MORE):
        run.turn()
    assert (run.shortfalls, meetings.found, order.found, run.lowest) == told


@settings(max_examples=80)
@given(cases())
def test_the_turns_after_it_repeat_those_before(case: Case) -> None:
    flow, states, speed = case
    net = network(flow, CycleClock.of(speed), states.get)
    run = FlowRun(net, record=True)
    seen = {run.state(): 0}
    while run.turns < 200:
        run.turn()
        state = run.state()
        if state in seen:
            break
        seen[state] = run.turns
    else:
        return
    first, period = seen[state], run.turns - seen[state]
    for _ in range(period):
        run.turn()
    run.state()
    cycle = net.clock.cycle_us
    events = sorted(run.events or ())
    lap = [
        [e for e in events if begin * cycle <= e[0] < (begin + period) * cycle]
        for begin in (first, first + period)
    ]
    assert [(time + period * cycle, kind, index) for time, kind, index in lap[0]] == lap[1]


def test_a_failure_long_after_the_start_is_found() -> None:
    """5.9 fed and 6.0 drawn a minute lose one in 600 s: from 40 at the start it takes some 2400 turns."""
    states: States = {opened("g"): (at(36.0),)}
    made = result(one(5.9, capacity=100, start=40), states)
    assert made.holds_for_ever is False
    assert 2300 < made.turns < 2460


def test_a_run_that_starves_once_still_ends_when_its_state_comes_back() -> None:
    """7 fed a minute and 6 drawn, from nothing: empty in turn 1, full later, then always the same."""
    states: dict[object, Intervals] = {opened("g"): (at(36.0),)}
    made = result(one(7.0, start=0, capacity=4, travel_s=0.0), states, max_turns=100)
    assert made.turns < 30
    assert [finding.rule for finding in made.findings] == ["starvation"]


def test_an_opening_that_runs_through_0_is_seen_though_turn_1_changes_nothing() -> None:
    """x starves at 1 s of turn 1 and y, open from 9.5 s on, at 0.5 s of turn 2."""
    flow = Flow(
        magazines=(magazine("m"), magazine("n")),
        gates=(gate("x", "m"), gate("y", "n", mode="stream", item_s=1.0)),
    )
    states: States = {opened("x"): (at(36.0),), opened("y"): (at(342.0, 36.0),)}
    found = result(flow, states).findings
    assert [(f.rule, f.lanes, f.turn, f.start_deg) for f in found] == [
        ("starvation", ("x",), 1, 36.0),
        ("starvation", ("y",), 2, 18.0),
    ]


def test_nothing_holds_for_ever_before_every_opening_was_seen() -> None:
    """Nothing happens in turn 1; the only opening begins at 9.5 s and finds nothing at 0.5 s of turn 2."""
    flow = Flow(magazines=(magazine("m"),), gates=(gate("g", "m", mode="stream", item_s=1.0),))
    made = result(flow, {opened("g"): (at(342.0, 36.0),)})
    assert made.holds_for_ever is False
    assert [(f.rule, f.turn) for f in made.findings] == [("starvation", 2)]


def test_a_history_shows_counts_as_steps_and_items_in_channels() -> None:
    states: States = {opened("g"): (at(36.0),)}
    made = result(one(6.0, start=2, travel_s=0.5), states).history
    assert (made.first_turn, made.last_turn, made.cycle_us) == (1, 8, 10_000_000)
    assert made.counts["m"][:5] == (
        (0, 2),
        (1_000_000, 1),
        (10_500_000, 2),
        (11_000_000, 1),
        (20_500_000, 2),
    )
    assert all(time < 80_000_000 for time, _ in made.counts["m"])


def test_a_history_shows_the_turns_about_a_late_failure() -> None:
    states: States = {opened("g"): (at(36.0),)}
    made = result(one(3.0, capacity=20, start=20), states)
    assert made.turns == 40
    assert (made.history.first_turn, made.history.last_turn) == (35, 42)
    assert made.history.counts["m"][0] == (340_000_000, 3)


def test_a_flow_without_gates_holds() -> None:
    made = result(Flow(), {})
    assert (made.holds_for_ever, made.turns) == (True, 1)


class _Listener:
    """Keeps what is reported; stops the work after some reports."""

    def __init__(self, most: int) -> None:
        self.heard: list[float] = []
        self._most = most

    def report(self, fraction: float, what: str) -> None:
        assert what
        self.heard.append(fraction)
        if len(self.heard) >= self._most:
            raise Cancelled


SLOW = one(6.01, capacity=1000, start=10)
OPEN: States = {opened("g"): (at(36.0),)}


def test_progress_grows_from_0_to_1() -> None:
    listener = _Listener(10_000)
    result(SLOW, OPEN, max_turns=1000, progress=listener)
    assert listener.heard == sorted(listener.heard)
    assert listener.heard[0] < 0.1
    assert 0.3 < listener.heard[-1] <= 1.0


def test_the_person_can_stop_it() -> None:
    with pytest.raises(Cancelled):
        result(SLOW, OPEN, progress=_Listener(3))


@settings(max_examples=80)
@given(cases())
def test_skipped_periods_end_where_every_turn_would(case: Case) -> None:
    """Followed turn by turn, each magazine that is followed by skips is found empty, or not, all the same."""
    flow, states, speed = case
    _follow_both(network(flow, CycleClock.of(speed), states.get), 250)


def test_a_magazine_that_was_held_back_is_empty_as_soon_as_it_is() -> None:
    """m loses an item in two turns; it finds n full as long as it has one left, and is empty after that."""
    flow = Flow(
        supplies=(supply("s", 7.0),),
        magazines=(
            magazine("a", "s", capacity=1, start_count=0, travel_s=0.0),
            magazine("m", "s", capacity=3, start_count=3, travel_s=0.0),
            magazine("n", capacity=1, start_count=0, travel_s=0.0),
        ),
        gates=(
            gate("ga", "a", mode="single", item_s=0.0),
            gate("gm", "m", "n", mode="stream", item_s=0.25, items=2),
            gate("gn", "n", mode="single", item_s=0.0),
        ),
    )
    states: States = {opened("ga"): (at(0.0, 18.0),), opened("gm"): (at(0.0, 36.0),)}
    states |= {opened("gn"): (at(0.0, 18.0),)}
    skipping = _follow_both(network(flow, CycleClock.of(7.0), states.get), 20)
    assert (1, "empty") in skipping.shortfalls


def _follow_both(net: Network, most: int) -> FlowRun:
    """Follow a run turn by turn and one by skips, which are alike after each; returns the one by skips."""
    plain, skipping = FlowRun(net), FlowRun(net)
    repeats = Repeats(skipping)
    while skipping.turns < most:
        skipping.turn()
        if repeats.comes_back():
            break
        repeats.skip(most)
        while plain.turns < skipping.turns:
            plain.turn()
        assert skipping.state() == plain.state()
        assert skipping.shortfalls == plain.shortfalls
    return skipping


def test_a_slow_leak_is_skipped_to_its_end() -> None:
    """5.9 fed and 6.0 drawn a minute at 6 turns a minute lose one item in 60 turns, always alike."""
    net = network(one(5.9, capacity=100, start=40), CycleClock.of(6.0), {opened("g"): (at(36.0),)}.get)
    run, plain, looked = FlowRun(net), FlowRun(net), 0
    repeats = Repeats(run)
    while not run.shortfalls:
        run.turn()
        looked += 1
        assert not repeats.comes_back()
        repeats.skip(10_000)
    while not plain.shortfalls:
        plain.turn()
    assert run.turns == plain.turns
    assert [*run.shortfalls.values()] == [*plain.shortfalls.values()]
    assert looked < 250
