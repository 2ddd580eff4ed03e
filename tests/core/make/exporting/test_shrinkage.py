"""Parts that shrink: files for a printer are larger in plan by 1/(1 - s), drawings and proofs are not."""

from __future__ import annotations

import json
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh

from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.model import Bore, Dogs, Print, Project, Stack
from shaftscore.model.base import replaced
from tests.core.make.exporting import tampering
from tests.core.make.exporting.machines import LIFT_MM, one_sided
from tests.core.make.exporting.test_tampering import with_file

DISC = "A1_tea-flap"
FACTOR = 1 / (1 - 0.8 / 100)
"""Of a material that shrinks by 0.8 %: 1.00806."""


def machine(shrinkage_percent: float) -> Project:
    dogs = Dogs(count=3, radius_mm=12.0, width_mm=4.0, height_mm=2.0)
    stack = Stack(id="main", dogs=dogs, bore=Bore(shape="hex", across_mm=10.0), spacer_radius_mm=18.0)
    printing = Print(shrinkage_percent=shrinkage_percent, hole_mm=0.1, contour_mm=-0.05)
    return replaced(one_sided(base_radius_mm=26.0, thickness_mm=6.0), stacks=(stack,), print=printing)


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shrinking")
    result = export_project(machine(0.8), folder, ["stl", "dxf"])
    assert {proof.file.rpartition(".")[2] for proof in result.proofs} == {"stl", "dxf"}
    return folder


def test_a_printers_file_is_larger_in_plan_alone(exported: Path) -> None:
    body = trimesh.load_mesh(exported / f"{DISC}.stl")
    radius = np.hypot(*body.vertices.T[:2])
    assert radius.max() == pytest.approx((26.0 + LIFT_MM - 0.05) * FACTOR, abs=0.003)
    for foot, bore in (
        (0.3, radius[radius < 7.0]),
        (0.0, radius[(radius < 7.0) & (body.vertices[:, 2] > 1.0)]),
    ):
        assert bore.max() == pytest.approx(((5.2 + 0.1) * FACTOR + foot) / np.cos(np.pi / 6), abs=1e-4)
    assert body.vertices[:, 2].max() == pytest.approx(6.0 + 2.0)
    assert body.is_watertight


def test_a_drawing_stays_as_it_is(exported: Path) -> None:
    lines = ezdxf.readfile(exported / f"{DISC}.dxf").modelspace().query("LWPOLYLINE[layer=='cut']")
    reach = max(np.hypot(x, y) for line in lines for x, y in line.get_points("xy"))
    assert reach == pytest.approx(26.0 + LIFT_MM, abs=0.01)


def test_the_files_are_proved_with_and_without_the_project(exported: Path) -> None:
    for project in (machine(0.8), None):
        found = check_folder(project, exported)
        assert found.faults == ()
        plays = [fit.play_deg for file in found.files for fit in file.fits if fit.name == "bore"]
        assert np.ptp([play for play in plays if 4.0 < play[0] < 4.5]) < 0.005
    assert len(check_folder(machine(0.8), exported).proofs) == 2


def test_a_file_without_the_shrinkage_is_found(exported: Path, tmp_path: Path) -> None:
    tamper = tampering.changed_stl(tampering.scaled(1 / FACTOR, 1 / FACTOR))
    name = f"{DISC}.stl"
    folder = with_file(exported, tmp_path, name, tamper((exported / name).read_bytes()))
    for project in (machine(0.8), None):
        faults = check_folder(project, folder).faults
        assert any("its outline" in fault for fault in faults)
        assert any("bore lets it turn" in fault or "shift on the shaft" in fault for fault in faults)


def test_parts_are_new_where_the_shrinkage_changes(exported: Path, tmp_path: Path) -> None:
    export_project(machine(0.0), tmp_path, ["stl"])
    before, after = (
        {part["code"]: part["hash"] for part in json.loads((folder / "manifest.json").read_bytes())["parts"]}
        for folder in (tmp_path, exported)
    )
    assert set(before) == set(after)
    assert all(before[code] != after[code] for code in before)
