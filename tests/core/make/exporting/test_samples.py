"""Every file of every format from every sample, opened by another library.

Complete machines are proved as assemblies too. Large samples are exported whole in a long run, and in part
always; the first draft is the machine of the blender, of which discs alone are exported.
"""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Callable, Mapping
from pathlib import Path

import ezdxf
import lib3mf
import numpy as np
import pypdf
import pytest
import trimesh
from lxml import etree

from shaftscore.base.tolerance import PROOF_LIFT_MM
from shaftscore.make.exporting import ExportResult
from shaftscore.make.solids.exact import has_kernel
from shaftscore.model import Project
from shaftscore.model.base import replaced
from tests.core.make.exporting.conftest import Exporter
from tests.samples import ALL, bare, sample

LARGE, TALLY = "chime_wall", "tally_board"

TEMPLATE = "drill_template_"
"""What names of drawings for drilling the plates begin with."""

ON_SHAFT = {"disc", "spacer", "coupon"}
"""Kinds of parts of which every file is tried on the shaft: clamped hubs are not."""

SOME = 5
"""So many lanes of the large sample are always exported."""


def small(project: Project) -> Project:
    """Keep the first lanes alone, without what binds them to the others, and without frame and wheels."""
    project = bare(project)
    lanes = project.lanes[:SOME]
    kept = {lane.id for lane in lanes}
    stacks = tuple(
        replaced(stack, order=tuple(lane_id for lane_id in stack.order if lane_id in kept))
        for stack in project.stacks
    )
    return replaced(project, lanes=lanes, stacks=stacks, rules=(), flow=None, measured=())


DRAFT, SOWER = "tea_blender_first_draft", "seedling_sower"


def whole(project: Project) -> Project:
    return project


CASES = [
    *(pytest.param((name, whole), id=name) for name in ALL if name not in (LARGE, TALLY, DRAFT, SOWER)),
    *(pytest.param((name, bare), id=f"{name}, discs") for name in (DRAFT, SOWER)),
    pytest.param((SOWER, whole), id=SOWER, marks=pytest.mark.long),
    pytest.param((TALLY, whole), id=TALLY, marks=pytest.mark.long),
    pytest.param((LARGE, small), id=f"{LARGE}, some lanes"),
    pytest.param((LARGE, whole), id=LARGE, marks=pytest.mark.long),
]


@pytest.fixture(scope="module", params=CASES)
def exported(request, exported_once: Exporter) -> ExportResult:
    name, change = request.param
    return exported_once(name if change is whole else f"{name}, part", change(sample(name)))


def stl(path: Path) -> None:
    mesh = trimesh.load(path)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-6)


def threemf(path: Path) -> None:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    meshes = model.GetMeshObjects()
    while meshes.MoveNext():
        assert meshes.GetCurrentMeshObject().IsManifoldAndOriented()
    assert all(mesh.is_watertight for mesh in trimesh.load(path).geometry.values())


def dxf(path: Path) -> None:
    drawing = ezdxf.readfile(path)
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.header["$INSUNITS"] == 4
    if path.name.startswith(TEMPLATE):
        assert len(drawing.modelspace().query("LWPOLYLINE[layer=='OUTLINE']")) == 1
        assert len(drawing.modelspace().query("CIRCLE[layer=='HOLE']")) >= 4
        return
    assert len(drawing.modelspace().query("LWPOLYLINE[layer=='cut']")) >= 2
    assert len(drawing.modelspace().query("*[layer=='centre']")) == 2


def svg(path: Path) -> None:
    drawing = etree.parse(path).getroot()
    wide = [float(word) for word in drawing.get("viewBox").split()][2:]
    assert [drawing.get("width"), drawing.get("height")] == [f"{size:g}mm" for size in wide]


def table(path: Path) -> None:
    with path.open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    assert rows
    assert {len(row) for row in rows} == {len(head)}
    if head[0] == "hole":
        assert [row[0] for row in rows] == list("12345678")
    if head[0] == "theta_deg":
        assert len(rows) == 360
        assert np.isfinite([float(row[head.index("radius_mm")]) for row in rows]).all()


def pdf(path: Path) -> None:
    reader = pypdf.PdfReader(path, strict=True)
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    if path.name.startswith(TEMPLATE):
        assert "Drilling template" in text
        return
    words = ("Pinch points", "Before you print", "Parts to print", "Plan of the machine", "Assembly of")
    words += ("Section of", "Timing diagram", "Test cards for the hand crank", "If it does not work", "Proof")
    assert [word for word in words if word not in text] == []


def step(path: Path) -> None:
    from shaftscore.make.proof.reading.step import read_triangles

    corners = read_triangles(path).reshape(-1, 3)
    mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=True)
    assert mesh.is_watertight
    assert mesh.volume > 0


OPENED: Mapping[str, Callable[[Path], None]] = {
    ".stl": stl,
    ".3mf": threemf,
    ".dxf": dxf,
    ".svg": svg,
    ".csv": table,
    ".pdf": pdf,
    ".step": step,
}


def test_every_file_is_opened_by_another_library(exported: ExportResult) -> None:
    kinds = {Path(name).suffix for name in exported.files}
    assert kinds == set(OPENED) - (set() if has_kernel() else {".step"})
    for name in exported.files:
        OPENED[Path(name).suffix](exported.out / name)


def test_every_disc_is_proved_in_every_file_that_can_be_run_over(exported: ExportResult) -> None:
    parts = json.loads((exported.out / "manifest.json").read_bytes())["parts"]
    discs = [part for part in parts if part["lane"] is not None]
    assert discs
    for part in discs:
        proofs = [proof for proof in part["proof"] if proof["part"] == part["code"]]
        assert {Path(proof["file"]).suffix for proof in proofs} >= {".stl", ".3mf", ".dxf"}
        assert all(proof["holds"] and abs(proof["lift_error_mm"]) < PROOF_LIFT_MM for proof in proofs)
        assert all(proof["places"] == 3600 for proof in proofs)


def test_every_part_fits_in_every_file_that_holds_it(exported: ExportResult) -> None:
    kinds = {Path(name).suffix for name in exported.files} - {".csv", ".pdf"}
    for part in exported.manifest["parts"]:  # type: ignore[attr-defined]
        fits = [fit for fit in exported.fits if fit.part == part["code"]]
        assert {Path(fit.file).suffix for fit in fits} == (kinds if part["kind"] in ON_SHAFT else set())
        assert all(fit.found == () for fit in fits)
        assert all(fit.play_deg == pytest.approx([fit.program_deg] * 2, abs=0.005) for fit in fits)


def test_a_complete_machine_is_proved_put_together(request, exported: ExportResult) -> None:
    _, change = request.node.callspec.params["exported"]
    assert exported.assembly is not None
    assert exported.assembly.faults == ()
    kinds = {part["kind"] for part in exported.manifest["parts"]}  # type: ignore[attr-defined]
    made = kinds >= {"disc", "spacer", "hub", "plate", "pillar", "knob"} and bool(kinds & {"lever", "slide"})
    assert made == (change is whole)
    assert ("geneva" in kinds) == (exported.manifest["project"] == "Tally board")  # type: ignore[attr-defined]


def test_plates_of_sheet_lie_on_no_build_plate(exported_once: Exporter) -> None:
    """The theatre's plates are of aluminium: they are not among what is printed."""
    out = exported_once("paper_theatre", sample("paper_theatre")).out
    with (out / "parts_list.csv").open(newline="", encoding="utf-8") as file:
        beds = [row["size"] for row in csv.DictReader(file) if row["what"] == "build plate"]
    assert beds
    assert [size for size in beds if "PLATE" in size] == []
    names = list(trimesh.load(out / "plates_paper-theatre.3mf").geometry)
    assert [name for name in names if "PLATE" in name.upper()] == []
    assert any("HUB1" in name for name in names)


def test_the_manifest_states_every_file_as_it_is(exported: ExportResult) -> None:
    manifest = json.loads((exported.out / "manifest.json").read_bytes())
    assert {entry["name"] for entry in manifest["files"]} == set(exported.files)
    assert {path.name for path in exported.out.iterdir()} == {*exported.files, "manifest.json"}
    for entry in manifest["files"]:
        data = (exported.out / entry["name"]).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (entry["bytes"], entry["sha256"])
    limits = {"chord_mm", "lift_mm", "state_deg", "state_mm", "play_deg", "seat_mm"}
    assert set(manifest["limits"]) == limits
