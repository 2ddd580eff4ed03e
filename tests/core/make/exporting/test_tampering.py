"""Files that were changed after their export, with the hash in the manifest renewed: each is found.

Once by the program, once by the figures in the manifest alone. A checker is only worth what it refuses.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from shaftscore.base.progress import Silent
from shaftscore.make.exporting import against, export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.exporting.recorded import RecordedParts
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof import Judge
from shaftscore.model import Bore, Dogs, Print, Project, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting import tampering
from tests.core.make.exporting.machines import one_sided

DISC, GROOVED, SPACER, COUPON = "A1_tea-flap", "A2_groove", "SPACER_spacer-of-main", "FIT_fit-coupon-of-main"
PLATES, ASSEMBLED = "plates_test-machine.3mf", "assembled_test-machine.3mf"


def machine() -> Project:
    """Two discs with hexagon bore and dogs, one of them grooved, printed with corrections."""
    project = one_sided(edge_chamfer_mm=0.4, base_radius_mm=26.0)
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    groove = replaced(
        project.lanes[0], id="groove", name="Groove", code=None, station_deg=130.0, follower=roller
    )
    groove = replaced(groove, disc=replaced(groove.disc, thickness_mm=8.0))
    dogs = Dogs(count=3, radius_mm=12.0, width_mm=4.0, height_mm=2.0)
    stack = Stack(id="main", dogs=dogs, bore=Bore(shape="hex", across_mm=10.0), spacer_radius_mm=18.0)
    lanes = with_codes((project.lanes[0], groove))
    printing = Print(contour_mm=-0.05, hole_mm=0.1)
    return replaced(project, lanes=lanes, stacks=(stack,), print=printing)


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    export_project(machine(), folder, ["3mf", "stl", "dxf", "svg"])
    return folder


@pytest.fixture(scope="module")
def order() -> MakeOrder:
    return against._order(machine(), Silent())


@pytest.fixture(scope="module")
def recorded(exported: Path) -> RecordedParts:
    return RecordedParts(json.loads((exported / "manifest.json").read_bytes()))


@pytest.fixture(scope="module")
def judge() -> Judge:
    return Judge()


@pytest.fixture(autouse=True)
def one_judge(
    order: MakeOrder, recorded: RecordedParts, judge: Judge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Work out once what is wanted, and judge a body that many files hold once; files are read each time."""
    monkeypatch.setattr(against, "_order", lambda *_: order)
    monkeypatch.setattr(against, "RecordedParts", lambda _: recorded)
    monkeypatch.setattr(against, "Judge", lambda **_: judge)


def with_file(exported: Path, folder: Path, name: str, data: bytes) -> Path:
    """A folder with one file of the export, and a manifest that has its hash."""
    manifest = json.loads((exported / "manifest.json").read_bytes())
    entry = next(entry for entry in manifest["files"] if entry["name"] == name)
    entry |= {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    (folder / name).write_bytes(data)
    (folder / "manifest.json").write_text(json.dumps({**manifest, "files": [entry]}))
    return folder


def cases() -> Iterator[tuple[str, str, Callable[[bytes], bytes]]]:
    """Every wrong file: its name, in what way, and how it is made."""
    solid = {**tampering.PLAN, **tampering.HEIGHTS}
    for way, change in solid.items():
        for name in (DISC, GROOVED):
            yield f"{name}.stl", way, tampering.changed_stl(change)
        yield PLATES, f"A1 {way}", tampering.changed_3mf("A1", change)
    flip = tampering.changed_stl(tampering.scaled(1, -1), flip=True)
    yield f"{DISC}.stl", "mirrored", flip
    yield f"{DISC}.stl", "inside out", tampering.changed_stl(tampering.scaled(), flip=True)
    yield f"{DISC}.stl", "a body more", tampering.second_body
    for way in ("x 10", "thickness x 2", "bore x 1.1", "dogs turned by 5°"):
        yield f"{SPACER}.stl", way, tampering.changed_stl(solid[way])
        yield PLATES, f"SPACER {way}", tampering.changed_3mf("SPACER", solid[way])
        yield ASSEMBLED, f"A2 {way}", tampering.changed_3mf("A2", solid[way])
    yield f"{SPACER}.stl", "x 1.02", tampering.changed_stl(tampering.scaled(1.02, 1.02))
    yield f"{COUPON}.stl", "x 1.02", tampering.changed_stl(tampering.scaled(1.02, 1.02))
    yield f"{COUPON}.stl", "thickness x 0.5", tampering.changed_stl(solid["thickness x 0.5"])
    for name in (PLATES, ASSEMBLED):
        for way, tamper in tampering.BUILDS.items():
            yield name, way, tamper
    yield (
        ASSEMBLED,
        "copies swapped",
        tampering.rewritten(
            lambda text: text.replace(
                'transform="1 0 0 0 1 0 0 0 1 0 0 ', 'transform="1 0 0 0 1 0 0 0 1 0 0 1'
            )
        ),
    )
    for way, change in tampering.PLAN.items():
        for name in (DISC, GROOVED):
            yield f"{name}.dxf", way, tampering.moved_dxf(change)
            yield f"{name}.svg", way, tampering.moved_svg(change)
    for way, tamper in tampering.DRAWINGS.items():
        yield f"{DISC}.dxf", way, tamper
    for way, tamper in tampering.PICTURES.items():
        yield f"{DISC}.svg", way, tamper
    for way in ("x 10", "bore x 1.1", "dogs turned by 5°"):
        yield f"{SPACER}.dxf", way, tampering.moved_dxf(tampering.PLAN[way])


QUICK = {"bore x 1.1", "bore and dogs turned by 5°", "thickness x 0.5", "thickness x 2", "x 10"}
"""Ways that are always tried in every format; of the others each is tried in one."""


def is_quick(name: str, way: str) -> bool:
    """Whether a case belongs to the default run: 3MF files take longest, and two discs are much alike."""
    if way in tampering.BUILDS or way in tampering.DRAWINGS or way in tampering.PICTURES:
        return name != ASSEMBLED or way in ("a copy removed", "a copy turned by 37°")
    bare = way.removeprefix("A1 ").removeprefix("SPACER ").removeprefix("A2 ")
    if name in (f"{GROOVED}.stl", f"{GROOVED}.dxf", f"{GROOVED}.svg"):
        return bare == "bore x 1.1"
    if name in (PLATES, ASSEMBLED):
        return way in ("A1 bore and dogs turned by 5°", "A1 thickness x 0.5", "SPACER x 10", "copies swapped")
    return name.endswith(".stl") or bare in QUICK


CASES = [
    pytest.param(name, tamper, id=f"{name} {way}", marks=() if is_quick(name, way) else pytest.mark.long)
    for name, way, tamper in cases()
]


def test_the_files_themselves_hold(exported: Path) -> None:
    for project in (machine(), None):
        found = check_folder(project, exported)
        assert found.faults == ()
        assert len(found.files) == 2 + 3 * 4
        assert all(file.read for file in found.files)


@pytest.mark.parametrize("kind", ["stl", "3mf", "dxf", "svg"])
def test_a_tamperer_that_changes_nothing_makes_a_file_that_holds(
    exported: Path, tmp_path: Path, kind: str
) -> None:
    """What the cases below find is what they changed, not that a file was written by another library."""
    same = {
        "stl": (f"{DISC}.stl", tampering.changed_stl(tampering.scaled())),
        "3mf": (PLATES, tampering.changed_3mf("A1", tampering.scaled())),
        "dxf": (f"{DISC}.dxf", tampering.moved_dxf(tampering.scaled())),
        "svg": (f"{DISC}.svg", tampering.moved_svg(tampering.scaled())),
    }
    name, tamper = same[kind]
    folder = with_file(exported, tmp_path, name, tamper((exported / name).read_bytes()))
    for project in (machine(), None):
        assert check_folder(project, folder).faults == ()


@pytest.mark.parametrize(("name", "tamper"), CASES)
def test_a_wrong_file_with_a_renewed_hash_is_found(
    exported: Path, tmp_path: Path, name: str, tamper: Callable[[bytes], bytes]
) -> None:
    good = (exported / name).read_bytes()
    bad = tamper(good)
    assert bad != good
    folder = with_file(exported, tmp_path, name, bad)
    for project in (machine(), None):
        found = check_folder(project, folder)
        assert found.found
        assert not any("changed since export" in fault for fault in found.faults)
        assert {fault.file for fault in found.found} == {name}


def test_a_file_changed_without_its_hash_is_said_to_be_changed(exported: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    stl, svg = folder / f"{DISC}.stl", folder / f"{DISC}.svg"
    stl.write_bytes(stl.read_bytes()[:10] + b"x" + stl.read_bytes()[11:])  # a letter of its header
    svg.write_bytes(svg.read_bytes() + b"\n")
    found = check_folder(machine(), folder)
    assert [fault.split(":")[:2] for fault in found.faults] == [
        [f"{DISC}.stl", " changed since export"],
        [f"{DISC}.svg", " changed since export"],
    ]
    assert [file.name for file in found.files if file.changed] == [f"{DISC}.stl", f"{DISC}.svg"]


def test_a_fault_says_where_and_by_how_much(exported: Path, tmp_path: Path) -> None:
    tamper = tampering.changed_stl(tampering.PLAN["bore off centre by 0.05 mm"])
    name = f"{DISC}.stl"
    folder = with_file(exported, tmp_path, name, tamper((exported / name).read_bytes()))
    all_found = check_folder(machine(), folder).found
    assert all(fault.part == "A1" for fault in all_found)
    found = [fault for fault in all_found if "near its bore" in fault.what]
    assert any("how far it can shift on the shaft is off by 0.05" in fault.what for fault in all_found)
    assert [fault.by for fault in found] == pytest.approx([0.05] * len(found), abs=0.002)
    assert {(fault.limit, fault.unit) for fault in found} == {(0.01, "mm")}
    text = found[0].text
    assert text.startswith(f"{name}: its outline at z = ")
    assert text.endswith("the limit is 0.01 mm")


def test_thickness_is_named_with_both_heights(exported: Path, tmp_path: Path) -> None:
    name = f"{SPACER}.stl"
    tamper = tampering.changed_stl(tampering.HEIGHTS["thickness x 0.5"])
    folder = with_file(exported, tmp_path, name, tamper((exported / name).read_bytes()))
    first = check_folder(None, folder).faults[0]
    assert first.startswith(f"{name}: its top is at z = 4.000 mm, not at 8.000 mm: off by 4.000 mm")


def test_copies_on_plates_may_lie_elsewhere_but_not_by_the_manifest(exported: Path, tmp_path: Path) -> None:
    """Another bed lays the plates out in another way: parts are right wherever they lie apart, turned too."""
    quarter = np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1]])
    away = tampering.changed_build(0, lambda rows: np.vstack([quarter, rows[3:] + np.array([700.0, 0, 0])]))
    folder = with_file(exported, tmp_path, PLATES, away((exported / PLATES).read_bytes()))
    assert check_folder(machine(), folder).faults == ()
    first, second = check_folder(None, folder).faults[:2]
    assert "a copy is turned, scaled or mirrored" in first
    assert "a copy is at" in second
