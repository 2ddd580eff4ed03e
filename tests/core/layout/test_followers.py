"""Followers as parts: key points against the machine's own rollers, and links by their lengths alone."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from shaftscore.kinematics.followers import lift_of
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, follower_layout
from shaftscore.model import Disc, FollowerParts, GuideLink, Lane, LinkPoint, PivotPlace, SwingingRoller
from shaftscore.solution import solve
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import follower_heights, follower_outlines
from tests.follower_machine import SWINGING, follower_machine, lever_lane, slide_lane, straight_lane
from tests.machines import machine

ANGLES = np.arange(0.0, 360.0, 15.0)


@cache
def layouts() -> dict[str, FollowerLayout]:
    project = follower_machine()
    solution = solve(project)
    made = {lane.id: follower_layout(project, solution.lanes[lane.id]) for lane in project.lanes}
    return {name: layout for name, layout in made.items() if layout is not None}


def of_lane(lane: Lane) -> FollowerLayout:
    project = machine(lane)
    made = follower_layout(project, solve(project).lanes[lane.id])
    assert made is not None
    return made


@pytest.mark.parametrize("name", ["slide", "lever", "straight"])
def test_rollers_are_where_the_stack_has_them(name: str) -> None:
    """The middles of the rollers of the stack's picture, which is made from the program by another way."""
    layout, project = layouts()[name], follower_machine()
    solution, stack = solve(project), project.stacks[0]
    lane = project.lane(name)
    heights = follower_heights(project, stack, lane, stack_plan(project, stack).disc(name))
    for angle, roller in zip(ANGLES, layout.points(ANGLES).roller, strict=True):
        outlines = follower_outlines(solution.lanes[name], angle, heights)
        ring = next(ring for kind, ring, *_ in outlines if kind == "roller")
        assert abs(np.mean([ring.real.min(), ring.real.max()]) - roller.real) < 0.06
        assert abs(np.mean([ring.imag.min(), ring.imag.max()]) - roller.imag) < 0.06


def test_a_slide_moves_its_output_by_the_lift() -> None:
    points = layouts()["slide"].points(ANGLES)
    assert points.output - points.roller == pytest.approx(68.0)
    assert np.ptp(points.output.real) == pytest.approx(16.0)
    assert np.ptp(points.output.imag) == pytest.approx(0.0)
    assert points.hook is not None
    assert points.hook - points.roller == pytest.approx(10.0)


def test_a_lever_keeps_its_arms_and_swings_by_its_travel() -> None:
    """16 mm on an arc of 120 mm: 7.64°; the strip of that arc is 120 (1 - cos 3.82°) = 0.267 mm wide."""
    layout = layouts()["lever"]
    points = layout.points(ANGLES)
    assert layout.pivot is not None
    assert np.abs(points.roller - layout.pivot) == pytest.approx(60.0)
    assert np.abs(points.output - layout.pivot) == pytest.approx(120.0)
    assert abs(layout.pivot) == pytest.approx(76.0)
    one_line = (points.output - layout.pivot) / (points.roller - layout.pivot)
    assert one_line == pytest.approx(2.0)
    figures = layout.figures
    assert figures.swing_deg == pytest.approx(np.degrees(16 / 120), abs=1e-6)
    assert figures.ratio == pytest.approx(2.0)
    assert figures.off_line_mm == pytest.approx(0.267, abs=0.001)


def test_links_keep_their_lengths_and_the_output_its_line() -> None:
    """All joints by their distances; the output travels by the levels and leaves a line by under 0.05 mm."""
    layout = layouts()["straight"]
    points, guide = layout.points(np.arange(0.0, 360.0)), layout.guide
    assert guide is not None
    assert layout.pivot is not None
    assert layout.guide_pivot is not None
    assert points.joint is not None
    assert points.far is not None
    assert np.abs(points.joint - layout.pivot) == pytest.approx(120.0)
    assert np.abs(points.far - points.joint) == pytest.approx(guide.coupler_mm)
    assert np.abs(points.far - layout.guide_pivot) == pytest.approx(guide.guide_mm)
    assert np.abs(points.output - points.joint) == pytest.approx(guide.point_mm)
    first, last = points.output[30], points.output[230]
    along = (last - first) / abs(last - first)
    assert abs(last - first) == pytest.approx(16.0, abs=0.005)
    aside = ((points.output - first) * np.conj(along)).imag
    assert np.ptp(aside) < 0.05
    assert layout.figures.off_line_mm < 0.05


def test_the_disc_is_cut_for_what_the_links_do() -> None:
    """A plain lever of 2 to 1 would lift by 8 mm; the links need 60 mm times 2 asin(8 / 120)."""
    layout = layouts()["straight"]
    lift = np.ptp(layout.lift_mm(np.arange(0.0, 360.0)))
    assert lift == pytest.approx(60 * 2 * np.arcsin(8 / 120), abs=2e-3)
    assert abs(lift - 8.0) > 4e-3
    assert layout.profile.follower.link is not None


@pytest.mark.parametrize("name", ["slide", "lever", "straight"])
def test_placed_parts_meet_at_their_joints(name: str) -> None:
    layout = layouts()[name]
    placed = {one.instance: one.course(ANGLES) for one in layout.placements()}
    points, code = layout.points(ANGLES), layout.lane.code
    main = placed[f"{code}-S" if name == "slide" else f"{code}-L"]
    if name == "slide":
        assert main.points(0j) == pytest.approx(points.roller)
        assert main.points(68 + 0j) == pytest.approx(points.output)
        start = placed[f"{code}-K"].points(0j)
        assert start == pytest.approx(np.full(len(ANGLES), 72 + 0j))
        return
    assert main.points(60 + 0j) == pytest.approx(points.roller)
    if name == "lever":
        assert main.points(120 + 0j) == pytest.approx(points.output)
        return
    guide = layout.guide
    assert guide is not None
    coupler, link = placed[f"{code}-G-1"], placed[f"{code}-G-2"]
    assert main.points(120 + 0j) == pytest.approx(coupler.points(0j))
    assert coupler.points(complex(guide.coupler_mm)) == pytest.approx(link.points(complex(guide.guide_mm)))
    assert coupler.points(complex(guide.point_mm)) == pytest.approx(points.output)
    assert placed[f"{code}-K 2"].points(0j) == pytest.approx(link.points(0j))


def test_the_mirrored_lever_is_the_mirror_image() -> None:
    """A pivot on the other side, station 0: all points mirrored at the station line."""
    one = of_lane(straight_lane(station_deg=0.0))
    other = of_lane(straight_lane(station_deg=0.0, follower={"pivot_side": "counterclockwise"}))
    for name in ("roller", "output", "joint", "far"):
        mirrored = np.conj(getattr(other.points(ANGLES), name))
        assert getattr(one.points(ANGLES), name) == pytest.approx(mirrored)


def test_heights_of_a_straight_line_lever() -> None:
    """Disc 3 of 5 mm with spacers of 6 mm: roller 22 to 27, washer 1, lever 5, washer 1, coupler; by hand."""
    layout = layouts()["straight"]
    assert [band.bottom_mm for band in layout.bands.levers] == [28.0]
    assert (layout.link_band.bottom_mm, layout.link_band.top_mm) == (34.0, 39.0)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: slide_lane(disc=Disc(base_radius_mm=50.0)), "the roller would run into the guide"),
        (lambda: slide_lane(disc=Disc(base_radius_mm=30.0)), "68.0 mm from its roller, inside the guide"),
    ],
)
def test_a_slide_that_does_not_reach_is_refused(make: Any, told: str) -> None:
    with pytest.raises(FollowerLayoutError, match=told):
        of_lane(make())


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: straight_lane(parts={"kind": "slide"}), "slide is for translating followers only"),
        (
            lambda: straight_lane(follower={"arm_mm": 61.0}),
            "parts.arm_mm: the follower's is 61 mm, got 60 mm",
        ),
        (lambda: straight_lane(follower={"pivot_rod_mm": 3.0}), "the follower's is 3 mm, got 4 mm"),
        (lambda: straight_lane(follower={"arm_thickness_mm": 4.0}), "arm_thickness_mm is 4 mm, got 5 mm"),
        (
            lambda: straight_lane(
                follower={
                    "link": (
                        LinkPoint(roller_mm=0.0, output_mm=0.0),
                        LinkPoint(roller_mm=10.0, output_mm=20.0),
                    )
                }
            ),
            "follower.link: is given together with parts",
        ),
        (
            lambda: straight_lane(parts={"links": (GuideLink(mm=48.0), GuideLink(mm=9.0))}),
            "a travel of 16 mm is too far for a guide link of 9 mm",
        ),
        (
            lambda: straight_lane(parts={"pivot": PivotPlace(x_mm=70.0, y_mm=-50.0)}),
            "must be 76 mm from the axis",
        ),
        (
            lambda: straight_lane(parts={"pivot": PivotPlace(x_mm=0.0, y_mm=76.0)}),
            "puts the pivot counterclockwise of the line",
        ),
        (
            lambda: lever_lane(follower=SwingingRoller(**SWINGING)),
            "the follower's output arm is 60 mm, got 120 mm",
        ),
    ],
)
def test_parts_that_contradict_their_follower_are_refused(make: Any, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        make()


def test_links_of_ones_own_are_kept() -> None:
    layout = of_lane(straight_lane(parts={"links": (GuideLink(mm=50.0), GuideLink(mm=90.0))}))
    assert layout.guide is not None
    assert (layout.guide.coupler_mm, layout.guide.guide_mm) == (50.0, 90.0)


def test_a_lane_without_parts_has_no_layout() -> None:
    project = machine(lever_lane())
    plain = machine(Lane(**{**dict(project.lanes[0]), "parts": None}))
    assert follower_layout(plain, solve(plain).lanes["lever"]) is None
    assert isinstance(project.lanes[0].parts, FollowerParts)
    assert float(lift_of(project.lanes[0].follower, np.array([[16.0], [0], [0], [0]]))[0][0]) == 8.0
