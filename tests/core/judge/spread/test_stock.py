"""What magazines of drawn machines hold in time: against the exact run of each machine, and closed forms."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.network import network
from shaftscore.judge.report import examine
from shaftscore.judge.spread.judging import judge
from shaftscore.judge.spread.left_out import left_out
from shaftscore.judge.spread.machines import Machines
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Project, Supply, replaced
from tests.core.judge.spread.machines import drawn, machine, only, phi
from tests.machines import at, gate, lane

SURE_DEG = 0.01
"""Slacks nearer to 0 than this may be rounded either way by the exact run's whole microseconds."""

TURNS = 300
ROWS = 12


def draws_from(source: str, name: str, **more: Any) -> Gate:
    return Gate(id=f"gate-{name}", state=at(name, "open"), source=source, item=name, **more)


def opening_at(name: str, *starts: float) -> Any:
    """Return a lane that opens for 4 degrees at each start, with moves of 6."""
    blocks = [("open", start, start + 4.0) for start in starts]
    ends = [*starts, starts[0] + 360.0]
    rests = [("closed", one + 10.0, other - 6.0) for one, other in pairwise(ends)]
    return lane(name, *blocks, *rests)


@st.composite
def fed(draw: st.DrawFn) -> Project:
    """A magazine that one supply fills and one or two lanes empty."""
    first = draw(st.lists(st.integers(2, 15), min_size=1, max_size=3, unique=True))
    second = draw(st.lists(st.integers(2, 15), max_size=2, unique=True))
    lanes = [opening_at("A", *(20.0 * one for one in sorted(first)))]
    lanes += [opening_at("B", *(20.0 * one + 7.0 for one in sorted(second)))] if second else []
    capacity = draw(st.integers(1, 5))
    magazine = Magazine(
        id="tube",
        source="hopper",
        capacity=capacity,
        start_count=draw(st.integers(0, capacity)),
        travel_s=draw(st.sampled_from([0.0, 0.5, 2.0, 7.0, 11.0])),
    )
    count = len(first) + len(second)
    rate = draw(st.sampled_from([None, 6.0 * count * 1.3, 6.0 * count * 2.0, 60.0, 4.0 * count]))
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=rate),),
        magazines=(magazine,),
        gates=tuple(draws_from("tube", one.id) for one in lanes),
    )
    return machine(*lanes, flow=flow, tolerances=only(**SIZES))


@st.composite
def cascaded(draw: st.DrawFn) -> Project:
    """A magazine that a gate fills through a channel, and another gate empties."""
    first = sorted(draw(st.lists(st.integers(2, 15), min_size=1, max_size=3, unique=True)))
    second = sorted(draw(st.lists(st.integers(2, 15), min_size=len(first), max_size=len(first), unique=True)))
    lanes = (
        opening_at("A", *(20.0 * one for one in first)),
        opening_at("B", *(20.0 * one + 9.0 for one in second)),
    )
    capacity, travel = draw(st.integers(1, 5)), draw(st.sampled_from([0.0, 0.3, 3.0, 12.0]))
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(
            Magazine(id="hold", source="hopper", capacity=9, start_count=9),
            Magazine(
                id="tube", capacity=capacity, start_count=draw(st.integers(0, capacity)), travel_s=travel
            ),
        ),
        channels=(Channel(id="way", travel_min_s=0.1, travel_max_s=0.4, to="tube"),),
        gates=(draws_from("hold", "a", to="way"), draws_from("tube", "b")),
    )
    return machine(*lanes, flow=flow, tolerances=only(**SIZES))


SIZES = {"disc_angle_deg": 4.0, "travel_percent": 30.0, "speed_percent": 10.0, "rate_percent": 15.0}


def run_of(machines: Machines, row: int) -> FlowRun:
    """Lay out one drawn machine as an exact network, and run it."""
    project, errors = machines.project, machines.errors
    flow = project.flow
    assert flow is not None

    def states(state: Any) -> tuple[StateInterval, ...]:
        shift = float(errors.shift_deg(state.lane)[row])
        found = machines.solution.intervals(state)
        return tuple(StateInterval(one.span.shift(shift), one.passing, one.blocks) for one in found)

    made = replaced(
        flow,
        supplies=tuple(_rated(one, float(errors.rate(one.id)[row])) for one in flow.supplies),
        magazines=tuple(
            replaced(one, travel_s=one.travel_s * float(errors.fill(one.id)[row])) for one in flow.magazines
        ),
        channels=tuple(_timed(one, float(errors.travel(one.id)[row])) for one in flow.channels),
    )
    run = FlowRun(network(made, CycleClock.of(project.shaft.speed_rpm * float(errors.speed[row])), states))
    while run.turns < TURNS and not run.shortfalls:
        run.turn()
    return run


def _rated(supply: Supply, share: float) -> Supply:
    return (
        supply if supply.rate_per_min is None else replaced(supply, rate_per_min=supply.rate_per_min * share)
    )


def _timed(channel: Channel, share: float) -> Channel:
    return replaced(
        channel, travel_min_s=channel.travel_min_s * share, travel_max_s=channel.travel_max_s * share
    )


def agrees(project: Project) -> None:
    """Hold the slack of each drawn machine against what its exact run does."""
    machines = drawn(project, ROWS)
    (judged,) = (one for one in judge(machines, None) if one.key == ("stock", "tube"))
    for row, slack in enumerate(judged.slack_deg):
        if abs(slack) > SURE_DEG:
            fails = bool(run_of(machines, row).shortfalls)
            assert fails == (slack < 0), (row, float(slack))


@settings(max_examples=60)
@given(fed())
def test_a_fed_magazine_fails_in_just_those_machines_whose_run_fails(project: Project) -> None:
    agrees(project)


@settings(max_examples=60)
@given(cascaded())
def test_a_magazine_behind_a_gate_fails_in_just_those_machines_whose_run_fails(project: Project) -> None:
    agrees(project)


@settings(max_examples=40)
@given(fed(), st.integers(0, 2))
def test_a_shared_supply_is_judged_to_the_safe_side(project: Project, place: int) -> None:
    assert project.flow is not None
    flow = project.flow
    assume(flow.supplies[0].rate_per_min is not None)
    other = Magazine(id="other", source="hopper", capacity=2, start_count=1)
    both = [*flow.magazines, other] if place else [other, *flow.magazines]
    taken = Gate(id="taken", state=at("a", "open"), source="other", item="a")
    shared = replaced(project, flow=replaced(flow, magazines=tuple(both), gates=(*flow.gates, taken)))
    machines = drawn(shared, ROWS)
    for judged in judge(machines, None):
        if judged.key == ("stock", "tube"):
            for row, slack in enumerate(judged.slack_deg):
                if slack > SURE_DEG:
                    mine = {i for i, one in enumerate(flow.gates) if one.source == "tube"}
                    run = run_of(machines, row)
                    failed = {run.network.openings[opening].gate for opening, _ in run.shortfalls}
                    assert not mine & failed, (row, float(slack))


def test_the_travel_to_a_magazine_goes_with_its_error() -> None:
    # One place, one item a turn of 10 s, from an endless supply: it travels 9.8 s, and may take 10.
    project = machine(
        gate("A", 100, 120),
        flow=Flow(
            supplies=(Supply(id="hopper"),),
            magazines=(Magazine(id="tube", source="hopper", capacity=1, start_count=1, travel_s=9.8),),
            gates=(draws_from("tube", "a"),),
        ),
        tolerances=only(travel_percent=6.0),
    )
    spread = examine(project).spread
    assert spread is not None
    (rule,) = (one for one in spread.rules if one.kind == "stock")
    assert rule.smallest_deg == pytest.approx(0.2 * 36, abs=1e-6)
    assert rule.worst_deg == pytest.approx((10 - 9.8 * 1.06) * 36, abs=1e-6)
    assert rule.chance == pytest.approx(phi(0.2 / 9.8 / 0.02), abs=4 * sqrt(0.13 / 10_000))


def two_into_a_cup(expects: tuple[str, ...], **more: Any) -> Project:
    """Two gates whose items come to a cup 1.8 degrees one after the other; both travel 1 s."""
    names = ("a", "b")
    return machine(
        gate("A", 100, 110),
        gate("B", 101.8, 111.8),
        flow=Flow(
            supplies=(Supply(id="hopper"),),
            magazines=tuple(
                Magazine(id=f"tube-{n}", source="hopper", capacity=9, start_count=9) for n in names
            ),
            channels=tuple(
                Channel(id=f"way-{n}", travel_min_s=1.0, travel_max_s=1.0, to="cup") for n in names
            ),
            outlets=(Outlet(id="cup", expects=expects),),
            gates=tuple(draws_from(f"tube-{n}", n, to=f"way-{n}") for n in names),
        ),
        tolerances=only(**more),
    )


def test_the_order_at_an_outlet_goes_with_both_travels() -> None:
    # Each travel has a sigma of 2.5 % of 36 degrees: 0.9; both together sqrt(2) of it.
    spread = examine(two_into_a_cup(("a", "b"), travel_percent=7.5)).spread
    assert spread is not None
    (rule,) = (one for one in spread.rules if one.kind == "outlet-order")
    assert rule.smallest_deg == pytest.approx(1.8, abs=1e-6)
    assert rule.chance == pytest.approx(phi(1.8 / (0.9 * sqrt(2))), abs=4 * sqrt(0.073 / 10_000))


def test_an_outlet_that_gets_something_else_fails_in_every_machine() -> None:
    spread = examine(two_into_a_cup(("b", "a"), travel_percent=7.5)).spread
    assert spread is not None
    (rule,) = (one for one in spread.rules if one.kind == "outlet-order")
    assert rule.chance == 0.0
    assert spread.holds is False


def test_the_order_behind_a_second_magazine_is_judged_by_its_own_gate() -> None:
    """Blanks lie in tube-a and leave as a; 1.8 degrees later b comes, and may travel that much faster."""
    project = two_into_a_cup(("a", "b"), travel_percent=7.5)
    assert project.flow is not None
    first, second = project.flow.magazines
    blanks = Magazine(id="blanks", source="hopper", capacity=9, start_count=9)
    fill = replaced(draws_from("blanks", "a", to="tube-a"), id="fill", item="blank")
    flow = replaced(
        project.flow,
        magazines=(blanks, replaced(first, source="blanks", start_count=5), second),
        gates=(fill, *project.flow.gates),
    )
    spread = examine(replaced(project, flow=flow)).spread
    assert spread is not None
    (rule,) = (one for one in spread.rules if one.kind == "outlet-order")
    assert rule.smallest_deg == pytest.approx(1.8, abs=1e-6)
    assert rule.chance == pytest.approx(phi(1.8 / (0.9 * sqrt(2))), abs=4 * sqrt(0.073 / 10_000))


def test_an_item_that_a_stream_lets_out_behind_0_is_the_first_of_its_turn() -> None:
    """From 350 degrees on, 0.5 s (18 degrees) an item: 8 degrees, and then b at 101.8 degrees."""
    project = two_into_a_cup(("a", "b"), disc_angle_deg=0.5)
    assert project.flow is not None
    stream, single = project.flow.gates
    stream = replaced(stream, mode="stream", item_s=0.5)
    flow = replaced(project.flow, gates=(stream, single))
    lanes = (gate("A", 350, 375), project.lane("b"))
    spread = examine(replaced(project, flow=flow, lanes=lanes)).spread
    assert spread is not None
    (rule,) = (one for one in spread.rules if one.kind == "outlet-order")
    assert rule.smallest_deg == pytest.approx(101.8 - 8.0, abs=2.0)


def test_what_is_left_out_is_said() -> None:
    spread = examine(two_into_a_cup(("a", "b"))).spread
    assert spread is not None
    assert spread.left_out == left_out(machine(gate("A", 100, 110)))
    unjudged = left_out(two_into_a_cup(("a", "b")), ())
    assert unjudged[0] == "What tube-a and tube-b hold in time is checked for the machine as drawn only."
