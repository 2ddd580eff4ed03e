"""Bodies drawn by their surface are those that come of cutting, which another library confirms."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import trimesh

from shaftscore.base.progress import Silent
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.order import OrderedPart
from shaftscore.make.solids import MadePart, disc_part, part_mesh, printed
from shaftscore.make.solids.solid import cut_mesh
from shaftscore.make.solids.surface import part_surface
from shaftscore.model import Dogs, Project, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import circle
from tests.core.make.exporting.machines import one_sided
from tests.samples import sample_report


@cache
def parts_of(name: str) -> dict[str, MadePart]:
    """The parts of a sample as a printer's file holds them, by code."""
    items: tuple[OrderedPart, ...] = gather(sample_report(name), ("stl",), Silent(), False).items
    return {item.part.code: printed(item.part) for item in items}


def disc_of(project: Project) -> MadePart:
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    return printed(disc_part(project, project.lanes[0], profile))


def with_dogs() -> MadePart:
    project = one_sided()
    keyed = replaced(project.stacks[0], dogs=Dogs(radius_mm=9.5, width_mm=3.0, height_mm=2.0))
    return disc_of(replaced(project, stacks=(keyed,)))


def with_groove() -> MadePart:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    return disc_of(one_sided(follower=follower, base_radius_mm=26.0, thickness_mm=8.0))


def body_of(corners: np.ndarray, faces: np.ndarray) -> trimesh.Trimesh:
    return trimesh.Trimesh(corners, faces, process=False)


def assert_alike(part: MadePart) -> None:
    """Check that the drawn body is closed, of one piece, and the one that is cut, by all its figures."""
    mesh, cut = part_mesh(part), cut_mesh(part)
    drawn, other = body_of(mesh.corners, mesh.triangles), body_of(cut.corners, cut.triangles)
    assert drawn.is_watertight
    assert drawn.body_count == 1
    assert drawn.volume == pytest.approx(other.volume, rel=1e-7)
    assert drawn.area == pytest.approx(other.area, rel=1e-6)
    assert drawn.euler_number == other.euler_number
    assert drawn.bounds == pytest.approx(other.bounds, abs=1e-4)
    assert drawn.center_mass == pytest.approx(other.center_mass, abs=1e-4)
    assert drawn.moment_inertia == pytest.approx(other.moment_inertia, rel=1e-5, abs=1e-2)


@pytest.mark.parametrize("make", [with_dogs, with_groove])
def test_a_disc_with_dogs_or_a_groove_is_the_one_that_is_cut(make: object) -> None:
    part = make()  # type: ignore[operator]
    surface = part_surface(part)
    assert surface is not None
    assert_alike(part)


@pytest.mark.parametrize(
    "code", ["A1", "SPACER1", "FIT1", "A1-L", "A1-G-1", "PLATE-BOTTOM", "KNOB", "PILLAR"]
)
def test_parts_of_a_machine_are_those_that_are_cut(code: str) -> None:
    part = parts_of("seedling_sower").get(code) or parts_of("chime_wall")[code]
    assert part_surface(part) is not None
    assert_alike(part)


def test_an_opening_in_the_rim_is_left_to_be_cut() -> None:
    surface = part_surface(parts_of("chime_wall")["A1"])
    assert surface is not None
    assert [cut.name for cut in surface.left] == ["zero tick"]


def moved_hole(part: MadePart, radius_mm: float, x_mm: float) -> MadePart:
    round_hole = circle(radius_mm)
    hole = BulgePath(tuple(point + x_mm for point in round_hole.vertices), round_hole.bulges)
    return replace(part, holes=(*part.holes, hole), printer_holes=(*part.printer_holes, hole))


def test_a_hole_that_meets_the_bore_a_pocket_or_the_rim_is_not_drawn() -> None:
    plain = replace(with_dogs(), dogs=None)
    assert part_surface(moved_hole(plain, 1.0, 9.5)) is not None
    assert part_surface(moved_hole(plain, 2.0, 5.0)) is None
    assert part_surface(moved_hole(with_dogs(), 2.0, 9.5)) is None
    assert part_surface(moved_hole(plain, 2.0, 24.0)) is None


def test_pockets_that_reach_what_is_sunk_from_above_are_not_drawn() -> None:
    part = with_dogs()
    assert part.dogs is not None
    deep = replace(part.dogs, depth_mm=part.thickness_mm - part.marks.depth_mm)
    assert part_surface(replace(part, dogs=deep)) is None
    assert part_surface(replace(part, dogs=replace(deep, depth_mm=deep.depth_mm - 0.1))) is not None


def test_openings_shallower_than_their_chamfer_are_not_drawn() -> None:
    pocketed, grooved = with_dogs(), with_groove()
    assert pocketed.dogs is not None
    assert grooved.groove is not None
    shallow = replace(pocketed.dogs, depth_mm=0.2)
    assert part_surface(replace(pocketed, dogs=shallow, foot_mm=0.1)) is not None
    assert part_surface(replace(pocketed, dogs=shallow, foot_mm=0.3)) is None
    depth = grooved.chamfer_mm
    assert part_surface(replace(grooved, groove=replace(grooved.groove, depth_mm=depth + 0.1))) is not None
    assert part_surface(replace(grooved, groove=replace(grooved.groove, depth_mm=depth - 0.1))) is None
