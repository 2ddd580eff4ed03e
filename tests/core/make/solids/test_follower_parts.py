"""Levers, links, slides and brackets: bodies against shapely and trimesh, and what cannot be made."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import trimesh
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from shaftscore.layout.followers import follower_layout
from shaftscore.make.solids import MadePart, SolidError, part_mesh, printed
from shaftscore.make.solids.feet import with_feet
from shaftscore.make.solids.followers import follower_makers
from shaftscore.make.solids.marks import no_marks
from shaftscore.model import Lane, Print, TranslatingRoller, replaced
from shaftscore.solution import solve
from tests.follower_machine import follower_machine, lever_lane, slide_lane, straight_lane
from tests.machines import machine


@cache
def parts() -> dict[str, MadePart]:
    made = [make() for make in follower_makers(solve(follower_machine()))]
    return {part.code: part for part in made}


@cache
def body(code: str) -> trimesh.Trimesh:
    mesh = part_mesh(without_marks(parts()[code]))
    return trimesh.Trimesh(mesh.corners, mesh.triangles, process=False)


def without_marks(part: MadePart) -> MadePart:
    """Leave the engraving out: its volume is not what is looked at."""
    return replace(part, marks=no_marks())


def made_of(lane: Lane) -> list[MadePart]:
    return [make() for make in follower_makers(solve(machine(lane)))]


def test_which_parts_are_made_and_how_many() -> None:
    assert {(part.code, part.kind, part.count) for part in parts().values()} == {
        ("A1-S", "slide", 1),
        ("A1-K", "bracket", 1),
        ("A2-L", "lever", 1),
        ("A2-K", "bracket", 1),
        ("A3-L", "lever", 1),
        ("A3-G-1", "lever", 1),
        ("A3-G-2", "lever", 1),
        ("A3-K", "bracket", 2),
    }


@pytest.mark.parametrize("code", ["A1-S", "A1-K", "A2-L", "A2-K", "A3-L", "A3-G-1", "A3-G-2", "A3-K"])
def test_every_body_is_closed_and_says_its_code(code: str) -> None:
    assert body(code).is_watertight
    assert body(code).volume > 500
    assert parts()[code].marks.groups["code"]
    assert parts()[code].notes == ()


def test_a_lever_is_the_hull_of_its_bosses_less_its_holes() -> None:
    """Half width 6 mm at pivot and roller, 3.2 / 2 + 2.4 at the output; holes by the record and the bearing.

    Rod 4 mm and 0.1 mm to each side, screw of bearing 624 4 mm, spring hook 2 mm; 5 mm thick.
    """
    bosses = [(0, 6.0), (60, 6.0), (120, 4.0), (92, 3.4)]
    hull = unary_union([Point(x, 0).buffer(r, 128) for x, r in bosses]).convex_hull
    holes = unary_union([Point(x, 0).buffer(r, 128) for x, r in [(0, 2.1), (60, 2.0), (120, 1.6), (92, 1.0)]])
    assert body("A2-L").volume == pytest.approx(5 * hull.difference(holes).area, rel=1e-3)


def test_links_are_as_long_as_the_guidance_says() -> None:
    project = follower_machine()
    layout = follower_layout(project, solve(project).lanes["straight"])
    assert layout is not None
    assert layout.guide is not None
    for code, length in (("A3-G-1", layout.guide.coupler_mm), ("A3-G-2", layout.guide.guide_mm)):
        middles = [np.mean(hole.vertices) for hole in parts()[code].holes]
        assert max(middle.real for middle in middles) == pytest.approx(length)
        assert min(middle.real for middle in middles) == pytest.approx(0.0)


def cut(code: str, normal: list[int], at: list[float], keep: list[int]) -> Polygon:
    """Return the area in which a plane cuts a part, in two of its coordinates."""
    section = body(code).section(normal, at)
    assert section is not None
    loops = sorted((Polygon(loop[:, keep]) for loop in section.discrete), key=lambda loop: -loop.area)
    return loops[0].difference(unary_union(loops[1:]))


def test_a_post_ends_a_washer_below_its_lever() -> None:
    """Lever of the second disc from 17 mm, washer 1 mm, frame 8 mm below the stack: 24 mm; by hand."""
    assert body("A2-K").bounds[:, 2] == pytest.approx([0.0, 24.0])
    ring = cut("A2-K", [0, 0, 1], [0, 0, 20], [0, 1])
    assert ring.area == pytest.approx(np.pi * (5.1**2 - 2.1**2), rel=2e-3)


def test_a_guide_has_a_tunnel_for_its_bar() -> None:
    """Bar 12 mm wide and 5 mm thick from 14 mm over the frame: the tunnel is 0.2 mm wider on each side."""
    block = unary_union([box(-19.2, 0, 19.2, 4), box(-9.2, 0, 9.2, 22)])
    wanted = block.difference(box(-6.2, 13.8, 6.2, 19.2))
    assert cut("A1-K", [1, 0, 0], [15, 0, 0], [1, 2]).symmetric_difference(wanted).area < 0.1


def test_a_slide_is_a_stadium_less_its_holes() -> None:
    bar = LineString([(0, 0), (68, 0)]).buffer(6, 256)
    holes = unary_union([Point(x, 0).buffer(r, 128) for x, r in [(0, 2.0), (10, 1.0), (68, 1.6)]])
    assert body("A1-S").volume == pytest.approx(5 * bar.difference(holes).area, rel=1e-3)


def narrow(width: float) -> Lane:
    lane = lever_lane()
    return replaced(lane, follower=replaced(lane.follower, body_width_mm=width))


def hooked(place: float) -> Lane:
    lane = lever_lane()
    assert lane.parts is not None
    return replaced(lane, parts=replaced(lane.parts, spring_hook_mm=place))


def at_the_roller() -> Lane:
    lane = lever_lane()
    assert lane.parts is not None
    follower = replaced(lane.follower, output_arm_mm=60.0)
    return replaced(lane, follower=follower, parts=replaced(lane.parts, output_arm_mm=60.0))


def knife() -> Lane:
    lane = slide_lane()
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=0.0,
        body_width_mm=12.0,
        guide_start_mm=72.0,
        guide_length_mm=30.0,
    )
    assert lane.parts is not None
    return replaced(lane, follower=follower, parts=replaced(lane.parts, arm_mm=80.0))


@pytest.mark.parametrize(
    ("lane", "told"),
    [
        (narrow(6.0), "A2-L: the bar is 6.0 mm wide at its pivot; at least 6.6 mm required"),
        (hooked(61.0), "A2-L: roller and spring hook leave −2.0 mm of material; at least 1.2 mm required"),
        (at_the_roller(), "A2-L: roller and output leave"),
        (knife(), "Slide: a knife edge cannot be made as a part"),
        (
            slide_lane(disc=replaced(slide_lane().disc, base_radius_mm=50.0)),
            "the roller would run into the guide",
        ),
        (straight_lane(parts={"output_hole_mm": 30.0}), "A3-G-1: "),
    ],
)
def test_what_cannot_be_made_is_refused_in_words(lane: Lane, told: Any) -> None:
    with pytest.raises(SolidError, match=told):
        made_of(lane)


@pytest.mark.parametrize("contour", [0.0, 0.05, 0.17, -0.13, 0.3])
def test_a_post_on_its_foot_is_closed_with_every_correction(contour: float) -> None:
    """The foot is wider than the post: circles that all but coincide left edges that met nothing."""
    project = replaced(machine(lever_lane()), print=Print(contour_mm=contour))
    made = {part.code: part for part in (make() for make in follower_makers(solve(project)))}
    mesh = part_mesh(printed(with_feet(made["A2-K"], 0.3)))
    assert trimesh.Trimesh(mesh.corners, mesh.triangles).is_watertight
