"""Zero tick and code on the rim: where they are and are not, by another library, and their proof."""

from __future__ import annotations

import cmath
import hashlib
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from shapely import LinearRing, Point, Polygon

from shaftscore.make.exporting import check_folder, export_project
from shaftscore.model import Print, Project, TranslatingRoller, replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.machines import one_sided

CODE = {"A1": ["###  # ", "# # ## ", "###  # ", "# #  # ", "# # ###"]}
"""Rows of a code from the top, as a person reads them."""


def machine(**disc: Any) -> Project:
    """Two discs, alike but for their stations, with spacers of 6 mm between them."""
    project = one_sided(printing=Print(hole_mm=0.05), **disc)
    lanes = tuple(replaced(project.lanes[0], id=f"lane{n}", code=None, station_deg=180.0 * n) for n in (0, 1))
    stack = replaced(project.stacks[0], spacer_mm=6.0, spacer_radius_mm=14.0)
    return replaced(project, lanes=with_codes(lanes), stacks=(stack,))


@pytest.fixture(scope="module")
def sprung(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Discs that followers run on with springs, exported."""
    out = tmp_path_factory.mktemp("rim") / "sprung"
    result = export_project(machine(), out, ["stl", "dxf"])
    assert not [note for note in result.notes if "tick" in note]
    return out


@pytest.fixture(scope="module")
def grooved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Discs with grooves, exported."""
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    out = tmp_path_factory.mktemp("rim") / "grooved"
    export_project(
        machine(follower=roller, thickness_mm=8.0, groove_depth_mm=4.0), out, ["stl"], despite_errors=True
    )
    return out


def rings_at(path: Path, z: float) -> list[Polygon]:
    """Outlines of a body at a height, the contour first, by trimesh."""
    lines = trimesh.load(path).section(plane_origin=(0, 0, z), plane_normal=(0, 0, 1)).discrete
    return sorted((Polygon(line[:, :2]) for line in lines), key=lambda one: -one.area)


def test_the_tick_of_a_running_edge_is_in_its_chamfer_alone(sprung: Path) -> None:
    """The disc is 5 mm high with chamfers of 0.4 mm: there is a notch at +x above 4.6 mm, none below."""
    disc = sprung / "A1_tea-flap.stl"
    running, above = rings_at(disc, 2.5)[0], rings_at(disc, 4.8)[0]
    radius = next(r for r in np.arange(20.0, 40.0, 0.01) if not running.contains(Point(r, 0)))
    for inward, aside, there in ((0.5, 0.0, False), (0.7, 0.5, False), (0.7, 0.9, True), (1.0, 0.0, True)):
        assert above.contains(Point(radius - inward, aside)) is there
    for z in (0.41, 4.59):
        assert running.symmetric_difference(rings_at(disc, z)[0]).area < 1e-4


@pytest.mark.parametrize(("hole_mm", "there"), [(-0.4, True), (-0.6, False), (-0.9, False)])
def test_a_tick_that_a_correction_closes_is_left_out(hole_mm: float, there: bool, tmp_path: Path) -> None:
    """Of 1.2 mm a correction of -0.4 mm leaves 0.4 mm, one of -0.6 mm nothing: discs are made without it."""
    drawn = machine()
    project = replaced(drawn, print=replaced(drawn.print, hole_mm=hole_mm))
    result = export_project(project, tmp_path / "out", ["stl"])
    assert not any(proof.faults for proof in result.proofs)
    missing = {note for note in result.notes if "zero tick" in note}
    names = set() if there else {"A1", "B1", "spacer of Main"}
    assert len(missing) == len(names), missing
    running, above = (rings_at(tmp_path / "out" / "A1_tea-flap.stl", z)[0] for z in (2.5, 4.8))
    radius = next(r for r in np.arange(20.0, 40.0, 0.01) if not running.contains(Point(r, 0)))
    beside, middle = (above.contains(Point(radius - 0.3, aside)) for aside in (0.7, 0.0))
    assert beside
    assert middle is not there


def test_marks_are_open_to_a_rim_that_is_moved_far_outward(tmp_path: Path) -> None:
    """The contour is moved outward by 3 mm: marks that begin 1 mm outside the drawn rim would be hollows."""
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    drawn = machine(follower=roller, thickness_mm=8.0, groove_depth_mm=4.0)
    project = replaced(drawn, print=replaced(drawn.print, contour_mm=3.0))
    export_project(project, tmp_path / "out", ["stl"], despite_errors=True)
    body = trimesh.load(tmp_path / "out" / "A1_tea-flap.stl")
    assert body.is_watertight
    assert body.body_count == 1


def test_the_tick_of_a_spacer_is_as_high_as_it(sprung: Path) -> None:
    """A notch 1.2 mm wide and 0.6 mm deep in a rim of 14 mm, larger by the holes' correction of 0.05 mm."""
    for z in (0.5, 3.0, 5.9):
        found = rings_at(sprung / "SPACER_spacer-of-main.stl", z)[0]
        assert not found.contains(Point(14.0 - 0.55, 0.6))
        assert found.contains(Point(14.0 - 0.7, 0.0))
        assert found.contains(Point(14.0 - 0.1, 0.75))
        assert found.area == pytest.approx(np.pi * 14.0**2 - 1.3 * 0.65, abs=0.3)


def test_the_code_on_the_rim_of_a_groove_reads_from_outside(grooved: Path) -> None:
    """Dots of 0.8 mm, begun 2 mm to the right of the tick, in the middle of a rim that is 8 mm high.

    To the right, seen from outside with the top up, is counterclockwise seen from the top.
    """
    disc = grooved / "A1_tea-flap.stl"
    closed = rings_at(disc, 0.9)[0].buffer(1.0, quad_segs=32).buffer(-1.0, quad_segs=32)  # without the tick
    rim = LinearRing(closed.exterior.coords)
    radius = next(r for r in np.arange(60.0, 10.0, -0.01) if Polygon(rim).contains(Point(r, 0)))
    start, ccw = rim.project(Point(radius, 0.0)), 1 if rim.is_ccw else -1
    rows = []
    for row in range(5):
        found = rings_at(disc, 4.0 + 2.0 - 0.8 * (row + 0.5))[0]
        dots = []
        for column in range(7):
            at = rim.interpolate((start + ccw * (2.0 + 0.8 * (column + 0.5))) % rim.length)
            inward = cmath.rect(0.3, cmath.phase(complex(at.x, at.y)))
            dots.append(" " if found.contains(Point(at.x - inward.real, at.y - inward.imag)) else "#")
        rows.append("".join(dots))
    assert rows == CODE["A1"]
    assert not rings_at(disc, 4.01)[0].contains(Point(radius - 0.3, 0.0))


def test_a_tick_that_is_missing_is_found(sprung: Path, tmp_path: Path) -> None:
    """The notch of a spacer, filled by another library."""
    for file in sprung.glob("*"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    path = tmp_path / "SPACER_spacer-of-main.stl"
    block = trimesh.creation.box(
        (0.62, 1.3, 6.0), trimesh.transformations.translation_matrix((13.65, 0, 3.0))
    )
    filled = trimesh.load(path).union(block, engine="manifold")
    filled.export(path)
    manifest = json.loads((tmp_path / "manifest.json").read_text("utf-8"))
    for entry in manifest["files"]:
        if entry["name"] == path.name:
            data = path.read_bytes()
            entry["sha256"], entry["bytes"] = hashlib.sha256(data).hexdigest(), len(data)
    (tmp_path / "manifest.json").write_text(json.dumps(manifest), "utf-8")
    for project in (machine(), None):
        assert any("zero tick" in fault for fault in check_folder(project, tmp_path).faults)
