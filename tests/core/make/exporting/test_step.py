"""STEP files, read back by the kernel of the optional extra: volume, size, and distance to the profile.

Where the extra is absent these tests are skipped, visibly, but for the one of the message.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import trimesh
from shapely.geometry import LineString, Polygon

from shaftscore.base.errors import ExportError
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import FramePlan, screw_hole_mm
from shaftscore.make.exporting import export_project
from shaftscore.make.files.step import MISSING
from shaftscore.make.proof.reading.step import read_solid, read_triangles
from shaftscore.make.solids import MadePart, Mesh, disc_part, part_mesh
from shaftscore.make.solids.exact import has_kernel
from shaftscore.make.solids.marks import no_marks
from shaftscore.make.solids.rim import RIM_MARKS
from shaftscore.make.solids.splines import fit_splines
from shaftscore.model import Bore, Dogs, Pins, Project, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from tests.core.make.exporting.machines import FLAT, one_sided
from tests.samples import sample
from tests.stage_machine import counted_machine, stage_machine

STEM = "A1_tea-flap"

needs_kernel = pytest.mark.skipif(
    not has_kernel(), reason="the optional extra `step` is not installed: pip install -e '.[step]'"
)


def keyed() -> Project:
    dogs = Dogs(count=3, radius_mm=12.0, width_mm=4.0, height_mm=2.0)
    stack = Stack(
        id="main", dogs=dogs, bore=Bore(shape="d", across_mm=8.0, flat_mm=6.5), spacer_radius_mm=18.0
    )
    return replaced(one_sided(edge_chamfer_mm=0.6), stacks=(stack,))


def grooved() -> Project:
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    return one_sided("clockwise", follower=roller, thickness_mm=8.0)


def knife() -> Project:
    """A knife edge over a corner in the motion: the profile has corners of its own."""
    edge = TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0)
    project = one_sided(follower=edge, edge_chamfer_mm=0.3)
    return replaced(project, lanes=(replaced(project.lanes[0], law="constant-velocity"),))


MACHINES = {
    "plain": one_sided(),
    "keyed": keyed(),
    "grooved": grooved(),
    "knife": knife(),
    "flat": one_sided(follower=FLAT, base_radius_mm=45.0),
    "square": one_sided(bore=Bore(shape="square", across_mm=8.0), offset_mm=-5.0),
}


def profile_of(project: Project) -> Profile:
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    return profile


def unmarked(project: Project) -> MadePart:
    """Return a disc without what the exact solid leaves out: its marks, those on the rim among them."""
    part = disc_part(project, project.lanes[0], profile_of(project))
    sunk = tuple(cut for cut in part.sunk if cut.name not in RIM_MARKS)
    return replace(part, marks=no_marks(), sunk=sunk)


def layered_mm3(part: MadePart) -> float:
    """Return the volume of a disc by areas of its fine outlines at heights, moved by a general library.

    Between two heights at which the shape changes, areas are polynomials of the height but for the corners
    of chamfers; six places of Gauss and Legendre integrate those of degree 11.
    """
    places, weights = np.polynomial.legendre.leggauss(6)
    top, chamfer = part.thickness_mm, part.chamfer_mm
    floor = [top - part.groove.depth_mm] if part.groove else []
    total = 0.0
    for low, high in pairwise(sorted({0.0, chamfer, top - chamfer, top, *floor})):
        heights = (low + high + places * (high - low)) / 2
        areas = [area_mm2(part, float(height)) for height in heights]
        total += float(np.dot(weights, areas)) * (high - low) / 2
    return total


def area_mm2(part: MadePart, height: float) -> float:
    """Return the area of a disc at a height, without marks."""
    top, chamfer, groove = part.thickness_mm, part.chamfer_mm, part.groove
    mouth = max(0.0, height - (top - chamfer))
    found = Polygon(part.fine).buffer(-max(chamfer - height, mouth, 0.0), join_style="mitre")
    if groove is not None and height > top - groove.depth_mm:
        inner = Polygon(groove.fine_inner).buffer(-mouth, join_style="mitre")
        found = found.difference(Polygon(groove.fine_outer).buffer(mouth, join_style="mitre")).union(inner)
    for hole in part.holes:
        found = found.difference(Polygon(hole.flattened(1e-5)))
    return float(found.area)


@needs_kernel
@pytest.mark.parametrize("kind", MACHINES)
def test_the_solid_read_back_is_the_printed_one_without_marks(tmp_path: Path, kind: str) -> None:
    project = MACHINES[kind]
    result = export_project(project, tmp_path, ["step"], despite_errors=True)
    triangles = read_triangles(tmp_path / f"{STEM}.step")
    corners = triangles.reshape(-1, 3)
    solid = Mesh(corners, np.arange(len(corners)).reshape(-1, 3))
    bare = unmarked(project)
    printed = part_mesh(bare)
    assert solid.volume == pytest.approx(printed.volume, rel=1e-4)
    if not bare.dogs:
        assert solid.volume == pytest.approx(layered_mm3(bare), rel=1e-4)
    np.testing.assert_allclose(corners.min(axis=0), printed.corners.min(axis=0), atol=2 * CHORD_MM)
    np.testing.assert_allclose(corners.max(axis=0), printed.corners.max(axis=0), atol=2 * CHORD_MM)
    assert any("leave the marks out" in note for note in result.notes)
    if kind != "knife":
        assert all(abs(proof.lift_error_mm) < 0.004 and not proof.faults for proof in result.proofs)
        assert len(result.proofs) == 1


@needs_kernel
@pytest.mark.parametrize("kind", ["plain", "keyed", "knife", "flat"])
def test_edges_are_curves_and_keep_to_the_exact_profile(tmp_path: Path, kind: str) -> None:
    """Points of the file's own curves against the exact profile, drawn as finely as 0.00001 mm."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_BSplineCurve
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    project = MACHINES[kind]
    export_project(project, tmp_path, ["step"], despite_errors=True)
    walk = TopExp_Explorer(read_solid(tmp_path / f"{STEM}.step"), TopAbs_EDGE)
    exact = profile_of(project).outline(1e-5)
    line = LineString(np.concatenate([exact, exact[:1]]))
    seen, low = 0, disc_part(project, project.lanes[0], profile_of(project)).chamfer_mm
    while walk.More():
        curve = BRepAdaptor_Curve(TopoDS.Edge(walk.Current()))
        walk.Next()
        first, last = curve.FirstParameter(), curve.LastParameter()
        places = [curve.Value(first + (last - first) * share) for share in np.linspace(0, 1, 400)]
        if curve.GetType() != GeomAbs_BSplineCurve or {round(p.Z(), 6) for p in places} != {round(low, 6)}:
            continue
        off = [line.distance(LineString([(p.X(), p.Y()), (p.X(), p.Y() + 1e-12)])) for p in places]
        assert max(off) <= CHORD_MM
        seen += 1
    assert seen >= 1


@needs_kernel
def test_holes_for_pins_go_through_and_are_proved(tmp_path: Path) -> None:
    """Three holes of 3 + 2 * 0.1 mm through 5 mm."""
    pins = Pins(count=3, radius_mm=13.0, across_mm=3.0)
    volumes = []
    for name, stack in (("plain", Stack(id="main")), ("pinned", Stack(id="main", pins=pins))):
        project = replaced(one_sided(base_radius_mm=30.0), stacks=(stack,))
        result = export_project(project, tmp_path / name, ["step"])
        corners = read_triangles(tmp_path / name / f"{STEM}.step").reshape(-1, 3)
        volumes.append(Mesh(corners, np.arange(len(corners)).reshape(-1, 3)).volume)
    assert volumes[0] - volumes[1] == pytest.approx(3 * np.pi * 1.6**2 * 5.0, rel=2e-3)
    (play,) = [fit.play_deg for fit in result.fits if fit.name == "pin holes"]
    assert play == pytest.approx((np.degrees(0.1 / 13.0),) * 2, abs=0.002)


@needs_kernel
def test_same_part_same_bytes_however_many_were_written_before(tmp_path: Path) -> None:
    for name in ("first", "second"):
        export_project(keyed(), tmp_path / name, ["step"])
    first, second = ((tmp_path / name / f"{STEM}.step").read_bytes() for name in ("first", "second"))
    assert first == second
    assert b"1970-01-01T00:00:00" in first
    assert b"Open CASCADE" not in first


def test_without_the_extra_the_message_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shaftscore.make.exporting.formats.has_kernel", lambda: False)
    with pytest.raises(ExportError) as caught:
        export_project(one_sided(), tmp_path / "out", ["stl", "step"])
    assert str(caught.value) == MISSING
    assert not (tmp_path / "out").exists()
    result = export_project(one_sided(), tmp_path / "out")
    assert not any(name.endswith(".step") for name in result.files)


STAGE_KINDS = {"driver", "geneva", "stepped"}
KINDS = {"hub", "pinion", "lever", "slide", "bracket", "plate", "pillar", "knob"}


def kernel_figures(path: Path) -> tuple[float, np.ndarray]:
    """Return volume, mm³, and size along x, y and z, mm, as the kernel integrates and bounds a solid."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    solid, found, box = read_solid(path), GProp_GProps(), Bnd_Box()
    BRepGProp.VolumeProperties_s(solid, found)
    BRepBndLib.AddOptimal_s(solid, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return found.Mass(), np.array([high.X() - low.X(), high.Y() - low.Y(), high.Z() - low.Z()])


@needs_kernel
@pytest.mark.long
@pytest.mark.parametrize("name", ["paper_theatre", "tea_blender"])
def test_parts_that_complete_the_shaft_are_solids_of_the_right_size(tmp_path: Path, name: str) -> None:
    """Plates and pillars by the areas of their holes; all by the bodies for a printer, read by trimesh."""
    project = sample(name)
    result = export_project(project, tmp_path, ["step", "stl"])
    frame = machine_frame(solve(project))
    assert frame is not None
    seen = set()
    for part in result.manifest["parts"]:
        kind, code = part["kind"], part["code"]
        (path,) = tmp_path.glob(f"{code}_*.step") if kind in KINDS else [None]
        if path is None:
            continue
        seen.add(kind)
        volume, size = kernel_figures(path)
        if kind == "plate":
            assert volume == pytest.approx(plate_volume(frame, code), rel=1e-5)
        if kind == "pillar":
            rings = np.pi / 4 * (frame.pillar_outer_mm**2 - screw_hole_mm(frame.frame.pillar_mm) ** 2)
            assert volume == pytest.approx(rings * frame.between_mm / frame.pillar_pieces, rel=1e-5)
        (solid,) = tmp_path.glob(f"{code}_*.stl")
        printed = trimesh.load(solid)
        assert volume == pytest.approx(printed.volume, rel=0.02)  # marks and foot chamfers are left out
        np.testing.assert_allclose(size, printed.extents, atol=0.05)
    assert seen >= (KINDS - {"pinion"} if name == "paper_theatre" else KINDS - {"slide"})


@needs_kernel
@pytest.mark.long
@pytest.mark.parametrize("made", [stage_machine, counted_machine])
def test_parts_of_stages_between_stacks_are_solids_of_the_right_size(
    tmp_path: Path, made: Callable[[], Project]
) -> None:
    """Driver and wheel, by the bodies for a printer, read by trimesh; the plate of a driver by its radius."""
    result = export_project(made(), tmp_path, ["step", "stl"])
    seen = set()
    for part in result.manifest["parts"]:
        if part["kind"] not in STAGE_KINDS:
            continue
        seen.add(part["kind"])
        (path,), (solid,) = (list(tmp_path.glob(f"{part['code']}_*.{form}")) for form in ("step", "stl"))
        volume, size = kernel_figures(path)
        printed = trimesh.load(solid)
        assert volume == pytest.approx(printed.volume, rel=0.02)  # marks and foot chamfers are left out
        np.testing.assert_allclose(size, printed.extents, atol=0.05)
        if made is stage_machine and part["kind"] == "driver":
            crank = 72.0 * np.sin(np.pi / 10)  # c sin(180 / n), with the pin of 4 mm and 2.4 mm about it
            np.testing.assert_allclose(size, [2 * (crank + 4.4), 2 * (crank + 4.4), 10.5], atol=1e-3)
    assert seen == {"driver", "geneva" if made is stage_machine else "stepped"}


def plate_volume(frame: FramePlan, code: str) -> float:
    """Return the volume of a plate, mm³: its sheet less each hole and each seat, by their diameters."""
    side = code.removeprefix("PLATE-").lower()
    wide, deep = frame.size_mm
    volume = wide * deep * frame.frame.plate_mm
    for hole in frame.holes:
        if side not in hole.plates:
            continue
        if hole.seat is None:
            volume -= np.pi / 4 * hole.across_mm**2 * frame.frame.plate_mm
        else:
            through = frame.frame.plate_mm - hole.seat.depth_mm
            volume -= np.pi / 4 * hole.across_mm**2 * hole.seat.depth_mm
            volume -= np.pi / 4 * hole.seat.through_mm**2 * through
    return float(volume)


def ring(count: int, radius: float = 20.0) -> np.ndarray:
    angle = 2 * np.pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def test_a_circle_becomes_one_closed_smooth_curve() -> None:
    (spline,) = fit_splines([ring(600)])
    from scipy.interpolate import BSpline

    curve = BSpline(spline.knots, spline.poles[:, 0], spline.degree)
    at = np.linspace(spline.knots[0], spline.knots[-1], 5000)
    assert np.abs(np.abs(curve(at)) - 20.0).max() < 0.0015
    assert curve(at[0]) == pytest.approx(curve(at[-1]))
    assert curve.derivative()(at[0]) == pytest.approx(curve.derivative()(at[-1]))
    assert len(spline.poles) < 80


def test_corners_are_kept_and_straight_sides_are_straight() -> None:
    square = np.array([[10.0, -10.0], [10.0, 10.0], [-10.0, 10.0], [-10.0, -10.0]])
    curves = fit_splines([square])
    assert [curve.degree for curve in curves] == [1, 1, 1, 1]
    assert [complex(curve.poles[0, 0]) for curve in curves] == [complex(*corner) for corner in square]


def test_rings_that_do_not_belong_together_are_refused() -> None:
    with pytest.raises(ValueError, match="600, 599"):
        fit_splines([ring(600), ring(599)])
