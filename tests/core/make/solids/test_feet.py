"""Foot chamfers and lead-ins: sizes in the files by another library, room, proof, and old manifests."""

from __future__ import annotations

import hashlib
import json
import math
from pathlib import Path
from typing import Any

import pytest
import trimesh
from shapely import Point, Polygon

from shaftscore.make.exporting import check_folder, export_project
from shaftscore.model import Bore, Dogs, Print, Project, Stack, replaced
from tests.core.make.exporting.machines import one_sided

CLEARANCE_MM = 0.1
DOGS = Dogs(count=3, radius_mm=12.0, width_mm=4.0, height_mm=2.0)


def machine(printing: Print | None = None, **dogs: float) -> Project:
    """One disc with a hexagon bore of 8 mm and dogs, on a stack with a fit of 0.1 mm."""
    stack = Stack(
        id="main",
        bore=Bore(shape="hex", across_mm=8.0),
        keying="chain",
        dogs=replaced(DOGS, **dogs),
        fit_clearance_mm=CLEARANCE_MM,
    )
    return replaced(one_sided(), stacks=(stack,), print=printing or Print())


def sections(path: Path, z: float) -> list[Any]:
    """Outlines of a body at a height as polygons, the largest first, by trimesh."""
    lines = trimesh.load(path).section(plane_origin=(0, 0, z), plane_normal=(0, 0, 1)).discrete
    return sorted((Polygon(line[:, :2]) for line in lines), key=lambda one: -one.area)


def away(path: Path, z: float) -> list[Any]:
    """Outlines at a height that are neither the contour nor the bore, by their direction."""
    found = [one for one in sections(path, z) if not one.contains(Point(0, 0))]
    return sorted(found, key=lambda one: math.atan2(one.centroid.y, one.centroid.x + 1e-9))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The machine, exported."""
    out = tmp_path_factory.mktemp("feet") / "out"
    result = export_project(machine(), out, ["stl", "dxf"])
    assert not [note for note in result.notes if "chamfer" in note or "lead-in" in note]
    return out


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The machine without foot chamfers, exported."""
    out = tmp_path_factory.mktemp("bare") / "out"
    export_project(machine(Print(foot_chamfer_mm=0.0)), out, ["stl"])
    return out


@pytest.mark.parametrize("name", ["A1_tea-flap.stl", "FIT_fit-coupon-of-main.stl"])
def test_bores_widen_towards_the_bed(folder: Path, name: str) -> None:
    """By hand: a hexagon of 8 mm and 0.1 mm to each side, wider by 0.3 mm to each side on the bed.

    The area of a hexagon is sqrt(3) / 2 times the square of its width across flats. Of the coupon the cell
    of that clearance is the second; all its cells are wider by the same.
    """
    for z, foot in ((0.01, 0.29), (0.2, 0.1), (0.31, 0.0), (4.9, 0.0)):
        across = 8.0 + 2 * (CLEARANCE_MM + foot)
        right = math.sqrt(3) / 2 * across**2
        assert min(abs(one.area - right) for one in sections(folder / name, z)) < 0.01 * right


def test_pockets_widen_pegs_narrow_and_the_rim_stays(folder: Path) -> None:
    """Pockets are wider by 0.3 mm all round on the bed, pegs narrower at their tips, to 0.01 mm."""
    disc = folder / "A1_tea-flap.stl"
    for low, plain, by in ((0.01, 1.0, 0.29), (6.99, 5.5, -0.29)):
        moved, upright = away(disc, low), away(disc, plain)
        assert len(moved) == len(upright) == DOGS.count
        for one, other in zip(moved, upright, strict=True):
            assert one.symmetric_difference(other.buffer(by, join_style="mitre")).area < 0.01 * other.length
    running = [sections(disc, z)[0].area for z in (0.41, 2.5, 4.59)]
    assert running == pytest.approx([running[0]] * 3, rel=1e-7)


def test_little_room_makes_little_chamfers(tmp_path: Path) -> None:
    """By hand, of 1.5 mm wanted: of pegs 2 mm high 40 % is 0.8 mm, of pockets 2.1 mm deep it is 0.84 mm."""
    result = export_project(machine(Print(foot_chamfer_mm=1.5)), tmp_path, ["stl"], despite_errors=True)
    disc = next(part for part in result.manifest["parts"] if part["code"] == "A1")  # type: ignore[attr-defined]
    assert disc["shape"]["tip_mm"] == 0.8
    assert 0.0 < disc["shape"]["foot_mm"] <= 0.84
    assert any(
        "A1: lead-in of the pegs made 0.80 mm, not 1.50 mm: there is no room" in n for n in result.notes
    )
    assert any("A1: foot chamfers made" in note for note in result.notes)


def test_the_proof_misses_a_foot_that_is_not_there(folder: Path, bare: Path, tmp_path: Path) -> None:
    """Files made without chamfers do not hold what a manifest with them says, and the other way round."""
    for good, other in ((folder, bare), (bare, folder)):
        mixed = tmp_path / good.parent.name
        mixed.mkdir()
        for path in good.glob("*"):
            (mixed / path.name).write_bytes(path.read_bytes())
        wrong = (other / "FIT_fit-coupon-of-main.stl").read_bytes()
        (mixed / "FIT_fit-coupon-of-main.stl").write_bytes(wrong)
        manifest = json.loads((mixed / "manifest.json").read_text("utf-8"))
        for entry in manifest["files"]:
            if entry["name"].startswith("FIT") and entry["name"].endswith("stl"):
                entry["sha256"], entry["bytes"] = hashlib.sha256(wrong).hexdigest(), len(wrong)
        (mixed / "manifest.json").write_text(json.dumps(manifest), "utf-8")
        faults = check_folder(None, mixed).faults
        assert faults
        assert all(fault.startswith("FIT_fit-coupon-of-main.stl") for fault in faults)
        assert any("at z = 0." in fault or "leaning wall" in fault for fault in faults)


def test_a_manifest_from_before_chamfers_reads(bare: Path, tmp_path: Path) -> None:
    """Without the two keys a part has neither foot chamfers nor lead-ins."""
    for file in bare.glob("*"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    path = tmp_path / "manifest.json"
    manifest = json.loads(path.read_text("utf-8"))
    for part in manifest["parts"]:
        assert part["shape"].pop("foot_mm") == part["shape"].pop("tip_mm") == 0.0
    path.write_text(json.dumps(manifest), "utf-8")
    assert check_folder(None, tmp_path).faults == ()
