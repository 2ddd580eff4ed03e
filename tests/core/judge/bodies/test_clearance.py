"""Clearances over a turn: by hand, against shapely at fine angles, and for a machine turned as a whole."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate

from shaftscore.base.samples import sample_folder
from shaftscore.judge.bodies import (
    BodyPair,
    keeps_apart,
    least_clearance,
    nearest_of,
    pairs_of,
    parts_of,
    too_near,
)
from shaftscore.judge.bodies.parts import Turning
from shaftscore.judge.report import examine
from shaftscore.model import Disc, Project, Stack, SwingingRoller, TranslatingFlat, TranslatingRoller
from shaftscore.model.loader import load_project
from shaftscore.solution import Solution, solve
from tests.machines import gate, machine

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 5.0}
ARM: dict[str, Any] = {
    "kind": "swinging-roller",
    "roller_radius_mm": 5.0,
    "arm_mm": 50.0,
    "pivot_distance_mm": 70.0,
}
DISC = Disc(base_radius_mm=25.0)
TALL = Stack(id="s", follower_height_mm=20.0)


def pairs(project: Project) -> dict[tuple[str, str], BodyPair]:
    (stack,) = project.stacks
    found = pairs_of(parts_of(solve(project), stack), stack)
    return {(pair.first.name, pair.second.name): pair for pair in found}


def two(first: dict[str, Any], second: dict[str, Any], stack: Stack = TALL, **more: Any) -> Project:
    lanes = (gate("A", 100, 130, 40.0, disc=DISC, **first), gate("B", 200, 230, 40.0, disc=DISC, **second))
    return machine(*lanes, stacks=(stack,), **more)


def least(project: Project, first: str, second: str, limit: float = 0.5) -> float:
    return least_clearance(pairs(project)[first, second], limit).least_mm


def test_two_rollers_at_one_station_overlap_by_their_width() -> None:
    assert least(two({}, {}), "A's follower", "B's follower") == pytest.approx(-10.0, abs=1e-6)


def test_two_rollers_at_right_angles_are_a_hypotenuse_apart() -> None:
    # Both centres stand at 25 + 5 mm from the axis while both gates are closed.
    apart = math.hypot(30.0, 30.0) - 10.0
    assert least(two({}, {"station_deg": 90.0}), "A's follower", "B's follower") == pytest.approx(
        apart, abs=1e-6
    )


def test_a_roller_stands_off_a_spacer_by_its_disc() -> None:
    stack = Stack(id="s", follower_height_mm=20.0, spacer_radius_mm=24.7)
    found = too_near(pairs(two({}, {}, stack))["A's follower", "the spacer under B's disc"], 0.5)
    assert found is not None
    assert found.least_mm == pytest.approx(0.3, abs=1e-6)
    assert found.too_near.contains(0.0)
    assert not found.too_near.contains(115.0)


def test_a_follower_reaches_into_the_opening_of_a_higher_disc() -> None:
    # While gate B is open its disc stands 10 mm beyond the base circle, on which the roller of A rests.
    assert least(two({}, {}), "A's follower", "B's disc") == pytest.approx(-10.0, abs=0.02)


def test_an_arm_passes_a_rod_at_the_distance_of_a_point_from_a_line() -> None:
    side = {"follower": SwingingRoller(**ARM, pivot_side="counterclockwise")}
    station = 50.0
    made = two(side, {**side, "station_deg": -station})
    to_pivot = math.acos((70.0**2 + 30.0**2 - 50.0**2) / (2 * 70.0 * 30.0))
    pivot = 70.0 * complex(math.cos(to_pivot), math.sin(to_pivot))
    rod = 70.0 * np.exp(1j * (to_pivot - math.radians(station)))
    nearest = math.inf
    for lift in np.linspace(0.0, 10.0, 2001):
        arm = (30.0 - pivot) * np.exp(1j * lift / 50.0)
        share = min(max(((rod - pivot) / arm).real, 0.0), 1.0)
        strip = abs(rod - pivot - share * arm) if 0 < share < 1 else math.inf
        nearest = min(nearest, strip - 5.0, abs(rod - pivot - arm) - 5.0)
    found = least(made, "A's follower", "B's pivot rod")
    assert found == pytest.approx(nearest - 1.5, abs=1e-4)


def test_a_guide_that_begins_within_its_own_disc_meets_it() -> None:
    guided = {"follower": TranslatingRoller(**ROLLER, guide_start_mm=34.0)}
    # The disc of a gate reaches 25 + 10 mm.
    assert least(two(guided, {}), "A's guide", "A's disc") == pytest.approx(-1.0, abs=0.02)


def met(project: Project) -> set[str]:
    return {f"{pair.first.kind} {pair.second.kind}" for pair in pairs(project).values()}


@pytest.mark.parametrize(
    ("stack", "kinds"),
    [
        (Stack(id="s"), set()),
        (Stack(id="s", spacer_mm=0.0), set()),
        (Stack(id="s", follower_height_mm=5.0), set()),
        (Stack(id="s", follower_height_mm=10.5), {"follower spacer"}),  # 0.5 mm between both followers
        (Stack(id="s", follower_height_mm=11.0), {"follower spacer", "follower follower"}),
        (Stack(id="s", follower_height_mm=16.0), {"follower spacer", "follower follower"}),
        (
            Stack(id="s", follower_height_mm=17.0),  # 6 mm beyond its disc, as thick as the spacer
            {"follower spacer", "follower follower", "follower disc"},
        ),
    ],
)
def test_heights_decide_who_can_meet(stack: Stack, kinds: set[str]) -> None:
    assert met(two({}, {}, stack)) == kinds


def test_a_groove_s_follower_lies_above_its_disc() -> None:
    groove = {"follower": TranslatingRoller(**ROLLER, closure="groove")}
    tall = Stack(id="s", follower_height_mm=7.0)
    found = pairs(two(groove, {}, tall))
    assert ("A's follower", "B's disc") in found
    assert ("A's follower", "A's disc") not in found
    assert met(two(groove, {}, Stack(id="s"))) == {"follower spacer"}


def body(solution: Solution, lane_id: str, theta: float) -> shapely.Geometry:
    """Make a follower's shapes with shapely, from the lane's records."""
    solved = solution.lanes[lane_id]
    lane = solved.lane
    assert solved.motion is not None
    lift = float(solved.motion.at(np.array([theta]))[0, 0])
    follower = lane.follower
    if isinstance(follower, SwingingRoller):
        sign = 1 if follower.pivot_side == "counterclockwise" else -1
        turn = math.acos((70.0**2 + 30.0**2 - 50.0**2) / (2 * 70.0 * 30.0))
        pivot = 70.0 * complex(math.cos(turn), sign * math.sin(turn))
        centre = pivot + (30.0 - pivot) * np.exp(1j * sign * lift / 50.0)
        strip = shapely.LineString([(centre.real, centre.imag), (pivot.real, pivot.imag)]).buffer(
            5.0, cap_style="flat"
        )
        made = shapely.union(shapely.Point(centre.real, centre.imag).buffer(5.0, quad_segs=400), strip)
    elif isinstance(follower, TranslatingFlat):
        made = shapely.box(25.0 + lift, -follower.face_width_mm / 2, 900.0, follower.face_width_mm / 2)
    else:
        offset = float(follower.offset_mm)
        along = math.sqrt(30.0**2 - offset**2) + lift
        strip = shapely.box(along, -offset - 5.0, 900.0, -offset + 5.0)
        made = shapely.union(shapely.Point(along, -offset).buffer(5.0, quad_segs=400), strip)
    return rotate(made, lane.station_deg, origin=(0, 0))


def rim(solution: Solution, outline: shapely.Polygon, theta: float) -> shapely.Geometry:
    sign = -1 if solution.project.shaft.turn == "clockwise" else 1
    return rotate(outline, sign * theta, origin=(0, 0))


MACHINES = {
    "rollers": two({}, {"station_deg": 20.0}),
    "an offset": two({"follower": TranslatingRoller(**ROLLER, offset_mm=6.0)}, {"station_deg": 25.0}),
    "the other turn": two({"station_deg": 140.0}, {}, turn="counterclockwise"),
    "an arm": two({"follower": SwingingRoller(**ARM, pivot_side="clockwise")}, {"station_deg": 60.0}),
    "a flat face": two(
        {"follower": TranslatingFlat(kind="translating-flat", face_width_mm=24.0)}, {"station_deg": 50.0}
    ),
}


@pytest.mark.parametrize("name", MACHINES)
def test_shapely_never_finds_less(name: str) -> None:
    project = MACHINES[name]
    found, solution = pairs(project), solve(project)
    profile = solution.lanes["b"].profile
    assert profile is not None
    edge = shapely.Polygon(profile.outline())
    others: dict[str, Callable[[float], shapely.Geometry]] = {
        "follower": lambda theta: body(solution, "b", theta),
        "disc": lambda theta: rim(solution, edge, theta),
    }
    for kind, other in others.items():
        turn = np.linspace(0.0, 360.0, 121)
        apart = [body(solution, "a", theta).distance(other(theta)) for theta in turn]
        near = turn[int(np.argmin(apart))] + np.linspace(-3.0, 3.0, 49)
        seen = min(*apart, *(body(solution, "a", theta).distance(other(theta)) for theta in near))
        told = least_clearance(found["A's follower", f"B's {kind}"], 0.5).least_mm
        assert seen >= told - 1e-6
        assert seen <= max(told, 0.0) + 0.05


@settings(max_examples=15)
@given(st.floats(0.0, 359.0), st.floats(5.0, 340.0), st.sampled_from(["clockwise", "counterclockwise"]))
def test_turning_the_whole_machine_changes_nothing(by: float, apart: float, turn: str) -> None:
    still = pairs(two({}, {"station_deg": apart}, turn=turn))
    turned = pairs(
        two({"station_deg": by}, {"station_deg": round(apart + by, 9) - 360 * (apart + by >= 360)}, turn=turn)
    )
    for names, pair in still.items():
        a, b = least_clearance(pair, 0.5).least_mm, least_clearance(turned[names], 0.5).least_mm
        assert a == pytest.approx(b, abs=0.05 if a < 0 and pair.second.kind == "disc" else 0.012)


@settings(max_examples=15)
@given(st.floats(0.05, 40.0), st.sampled_from(["A's disc", "A's follower", "the spacer under B's disc"]))
def test_a_limit_is_broken_just_where_the_least_clearance_is_under_it(limit: float, other: str) -> None:
    found = pairs(two({}, {"station_deg": 120.0}, Stack(id="s", follower_height_mm=20.0)))
    pair = found.get(("B's follower", other)) or found[other, "B's follower"]
    told = least_clearance(pair, limit).least_mm
    if abs(told - limit) > 0.02:
        assert keeps_apart(pair, limit) is (told > limit)
        assert (too_near(pair, limit) is None) is (told > limit)


@pytest.mark.parametrize("station", [90.0, 140.0, 180.0])
def test_the_nearest_two_of_a_stack_are_the_least_of_all_pairs(station: float) -> None:
    project = two({}, {"station_deg": station})
    all_of_them = {names: least_clearance(pair, 0.5).least_mm for names, pair in pairs(project).items()}
    assert len(all_of_them) > 1
    nearest = examine(project).nearest("s")
    assert nearest is not None
    named = nearest.pair.first.name, nearest.pair.second.name
    assert nearest.clearance.least_mm == pytest.approx(min(all_of_them.values()), abs=0.02)
    assert all_of_them[named] == pytest.approx(min(all_of_them.values()), abs=0.02)


def test_a_stack_whose_heights_let_nothing_meet_has_no_nearest() -> None:
    project = two({}, {}, Stack(id="s"))
    (stack,) = project.stacks
    assert nearest_of(parts_of(solve(project), stack), stack) is None
    with pytest.raises(KeyError):
        examine(project).nearest("unknown")


@pytest.mark.parametrize("sample", ["chime_wall", "seedling_sower"])
def test_pairs_left_out_as_far_apart_keep_apart_at_all_angles(sample: str) -> None:
    solution = solve(load_project(sample_folder() / f"{sample}.shaft"))
    stack = solution.project.stacks[0]
    parts, limit = parts_of(solution, stack), stack.body_clearance_mm
    near = {(id(p.first), id(p.second)) for p in pairs_of(parts, stack, near_mm=limit)}
    some = [*pairs_of(parts, stack)][::23]
    theta = np.arange(0.0, 360.0, 0.7)
    for pair in some:
        if (id(pair.first), id(pair.second)) not in near or pair.is_far(limit):
            assert isinstance(pair.second.body, Turning) or np.min(pair.at(theta)) > limit
    assert any((id(pair.first), id(pair.second)) not in near for pair in some)
