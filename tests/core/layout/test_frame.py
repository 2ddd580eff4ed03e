"""The frame, against sums by hand, the shapes of `judge.bodies`, and a swinging arm's triangle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from shaftscore.judge.bodies import BodyPair, BodyPart, keeps_apart, parts_of
from shaftscore.judge.bodies.parts import Still
from shaftscore.judge.bodies.shapes import Circle
from shaftscore.judge.findings import words
from shaftscore.judge.report import examine
from shaftscore.layout.bracket_feet import foot_holes
from shaftscore.layout.followers import follower_layout
from shaftscore.layout.frame import frame_plan, machine_frame
from shaftscore.layout.frame_places import frame_placements
from shaftscore.layout.frame_plan import FrameError, FramePlan, FrameWheel
from shaftscore.layout.hub import hub_plan
from shaftscore.layout.sweeps import SweptBands
from shaftscore.make.solids.bracket import bracket_part
from shaftscore.model import FollowerParts, Hub, Lane, MachineFrame, MotorPlace, Project, Rod, Stack
from shaftscore.model.base import replaced
from shaftscore.solution import Solution, solve
from tests.machines import gate, machine
from tests.samples import bare, direct, sample

MOTOR = MotorPlace(
    x_mm=-14.4, y_mm=-39.5, face="below", pilot_mm=8.5, screw_circle_mm=17.0, screws=2, screw_mm=3.0
)


def framed(project: Project, **fields: object) -> Solution:
    return solve(replaced(project, frame=MachineFrame(**fields)))


def laid_out(solution: Solution, **more: object) -> FramePlan:
    plan = frame_plan(solution, **more)
    assert plan is not None
    return plan


@pytest.fixture(scope="module")
def blender() -> FramePlan:
    return laid_out(framed(direct(sample("tea_blender")), motor=MOTOR))


@pytest.fixture(scope="module")
def theatre() -> tuple[Solution, FramePlan]:
    solution = framed(bare(sample("paper_theatre")))
    return solution, laid_out(solution)


def test_heights_follow_from_the_rod_s_bearings(blender: FramePlan) -> None:
    """Ten discs of 5 mm and nine spacers of 6 mm; a hexagon of 10 mm is 11.55 mm across its corners."""
    (shaft,) = blender.shafts
    assert shaft.round_mm == pytest.approx(10 / math.cos(math.pi / 6))
    assert shaft.bearing is not None
    assert (shaft.bearing[1].bore_mm, shaft.bearing[1].outer_mm, shaft.bearing[1].width_mm) == (12, 28, 8)
    assert (shaft.lower_mm, shaft.upper_mm) == (-24.0, 104.0 + 12.0)
    # The bearing, 8 mm wide, is 5 mm deep in a plate of 6 mm: the plate's face is 1 mm past its middle.
    assert blender.plates["bottom"] == (-29.0, -23.0)
    assert blender.plates["top"] == (115.0, 121.0)
    assert blender.between_mm == 138.0
    # From face to face 150 mm, and 12 mm for the knob and what stands out of it.
    assert shaft.rod_length_mm == 162.0
    assert blender.pillar_rod_mm == math.ceil(150 + 2 * (2.0 + 5.2 + 2.0))


def test_plates_hold_all_with_the_margin(blender: FramePlan) -> None:
    solution = solve(direct(sample("tea_blender")))
    rims = [np.abs(lane.profile.outline(0.01) @ [1, 1j]).max() for lane in solution.lanes.values()]
    room = max(15.0, 6.6 + 2 * 4.0 + 2 * 1.0)
    half = math.ceil(max(rims) + room)
    assert (blender.low, blender.high) == (complex(-half, -half), complex(half, half))
    assert blender.size_mm == (2 * half, 2 * half)


def test_every_hole_has_one_name_and_the_motor_s_are_in_its_plate_alone(blender: FramePlan) -> None:
    named = {hole.name: hole for hole in blender.holes}
    assert len(named) == len(blender.holes)
    assert set(named) == {"S", "M", "M1", "M2", "F1", "F2", "F3", "F4"}
    assert (named["M1"].at, named["M2"].at) == (-14.4 - 39.5j + 8.5, -14.4 - 39.5j - 8.5)
    assert {hole.name for hole in blender.of_plate("bottom")} - {
        hole.name for hole in blender.of_plate("top")
    } == {"M", "M1", "M2"}
    seat = named["S"].seat
    assert named["S"].across_mm == pytest.approx(28.1)
    assert seat is not None
    assert (seat.depth_mm, seat.through_mm) == (5.0, 13.6)


def test_pivots_close_the_triangle_of_their_arms(theatre: tuple[Solution, FramePlan]) -> None:
    """Pivot to the roller's centre, a base and a roller out on the station line: 60 mm; from the file."""
    pivots = {hole.purpose: hole for hole in theatre[1].holes if hole.purpose.startswith("pivot")}
    assert set(pivots) == {"pivot of Curtain", "pivot of Moon", "pivot of Boat"}
    for name, station_deg, distance, out in (
        ("Curtain", 300.0, 76.8, 36.0 + 6.0),
        ("Moon", 90.0, 85.0, 42.0 + 5.0),
        ("Boat", 180.0, 85.0, 42.0 + 5.0),
    ):
        hole = pivots[f"pivot of {name}"]
        assert abs(hole.at) == pytest.approx(distance)
        assert abs(hole.at - out * np.exp(1j * np.radians(station_deg))) == pytest.approx(60.0)
        assert (hole.across_mm, hole.plates) == (4.0, ("bottom", "top"))


def test_pillars_stay_clear_of_all_bodies_at_every_angle(theatre: tuple[Solution, FramePlan]) -> None:
    solution, plan = theatre
    pillars = [hole for hole in plan.holes if hole.name.startswith("F")]
    assert len(pillars) == 4
    for shaft in plan.shafts:
        for hole in pillars:
            ring = Circle(np.array([hole.at - shaft.at]), plan.pillar_outer_mm / 2)
            pillar = BodyPart("pillar", "rod", "", "", -100.0, 100.0, Still((ring,)))
            for part in parts_of(solution, shaft.stack):
                assert keeps_apart(BodyPair(pillar, part), 1.0 - 0.05), (hole.name, part.name)


def test_a_pillar_gives_way_to_a_lever_that_sweeps_over_its_corner() -> None:
    """Without the levers of 180 and 200 mm, all pillars would be in the corners."""
    plan = laid_out(framed(bare(sample("paper_theatre"))))
    inset = max(15.0, plan.pillar_outer_mm + 2.0) / 2
    corners = [
        complex(x, y)
        for x in (plan.low.real + inset, plan.high.real - inset)
        for y in (plan.low.imag + inset, plan.high.imag - inset)
    ]
    away = [
        hole.name
        for hole in plan.holes
        if hole.name.startswith("F") and min(abs(hole.at - corner) for corner in corners) > 0.1
    ]
    assert away


def test_a_shorter_stack_shares_the_plates_and_is_told_its_bearing() -> None:
    """The selectors' 12 discs and 11 spacers take 126 mm, the feed's two discs 16: 110 mm more above them."""
    sower = direct(sample("seedling_sower"))
    short = replaced(sower.stacks[1], rod=replaced(sower.stacks[1].rod, above_mm=12.0))
    plan = laid_out(framed(replaced(sower, stacks=(sower.stacks[0], short))))
    main, feed = plan.shafts
    assert (main.name, feed.name) == ("S1", "S2")
    assert feed.upper_mm == main.upper_mm == 138.0
    (note,) = plan.notes
    assert "Feed shaft: its upper bearing is 122.0 mm above the stack" in note
    assert abs(feed.at) > 0


def test_wheels_of_the_drive_are_inside_and_kept_clear_of() -> None:
    solution = framed(direct(sample("tea_blender")))
    wheel = FrameWheel(complex(0.0, -110.0), 20.0)
    plan = laid_out(solution, wheels=(wheel,))
    assert plan.low.imag <= -130.0 - 15.0
    nearest = min(abs(hole.at - wheel.at) for hole in plan.holes if hole.name.startswith("F"))
    assert nearest >= 20.0 + plan.pillar_outer_mm / 2


@pytest.mark.parametrize(
    ("stack", "said"),
    [
        (Stack(id="s", name="Main shaft"), "Main shaft has no rod"),
        (
            Stack(id="s", name="Main shaft", rod=Rod(across_mm=8.0, below_mm=12.0, above_mm=12.0)),
            "plates of 1.0 mm have no room for a bearing's seat",
        ),
    ],
)
def test_a_frame_that_cannot_be_is_a_bad_part(stack: Stack, said: str) -> None:
    lanes = [gate(name, 60.0 * k, 60.0 * k + 30, 50.0) for k, name in enumerate(("Ginger", "Rose"))]
    project = machine(*lanes, stacks=(stack,))
    project = replaced(project, frame=MachineFrame(plate_mm=1.0))
    with pytest.raises(FrameError, match=said):
        frame_plan(solve(project))
    (finding,) = [one for one in examine(project).findings if one.rule == "bad-part"]
    assert words(finding, project).what.startswith(f"The frame: {said}")


def test_distances_of_bands_against_another_library() -> None:
    """Random segments with radii, by shapely's distance of lines."""
    random = np.random.default_rng(7)
    ends = random.uniform(-20, 20, (12, 4))
    radii = random.uniform(0.1, 2.0, 12)
    bands = [(complex(*row[:2]), complex(*row[2:]), radius) for row, radius in zip(ends, radii, strict=True)]
    lines = [LineString([row[:2], row[2:]]) for row in ends]
    for one in range(6):
        for other in range(6, 12):
            apart = lines[one].distance(lines[other]) - radii[one] - radii[other]
            found = SweptBands.of(bands[one : one + 1]).from_bands(SweptBands.of(bands[other : other + 1]))
            assert min(found, 0.0) == pytest.approx(min(apart, 0.0), abs=1e-9)
            assert max(found, 0.0) == pytest.approx(max(apart, 0.0), abs=1e-9)
        at = complex(*random.uniform(-30, 30, 2))
        least = min(line.distance(Point(at.real, at.imag)) - r for line, r in zip(lines, radii, strict=True))
        assert SweptBands.of(bands).from_point(at) == pytest.approx(least, abs=1e-9)


def geared(below_mm: float) -> Project:
    """The tea blender with teeth of module 1 on hub and pinion, whose motor is 42 mm from the shaft."""
    project = direct(sample("tea_blender"))
    assert project.drive is not None
    stage = replaced(project.drive.stages[0], module_mm=1.0, face_mm=8.0)
    rod = replaced(project.stacks[0].rod, below_mm=below_mm)
    stack = replaced(project.stacks[0], hub=Hub(kind="clamp"), rod=rod)
    motor = replaced(MOTOR, x_mm=0.0, y_mm=-42.0)
    return replaced(
        project,
        drive=replaced(project.drive, stages=(stage,)),
        stacks=(stack,),
        frame=MachineFrame(motor=motor),
    )


def test_a_hub_needs_room_above_the_bearing() -> None:
    """A collar of 10 mm on teeth of 8 mm; the bearing has 4 mm above its middle, and half a mm is between."""
    project = geared(12.0)
    assert hub_plan(project, project.stacks[0]).height_mm == 18.0
    with pytest.raises(FrameError, match=r"at least 22\.5 mm below the stack"):
        machine_frame(solve(project))
    plan = machine_frame(solve(geared(22.5)))
    assert plan is not None
    assert plan.plates["bottom"][1] == pytest.approx(-22.5 + 1.0)


def with_levers() -> Project:
    def parts(lane: Lane, output_mm: float) -> Lane:
        made = FollowerParts(
            kind="lever", arm_mm=60.0, output_arm_mm=output_mm, thickness_mm=4.0, pivot_rod_mm=4.0
        )
        return replaced(lane, parts=made)

    project = bare(sample("paper_theatre"))
    arms = {"moon": 180.0, "boat": 200.0}
    lanes = tuple(parts(lane, arms[lane.id]) if lane.id in arms else lane for lane in project.lanes)
    return replaced(project, lanes=lanes, frame=MachineFrame())


def test_brackets_stand_on_the_plate_and_levers_pass_the_pillars() -> None:
    solution = solve(with_levers())
    plan = machine_frame(solution)
    assert plan is not None
    feet = {hole.name: hole for hole in plan.holes if "bracket" in hole.purpose}
    assert set(feet) == {"Q2", "Q3", "R2", "R3"}  # P is the station of the curtain
    rods = [hole for hole in plan.holes if hole.name in ("Q1", "R1")]
    assert [(hole.purpose, hole.plates) for hole in rods] == [
        ("pivot of Moon", ("bottom", "top")),
        ("pivot of Boat", ("bottom", "top")),
    ]
    assert {hole.plates for hole in feet.values()} == {("bottom",)}
    pillars = [hole.at for hole in plan.holes if hole.is_pillar]
    for lane_id, first, second in (("moon", "Q2", "Q3"), ("boat", "R2", "R3")):
        layout = follower_layout(solution.project, solution.lanes[lane_id])
        assert layout is not None
        assert layout.pivot is not None
        assert layout.floor_mm == plan.plates["bottom"][1] - plan.shafts[0].bottom_mm
        assert (feet[first].at + feet[second].at) / 2 == pytest.approx(layout.pivot)
        ends = layout.points(np.arange(0.0, 360.0, 3.0)).output
        for end in ends:
            bar = LineString([(layout.pivot.real, layout.pivot.imag), (end.real, end.imag)])
            nearest = min(bar.distance(Point(at.real, at.imag)) for at in pillars)
            assert nearest >= 4.0 + plan.pillar_outer_mm / 2


def test_plates_pillars_and_knob_have_their_places(blender: FramePlan) -> None:
    project = framed(direct(sample("tea_blender")), motor=MOTOR).project
    places = {(one.code, one.instance): one for one in frame_placements(project, blender)}
    assert places["PLATE-TOP", "top plate"].bottom_mm == 115.0
    assert places["KNOB", "knob"].bottom_mm == 122.0
    pillar = places["PILLAR", "pillar F1"]
    assert pillar.bottom_mm == -23.0
    (hole,) = [one for one in blender.holes if one.name == "F1"]
    assert pillar.course(np.zeros(1)).at[0] == hole.at
    # Clockwise, as the shaft turns.
    assert places["KNOB", "knob"].course(np.array([90.0])).turn[0] == pytest.approx(-1j)


def test_feet_lie_under_the_screws_of_their_brackets() -> None:
    """A post of a lever and a guide of a slide, placed as the assembly places them."""
    project = with_levers()
    slide = FollowerParts(kind="slide", arm_mm=80.0, thickness_mm=4.0)
    lanes = tuple(replaced(one, parts=slide) if one.id == "hammer" else one for one in project.lanes)
    solution = solve(replaced(project, lanes=lanes))
    for lane_id, count in (("moon", 2), ("hammer", 4)):
        layout = follower_layout(solution.project, solution.lanes[lane_id])
        assert layout is not None
        (bracket,) = [one for one in layout.placements() if one.code.endswith("-K")]
        holes = bracket_part(solution.project, layout).holes[-count:]
        middles = [complex(*Polygon(path.flattened(0.001)).centroid.coords[0]) for path in holes]
        pose = bracket.course(np.zeros(1))
        screws = [complex(pose.points(middle)[0]) for middle in middles]
        feet = [foot.at for foot in foot_holes(layout)]
        assert len(feet) == count
        for screw in screws:
            assert min(abs(screw - foot) for foot in feet) < 0.01
