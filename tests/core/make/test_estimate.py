"""Mass, time and filament of printed parts, against a slice count by hand and another library's volume."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from shaftscore.make.exporting import export_project
from shaftscore.make.files.estimate import assumptions, printed_estimate, summed
from shaftscore.make.solids import Mesh
from shaftscore.model import Material, Print, replaced
from tests.core.make.exporting.machines import one_sided

SETTINGS = Print(layer_mm=0.2, first_layer_mm=0.3, line_mm=0.5, walls=2, infill_percent=25.0, flow_mm3_s=5.0)


def box(wide: float, deep: float, high: float, hole: float = 0.0) -> Mesh:
    """A block on the bed, made by trimesh; hole: edge of a square hole through its middle."""
    body = trimesh.creation.box(
        (wide, deep, high), trimesh.transformations.translation_matrix((0, 0, high / 2))
    )
    if hole:
        body = body.difference(trimesh.creation.box((hole, hole, 4 * high)), engine="manifold")
    return Mesh(np.asarray(body.vertices, np.float64), np.asarray(body.faces, np.int64))


def test_a_box_by_hand() -> None:
    """A box of 20 x 10 x 2.3 mm: a first layer of 0.3 mm and ten of 0.2 mm.

    Two walls of 0.5 mm leave 18 x 8 mm = 144 mm² of 200 mm²; walls are 56 / 0.5 = 112 mm a layer. Solid for
    0.8 mm are four layers below and four above: infill of 144 / 0.5 = 288 mm there, a quarter, 72 mm, in the
    other three. The flow of 5 mm³/s allows 5 / (0.5 x 0.2) = 50 mm/s: walls run at 40, infill at 50 mm/s; the
    first layer at 20 mm/s. Each layer travels half a diagonal of sqrt(500) mm to each of two walls, and 20 mm
    from line to line, at 120 mm/s.
    """
    need = printed_estimate(box(20.0, 10.0, 2.3), SETTINGS, 1.25)
    volume = (112 + 288) * 0.5 * 0.3 + 7 * (112 + 288) * 0.5 * 0.2 + 3 * (112 + 72) * 0.5 * 0.2
    travel = 11 * (math.sqrt(500) + 20) / 120
    seconds = 400 / 20 + 10 * 112 / 40 + (7 * 288 + 3 * 72) / 50 + travel
    assert need.mass_g == pytest.approx(volume * 1.25 / 1000, rel=1e-9)
    assert need.hours == pytest.approx(seconds / 3600, rel=1e-9)
    assert need.filament_m == pytest.approx(volume / (math.pi / 4 * 1.75**2) / 1000, rel=1e-9)


def test_full_infill_fills_the_body() -> None:
    """With 100 % infill all of the body is plastic: its volume by trimesh."""
    body = box(31.0, 17.0, 4.0, hole=9.0)
    full = replaced(SETTINGS, infill_percent=100.0, first_layer_mm=0.2)
    need = printed_estimate(body, full, 1.0)
    assert need.mass_g == pytest.approx(trimesh.Trimesh(body.corners, body.triangles).volume / 1000, rel=1e-6)
    hollow = printed_estimate(body, replaced(full, infill_percent=0.0), 1.0)
    assert hollow.mass_g is not None
    assert hollow.mass_g < 0.9 * (need.mass_g or 0.0)


def test_flow_limits_the_speed_and_a_missing_density_the_mass() -> None:
    """At 1 mm³/s every line of 0.5 x 0.2 mm runs at 10 mm/s: the plastic's volume in seconds, and travel."""
    slow = replaced(SETTINGS, flow_mm3_s=1.0, first_layer_mm=0.2)
    need = printed_estimate(box(20.0, 10.0, 2.2), slow, None)
    volume = need.filament_m * 1000 * math.pi / 4 * 1.75**2
    assert need.hours * 3600 == pytest.approx(volume + 11 * (math.sqrt(500) + 20) / 120, rel=1e-9)
    assert need.mass_g is None
    assert summed([need, printed_estimate(box(20.0, 10.0, 2.2), slow, 1.0)]).mass_g is None


def test_parts_list_and_manifest_say_what_a_printer_needs(tmp_path: Path) -> None:
    """Steel is not printed: mass of the whole body, no time; a material without a density has no mass."""
    project = one_sided()
    oak = Material(name="oak", modulus_gpa=11.0, poisson=0.3, contact_mpa=12.0)
    found = {}
    for material in ("PLA", "steel", "oak"):
        lanes = (replaced(project.lanes[0], disc=replaced(project.lanes[0].disc, material=material)),)
        out = tmp_path / material
        export_project(
            replaced(project, lanes=lanes, materials=(oak,)), out, ["csv", "stl"], despite_errors=True
        )
        with (out / "parts_list.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        found[material] = next(row for row in rows if row["what"] == "disc")
        plates = [row for row in rows if row["what"] == "build plate"]
        manifest = json.loads((out / "manifest.json").read_text("utf-8"))
        assert [plate["parts"] for plate in manifest["estimates"]["plates"]] == [{"FIT": 1}, {"A1": 1}]
        assert [row["size"] for row in plates] == ["FIT", "A1"]
        assert manifest["estimates"]["assumptions"] == assumptions(project.print)
        (disc,) = (part for part in manifest["parts"] if part["code"] == "A1")
        assert f"{disc['estimate']['hours']:.2f}" == found[material]["hours"] == plates[1]["hours"]
    volume = trimesh.load(tmp_path / "steel" / "A1_tea-flap.stl").volume
    assert float(found["steel"]["mass_g"]) == pytest.approx(volume * 7.85 / 1000, abs=0.06)
    assert (found["steel"]["hours"], found["steel"]["filament_m"]) == ("0.00", "0.00")
    assert 0.3 * volume * 1.24 / 1000 < float(found["PLA"]["mass_g"]) < volume * 1.24 / 1000
    assert found["oak"]["mass_g"] == ""
    assert found["oak"]["hours"] == found["PLA"]["hours"]
