"""What faulty machines do, against machines that are built that way by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from shaftscore.bringup import BuiltOutputs, built
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.permitted import goes_on_turned_over, positions
from shaftscore.bringup.ridden import SAMPLES, ridden
from shaftscore.model import Block, Bore, Dogs, Lane, Pins, Project, Stack, replaced
from shaftscore.solution import solve
from tests.machines import lane, machine

ROLLER = {"kind": "translating-roller", "roller_radius_mm": 4.0}
ARM = {
    "kind": "swinging-roller",
    "roller_radius_mm": 4.0,
    "arm_mm": 60.0,
    "pivot_distance_mm": 95.0,
    "pivot_side": "clockwise",
}
FLAT = {"kind": "translating-flat", "face_width_mm": 60.0}
LEVELS = {"low": 0.0, "middle": 6.0, "high": 10.0}
RUN = np.arange(0.0, 360.0, 1.0)


def three_levels(name: str, follower: dict[str, object] | None = None, **more: object) -> Lane:
    blocks = (("low", 20.0, 70.0), ("high", 120.0, 160.0), ("middle", 230.0, 300.0))
    fields: dict[str, object] = {"disc": {"base_radius_mm": 30.0}, "law": "cycloidal", **more}
    return lane(name, *blocks, levels=LEVELS, follower=follower or ROLLER, **fields)


def outputs_of(*lanes: Lane, **more: Any) -> BuiltOutputs:
    return BuiltOutputs(solve(machine(*lanes, **more)))


def mirrored(one: Lane) -> Lane:
    """Return a lane whose blocks are reflected at angle 0 by hand: what a shaft turned backward passes."""
    blocks = [
        Block(
            level=b.level,
            start_deg=(360.0 - b.end_deg) % 360.0,
            end_deg=(360.0 - b.end_deg) % 360.0 + b.length_deg,
        )
        for b in one.blocks
    ]
    return replaced(one, blocks=tuple(blocks))


def test_a_shaft_turned_the_wrong_way_runs_the_mirrored_program() -> None:
    # Outside value: blocks reflected by hand; the cycloidal law is its own mirror image (VDI 2143).
    one = three_levels("One")
    backward, by_hand = outputs_of(one), outputs_of(mirrored(one))
    faulty = built(backward.project, backward.drawn(), said.wrong_way(backward.project))
    seen = backward.at(faulty["one"], RUN)
    assert seen == pytest.approx(by_hand.at(by_hand.drawn()["one"], RUN), abs=1e-3)
    assert np.max(np.abs(seen - backward.at(backward.drawn()["one"], RUN))) > 5.0


@pytest.mark.parametrize("follower", [ROLLER, {**ROLLER, "offset_mm": 6.0}, ARM, FLAT], ids=str)
def test_a_follower_on_its_own_disc_does_as_the_lane_says(follower: dict[str, object]) -> None:
    own = outputs_of(three_levels("One", follower, station_deg=35.0, disc={"base_radius_mm": 70.0}))
    solved = own.solution.lanes["one"]
    assert solved.profile is not None
    assert solved.motion is not None
    theta = np.linspace(0.0, 360.0, SAMPLES, endpoint=False)
    found = ridden(solved.profile, solved.profile, turned_over=False)
    assert found == pytest.approx(solved.motion.at(theta)[0], abs=0.03)


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_swapped_discs_run_the_other_program_from_their_own_station(turn: str) -> None:
    # Outside value: both followers are radial and both discs have one base radius, so that the follower at
    # 60 degrees sees the disc of the one at 0 later or earlier by those 60 degrees, as it turns.
    one = three_levels("One")
    two = lane(
        "Two",
        ("high", 10.0, 50.0),
        ("low", 150.0, 250.0),
        levels=LEVELS,
        follower=ROLLER,
        disc={"base_radius_mm": 30.0},
        station_deg=60.0,
    )
    own = outputs_of(one, two, turn=turn)
    faulty = built(own.project, own.drawn(), said.swapped(own.project, "one", "two"))
    later = 60.0 if turn == "counterclockwise" else -60.0
    drawn = own.drawn()
    assert own.at(faulty["two"], RUN) == pytest.approx(own.at(drawn["one"], RUN - later), abs=0.05)
    assert own.at(faulty["one"], RUN) == pytest.approx(own.at(drawn["two"], RUN + later), abs=0.05)


def test_a_disc_upside_down_is_that_of_the_mirrored_lane() -> None:
    # Outside value: turned over about its zero mark, a disc under a radial follower at 0 degrees is mirrored.
    one = three_levels("One")
    own, by_hand = outputs_of(one), outputs_of(mirrored(one))
    faulty = built(own.project, own.drawn(), said.disc_over(own.project, "one"))
    assert own.at(faulty["one"], RUN) == pytest.approx(by_hand.at(by_hand.drawn()["one"], RUN), abs=0.05)


@pytest.mark.parametrize(("turn", "later"), [("clockwise", 60.0), ("counterclockwise", -60.0)])
def test_a_disc_one_face_on_counterclockwise_is_late_or_early_by_it(turn: str, later: float) -> None:
    # A mark ahead in the direction of rotation passes the follower earlier.
    own = outputs_of(three_levels("One"), turn=turn)
    faulty = built(own.project, own.drawn(), said.off_position(own.project, "one", 60.0, turned_over=False))
    assert own.at(faulty["one"], RUN) == pytest.approx(own.at(own.drawn()["one"], RUN - later), abs=0.03)


def test_a_stack_that_turns_twice_is_late_by_its_gear_s_tooth_on_the_dial() -> None:
    stack = Stack(id="fast", turns=2)
    own = outputs_of(three_levels("One", stack="fast"), stacks=(Stack(id="main"), stack))
    faulty = built(own.project, own.drawn(), said.geared_tooth(stack, 9.0))
    assert own.at(faulty["one"], RUN) == pytest.approx(own.at(own.drawn()["one"], RUN - 9.0), abs=0.03)


FOLLOWERS: dict[str, Callable[[Project], tuple[object, np.ndarray]]] = {
    "stuck": lambda p: (said.stuck(p, "one", "middle"), np.full(5, 6.0)),
    "travel": lambda p: (said.travel(p, "one", 0.5), np.array([0.0, 5.0, 5.0, 3.0, 0.0])),
    "spring-off": lambda p: (said.spring_off(p, "one"), np.array([0.0, 10.0, 10.0, 10.0, 10.0])),
}


@pytest.mark.parametrize("kind", FOLLOWERS)
def test_followers_that_do_not_follow(kind: str) -> None:
    # By hand: low to 70, high from 120 to 160, middle from 230 to 300 degrees; the run starts at 30.
    own = outputs_of(three_levels("One"))
    fault, expected = FOLLOWERS[kind](own.project)
    faulty = built(own.project, own.drawn(), fault)  # type: ignore[arg-type]
    seen = own.at(faulty["one"], np.array([45.0, 130.0, 150.0, 260.0, 405.0]))
    start = own.at(own.drawn()["one"], np.array([0.0]))[0]
    assert seen == pytest.approx(np.maximum(expected, start) if kind == "spring-off" else expected, abs=0.02)


def test_late_falls_leave_rises_in_time() -> None:
    own = outputs_of(three_levels("One"))
    drawn, project = own.drawn()["one"], own.project
    late = built(project, own.drawn(), said.late_falls(project, "one", 12.0))["one"]
    rising, falling = np.arange(70.0, 120.0), np.arange(172.0, 230.0)
    assert own.at(late, rising) == pytest.approx(own.at(drawn, rising), abs=0.02)
    assert own.at(late, falling) == pytest.approx(own.at(drawn, falling - 12.0), abs=0.02)


@pytest.mark.parametrize(
    ("stack", "count", "over"),
    [
        ({"bore": Bore(shape="hex")}, 6, True),
        ({"bore": Bore(shape="square")}, 4, True),
        ({"bore": Bore(shape="d", flat_mm=7.0)}, 1, True),
        ({"bore": Bore(shape="round")}, 0, True),
        ({"bore": Bore(shape="hex"), "pins": Pins(count=2, radius_mm=15.0, across_mm=3.0)}, 2, True),
        ({"bore": Bore(shape="hex"), "pins": Pins(count=3, radius_mm=15.0, across_mm=3.0)}, 3, True),
        ({"bore": Bore(shape="square"), "pins": Pins(count=3, radius_mm=15.0, across_mm=3.0)}, 1, True),
        ({"bore": Bore(shape="round"), "pins": Pins(count=4, radius_mm=15.0, across_mm=3.0)}, 4, True),
        ({"dogs": Dogs(radius_mm=12.0, width_mm=3.0, height_mm=2.0)}, 1, False),
    ],
    ids=str,
)
def test_positions_are_those_that_bore_pins_and_dogs_permit(
    stack: dict[str, object], count: int, over: bool
) -> None:
    # Outside values: symmetry of regular polygons and of evenly spaced pins, counted by hand.
    made = Stack(id="main", **stack)  # type: ignore[arg-type]
    assert positions(made) == count
    assert goes_on_turned_over(made, three_levels("One")) == over
