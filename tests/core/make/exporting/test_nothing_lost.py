"""Nothing is deleted that was not asked for: other machines, other formats, and manifests that lie."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from shaftscore.base.errors import ExportError
from shaftscore.make.exporting import (
    AnotherMachineError,
    ExportResult,
    RemovedFile,
    exit_code,
    export_project,
)
from shaftscore.make.exporting.staging import PARTIAL_NAME
from shaftscore.make.solids.exact import has_kernel
from shaftscore.model import Disc, Lane, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.copies import exported
from tests.core.make.exporting.machines import one_sided

DRAWN = ["stl", "dxf", "svg", "csv"]


def machine(
    name: str = "Tea machine", ids: tuple[str, ...] = ("cup", "flap"), radius: float = 24.0
) -> Project:
    """A machine of discs that differ by their stations."""
    lane = one_sided().lanes[0]
    lanes = [
        replaced(lane, id=one, name=one.title(), code=None, station_deg=10.0 * n) for n, one in enumerate(ids)
    ]
    lanes[0] = replaced(lanes[0], disc=Disc(base_radius_mm=radius))
    return replaced(one_sided(), name=name, lanes=with_codes(lanes), stacks=(Stack(id="main"),))


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def manifest_of(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "manifest.json").read_bytes())
    return found


def holds_its_hashes(folder: Path) -> bool:
    """Whether every file is what the manifest says, and no other is there."""
    files = {file["name"]: file["sha256"] for file in manifest_of(folder)["files"]}
    there = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}
    del there["manifest.json"]
    return files == there


# Another machine


def test_another_machine_is_refused_with_both_names_and_nothing_is_touched(tmp_path: Path) -> None:
    exported(machine(), tmp_path, DRAWN)
    before = content(tmp_path)
    with pytest.raises(AnotherMachineError) as caught:
        export_project(machine("Puppet stage", ("arm", "leg")), tmp_path, DRAWN)
    assert str(caught.value) == (
        f'{tmp_path} holds the export of another machine, "Tea machine"; this one is "Puppet stage": '
        "choose another folder"
    )
    assert (caught.value.theirs, caught.value.ours) == ("Tea machine", "Puppet stage")
    assert exit_code(caught.value) == 2
    assert content(tmp_path) == before


def test_two_machines_that_nobody_named_are_two_machines(tmp_path: Path) -> None:
    exported(machine("Untitled"), tmp_path, ["stl"])
    before = content(tmp_path)
    with pytest.raises(AnotherMachineError, match='another machine, also called "Untitled"'):
        export_project(machine("Untitled", ("arm", "leg")), tmp_path, ["stl"])
    assert content(tmp_path) == before


def test_a_machine_of_the_same_shape_with_another_disc_and_name_is_another(tmp_path: Path) -> None:
    exported(machine("Tea machine"), tmp_path, ["stl"])
    with pytest.raises(AnotherMachineError):
        export_project(machine("Puppet stage", radius=26.0), tmp_path, ["stl"])


def test_a_machine_that_was_only_renamed_is_itself(tmp_path: Path) -> None:
    exported(machine("Untitled"), tmp_path, ["stl", "3mf"])
    result = export_project(machine("Tea machine"), tmp_path, ["stl", "3mf"])
    assert manifest_of(tmp_path)["project"] == "Tea machine"
    assert {(file.name, file.why) for file in result.removed} == {
        ("plates_untitled.3mf", "it is now called plates_tea-machine.3mf"),
        ("assembled_untitled.3mf", "it is now called assembled_tea-machine.3mf"),
    }
    assert holds_its_hashes(tmp_path)


def test_a_machine_that_went_on_is_itself_whatever_changed_but_its_name(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl"])
    went_on = machine("tea  Machine", ("cup", "lid", "tray"), radius=27.0)
    assert export_project(went_on, tmp_path, ["stl"]).changes.new == ("A3",)


def test_another_machine_is_replaced_when_asked_for(tmp_path: Path) -> None:
    exported(machine(), tmp_path, DRAWN)
    (tmp_path / "notes.txt").write_bytes(b"mine")
    result = export_project(machine("Puppet stage", ("arm", "leg")), tmp_path, ["stl"], replace_other=True)
    assert set(content(tmp_path)) == {*result.files, "manifest.json", "notes.txt"}
    assert result.left == ()
    why = 'it belongs to the other machine, "Tea machine"'
    gone = {"A1_cup.dxf", "A2_flap.dxf", "A1_cup.stl", "parts_list.csv"}
    assert gone <= {file.name for file in result.removed if file.why == why}
    (tmp_path / "notes.txt").unlink()
    assert holds_its_hashes(tmp_path)


# Fewer formats


def names_of(files: tuple[RemovedFile, ...]) -> dict[str, str]:
    return {file.name: file.why for file in files}


def test_other_formats_of_an_unchanged_machine_are_kept(tmp_path: Path) -> None:
    first = exported(machine(), tmp_path)
    before = content(tmp_path)
    result = export_project(machine(), tmp_path, ["stl"])
    assert result.removed == ()
    assert set(result.left) == {name for name in first.files if not name.endswith(".stl")}
    after = content(tmp_path)
    assert {name: after[name] for name in first.files} == {name: before[name] for name in first.files}
    manifest = manifest_of(tmp_path)
    assert manifest["formats"] == first.manifest["formats"]
    assert manifest["removed"] == []
    assert holds_its_hashes(tmp_path)
    assert manifest["parts"][0]["files"] == [file for file in first.files if file.startswith("A1")]


def test_what_is_kept_was_proved_again(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl", "dxf"])
    result = export_project(machine(), tmp_path, ["stl"])
    assert {proof.file for proof in result.proofs} == {
        "A1_cup.stl",
        "A2_flap.stl",
        "A1_cup.dxf",
        "A2_flap.dxf",
    }


def test_what_is_no_longer_true_is_removed_and_named(tmp_path: Path) -> None:
    exported(machine(), tmp_path)
    result = export_project(machine(radius=26.0), tmp_path, ["stl"])
    removed, kinds = names_of(result.removed), ["dxf", "svg", "csv", *(["step"] if has_kernel() else [])]
    for kind in kinds[:2]:
        assert removed[f"A1_cup.{kind}"] == "A1 has changed"
        assert f"A2_flap.{kind}" in result.left
    assert removed["A1_cup.csv"] == "its figures have changed"
    assert "A2_flap.csv" in result.left
    assert removed["parts_list.csv"] == "its figures have changed"
    assert removed["assembled_tea-machine.3mf"] == "A1 has changed"
    assert removed["build_manual_a4.pdf"] == "the project has changed since"
    assert not set(removed) & set(content(tmp_path))
    assert {file["name"]: file["why"] for file in manifest_of(tmp_path)["removed"]} == removed
    assert holds_its_hashes(tmp_path)


def test_other_words_remove_only_what_holds_words(tmp_path: Path) -> None:
    exported(machine(), tmp_path)
    project = machine()
    named = replaced(project, notes="read this first")
    result = export_project(named, tmp_path, ["stl"])
    assert set(names_of(result.removed)) == {"build_manual_a4.pdf", "build_manual_letter.pdf"}
    assert {"A1_cup.csv", "parts_list.csv", "plates_tea-machine.3mf"} <= set(result.left)


def test_a_file_of_another_format_that_was_changed_is_not_called_true(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl", "svg"])
    (tmp_path / "A1_cup.svg").write_bytes(b"<svg/>")
    (tmp_path / "A2_flap.svg").unlink()
    result = export_project(machine(), tmp_path, ["stl"])
    assert names_of(result.removed) == {"A1_cup.svg": "it was changed since it was exported"}
    assert set(result.left) == {"FIT_fit-coupon-of-main.svg", "SPACER_spacer-of-main.svg"}
    assert holds_its_hashes(tmp_path)


def test_files_of_a_part_that_is_gone_are_named(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl", "svg"])
    result = export_project(machine(ids=("cup",)), tmp_path, ["stl"])
    why = "the machine has no part A2 any more"
    assert names_of(result.removed) | {"A2_flap.stl": why, "A2_flap.svg": why} == names_of(result.removed)


def test_a_renamed_lane_has_its_old_file_named(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl"])
    lanes = machine().lanes
    renamed = replaced(machine(), lanes=(replaced(lanes[0], name="Mug"), *lanes[1:]))
    result = export_project(renamed, tmp_path, ["stl"])
    assert names_of(result.removed) == {"A1_cup.stl": "it is now called A1_mug.stl"}


def again(project: Project, out: Path, *formats: str) -> ExportResult:
    return export_project(project, out, formats, only_changed=True)


def test_only_changed_keeps_other_formats_too(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl", "dxf"])
    result = again(machine(radius=26.0), tmp_path, "stl")
    assert result.files == ("A1_cup.stl",)
    assert "A2_flap.dxf" in result.left
    assert names_of(result.removed) == {"A1_cup.dxf": "A1 has changed"}
    back = again(machine(radius=26.0), tmp_path, "stl", "dxf")
    assert back.files == ("A1_cup.dxf",)
    assert holds_its_hashes(tmp_path)


@pytest.mark.skipif(not has_kernel(), reason="needs the extra `step`")
def test_a_format_that_cannot_be_read_here_is_kept_by_its_hashes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    exported(machine(), tmp_path, ["stl", "step"])
    monkeypatch.setattr("shaftscore.make.exporting.formats.has_kernel", lambda: False)
    result = export_project(machine(radius=26.0), tmp_path, ["stl"])
    assert "A2_flap.step" in result.left
    assert names_of(result.removed)["A1_cup.step"] == "A1 has changed"


# Manifests that lie


def entry(name: object, **more: object) -> dict[str, object]:
    return {"name": name, "format": "stl", "parts": ["A1"], "bytes": 4, "sha256": "0" * 64, **more}


def forged(files: object, parts: object = (), project: object = "Tea machine") -> bytes:
    return json.dumps(
        {"format": "shaftscore-export", "version": 1, "project": project, "parts": parts, "files": files}
    ).encode()


NAMES = [
    "../victim.stl",
    "/etc/passwd",
    "sub/A1_x.stl",
    "A1_x.stl/",
    "thesis.docx",
    "photo.stl",
    "a1_cup.stl",
    "A1_Cup.stl",
    "A1_cup.stl.bak",
    "A1_cup.exe",
    "A1_cup.3mf",
    "manifest.json",
    ".bashrc",
    "A1_cup\n.stl",
    "A1_cup.stl\n",
    "A1_cup.stl\x00",
    "",
    None,
    7,
    ["A1_cup.stl"],
]


@pytest.mark.parametrize("name", NAMES, ids=repr)
def test_a_manifest_with_a_name_of_nobody_s_export_is_refused(tmp_path: Path, name: object) -> None:
    out = tmp_path / "out"
    out.mkdir()
    mine = {"thesis.docx": b"mine", "photo.stl": b"mine", "A1_cup.exe": b"mine", ".bashrc": b"mine"}
    for there, data in mine.items():
        (out / there).write_bytes(data)
    (tmp_path / "victim.stl").write_bytes(b"mine")
    (out / "manifest.json").write_bytes(forged([entry(name)]))
    before = content(out)
    with pytest.raises(ExportError, match="which no export writes") as caught:
        export_project(machine(), out, ["stl"])
    assert repr(name) in str(caught.value)
    assert content(out) == before
    assert (tmp_path / "victim.stl").read_bytes() == b"mine"


def as_folder(path: Path, elsewhere: Path) -> None:
    path.mkdir()
    (path / "thesis").write_bytes(b"mine")


def as_link(path: Path, elsewhere: Path) -> None:
    elsewhere.write_bytes(b"mine")
    path.symlink_to(elsewhere)


def as_lost_link(path: Path, elsewhere: Path) -> None:
    path.symlink_to(elsewhere)


def as_pipe(path: Path, elsewhere: Path) -> None:
    os.mkfifo(path)


@pytest.mark.parametrize("make", [as_folder, as_link, as_lost_link, as_pipe])
@pytest.mark.parametrize("formats", [["stl"], ["dxf"]])
def test_what_is_no_file_is_not_what_an_export_wrote(
    tmp_path: Path, make: Callable[[Path, Path], None], formats: list[str]
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    make(out / "A1_cup.stl", tmp_path / "elsewhere")
    (out / "manifest.json").write_bytes(forged([entry("A1_cup.stl")]))
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(ExportError, match=re.escape("A1_cup.stl is no file that an export wrote")):
        export_project(machine(), out, formats)
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("make", [as_folder, as_link, as_pipe])
def test_a_manifest_that_is_no_file_is_refused(tmp_path: Path, make: Callable[[Path, Path], None]) -> None:
    make(tmp_path / "manifest.json", tmp_path / "elsewhere")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(ExportError, match="was not made by an export"):
        export_project(machine(), tmp_path, ["stl"])
    assert sorted(tmp_path.rglob("*")) == before


PART = {"code": "A1", "lane": "cup", "hash": "0" * 64}


@pytest.mark.parametrize(
    "data",
    [
        forged([entry("A1_cup.stl", bytes="many")]),
        forged([entry("A1_cup.stl", bytes=-1)]),
        forged([entry("A1_cup.stl", bytes=True)]),
        forged([entry("A1_cup.stl", sha256="short")]),
        forged([entry("A1_cup.stl", parts="A1")]),
        forged([entry("A1_cup.stl", parts=[["A1"]])]),
        forged([entry("A1_cup.stl", parts=["../A1"])]),
        forged([entry("A1_cup.stl", format=[])]),
        forged([entry("A1_cup.stl", format="dxf")]),
        forged([entry("A1_cup.stl"), entry("A1_cup.stl")]),
        forged([{"name": "A1_cup.stl"}]),
        forged(["A1_cup.stl"]),
        forged({"name": "A1_cup.stl"}),
        forged([], parts=3),
        forged([], parts=[3]),
        forged([], parts=[{**PART, "code": ["A1"]}]),
        forged([], parts=[{**PART, "code": None}]),
        forged([], parts=[{**PART, "hash": 4}]),
        forged([], parts=[{**PART, "lane": {}}]),
        forged([], project=["Tea machine"]),
        b'{"format": "shaftscore-export", "version": 1, "files": ' + b"[" * 200_000,
        b'{"format": "shaftscore-export", "version": 1e400, "files": []}',
        b'{"format": ["shaftscore-export"], "version": 1, "files": []}',
        b"\xff\xfe",
        b"",
    ],
    ids=lambda data: data[60:100].decode("ascii", "replace"),
)
@pytest.mark.parametrize("only_changed", [False, True])
def test_any_other_forged_manifest_is_refused_in_one_line(
    tmp_path: Path, data: bytes, only_changed: bool
) -> None:
    (tmp_path / "manifest.json").write_bytes(data)
    (tmp_path / "A1_cup.stl").write_bytes(b"mine")
    before = content(tmp_path)
    with pytest.raises(ExportError) as caught:
        export_project(machine(), tmp_path, ["stl"], only_changed=only_changed)
    assert "\n" not in str(caught.value)
    assert "manifest.json" in str(caught.value)
    assert content(tmp_path) == before


def test_a_manifest_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    with (tmp_path / "manifest.json").open("wb") as file:
        file.truncate(65 << 20)
    with pytest.raises(ExportError, match="was not made by an export"):
        export_project(machine(), tmp_path, ["stl"])


def test_every_file_that_is_written_has_a_name_that_is_taken_for_one(tmp_path: Path) -> None:
    """Lanes called by anything, on several stacks."""
    lanes: list[Lane] = []
    for n, name in enumerate(["茶", "../x", "A" * 200, "=1+1", "con", "..."]):
        lanes.append(
            replaced(machine().lanes[0], id=f"l{n}", name=name, code=None, stack="main" if n % 2 else "two")
        )
    project = replaced(
        machine("..\\茶/"), lanes=with_codes(lanes), stacks=(Stack(id="main"), Stack(id="two"))
    )
    export_project(project, tmp_path)
    result = export_project(project, tmp_path)
    assert len(result.files) > 30
    assert holds_its_hashes(tmp_path)


# What a dead export left, or somebody put in its place


def partial_of(out: Path) -> Path:
    for name in ("", "new", "old"):
        (out / PARTIAL_NAME / name).mkdir(parents=True)
    (out / PARTIAL_NAME / "new" / "manifest.json").write_bytes(b"")
    (out / PARTIAL_NAME / "moves.json").write_bytes(b"[]")
    return out / PARTIAL_NAME


def test_a_staging_folder_whose_folder_is_a_link_is_refused(tmp_path: Path) -> None:
    for name in ("old", "new"):
        out, elsewhere = tmp_path / name / "out", tmp_path / name / "elsewhere"
        partial = partial_of(out)
        elsewhere.mkdir()
        (elsewhere / "A1_cup.stl").write_bytes(b"mine")
        (elsewhere / "manifest.json").write_bytes(b"mine")
        for path in (partial / name).iterdir():
            path.unlink()
        (partial / name).rmdir()
        (partial / name).symlink_to(elsewhere)
        with pytest.raises(ExportError, match="that no export left there"):
            export_project(machine(), out, ["stl"])
        assert content(elsewhere) == {"A1_cup.stl": b"mine", "manifest.json": b"mine"}


@pytest.mark.parametrize(
    "place", ["thesis.docx", "old/thesis.docx", "old/A1_x.stl/thesis.docx", "new/.bashrc"]
)
def test_a_staging_folder_with_anything_else_in_it_is_refused(tmp_path: Path, place: str) -> None:
    partial = partial_of(tmp_path)
    (partial / place).parent.mkdir(exist_ok=True)
    (partial / place).write_bytes(b"mine")
    with pytest.raises(ExportError, match="that no export left there"):
        export_project(machine(), tmp_path, ["stl"])
    assert (partial / place).read_bytes() == b"mine"


def test_what_a_dead_export_left_never_replaces_a_file(tmp_path: Path) -> None:
    partial = partial_of(tmp_path)
    (partial / "old" / "A1_cup.stl").write_bytes(b"planted")
    (tmp_path / "A1_cup.stl").write_bytes(b"mine")
    with pytest.raises(ExportError, match="that no export left there"):
        export_project(machine(), tmp_path, ["stl"])
    assert (tmp_path / "A1_cup.stl").read_bytes() == b"mine"


def test_a_lock_that_is_a_link_makes_no_file_elsewhere(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / ".shaftscore-lock").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(ExportError):
        export_project(machine(), out, ["stl"])
    assert not (tmp_path / "elsewhere").exists()
