"""Only what changed is remade, and the report says what did, by how much."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shaftscore.make.exporting import Changed, Changes, ExportResult, export_project
from shaftscore.make.solids.exact import has_kernel
from shaftscore.model import Disc, Lane, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.copies import exported
from tests.core.make.exporting.machines import one_sided

STEMS = ["A1_lane-0", "A2_lane-1", "A3_lane-2"]


def machine(*lanes: Lane) -> Project:
    project = one_sided()
    own = lanes or tuple(
        replaced(project.lanes[0], id=f"lane{n}", name=f"Lane {n}", code=None) for n in range(3)
    )
    return replaced(project, lanes=with_codes(own), stacks=(Stack(id="main"),))


def resized(project: Project, place: int, radius: float) -> Project:
    lanes = list(project.lanes)
    lanes[place] = replaced(lanes[place], disc=Disc(base_radius_mm=radius))
    return replaced(project, lanes=tuple(lanes))


def again(project: Project, out: Path, formats: tuple[str, ...] | None = None) -> ExportResult:
    return export_project(project, out, formats, only_changed=True)


def stamps(out: Path) -> dict[str, int]:
    """What tells a file that was written again from one that was left."""
    return {path.name: path.stat().st_ino for path in out.iterdir()}


def test_the_first_export_is_all_new(tmp_path: Path) -> None:
    result = export_project(machine(), tmp_path)
    assert result.changes == Changes(new=("A1", "A2", "A3", "SPACER", "FIT"))
    assert result.kept == ()


def test_nothing_changed_nothing_made(tmp_path: Path) -> None:
    first = exported(machine(), tmp_path)
    before = stamps(tmp_path)
    result = again(machine(), tmp_path)
    assert result.changes == Changes(unchanged=("A1", "A2", "A3", "SPACER", "FIT"))
    assert not any(name.endswith((".stl", ".dxf", ".svg", ".3mf")) for name in result.files)
    left = {name: stamp for name, stamp in stamps(tmp_path).items() if name in result.kept}
    assert left == {name: before[name] for name in result.kept}
    assert set(result.kept) | set(result.files) == set(first.files)


def test_a_changed_disc_is_made_and_measured(tmp_path: Path) -> None:
    exported(machine(), tmp_path)
    before = stamps(tmp_path)
    result = again(resized(machine(), 1, 24.25), tmp_path)
    assert result.changes.unchanged == ("A1", "A3", "SPACER", "FIT")
    (changed,) = result.changes.changed
    assert changed.code == "A2"
    assert changed.largest_mm == pytest.approx(0.25, abs=0.01)
    after = stamps(tmp_path)
    assert {
        name
        for name in after
        if name.startswith(("A1", "A3", "SPACER", "FIT")) and after[name] == before[name]
    } == {
        f"{stem}.{ending}"
        for stem in ("A1_lane-0", "A3_lane-2", "SPACER_spacer-of-main", "FIT_fit-coupon-of-main")
        for ending in ("stl", "dxf", "svg", *(["step"] if has_kernel() else []))
    }
    assert {"A2_lane-1.stl", "A2_lane-1.dxf", "A2_lane-1.svg"} <= set(result.files)
    fresh = export_project(resized(machine(), 1, 24.25), tmp_path / "fresh")
    for name in fresh.files:
        # The plates hold only what changed, and the manual lists the proofs of what the plates hold.
        if not name.startswith(("plates", "build_manual")):
            assert (tmp_path / name).read_bytes() == (tmp_path / "fresh" / name).read_bytes()


def test_the_plates_then_hold_only_what_is_to_be_printed_again(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["3mf"])
    again(resized(machine(), 2, 25.0), tmp_path, ("3mf",))
    files = {
        file["name"]: file["parts"] for file in json.loads((tmp_path / "manifest.json").read_bytes())["files"]
    }
    assert files["plates_test-machine.3mf"] == ["A3"]
    assert set(files["assembled_test-machine.3mf"]) == {"A1", "A2", "A3", "SPACER"}
    assert again(resized(machine(), 2, 25.0), tmp_path, ("3mf",)).files == ()


def test_other_words_reprint_nothing(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl"])
    before = stamps(tmp_path)
    named = machine(*(replaced(lane, name=f"Other {n}") for n, lane in enumerate(machine().lanes)))
    result = again(named, tmp_path, ("stl",))
    assert result.files == ()
    assert not result.changes.any
    assert {name: stamp for name, stamp in stamps(tmp_path).items() if name.endswith("stl")} == {
        name: stamp for name, stamp in before.items() if name.endswith("stl")
    }
    parts = json.loads((tmp_path / "manifest.json").read_bytes())["parts"]
    assert [part["files"] for part in parts] == [
        [f"{stem}.stl"] for stem in [*STEMS, "SPACER_spacer-of-main", "FIT_fit-coupon-of-main"]
    ]


def test_a_removed_lane_takes_its_files_away(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl"])
    result = again(machine(*machine().lanes[:2]), tmp_path, ("stl",))
    assert result.changes.removed == ("A3",)
    assert sorted(path.name for path in tmp_path.glob("A*")) == ["A1_lane-0.stl", "A2_lane-1.stl"]


@pytest.mark.parametrize("harm", ["changed", "removed"])
def test_a_file_that_is_not_what_it_was_is_made_again(tmp_path: Path, harm: str) -> None:
    first = exported(machine(), tmp_path, ["stl"])
    victim = tmp_path / "A2_lane-1.stl"
    data = victim.read_bytes()
    if harm == "changed":
        victim.write_bytes(data[:-1] + b"x")
    else:
        victim.unlink()
    result = again(machine(), tmp_path, ("stl",))
    assert result.files == ("A2_lane-1.stl",)
    assert victim.read_bytes() == data
    assert result.manifest == first.manifest


def test_a_format_that_was_not_there_is_written_for_all(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["stl"])
    result = again(machine(), tmp_path, ("stl", "dxf"))
    assert all(name.endswith(".dxf") for name in result.files)
    assert len(result.files) == len(result.kept) == 5


def test_without_a_readable_old_file_the_distance_is_not_known(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["svg"])
    assert again(resized(machine(), 0, 25.0), tmp_path, ("svg",)).changes.changed == (Changed("A1", None),)


def test_a_turned_profile_is_a_change_that_is_measured_by_a_drawing_too(tmp_path: Path) -> None:
    exported(machine(), tmp_path, ["dxf"])
    lanes = machine().lanes
    turned = machine(lanes[0], replaced(lanes[1], offset_deg=2.0), lanes[2])
    (changed,) = export_project(turned, tmp_path, ["dxf"]).changes.changed
    assert changed.code == "A2"
    assert changed.largest_mm is not None
    assert 0.1 < changed.largest_mm < 2.0
