"""Bores, pockets and dogs that were changed after the export, with the hash renewed: the fit finds each."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shaftscore.base.progress import Silent
from shaftscore.make.exporting import against, export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.exporting.outcome import ProofError
from shaftscore.make.exporting.recorded import RecordedParts
from shaftscore.make.files.names import file_stem
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof import FitProof, Judge, mates
from shaftscore.model import Bore, Dogs, Pins, Print, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.stack import bore_path
from tests.core.make.exporting import tampering
from tests.core.make.exporting.machines import one_sided
from tests.core.make.exporting.tampering import Change, Corners

DISC = "A1_tea-flap"
DOGS = Dogs(count=3, radius_mm=12.0, width_mm=4.0, height_mm=2.0)
PINS = Pins(count=2, radius_mm=18.0, across_mm=3.0)
PLAY_DEG = math.degrees(math.pi / 6 - math.acos(math.cos(math.pi / 6) * (1 + 2 * 0.2 / 10)))
"""Of a hexagon bore of 10 mm with 0.2 mm to each side: 4.246°."""


def machine() -> Project:
    """One disc with hexagon bore, dogs and pins, printed with corrections."""
    project = one_sided(edge_chamfer_mm=0.4, base_radius_mm=26.0)
    bore = Bore(shape="hex", across_mm=10.0)
    stack = Stack(id="main", dogs=DOGS, pins=PINS, bore=bore, spacer_radius_mm=24.0)
    return replaced(project, stacks=(stack,), print=Print(contour_mm=-0.05, hole_mm=0.1))


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fits")
    export_project(machine(), folder, ["stl", "dxf", "svg"])  # 3MF and STEP: by the samples
    return folder


@pytest.fixture(scope="module")
def order() -> MakeOrder:
    return against._order(machine(), Silent())


@pytest.fixture(scope="module")
def judge() -> Judge:
    return Judge()


@pytest.fixture(scope="module")
def recorded(exported: Path) -> RecordedParts:
    return RecordedParts(json.loads((exported / "manifest.json").read_bytes()))


@pytest.fixture
def one_judge(
    order: MakeOrder, recorded: RecordedParts, judge: Judge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Work out once what is wanted, and judge a body that many files hold once; files are read each time."""
    monkeypatch.setattr(against, "_order", lambda *_: order)
    monkeypatch.setattr(against, "RecordedParts", lambda _: recorded)
    monkeypatch.setattr(against, "Judge", lambda **_: judge)


@pytest.mark.usefixtures("one_judge")
def test_right_parts_fit_in_every_format(exported: Path) -> None:
    for project in (machine(), None):
        found = check_folder(project, exported)
        assert found.faults == ()
        for file in found.files:
            if "A1" in file.parts:
                names = {"bore", "dogs", "pin holes"}
                names |= {"pockets"} if file.format not in ("dxf", "svg") else set()
                assert {fit.name for fit in file.fits if fit.part == "A1"} == names
            for fit in file.fits:
                assert fit.play_deg == pytest.approx([fit.program_deg] * 2, rel=0.011)


def test_the_fit_is_in_the_manifest(exported: Path) -> None:
    manifest = json.loads((exported / "manifest.json").read_bytes())
    (stack,) = manifest["fits"]
    assert stack["play_deg"]["bore"] == pytest.approx(PLAY_DEG, abs=1e-5)
    assert stack["play_deg"]["dogs"] == pytest.approx(math.degrees(0.2 / 12), abs=1e-5)
    assert stack["play_deg"]["pin holes"] == pytest.approx(math.degrees(0.1 / 18), abs=1e-5)
    assert stack["seat_mm"] == {"bore": 0.2, "pockets": 0.2, "dogs": 0.2, "pin holes": 0.1}
    disc = next(part for part in manifest["parts"] if part["code"] == "A1")
    bores = [fit for fit in disc["fit"] if fit["on"] == "bore"]
    assert {fit["file"] for fit in bores} >= {f"{DISC}.stl", f"{DISC}.dxf", f"{DISC}.svg"}
    assert all(fit["play_deg"] == pytest.approx([PLAY_DEG] * 2, abs=0.005) and fit["holds"] for fit in bores)
    assert manifest["limits"]["play_deg"] == 0.05
    assert manifest["limits"]["seat_mm"] == 0.02


def wider_bore(corners: Corners) -> Corners:
    """Move the walls of the bore outward by 0.05 mm: all its corners are 5.2 to 5.3 mm / cos 30° away."""
    radius = np.hypot(*corners.T[:2])[:, None]
    moved = corners.copy()
    moved[:, :2] *= 1 + 0.05 / math.cos(math.pi / 6) / np.maximum(radius, 1.0)
    return moved


def wider_pockets(corners: Corners) -> Corners:
    """Move the walls of the pockets of a solid, those at z 0 to 2.2 mm, outward by 0.1 mm."""
    moved = corners.copy()
    for turn in np.exp(2j * np.pi * np.arange(DOGS.count) / DOGS.count):
        at = (corners[:, 0] + 1j * corners[:, 1]) / turn - DOGS.radius_mm
        along = np.clip(at.imag, -2.0, 2.0) if turn == 1 else 0.0
        away = at - 1j * along
        near = (np.abs(away) < 2.5) & (corners[:, 2] < 2.5)
        by = np.where(near, 0.1 * away / np.maximum(np.abs(away), 0.1), 0.0) * turn
        moved[:, :2] += np.column_stack([by.real, by.imag])
    return moved


def wider_pin_holes(corners: Corners) -> Corners:
    """Move the walls of the holes of both pins, 18 mm from the axis at 90° and 270°, outward by 0.1 mm."""
    moved = corners.copy()
    for at in (18j, -18j):
        away = corners[:, 0] + 1j * corners[:, 1] - at
        by = np.where(np.abs(away) < 1.9, 0.1 * away / np.maximum(np.abs(away), 0.1), 0.0)
        moved[:, :2] += np.column_stack([by.real, by.imag])
    return moved


def bore_only(change: Change) -> Change:
    return tampering.within(7.0, change)


WAYS: dict[str, tuple[Change, str]] = {
    "bore wider by 0.05 mm": (bore_only(wider_bore), "its bore lets it turn by 5.4"),
    "bore turned by 0.2°": (
        bore_only(lambda corners: tampering.turn(corners, 0.2)),
        "its bore lets it turn by 4.44",
    ),
    "bore off centre by 0.05 mm": (
        bore_only(tampering.moved(0.05)),
        "how far it can shift on the shaft is off by 0.05",
    ),
}

PRINTED: dict[str, tuple[Change, str]] = {
    "pockets wider by 0.1 mm": (wider_pockets, "its pockets let it turn by 1.4"),
    "pin holes wider by 0.1 mm": (wider_pin_holes, "its pin holes let it turn by 0.63"),
    "dogs turned by 0.2°": (
        tampering.within(tampering.DOGS_MM, lambda corners: tampering.turn(corners, 0.2), 7.5),
        "its pockets let it turn by 1.1",
    ),
}

WRITERS: dict[str, Callable[[Change], Callable[[bytes], bytes]]] = {
    f"{DISC}.stl": tampering.changed_stl,
    f"{DISC}.dxf": tampering.moved_dxf,
    f"{DISC}.svg": tampering.moved_svg,
}

CASES = [(name, way) for name in WRITERS for way in WAYS]
CASES += [(f"{DISC}.stl", way) for way in PRINTED]


@pytest.mark.usefixtures("one_judge")
@pytest.mark.parametrize(("name", "way"), CASES)
def test_a_changed_fit_is_found(exported: Path, tmp_path: Path, name: str, way: str) -> None:
    change, said = {**WAYS, **PRINTED}[way]
    data = WRITERS[name](change)((exported / name).read_bytes())
    manifest = json.loads((exported / "manifest.json").read_bytes())
    entry = next(entry for entry in manifest["files"] if entry["name"] == name)
    entry |= {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    (tmp_path / name).write_bytes(data)
    (tmp_path / "manifest.json").write_text(json.dumps({**manifest, "files": [entry]}))
    for project in (machine(), None) if name.endswith("stl") else (None,):
        found = check_folder(project, tmp_path)
        assert any(said in fault for fault in found.faults), found.faults
        assert {fault.unit for fault in found.found if said in fault.what} <= {"deg", "mm"}


def test_an_export_whose_bores_are_not_the_programs_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program counts with 0.15 mm, the parts are made with 0.2: nothing is written."""
    monkeypatch.setattr(
        mates, "bore_path", lambda bore, grow_mm: bore_path(bore, grow_mm - 0.05 * (grow_mm > 0))
    )
    with pytest.raises(ProofError, match=r"how far it can shift on the shaft is off by 0\.05"):
        export_project(machine(), tmp_path / "out", ["stl"])
    assert not (tmp_path / "out" / "manifest.json").exists()


def test_a_folder_from_before_fits_were_recorded_is_still_checked(exported: Path, tmp_path: Path) -> None:
    manifest = json.loads((exported / "manifest.json").read_bytes())
    name = f"{file_stem('A1', 'Tea flap')}.stl"
    files = [entry for entry in manifest["files"] if entry["name"] == name]
    del manifest["fits"]
    (tmp_path / name).write_bytes((exported / name).read_bytes())
    (tmp_path / "manifest.json").write_text(json.dumps({**manifest, "files": files}))
    found = check_folder(None, tmp_path)
    assert found.faults == ()
    assert found.files[0].fits == ()


@pytest.mark.parametrize("record", ['{"stack": "main"}', '{"stack": "main", "bore": {"shape": "oval"}}'])
def test_a_damaged_record_of_a_fit_is_a_fault(exported: Path, tmp_path: Path, record: str) -> None:
    manifest = json.loads((exported / "manifest.json").read_bytes())
    name = f"{DISC}.stl"
    files = [entry for entry in manifest["files"] if entry["name"] == name]
    (tmp_path / name).write_bytes((exported / name).read_bytes())
    (tmp_path / "manifest.json").write_text(
        json.dumps({**manifest, "files": files, "fits": [json.loads(record)]})
    )
    (fault,) = check_folder(None, tmp_path).faults
    assert "the recorded fit cannot be read" in fault


def test_a_faults_numbers() -> None:
    fit = FitProof("a.stl", "A1", "bore", (5.0, float("inf")), 0.2, 0.0, 4.2, (4.15, 4.25))
    (fault,) = fit.found
    assert fault.what == (
        "its bore lets it turn freely on the shaft; by the program it is ±4.200°, the limit is 0.05°"
    )
    missing_play = FitProof("a.stl", "A1", "pockets", (float("nan"),) * 2, -0.1, 0.3, 1.0, (0.9, 1.1))
    assert [fault.what for fault in missing_play.found] == [
        "it does not fit on the dogs of its neighbour at its zero mark",
        "how far it can shift on the dogs of its neighbour is off by 0.300 mm; the limit is 0.02 mm",
    ]
