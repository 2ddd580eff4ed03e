"""The export as a whole: what it refuses, what it records, and how it ends."""

from __future__ import annotations

import json
import pickle
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import Cancelled, ExportError
from shaftscore.judge.report import examine
from shaftscore.make.exporting import FORMATS, FaultyProjectError, ProofError, exit_code, export_project
from shaftscore.make.files.names import LONGEST, file_stem, is_plain_name
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.exact import has_kernel
from shaftscore.model import Block, Disc, Lane, Project, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.model.saved import saved_form
from shaftscore.stack import BulgePath as OutlinePath
from tests.core.make.exporting.machines import one_sided

STEM = "A1_tea-flap"
FIT = "FIT_fit-coupon-of-main"


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def with_lanes(project: Project, *lanes: Lane) -> Project:
    return replaced(project, lanes=with_codes(lanes))


def second_lane(name: str = "Cup") -> Lane:
    lane = one_sided(name=name).lanes[0]
    return replaced(lane, id="cup", code=None)


def clashing() -> Project:
    """A machine with one good lane and one whose blocks overlap."""
    project = one_sided()
    blocks = (
        Block(level="closed", start_deg=0.0, end_deg=100.0),
        Block(level="open", start_deg=90.0, end_deg=200.0),
    )
    return with_lanes(project, project.lanes[0], replaced(second_lane(), blocks=blocks))


class Recorder:
    """Keeps what is reported; cancels at report number `cancel_at`."""

    def __init__(self, cancel_at: int | None = None) -> None:
        self.told: list[tuple[float, str]] = []
        self.cancel_at = cancel_at

    def report(self, fraction: float, what: str) -> None:
        self.told.append((fraction, what))
        if len(self.told) - 1 == self.cancel_at:
            raise Cancelled("cancelled")


def test_everything_that_exists_is_written_by_default_and_recorded(tmp_path: Path) -> None:
    result = export_project(one_sided(), tmp_path)
    proved = ["stl", *(["step"] if has_kernel() else []), "dxf"]
    own = [f"{STEM}.{ending}" for ending in (*proved, "svg", "csv")]
    assert set(result.files) == {
        *own,
        *(f"{FIT}.{ending}" for ending in (*proved, "svg", "csv")),
        "plates_test-machine.3mf",
        "assembled_test-machine.3mf",
        "parts_list.csv",
        "build_manual_a4.pdf",
        "build_manual_letter.pdf",
    }
    manifest = json.loads((tmp_path / "manifest.json").read_bytes())
    assert manifest == result.manifest
    part, coupon = manifest["parts"]
    assert (coupon["code"], coupon["lane"], coupon["proof"]) == ("FIT", None, [])
    assert (part["lane"], part["code"], part["name"], part["stack"]) == ("flap", "A1", "Tea flap", "main")
    assert part["files"] == own
    assert part["count"] == 1
    assert part["revision"] == f"R{part['hash'][:3].upper()}"
    assert re.fullmatch("[0-9a-f]{64}", part["hash"])
    assert [proof["file"] for proof in part["proof"]] == [*result.files[:2], *own[:-1]]
    assert all(proof["holds"] and proof["places"] == 3600 for proof in part["proof"])
    assert {file["name"] for file in manifest["files"]} == set(content(tmp_path)) - {"manifest.json"}
    assert all(file["bytes"] == len(content(tmp_path)[file["name"]]) for file in manifest["files"])


def test_progress_rises_from_nothing_to_all(tmp_path: Path) -> None:
    progress = Recorder()
    export_project(one_sided(), tmp_path, progress=progress)
    fractions = [fraction for fraction, _ in progress.told]
    assert fractions == sorted(fractions)
    assert (fractions[0], fractions[-1]) == (0.0, 1.0)


@pytest.mark.parametrize("there_before", [False, True])
def test_cancelled_at_any_report_everything_is_as_before(tmp_path: Path, there_before: bool) -> None:
    out = tmp_path / "discs"
    if there_before:
        export_project(one_sided(), out)
    before = content(out) if there_before else None
    changed, formats = one_sided(station_deg=77.0), ["stl", "dxf", "csv"]
    reports = Recorder()
    export_project(changed, tmp_path / "other", formats, progress=reports)
    assert len(reports.told) > 8
    for place in range(0, len(reports.told), 1 if there_before else 5):
        with pytest.raises(Cancelled) as caught:
            export_project(changed, out, formats, progress=Recorder(cancel_at=place))
        assert exit_code(caught.value) == 130
        assert (content(out) if out.exists() else None) == before


def test_errors_in_the_project_stop_the_export(tmp_path: Path) -> None:
    with pytest.raises(FaultyProjectError, match="1 error in the project, nothing was written") as caught:
        export_project(clashing(), tmp_path / "out")
    assert exit_code(caught.value) == 1
    assert "Cup" in str(caught.value)
    assert not (tmp_path / "out").exists()


def test_despite_errors_the_good_discs_are_written_and_the_others_named(tmp_path: Path) -> None:
    result = export_project(clashing(), tmp_path, ["stl"], despite_errors=True)
    assert result.files == (f"{STEM}.stl", "SPACER_spacer-of-main.stl", f"{FIT}.stl")
    assert result.notes == ("no disc for Cup: blocks of different levels overlap or touch",)
    assert result.manifest["notes"] == list(result.notes)


def test_a_report_is_taken_as_it_is(tmp_path: Path) -> None:
    result = export_project(examine(one_sided()), tmp_path, ["dxf"])
    assert result.files == (f"{STEM}.dxf", f"{FIT}.dxf")


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (["stl", "pfd"], 'there is no format "pfd": did you mean "pdf"? this version writes 3mf'),
        (["stll"], 'there is no format "stll": did you mean "stl"? this version writes 3mf'),
    ],
)
def test_a_format_that_does_not_exist_is_named(tmp_path: Path, asked: list[str], message: str) -> None:
    with pytest.raises(ExportError) as caught:
        export_project(one_sided(), tmp_path / "out", asked)
    assert str(caught.value).startswith(message)
    assert exit_code(caught.value) == 2
    assert not (tmp_path / "out").exists()


def test_a_project_without_discs_has_nothing_to_export(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="no disc to export"):
        export_project(replaced(one_sided(), lanes=()), tmp_path)


def test_what_an_export_made_is_replaced_and_what_is_gone_is_removed(tmp_path: Path) -> None:
    export_project(one_sided(), tmp_path, ["stl"])
    (tmp_path / "notes.txt").write_bytes(b"mine")
    export_project(one_sided(name="Flap of tea"), tmp_path, ["stl"])
    assert set(content(tmp_path)) == {"A1_flap-of-tea.stl", f"{FIT}.stl", "manifest.json", "notes.txt"}


def test_a_foreign_file_of_the_same_name_is_refused_before_anything_is_made(tmp_path: Path) -> None:
    (tmp_path / f"{STEM}.stl").write_bytes(b"mine")
    progress = Recorder()
    with pytest.raises(ExportError, match="was not made by an export") as caught:
        export_project(one_sided(), tmp_path, progress=progress)
    assert exit_code(caught.value) == 2
    assert not any(what.startswith("Making") for _, what in progress.told)
    assert content(tmp_path) == {f"{STEM}.stl": b"mine"}


@pytest.mark.parametrize(
    ("manifest", "message"),
    [
        (b"not JSON", "was not made by an export"),
        (b"[]", "was not made by an export"),
        (b'{"format": "other"}', "was not made by an export"),
        (b'{"format": "shaftscore-export", "version": 99}', "is of version 99"),
        (b'{"format": "shaftscore-export", "version": 1, "files": [{"name": "../x"}]}', "names '../x'"),
        (b'{"format": "shaftscore-export", "version": 1, "files": 3}', "names None"),
    ],
)
def test_a_manifest_that_is_not_ours_is_refused(tmp_path: Path, manifest: bytes, message: str) -> None:
    (tmp_path / "manifest.json").write_bytes(manifest)
    with pytest.raises(ExportError, match=re.escape(message)):
        export_project(one_sided(), tmp_path)
    assert content(tmp_path) == {"manifest.json": manifest}


def mirrored(plan: Callable[[MakeOrder], list[Planned]]) -> Callable[[MakeOrder], list[Planned]]:
    """A format whose files hold every disc as seen from below."""

    def wrong(order: MakeOrder) -> list[Planned]:
        items = tuple(OrderedPart(_mirror(item.part), item.profile, item.spans) for item in order.items)
        return plan(replace(order, items=items))

    return wrong


def _mirror(part: MadePart) -> MadePart:
    back = part.contour.bulges[-2::-1] + part.contour.bulges[-1:]
    contour = OutlinePath(tuple(v.conjugate() for v in part.contour.vertices[::-1]), back)
    outline = part.outline[::-1] * [1, -1]
    return replace(part, outline=outline, printer_outline=outline, contour=contour)


@pytest.mark.parametrize("kind", ["3mf", "stl", "dxf"])
def test_a_file_that_does_not_hold_stops_the_export(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    wrong = {**FORMATS, kind: mirrored(FORMATS[kind])}
    monkeypatch.setattr("shaftscore.make.exporting.formats.FORMATS", wrong)
    with pytest.raises(ProofError, match="the files do not do what the program says") as caught:
        export_project(one_sided(), tmp_path / "out")
    assert f".{kind}" in str(caught.value)
    assert exit_code(caught.value) == 1
    assert not (tmp_path / "out").exists()


def part_hash(project: Project, folder: Path) -> str:
    return str(export_project(project, folder, ["dxf"]).manifest["parts"][0]["hash"])  # type: ignore[index]


def test_a_wording_change_keeps_the_hash_and_a_change_of_shape_does_not(tmp_path: Path) -> None:
    first = part_hash(one_sided(), tmp_path)
    assert part_hash(one_sided(name="Other words"), tmp_path) == first
    assert part_hash(one_sided(base_radius_mm=24.0 + 1e-13), tmp_path) == first
    changed = [
        one_sided(base_radius_mm=24.001),
        one_sided(station_deg=40.1),
        one_sided("clockwise"),
        one_sided(thickness_mm=6.0),
        one_sided(edge_chamfer_mm=0.3),
    ]
    hashes = {part_hash(project, tmp_path) for project in changed}
    assert len(hashes | {first}) == len(changed) + 1


@given(st.text(max_size=200))
def test_file_names_are_plain_whatever_the_lane_is_called(name: str) -> None:
    stem = file_stem("B12", name)
    assert is_plain_name(f"{stem}.stl")
    assert stem.startswith("B12")
    assert len(stem) <= LONGEST + 4


def test_names_are_kept_where_ascii_can() -> None:
    assert file_stem("A1", "Oolong téa / 2") == "A1_oolong-tea-2"
    assert file_stem("A1", "../../etc/passwd") == "A1_etc-passwd"
    assert file_stem("A1", "茶") == "A1"
    assert not any(map(is_plain_name, ("../a", "a/b", "", ".hidden", "a\\b", "C:a")))


@pytest.mark.parametrize("kind", [FaultyProjectError, ProofError, ExportError])
def test_errors_reach_another_process_whole(kind: type[ExportError]) -> None:
    copy = pickle.loads(pickle.dumps(kind("one line")))
    assert (type(copy), str(copy)) == (kind, "one line")


def test_an_undercut_disc_is_only_written_when_asked_for_and_says_that_it_does_not_hold(
    tmp_path: Path,
) -> None:
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=30.0)
    project = one_sided(follower=roller, base_radius_mm=8.0)
    with pytest.raises(FaultyProjectError):
        export_project(project, tmp_path)
    result = export_project(project, tmp_path, ["stl"], despite_errors=True)
    assert any("off the program" in note for note in result.notes)
    part, _coupon = result.manifest["parts"]  # type: ignore[misc]
    assert part["proof"][0]["holds"] is False


KILLED = """
import os, sys
from pathlib import Path
from shaftscore.make.exporting import export_project
from shaftscore.model.loader import read_project

class Deadly:
    def __init__(self): self.left = int(sys.argv[2])
    def report(self, fraction, what):
        self.left -= 1
        if self.left < 0:
            os.kill(os.getpid(), 9)

project = read_project(sys.stdin.buffer.read(), "test")
export_project(project, Path(sys.argv[1]), ["stl", "dxf"], progress=Deadly())
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a signal that kills")
@pytest.mark.parametrize("reports", [3, 4])
def test_a_killed_export_leaves_the_old_files_and_the_next_one_works(tmp_path: Path, reports: int) -> None:
    project = with_lanes(one_sided(station_deg=10.0), one_sided().lanes[0], second_lane())
    export_project(one_sided(), tmp_path, ["stl", "dxf"])
    before = content(tmp_path)
    command = [sys.executable, "-c", KILLED, str(tmp_path), str(reports)]
    ended = subprocess.run(command, input=saved_form(project), check=False)
    assert ended.returncode == -signal.SIGKILL
    assert {name: data for name, data in _files(tmp_path).items() if name in before} == before
    result = export_project(project, tmp_path, ["stl", "dxf"])
    assert set(content(tmp_path)) == {*result.files, "manifest.json"}


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_states_of_rules_and_gates_are_proved_too(tmp_path: Path) -> None:
    result = export_project(one_sided(), tmp_path, ["stl"])
    (proof,) = result.proofs
    assert proof.state_ends == 4
    assert abs(proof.state_shift_deg) < proof.state_limit_deg
    assert np.isfinite(proof.lift_error_mm)


def test_a_disc_that_is_too_thin_for_its_chamfer_says_so(tmp_path: Path) -> None:
    result = export_project(one_sided(thickness_mm=1.0, edge_chamfer_mm=0.45), tmp_path, ["stl"])
    assert "A1: edge chamfer made 0.4 mm, not 0.45 mm: there is no room for more" in result.notes


def test_a_bore_that_reaches_the_rim_is_an_error_in_one_line(tmp_path: Path) -> None:
    project = one_sided()
    lane = replaced(project.lanes[0], disc=Disc(base_radius_mm=4.5))
    with pytest.raises(ExportError) as caught:
        export_project(replaced(project, lanes=(lane,)), tmp_path, ["stl"], despite_errors=True)
    assert "\n" not in str(caught.value)
    assert "A1: wall between bore and rim is −0.3 mm; the part cannot be made" in str(caught.value)
    assert content(tmp_path) == {}


def test_a_proof_that_fails_names_lane_and_angle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules["shaftscore.make.proof.prove"], "PROOF_LIFT_MM", -1.0)
    project = one_sided()
    with pytest.raises(ProofError) as failed:
        export_project(project, tmp_path / "out", ["stl"])
    assert failed.value.place is not None
    lane_id, at_deg = failed.value.place
    assert lane_id in project.lane_index
    assert 0 <= at_deg < 360
    assert not list((tmp_path / "out").glob("*.stl"))
