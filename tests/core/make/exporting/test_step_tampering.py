"""Wrong and damaged STEP files, with the hash in the manifest renewed: each is found, in bounded memory.

Where the optional extra is absent these tests are skipped, visibly. Cutting a disc into triangles takes
seconds, so most of them run on a spacer.
"""

from __future__ import annotations

import hashlib
import json
import math
import random
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from shaftscore.base.progress import Silent
from shaftscore.make.exporting import against, export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.files.step import step_bytes
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.exact import has_kernel
from shaftscore.stack import BulgePath as OutlinePath
from tests.core.make.exporting.test_damage import damaged
from tests.core.make.exporting.test_tampering import machine

pytestmark = pytest.mark.skipif(
    not has_kernel(), reason="the optional extra `step` is not installed: pip install -e '.[step]'"
)

DISC, SPACER = "A1_tea-flap.step", "SPACER_spacer-of-main.step"


@pytest.fixture(scope="module")
def order() -> MakeOrder:
    return against._order(machine(), Silent())


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    export_project(machine(), folder, ["step"])
    return folder


def with_file(exported: Path, folder: Path, name: str, data: bytes) -> Path:
    manifest = json.loads((exported / "manifest.json").read_bytes())
    entry = next(entry for entry in manifest["files"] if entry["name"] == name)
    entry |= {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    (folder / name).write_bytes(data)
    (folder / "manifest.json").write_text(json.dumps({**manifest, "files": [entry]}))
    return folder


def moved(path: Path, change: Callable[[object], object]) -> bytes:
    """Move the solid of a file by a transform of the kernel, and write it with the kernel alone."""
    import io

    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Trsf
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    from shaftscore.make.proof.reading.step import read_solid

    transform = gp_Trsf()
    change(transform)
    body = BRepBuilderAPI_Transform(read_solid(path), transform, True).Shape()
    writer = STEPControl_Writer()
    writer.Transfer(body, STEPControl_StepModelType.STEPControl_AsIs)
    stream = io.BytesIO()
    writer.WriteStream(stream)
    return stream.getvalue()


def _mirror(transform: object) -> None:
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    transform.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)))  # type: ignore[attr-defined]


def _turn(transform: object) -> None:
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    transform.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), math.radians(5))  # type: ignore[attr-defined]


def _scale(factor: float) -> Callable[[object], None]:
    from OCP.gp import gp_Pnt

    return lambda transform: transform.SetScale(gp_Pnt(0, 0, 0), factor)  # type: ignore[attr-defined]


def _lift(transform: object) -> None:
    from OCP.gp import gp_Vec

    transform.SetTranslation(gp_Vec(0, 0, 0.05))  # type: ignore[attr-defined]


MOVES: dict[str, Callable[[], Callable[[object], None]]] = {
    "mirrored": lambda: _mirror,
    "turned by 5°": lambda: _turn,
    "x 10": lambda: _scale(10.0),
    "x 1.002": lambda: _scale(1.002),
    "raised": lambda: _lift,
}


def larger(path: OutlinePath, factor: float) -> OutlinePath:
    return OutlinePath(tuple(vertex * factor for vertex in path.vertices), path.bulges)


def _dogs(part: MadePart, **changed: object) -> MadePart:
    assert part.dogs is not None
    return replace(part, dogs=replace(part.dogs, **changed))


PARTS: dict[str, Callable[[MadePart], MadePart]] = {
    "bore x 1.1": lambda part: replace(part, holes=(larger(part.holes[0], 1.1),)),
    "bore turned by 5°": lambda part: replace(part, holes=(part.holes[0].turned(math.radians(5)),)),
    "pegs turned by 5°": lambda part: _dogs(
        part,
        pegs=tuple(peg.turned(math.radians(5)) for peg in part.dogs.pegs),  # type: ignore[union-attr]
    ),
    "pockets turned by 5°": lambda part: _dogs(
        part,
        pockets=tuple(one.turned(math.radians(5)) for one in part.dogs.pockets),  # type: ignore[union-attr]
    ),
    "pegs gone": lambda part: _dogs(part, pegs=()),
    "pockets deeper": lambda part: _dogs(part, depth_mm=part.dogs.depth_mm + 0.1),  # type: ignore[union-attr]
    "thickness x 0.5": lambda part: replace(part, thickness_mm=part.thickness_mm / 2),
    "thickness x 2": lambda part: replace(part, thickness_mm=part.thickness_mm * 2),
}


def caught(exported: Path, folder: Path, name: str, data: bytes) -> None:
    folder = with_file(exported, folder, name, data)
    for project in (machine(), None):
        found = check_folder(project, folder)
        assert {fault.file for fault in found.found} == {name}
        assert not any("changed since export" in fault for fault in found.faults)


def test_the_files_themselves_hold(exported: Path) -> None:
    assert check_folder(None, exported).faults == ()


@pytest.mark.parametrize("way", MOVES)
def test_a_solid_that_was_moved_is_found(
    exported: Path, tmp_path: Path, order: MakeOrder, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    monkeypatch.setattr(against, "_order", lambda *_: order)
    caught(exported, tmp_path, SPACER, moved(exported / SPACER, MOVES[way]()))


@pytest.mark.long
@pytest.mark.parametrize("way", MOVES)
def test_a_disc_that_was_moved_is_found(exported: Path, tmp_path: Path, way: str) -> None:
    caught(exported, tmp_path, DISC, moved(exported / DISC, MOVES[way]()))


@pytest.mark.parametrize("way", PARTS)
def test_a_solid_with_other_features_is_found(
    exported: Path, tmp_path: Path, order: MakeOrder, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    monkeypatch.setattr(against, "_order", lambda *_: order)
    part = next(item.part for item in order.items if item.part.kind == "spacer")
    caught(exported, tmp_path, SPACER, step_bytes(PARTS[way](part)))


READ = """
import resource, sys
from pathlib import Path
from shaftscore.make.proof import RimError
from shaftscore.make.proof.reading.step import read_triangles
said = ""
try:
    read_triangles(Path(sys.argv[1]))
except RimError as error:
    said = str(error)
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_maxrss // 1024, round(used.ru_utime + used.ru_stime), said)
"""


@pytest.mark.parametrize("name", [SPACER, DISC])
def test_a_solid_in_metres_takes_neither_memory_nor_time(exported: Path, tmp_path: Path, name: str) -> None:
    """Cut into triangles with the chord error of a disc of 60 mm, one of 60 m took 16.9 GB."""
    data = (exported / name).read_bytes()
    assert b"SI_UNIT(.MILLI.,.METRE.)" in data
    (tmp_path / name).write_bytes(data.replace(b"SI_UNIT(.MILLI.,.METRE.)", b"SI_UNIT($,.METRE.)"))
    done = subprocess.run(
        [sys.executable, "-c", READ, str(tmp_path / name)], capture_output=True, text=True, check=True
    )
    mib, seconds, said = done.stdout.strip().split(" ", 2)
    assert said.startswith(f"{name}: reaches to ")
    assert int(mib) < 1024
    assert int(seconds) < 30
    caught(exported, tmp_path, name, (tmp_path / name).read_bytes())


@pytest.mark.parametrize(
    "rounds", [pytest.param(8, id="some"), pytest.param(200, id="many", marks=pytest.mark.long)]
)
def test_damaged_files_are_faults(exported: Path, tmp_path: Path, rounds: int) -> None:
    good, chance = (exported / SPACER).read_bytes(), random.Random(3)
    for _ in range(rounds):
        data = damaged(good, chance)
        folder = with_file(exported, tmp_path, SPACER, data)
        assert {fault.file for fault in check_folder(None, folder).found} <= {SPACER}


def test_a_file_that_was_cut_off_is_a_fault(exported: Path, tmp_path: Path) -> None:
    data = (exported / SPACER).read_bytes()
    folder = with_file(exported, tmp_path, SPACER, data[: len(data) // 2])
    assert check_folder(None, folder).faults == (f"{SPACER}: it is no whole STEP file",)
