"""Damaged files, bits flipped or ends cut off: a fault that names the file; the others are still checked."""

from __future__ import annotations

import json
import random
import shutil
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.exporting.changes import changes_since
from shaftscore.make.exporting.gather import gather
from shaftscore.make.proof import READERS, RimError, read_dxf, read_svg
from tests.core.make.exporting.machines import one_sided

STEM = "A1_tea-flap"
ROUNDS = 25
"""Damaged files a format in the default run."""

KINDS = ("3mf", "stl", "dxf", "svg")


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    export_project(one_sided(), folder, KINDS)
    return folder


def named(folder: Path, kind: str) -> str:
    return "plates_test-machine.3mf" if kind == "3mf" else f"{STEM}.{kind}"


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Flip a few bits, cut the end off, cut a piece out, or put one of zeros in."""
    at = chance.randrange(len(data))
    way = chance.randrange(4)
    if way == 0:
        return data[:at]
    if way == 1:
        return data[:at] + data[at + chance.randrange(1, 200) :]
    if way == 2:
        return data[:at] + bytes(50) + data[at + 50 :]
    flipped = bytearray(data)
    for _ in range(chance.randrange(1, 20)):
        flipped[chance.randrange(len(flipped))] ^= 1 << chance.randrange(8)
    return bytes(flipped)


def read_all(kind: str, data: bytes, folder: Path) -> None:
    """Read a damaged file as far as it can be: RimError is the only way in which that may end."""
    path = folder / f"bad.{kind}"
    path.write_bytes(data)
    said = path.name
    try:
        contents = READERS[kind](path, "A1", 2)
        for part in contents.parts.values():
            part.rim(1.0, 4.0, grooved=False)
    except RimError as error:
        said = str(error)
    assert said.startswith(path.name)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "rounds", [pytest.param(ROUNDS, id="some"), pytest.param(1000, id="many", marks=pytest.mark.long)]
)
def test_damage_ends_in_one_error_that_names_the_file(
    exported: Path, tmp_path: Path, kind: str, rounds: int
) -> None:
    good, chance = (exported / named(exported, kind)).read_bytes(), random.Random(kind)
    for _ in range(rounds):
        read_all(kind, damaged(good, chance), tmp_path)


@pytest.mark.parametrize("project", [one_sided(), None], ids=["program", "manifest"])
def test_damaged_files_are_named_and_the_others_are_still_checked(
    exported: Path, tmp_path: Path, project: object
) -> None:
    folder, chance = shutil.copytree(exported, tmp_path / "copy"), random.Random(4)
    bad = [named(folder, kind) for kind in ("3mf", "dxf", "svg")]
    for name in bad:
        data = (folder / name).read_bytes()
        (folder / name).write_bytes(data[: chance.randrange(len(data) // 2)])
    found = check_folder(project, folder)  # type: ignore[arg-type]
    assert {fault.file for fault in found.found} == set(bad)
    for name in bad:
        said = [fault.what for fault in found.found if fault.file == name]
        assert len(said) >= 2
        assert said[0].startswith("changed since export: it has ")
    holding = {file.name for file in found.files if not file.faults}
    assert f"{STEM}.stl" in holding
    assert "assembled_test-machine.3mf" in holding


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "is damaged and cannot be read"),
        (b'{"format": "shaft', "is damaged"),
        (b"[" * 100_000, "is damaged"),
    ],
    ids=["empty", "cut off", "deep"],
)
def test_a_damaged_manifest_is_named_and_the_files_are_checked_by_the_program(
    exported: Path, tmp_path: Path, text: bytes, words: str
) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    (folder / "manifest.json").write_bytes(text)
    found = check_folder(one_sided(), folder)
    assert [(fault.file, words in fault.what) for fault in found.found] == [("manifest.json", True)]
    assert {file.name for file in found.files if file.proofs} == {
        *(f"{STEM}.{kind}" for kind in ("stl", "dxf", "svg")),
        "plates_test-machine.3mf",
        "assembled_test-machine.3mf",
    }
    alone = check_folder(None, folder)
    assert [fault.file for fault in alone.found] == ["manifest.json"]
    assert alone.files == ()


def test_flipped_bits_of_the_manifest_end_in_faults_or_one_message(exported: Path, tmp_path: Path) -> None:
    folder, chance = shutil.copytree(exported, tmp_path / "copy"), random.Random(7)
    for name in [path.name for path in folder.iterdir() if not path.name.endswith((".stl", ".json"))]:
        (folder / name).unlink()  # the test is about the manifest: what it names may be missing
    good = (folder / "manifest.json").read_bytes()
    for _ in range(2 * ROUNDS):
        (folder / "manifest.json").write_bytes(damaged(good, chance))
        try:
            said = "".join(check_folder(None, folder).faults)
        except ExportError as error:
            said = str(error)
        assert f"{STEM}." in said or "manifest.json" in said


def test_wrong_values_in_the_manifest_are_faults(exported: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    good = json.loads((folder / "manifest.json").read_bytes())
    entry = next(entry for entry in good["files"] if entry["name"] == f"{STEM}.stl")
    part = next(part for part in good["parts"] if part["code"] == "A1")
    wrong: list[tuple[dict, str, object, str]] = [
        (entry, "sha256", 3, "changed since export: its SHA-256"),
        (entry, "bytes", None, "changed since export: it has"),
        (entry, "format", "exe", "calls its format 'exe'"),
        (entry, "parts", [], "names no part in it"),
        (entry, "parts", ["Z9"], "has no part Z9"),
        (entry, "name", "../secret", "is damaged: entry"),
        (part, "shape", None, "records no shape of A1"),
        (part, "shape", {}, "the recorded shape cannot be read"),
    ]
    wrong += [
        (part["shape"], key, value, "the recorded shape cannot be read")
        for key, value in (("contour", "1,2 x"), ("contour", "1,2"), ("holes", 3), ("thickness_mm", 1e99))
    ]
    for record, key, value, words in wrong:
        before, record[key] = record[key], value
        (folder / "manifest.json").write_text(json.dumps(good))
        said = check_folder(None, folder).faults
        record[key] = before
        assert any(words in fault for fault in said), (key, value, said)


def test_what_is_no_file_is_a_fault(exported: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    for name in (f"{STEM}.stl", f"{STEM}.dxf", f"{STEM}.svg"):
        (folder / name).unlink()
    (folder / f"{STEM}.stl").mkdir()
    (folder / f"{STEM}.dxf").symlink_to("nowhere")
    said = check_folder(None, folder).faults
    assert f"{STEM}.stl: it cannot be read: it is no file" in said
    assert f"{STEM}.dxf: it cannot be read: No such file or directory" in said
    assert f"{STEM}.svg: it cannot be read: No such file or directory" in said


def test_only_changed_beside_damaged_files_writes_the_part_again(exported: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    good = {path.name: path.read_bytes() for path in folder.iterdir()}
    for kind in KINDS:
        (folder / named(folder, kind)).write_bytes(good[named(folder, kind)][:2000])
    result = export_project(one_sided(), folder, KINDS, only_changed=True)
    assert set(result.files) == {named(folder, kind) for kind in KINDS}
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == good
    changed = one_sided(base_radius_mm=24.5)
    for kind in KINDS:
        (folder / named(folder, kind)).write_bytes(b"\xff" * 300)
    result = export_project(changed, folder, KINDS, only_changed=True)
    assert f"{STEM}.dxf" in result.files
    assert check_folder(changed, folder).faults == ()


def test_of_damaged_old_drawings_the_difference_is_read_or_left_out(exported: Path, tmp_path: Path) -> None:
    """Random damage inside the lines: a part that changed is listed, with or without by how much."""
    order = gather(examine(one_sided(base_radius_mm=24.5), stage=QUICK), (), Silent(), True)
    items = [item for item in order.items if item.part.code == "A1"]
    before = json.loads((exported / "manifest.json").read_bytes())
    files = [entry for entry in before["files"] if entry["format"] == "dxf" and entry["parts"] == ["A1"]]
    name, chance = files[0]["name"], random.Random(11)
    good = (exported / name).read_bytes()
    lines = good.index(b"ENTITIES")
    outcomes: Counter[bool] = Counter()
    for _ in range(100):
        (tmp_path / name).write_bytes(good[:lines] + damaged(good[lines:], chance))
        (change,) = changes_since({**before, "files": files}, items, tmp_path).changed
        assert change.largest_mm is None or np.isfinite(change.largest_mm)
        outcomes[change.largest_mm is None] += 1
    assert min(outcomes[True], outcomes[False]) > 5


@pytest.mark.parametrize("word", [b"1e400", b"nan", b"-inf"])
def test_an_old_drawing_with_a_vertex_at_infinity_is_refused_without_a_warning(
    exported: Path, tmp_path: Path, word: bytes
) -> None:
    good = (exported / f"{STEM}.dxf").read_bytes()
    at = good.index(b" 20\n", good.index(b" 10\n", good.index(b"LWPOLYLINE"))) + 4
    path = tmp_path / f"{STEM}.dxf"
    path.write_bytes(good[:at] + word + good[good.index(b"\n", at) :])
    with pytest.raises(RimError, match=r"not finite|cannot be read: ValueError") as caught:
        read_dxf(path, "A1").parts["A1"].rim(0.0, 1.0, grooved=False)
    assert "Warning" not in str(caught.value)


def test_a_kept_file_that_does_not_hold_is_written_again(exported: Path, tmp_path: Path) -> None:
    """Its hash is that in the manifest, but it is not the part: it serves no longer."""
    folder = shutil.copytree(exported, tmp_path / "copy")
    manifest = json.loads((folder / "manifest.json").read_bytes())
    by_name = {entry["name"]: entry for entry in manifest["files"]}
    stl, fit = f"{STEM}.stl", "FIT_fit-coupon-of-main.stl"
    good = (folder / stl).read_bytes()
    shutil.copy(folder / fit, folder / stl)
    by_name[stl] |= {key: by_name[fit][key] for key in ("bytes", "sha256")}
    (folder / "manifest.json").write_text(json.dumps(manifest))
    result = export_project(one_sided(), folder, KINDS, only_changed=True)
    assert stl in result.files
    assert (folder / stl).read_bytes() == good


LWPOLYLINE = (
    "0|SECTION|2|ENTITIES|0|LWPOLYLINE|5|1F|100|AcDbEntity|8|cut|100|AcDbPolyline|90|2|70|1|"
    "10|{x}|20|0|42|{bulge}|10|1|20|1|0|ENDSEC|0|EOF|"
)
"""A closed line of two corners, the first piece of it an arc."""


@pytest.mark.parametrize(
    ("x", "bulge", "words"),
    [
        ("1e300", "1", "reaches to 1e\\+300 mm"),
        ("nan", "0", "not finite"),
        ("5", "1e12", "an arc reaches to"),
        ("5", "inf", "not finite"),
        ("1e9", "1e-7", "reaches to 1e\\+09 mm"),
    ],
)
def test_giant_arcs_take_no_memory(tmp_path: Path, x: str, bulge: str, words: str) -> None:
    """A full circle of 10^12 mm with a chord error of 0.0001 mm would have 10^8 points."""
    path = tmp_path / "a.dxf"
    header = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1024\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n"
    path.write_text(header + LWPOLYLINE.format(x=x, bulge=bulge).replace("|", "\n"))
    with pytest.raises(RimError, match=rf"a\.dxf: .*{words}"):
        read_dxf(path, "A1")


def test_many_large_arcs_take_no_memory(tmp_path: Path) -> None:
    """Each of them is small enough, but 20,000 of 6,000 points each would take 2 GB."""
    path, arc = tmp_path / "a.svg", "A999 999 0 1 0 1 1 A999 999 0 1 0 0 0 "
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    path.write_text(f'{head}<g id="cut"><path d="M0 0 {arc * 10_000}Z"/></g></svg>')
    with pytest.raises(RimError, match="has over 500,000 points"):
        read_svg(path, "A1")


ENTITIES = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'


@pytest.mark.parametrize(
    "text",
    [
        ENTITIES + '<svg xmlns="http://www.w3.org/2000/svg"><title>&b;</title></svg>',
        "<svg/>",
        '<svg xmlns="http://www.w3.org/2000/svg" width="9e999mm" height="9" viewBox="0 0 1 1"/>',
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"><g id="cut">'
        '<path d="M0 0 A9999999999 9999999999 0 1 1 5 5Z"/></g></svg>',
        " " * 1_100_000,
    ],
    ids=["entities", "another root", "infinite", "giant arc", "too large"],
)
def test_hostile_pictures_are_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.svg"
    path.write_text(text)
    with pytest.raises(RimError, match=r"a\.svg"):
        read_svg(path, "A1")
