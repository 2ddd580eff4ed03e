"""Riders repeat another lane's program later; index lanes step on by their pitch."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.base.angles import Arcs
from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, program, surroundings
from shaftscore.kinematics.motion.rider import shifted
from shaftscore.kinematics.motion.states import level_intervals, range_intervals
from shaftscore.model import Block, Lane, LevelState, MotionPoint, Project, RangeState, Shaft, Stack
from shaftscore.solution import solve
from tests.core.kinematics.motion.making import block, lane, motion

HOST = lane(block("low", 0, 100), block("high", 160, 260), id="host", station_deg=20.0)


def project(turn: str, *lanes: Lane, turns: int = 1) -> Project:
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn=turn, speed_rpm=10.0),  # type: ignore[arg-type]
        stacks=(Stack(id="main", turns=turns),),
        lanes=lanes,
    )


def rider(station: float) -> Lane:
    return Lane(id="rider", kind="rider", disc_of="host", station_deg=station)


@pytest.mark.parametrize("turn", ["counterclockwise", "clockwise"])
@pytest.mark.parametrize("station", [20.0, 110.0, -75.0])
def test_a_rider_feels_the_place_of_the_disc_that_its_host_felt(turn: str, station: float) -> None:
    """The disc's place under a follower at psi is psi - d theta: equal places, equal outputs."""
    whole = project(turn, HOST, rider(station))
    made = program(whole.lanes[1], surroundings(whole, whole.lanes[1]))
    host = program(HOST)
    assert isinstance(made, LaneMotion)
    assert isinstance(host, LaneMotion)
    d = 1 if turn == "counterclockwise" else -1
    theta = np.linspace(0, 360, 500)
    place = station - d * theta
    host_theta = d * (20.0 - place)
    np.testing.assert_allclose(made.at(theta), host.at(host_theta), atol=1e-6)


def test_a_rider_lists_the_blocks_of_its_host() -> None:
    whole = solve(project("counterclockwise", HOST, rider(110.0)))
    (interval,) = whole.intervals(RangeState(lane="rider", from_mm=8.0, to_mm=10.0))
    assert interval.blocks == (1,)
    assert interval.span.covers(Arcs.span(250, 100))
    (at_level,) = whole.intervals(LevelState(lane="rider", level="high"))
    assert at_level.blocks == (1,)


def test_a_rider_on_a_lane_without_motion_has_none_either() -> None:
    broken = lane(block("low", 0, 100), block("high", 90, 260), id="host")
    whole = project("clockwise", broken, rider(110.0))
    made = program(whole.lanes[1], surroundings(whole, whole.lanes[1]))
    assert isinstance(made, NoMotion)
    assert made.reason == "clash"


def test_a_rider_on_a_table_of_points() -> None:
    points = tuple(MotionPoint(theta_deg=t, output_mm=s) for t, s in ((0.0, 1.0), (90.0, 5.0), (200.0, 2.0)))
    host = Lane(id="host", kind="points", points=points)
    whole = project("counterclockwise", host, rider(30.0))
    made = program(whole.lanes[1], surroundings(whole, whole.lanes[1]))
    assert isinstance(made, LaneMotion)
    np.testing.assert_allclose(made.at(np.array([30.0, 120.0, 230.0]))[0], [1, 5, 2], atol=1e-9)


def test_an_index_lane_has_no_disc_to_ride_on() -> None:
    host = index(block("rest", 300, 420), id="host")
    made = program(rider(30.0), surroundings(project("clockwise", host, rider(30.0)), rider(30.0)))
    assert isinstance(made, NoMotion)
    assert (made.reason, "index" in made.what) == ("kind", True)
    with pytest.raises(ValueError, match=r"asked for 30\.0 degrees"):
        shifted(index_motion(block("rest", 300, 420)), 30.0)


def test_later_by_a_turn_is_the_same() -> None:
    made = motion(*HOST.blocks)
    assert [s.start_deg for s in shifted(made, 360.0).segments] == [s.start_deg for s in made.segments]


STEPS = {"rest": 0.0, "half": 10.0, "on": 20.0}


def index(*blocks: Block, **fields: object) -> Lane:
    return lane(*blocks, kind="index", levels=STEPS, law="cycloidal", **fields)


def index_motion(*blocks: Block) -> LaneMotion:
    made = program(index(*blocks))
    assert isinstance(made, LaneMotion), made
    return made


ONE_REST = {
    "at 0 through 0": (block("rest", 300, 420),),
    "at the pitch through 0": (block("on", 300, 420),),
    "both, touching at 0": (block("rest", 0, 60), block("on", 300, 360)),
    "the other way round": (block("on", 0, 60), block("rest", 300, 360)),
    "overlapping": (block("rest", 0, 60), block("on", 300, 380)),
}


@pytest.mark.parametrize("blocks", ONE_REST.values(), ids=ONE_REST)
def test_the_highest_level_and_0_are_one_rest_through_0(blocks: tuple[Block, ...]) -> None:
    made = index_motion(*blocks)
    theta = np.array([0.0, 59.0, 180.0, 300.0, 359.0])
    np.testing.assert_allclose(made.at(theta)[0], [0, 0, 10, 20, 20], atol=1e-9)
    assert made.at(np.array([0.0]), "left")[0, 0] == 20
    assert (made.lowest_mm, made.highest_mm) == (0, 20)
    (interval,) = level_intervals(index(*blocks), made, "rest")
    assert interval.span.covers(Arcs.span(300, 120))
    assert sorted(interval.blocks) == list(range(len(blocks)))
    assert level_intervals(index(*blocks), made, "on") == (interval,)


def test_it_drops_at_0_without_a_jump_in_velocity() -> None:
    made = index_motion(block("rest", 0, 60), block("half", 150, 240))
    assert made.velocity_jumps() == ()
    assert made.at(np.array([0.0]), "left")[0, 0] == pytest.approx(20)
    assert made.at(np.array([0.0]))[0, 0] == 0
    nodes = made.nodes()
    assert np.all(nodes.values[0] >= 0)
    assert nodes.values[0].max() == pytest.approx(20)


@pytest.mark.parametrize(
    "blocks",
    [
        (block("rest", 0, 60), block("half", 150, 240)),
        (block("on", 20, 60), block("half", 150, 240), block("rest", 300, 330)),
    ],
)
def test_it_only_ever_steps_on(blocks: tuple[Block, ...]) -> None:
    made = index_motion(*blocks)
    assert made.at(np.linspace(0, 360, 2000))[1].min() > -1e-9
    steps = np.diff(made.at(np.linspace(0, 359.999, 2000))[0])
    assert steps.min() > -1e-9


def test_ranges_count_modulo_the_pitch() -> None:
    one = index(block("rest", 300, 420), block("half", 150, 240))
    made = index_motion(*one.blocks)
    across = range_intervals(one, made, 18.0, 22.0)
    below = range_intervals(one, made, 0.0, 2.0)
    above = range_intervals(one, made, 18.0, 20.0)
    assert len(across) == 1
    # 0 to 2 holds the rest and the begin of the step that follows; 18 to 20 the end of the last step.
    assert (across[0].span.start, across[0].span.end) == pytest.approx(
        (above[0].span.start, below[0].span.end)
    )
    (whole,) = range_intervals(one, made, 0.0, 20.0)
    assert whole.span.is_full


def test_a_level_is_passed_on_the_way() -> None:
    made = index_motion(block("rest", 300, 420))
    (half,) = level_intervals(index(block("rest", 300, 420)), made, "half")
    assert half.passing
    assert half.span.contains(180.0)


def test_with_several_turns_every_step_is_listed() -> None:
    one = index(block("rest", 300, 420), id="index")
    whole = project("clockwise", one, turns=2)
    found = solve(whole).intervals(LevelState(lane="index", level="rest"))
    assert len(found) == 2


NOT = {
    "resting all turn": (block("rest", 0, 200), block("on", 150, 365)),
}


@pytest.mark.parametrize("blocks", NOT.values(), ids=NOT)
def test_an_index_lane_that_cannot_step_on_says_so(blocks: tuple[Block, ...]) -> None:
    made = program(index(*blocks))
    assert isinstance(made, NoMotion)
    assert made.reason == "kind"


def test_an_index_lane_cannot_drop() -> None:
    made = program(index(block("rest", 0, 60), block("half", 150, 240, "drop")))
    assert isinstance(made, NoMotion)
    assert (made.reason, "drop" in made.what) == ("law", True)


def test_what_is_not_the_rest_clashes_with_it() -> None:
    made = program(index(block("rest", 0, 60), block("half", 150, 240), block("on", 240, 300)))
    assert isinstance(made, NoMotion)
    assert [(c.first, c.second) for c in made.clashes] == [(1, 2)]
