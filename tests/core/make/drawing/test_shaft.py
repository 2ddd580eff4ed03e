"""The side view of a shaft: where parts, rollers and bearings are, the bending line, round exaggerations."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from shaftscore.judge.report import examine
from shaftscore.judge.shaft import StackShaft
from shaftscore.make.drawing.shaft import (
    SideView,
    bearing_field,
    exaggeration,
    shaft_at,
    side_view,
    worst_angle_deg,
)
from shaftscore.model import Disc, Project, replaced
from shaftscore.solution import solve
from shaftscore.stack import stack_plan
from tests.core.judge.shaft.machines import E_STEEL, ROLLER, built, presser, rod, shaft_of, stack, weight
from tests.machines import gate

BASE = Disc(base_radius_mm=30.0)


def two(**more: object) -> Project:
    lanes = (
        gate("A", 100, 130, 60.0, load=weight(20.0), follower=ROLLER, disc=BASE, station_deg=40.0),
        gate("B", 200, 230, 60.0, load=weight(10.0), follower=ROLLER, disc=BASE),
    )
    return built(*lanes, own=stack(rod(), **more))


def view(project: Project, own_deg: float) -> SideView:
    return side_view(solve(project), project.stacks[0], own_deg)


def test_discs_are_cut_along_their_own_stations() -> None:
    """At 115° A is open, 10 mm over its base of 30 mm, and B closed; half a turn further B is closed too."""
    side = view(two(), 115.0)
    a, b = side.of_kind("disc")
    assert (a.lane_id, a.bottom_mm, a.top_mm) == ("a", 0.0, 5.0)
    assert (b.lane_id, b.bottom_mm, b.top_mm) == ("b", 11.0, 16.0)
    assert a.right_mm == pytest.approx(40.0, abs=0.01)
    assert a.left_mm == pytest.approx(-30.0, abs=0.01)
    assert b.right_mm == pytest.approx(30.0, abs=0.01)
    rollers = {roller.lane_id: roller for roller in side.rollers}
    assert rollers["a"].left_mm == pytest.approx(40.0, abs=0.01)
    assert rollers["a"].right_mm - rollers["a"].left_mm == pytest.approx(10.0)


def test_bearings_and_plates_are_where_the_rod_says() -> None:
    side = view(two(), 0.0)
    assert [part.middle_mm for part in side.of_kind("bearing")] == [-40.0, 56.0]
    assert [part.middle_mm for part in side.of_kind("plate")] == [-40.0, 56.0]
    assert side.described
    assert side.box[3] > 56.0
    assert side.of_kind("clamp") == ()


def test_without_a_rod_there_are_no_bearings() -> None:
    project = built(presser("A"), own=stack(rod()).model_copy(update={"rod": None}))
    side = view(project, 0.0)
    assert not side.described
    assert side.of_kind("bearing") == ()
    assert len(side.of_kind("plate")) == 2


def test_a_clamp_is_a_nut_on_the_stack() -> None:
    project = built(presser("A"), own=stack(rod(clamp_n=200.0)))
    (nut,) = view(project, 0.0).of_kind("clamp")
    assert nut.bottom_mm == 5.0


def test_tolerances_of_height_add_up_from_the_bottom() -> None:
    """By hand: B has a disc and a spacer below: 2 x 0.05 + √2 x 0.05 + 0.5 = 0.671 mm."""
    a, b = view(two(), 0.0).rollers
    assert a.spread_mm == pytest.approx(0.5)
    assert b.spread_mm == pytest.approx(0.1 + 2**0.5 * 0.05 + 0.5)
    assert b.overlap_mm == pytest.approx(4.2)  # 5 mm less the chamfers, 0.4 mm each
    assert b.least_mm == pytest.approx(4.2 - (b.spread_mm - 0.4))  # the roller beyond one of them
    assert not b.is_narrow


def test_contact_is_that_of_the_check() -> None:
    """A disc of 5 mm with chamfers of 2 mm has a rim of 1 mm; a roller off by 2.6 mm keeps 0.4 mm of it."""
    disc = Disc(base_radius_mm=30.0, edge_chamfer_mm=2.0)
    lane = gate("A", 100, 130, 60.0, load=weight(20.0), follower=ROLLER, disc=disc)
    project = built(lane, own=stack(rod()))
    project = replaced(project, tolerances=replaced(project.tolerances, follower_z_mm=2.6))
    (roller,) = view(project, 0.0).rollers
    assert roller.overlap_mm == pytest.approx(1.0)
    assert roller.least_mm == pytest.approx(0.4)
    assert roller.is_narrow
    assert "off-edge" in {finding.rule for finding in examine(project).findings}


def test_the_line_goes_through_both_bearings_and_is_deepest_under_the_load() -> None:
    shaft = shaft_of(built(presser("A", 20.0)))
    at = shaft_at(shaft, 30.0)
    wanted = 20 * 85**3 / (48 * E_STEEL * pi * 6**4 / 64)
    assert at.line_mm[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert at.most_mm == pytest.approx(wanted)
    assert at.most_z_mm == pytest.approx(2.5, abs=0.5)
    assert at.push_n == pytest.approx({"a": 20.0})
    assert at.reactions_n == pytest.approx((10.0, 10.0))
    assert np.max(np.abs(at.line_mm)) == pytest.approx(at.most_mm)


def test_the_worst_angle_has_the_worst_deflection() -> None:
    shaft = shaft_of(two())
    worst = max(one.value for one in shaft.deflection_mm.values())
    at = shaft_at(shaft, worst_angle_deg(shaft))
    place = int(np.argmin(np.abs(at.line_z_mm - shaft.places_mm[0])))
    assert at.most_mm >= worst - 1e-12
    assert abs(at.line_mm[place]) == pytest.approx(shaft.deflection_mm["a"].value, rel=0.05)


@pytest.mark.parametrize(
    ("most", "room", "factor"),
    [(0.011, 14.0, 1000), (0.012, 8.0, 500), (0.004, 8.1, 2000), (3.0, 2.0, 1), (0.0, 9.0, 1)],
)
def test_the_exaggeration_is_round_and_fits(most: float, room: float, factor: float) -> None:
    assert exaggeration(most, room) == factor


@pytest.mark.parametrize(
    ("end", "z", "step", "field"),
    [
        ("lower", -22.3, 0.5, ("below_mm", 22.5)),
        ("lower", -22.3, 0.1, ("below_mm", 22.3)),
        ("lower", 4.0, 0.5, ("below_mm", 0.0)),
        ("upper", 30.26, 0.5, ("above_mm", 14.5)),
        ("upper", 10.0, 0.5, ("above_mm", 0.0)),
    ],
)
def test_a_bearing_is_put_in_steps_outside_the_stack(
    end: str, z: float, step: float, field: tuple[str, float]
) -> None:
    project = two()
    plan = stack_plan(project, project.stacks[0])  # 16 mm high
    assert bearing_field(plan, end, z, step) == field  # type: ignore[arg-type]


def test_a_moved_bearing_needs_no_new_forces() -> None:
    project = two()
    report = examine(project)
    shaft = report.shafts.stacks["s"]  # type: ignore[union-attr]
    moved = built(*project.lanes, own=stack(rod(below_mm=10.0)))
    case = shaft.case.on_rod(moved)
    assert not isinstance(case, str)
    again = examine(moved).shafts.stacks["s"]  # type: ignore[union-attr]
    assert StackShaft(case).deflection_mm["a"] == again.deflection_mm["a"]
    assert case.lanes is shaft.case.lanes
