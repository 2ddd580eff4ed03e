"""Exported files, opened by other libraries: closed bodies of the right volume, clean drawings."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh
from ezdxf.path import make_path
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.exporting import export_project
from shaftscore.make.solids import disc_part, part_mesh
from shaftscore.model import (
    Block,
    Bore,
    Disc,
    Lane,
    Load,
    MotionPoint,
    Print,
    Project,
    SwingingRoller,
    TranslatingRoller,
)
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from tests.core.make.exporting.machines import FLAT, one_sided

STEM = "A1_tea-flap"


def mesh_of(project: Project, out: Path) -> trimesh.Trimesh:
    export_project(project, out, ["stl"])
    mesh = trimesh.load(out / f"{STEM}.stl")
    assert isinstance(mesh, trimesh.Trimesh)
    return mesh


def profile_of(project: Project) -> Profile:
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    return profile


def exact_area(profile: Profile) -> float:
    """Area within the profile by Green's theorem on 200,000 points of the exact curve, mm²."""
    z = profile.at(np.linspace(0, 360, 200_001)[:-1]).profile
    return abs(float(np.sum(z.real * np.roll(z.imag, -1) - np.roll(z.real, -1) * z.imag)) / 2)


def marks_area(path: Path, width: float) -> float:
    """Area that a round tool covers along the drawing's marks, by another library, mm²."""
    lines = ezdxf.readfile(path).modelspace().query("LWPOLYLINE[layer=='mark']")
    return unary_union([LineString(line.get_points("xy")).buffer(width / 2, 2) for line in lines]).area


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("offset_mm", [0.0, -5.0])
def test_body_is_closed_and_its_volume_is_that_of_the_exact_disc(
    tmp_path: Path, turn: str, offset_mm: float
) -> None:
    project = one_sided(turn, offset_mm=offset_mm, edge_chamfer_mm=0.0, thickness_mm=6.0)  # type: ignore[arg-type]
    project = replaced(project, print=Print(foot_chamfer_mm=0.0))
    export_project(project, tmp_path)
    mesh = trimesh.load(tmp_path / f"{STEM}.stl")
    bore = 2 * math.sqrt(3) * 4.2**2
    expected = (exact_area(profile_of(project)) - bore) * 6.0 - marks_area(
        tmp_path / f"{STEM}.dxf", 0.8
    ) * 0.6
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(expected, rel=5e-4)
    np.testing.assert_allclose(mesh.bounds[:, 2], [0.0, 6.0], atol=1e-6)


def test_chamfers_take_what_they_should_and_leave_the_contour(tmp_path: Path) -> None:
    project = one_sided()
    part = disc_part(project, project.lanes[0], profile_of(project), CHORD_MM)
    bare = replace(part, marks=replace(part.marks, groups={}), sunk=())  # without marks and tick
    volumes = [part_mesh(replace(bare, chamfer_mm=chamfer)).volume for chamfer in (0.0, 0.5)]
    outline = profile_of(project).outline()
    # Pappus: both chamfers are triangles of 0.5 x 0.5 mm whose middles go round the edge once.
    taken = 2 * (0.5 * 0.5 / 2) * (Polygon(outline).length - 2 * math.pi * 0.5 / 3)
    assert volumes[0] - volumes[1] == pytest.approx(taken, rel=1e-3)
    cut = mesh_of(one_sided(edge_chamfer_mm=0.5), tmp_path)
    assert cut.is_watertight
    for height in (0.51, 2.5, 4.49):
        section = cut.section([0, 0, 1], [0, 0, height]).to_2D(to_2D=np.eye(4))[0]
        edge = max(section.polygons_closed, key=lambda ring: ring.area)
        assert edge.symmetric_difference(Polygon(outline)).area < 1e-3
    face = max(
        cut.section([0, 0, 1], [0, 0, 1e-4]).to_2D(to_2D=np.eye(4))[0].polygons_closed, key=lambda r: r.area
    )
    assert face.symmetric_difference(Polygon(outline).buffer(-0.5, join_style="mitre")).area < 0.05


@pytest.mark.parametrize(
    ("bore", "area"),
    [
        (Bore(shape="round", across_mm=8.0), math.pi * 4.2**2),
        (Bore(shape="square", across_mm=8.0), 8.4**2),
        (Bore(shape="hex", across_mm=8.0), 2 * math.sqrt(3) * 4.2**2),
    ],
)
def test_bores_carry_the_fit_clearance(tmp_path: Path, bore: Bore, area: float) -> None:
    mesh = mesh_of(one_sided(bore=bore), tmp_path)
    section = mesh.section([0, 0, 1], [0, 0, 2.0]).to_2D(to_2D=np.eye(4))[0]
    hole = min(section.polygons_closed, key=lambda ring: ring.area)
    assert hole.area == pytest.approx(area, rel=2e-3)


def cut_lines(folder: Path) -> list[list[tuple[float, ...]]]:
    lines = ezdxf.readfile(folder / f"{STEM}.dxf").modelspace().query("LWPOLYLINE[layer=='cut']")
    return [[tuple(corner) for corner in line.get_points("xyb")] for line in lines]


def test_a_printers_corrections_are_in_the_body_and_not_in_the_drawing(tmp_path: Path) -> None:
    plain, corrected = one_sided(), one_sided(printing=Print(contour_mm=-0.1, hole_mm=0.15))
    export_project(plain, tmp_path / "plain")
    result = export_project(corrected, tmp_path / "corrected")
    assert cut_lines(tmp_path / "plain") == cut_lines(tmp_path / "corrected")
    mesh = trimesh.load(tmp_path / "corrected" / f"{STEM}.stl")
    section = mesh.section([0, 0, 1], [0, 0, 2.0]).to_2D(to_2D=np.eye(4))[0]
    rings = sorted(section.polygons_closed, key=lambda ring: ring.area)
    assert rings[0].area == pytest.approx(2 * math.sqrt(3) * 4.35**2, rel=1e-4)
    smaller = Polygon(profile_of(plain).outline()).buffer(-0.1, join_style="mitre")
    # Chords of one outline moved, against chords of the moved outline: a mean of 0.1 µm along the contour.
    assert rings[-1].symmetric_difference(smaller).area < 1e-4 * smaller.length
    assert all(abs(proof.lift_error_mm) < 0.004 for proof in result.proofs)


def test_the_marked_face_is_the_top_and_the_zero_mark_points_along_x(tmp_path: Path) -> None:
    mesh = mesh_of(one_sided(), tmp_path)
    floor = np.unique(mesh.vertices[np.abs(mesh.vertices[:, 2] - 4.4) < 1e-6], axis=0)
    assert len(floor) > 20
    on_axis = floor[np.abs(floor[:, 1]) < 0.41]
    right = on_axis[on_axis[:, 0] > 6]
    assert right[:, 0].max() - right[:, 0].min() > 10
    assert np.hypot(floor[:, 0], floor[:, 1]).max() < 24.0 - 1.0


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_drawing_is_clean_closed_and_in_millimetres(tmp_path: Path, turn: str) -> None:
    project = one_sided(turn)  # type: ignore[arg-type]
    export_project(project, tmp_path, ["dxf"])
    drawing = ezdxf.readfile(tmp_path / f"{STEM}.dxf")
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.header["$INSUNITS"] == 4
    assert {entity.dxf.layer for entity in drawing.modelspace()} == {"cut", "mark", "step", "centre"}
    cut = list(drawing.modelspace().query("*[layer=='cut']"))
    assert all(line.dxftype() == "LWPOLYLINE" and line.closed for line in cut)
    rings = [Polygon([(p.x, p.y) for p in make_path(line).flattening(1e-4)]) for line in cut]
    outline, bore = sorted(rings, key=lambda ring: -ring.area)
    assert outline.area == pytest.approx(exact_area(profile_of(project)), rel=2e-4)
    assert bore.area == pytest.approx(2 * math.sqrt(3) * 4.2**2)


def test_a_flat_followers_disc_is_proved_too(tmp_path: Path) -> None:
    project = one_sided(follower=FLAT, base_radius_mm=45.0)
    result = export_project(project, tmp_path)
    assert all(abs(proof.lift_error_mm) < 0.004 and not proof.faults for proof in result.proofs)


def test_same_project_same_bytes(tmp_path: Path) -> None:
    first = export_project(one_sided(), tmp_path / "first")
    second = export_project(one_sided(), tmp_path / "second")
    assert first.files == second.files
    for name in (*first.files, "manifest.json"):
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "second" / name).read_bytes()


def with_drop() -> Project:
    project = one_sided()
    lane = project.lanes[0]
    rest, opened = lane.blocks
    falls = Block(level="closed", start_deg=255.0, end_deg=rest.end_deg + 360.0, law="drop")
    load = Load(moving_mass_g=40.0, spring_preload_n=6.0, spring_rate_n_per_mm=0.5)
    return replaced(project, lanes=(replaced(lane, blocks=(opened, falls), load=load),))


def with_points() -> Project:
    heights = [(t, 4.0 + 3.0 * math.sin(math.radians(t))) for t in range(0, 360, 15)]
    points = tuple(MotionPoint(theta_deg=float(t), output_mm=height) for t, height in heights)
    lane = Lane(
        id="flap", name="Tea flap", code="A1", kind="points", points=points, disc=Disc(base_radius_mm=30.0)
    )
    return replaced(one_sided(), lanes=(lane,))


def with_arm(side: str = "clockwise", closure: str = "spring") -> Project:
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=6.0,
        arm_mm=60.0,
        pivot_distance_mm=70.0,
        pivot_side=side,  # type: ignore[arg-type]
        closure=closure,  # type: ignore[arg-type]
    )
    return one_sided("clockwise", follower=arm, base_radius_mm=30.0, thickness_mm=8.0)


KINDS = {
    "drop": with_drop(),
    "points": with_points(),
    "arm": with_arm(),
    "arm on the other side": with_arm("counterclockwise"),
    "arm in a groove": with_arm(closure="groove"),
    "roller in a groove": one_sided(
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove"),
        base_radius_mm=26.0,
        thickness_mm=8.0,
    ),
    "knife edge": one_sided(follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0)),
    "offset": one_sided("clockwise", offset_mm=6.0),
}


@pytest.mark.parametrize("project", KINDS.values(), ids=KINDS)
def test_every_kind_of_disc_holds_in_every_file(tmp_path: Path, project: Project) -> None:
    result = export_project(project, tmp_path, ["3mf", "stl", "dxf"], despite_errors=True)
    assert len(result.proofs) == 4
    assert all(not proof.faults and abs(proof.lift_error_mm) < 0.004 for proof in result.proofs)


@pytest.mark.parametrize("closure", ["spring", "groove"])
def test_marks_on_the_rim_are_in_a_printers_file_whose_contour_is_moved_inward(
    tmp_path: Path, closure: str
) -> None:
    project = with_arm(closure=closure)
    moved = replaced(project, print=Print(contour_mm=-0.62))
    result = export_project(moved, tmp_path, ["stl"])  # a tick that fell off would be a face too few
    assert len(result.proofs) == len(export_project(project, tmp_path / "plain", ["stl"]).proofs)
