"""`shaftscore verify`: exit codes, a line a fault, the JSON object, what is said without a project."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from shaftscore.make.exporting import export_project
from shaftscore.model.saved import saved_form
from shaftscore_app.cli.program import app
from tests.core.make.exporting import tampering
from tests.core.make.exporting.machines import one_sided

STL = "A1_tea-flap.stl"


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    export_project(one_sided(), folder, ["stl", "svg", "csv"])
    return folder


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "machine.shaft"
    path.write_bytes(saved_form(one_sided()))
    return path


def verify(*arguments: str | Path):
    return CliRunner().invoke(app, ["verify", *map(str, arguments)])


def test_with_the_project_everything_is_proved(exported: Path, project: Path) -> None:
    done = verify(exported, project)
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines() == [
        "Assembly proved: 3 bodies in 3 pairs, 1 follower and 1 joint, at a few angles of the cycle.",
        "3 files compared by hash only: CSV.",
        "Proved: 4 files read back, compared with the program of Test machine.",
    ]


def test_without_the_project_it_says_that_the_program_was_not_compared(exported: Path) -> None:
    done = verify(exported)
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines()[-1] == (
        "Proved: 4 files read back, compared with the figures in the manifest; program not compared."
    )


def test_a_fault_is_one_line_with_file_what_and_by_how_much(
    exported: Path, project: Path, tmp_path: Path
) -> None:
    folder = shutil.copytree(exported, tmp_path / "copy")
    wrong = tampering.changed_stl(tampering.HEIGHTS["thickness x 2"])((folder / STL).read_bytes())
    (folder / STL).write_bytes(wrong)
    for arguments in ((folder,), (folder, project)):
        done = verify(*arguments)
        assert done.exit_code == 1
        first, second, *rest = done.stdout.splitlines()
        assert first == f"{STL}: changed since export: its SHA-256 is not that in the manifest"
        assert second == (
            f"{STL}: its top is at z = 10.000 mm, not at 5.000 mm: off by 5.000 mm, the limit is 0.01 mm"
        )
        assert all(line.startswith((f"{STL}: ", "A1 roller ", "Assembly ")) for line in rest[:-2])
        assert "in 1 file; 3 files proved" in rest[-1]


def test_another_program_is_found_by_its_lift(exported: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.shaft"
    other.write_bytes(saved_form(one_sided(base_radius_mm=24.05)))
    done = verify(exported, other)
    assert done.exit_code == 1
    assert f"{STL}: its lift is " in done.stdout
    assert "near its contour" in done.stdout


def test_the_json_object(exported: Path, project: Path, tmp_path: Path) -> None:
    done = verify(exported, project, "--json")
    found = json.loads(done.stdout)
    assert done.exit_code == 0
    assert (found["proved"], found["compared"], found["program"]) == (True, "program", "Test machine")
    assert found["faults"] == []
    stl = next(file for file in found["files"] if file["name"] == STL)
    assert 0 < stl.pop("largest_lift_error_mm") < 0.004
    assert stl == {
        "name": STL,
        "format": "stl",
        "parts": ["A1"],
        "changed": False,
        "read": True,
        "holds": True,
    }
    folder = shutil.copytree(exported, tmp_path / "copy")
    (folder / STL).unlink()
    done = verify(folder, "--json")
    found = json.loads(done.stdout)
    assert done.exit_code == 1
    assert (found["proved"], found["compared"], found["program"]) == (False, "manifest", None)
    assert found["faults"] == [
        {
            "file": STL,
            "part": None,
            "what": "it cannot be read: No such file or directory",
            "by": None,
            "limit": None,
            "unit": None,
        }
    ]


def test_full_looks_at_ten_times_as_many_places(
    exported: Path, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = []

    def counted(file, task, rim, step_deg):
        from shaftscore.make.proof.prove import prove

        steps.append(step_deg)
        return prove(file, task, rim, 1.0)

    monkeypatch.setattr("shaftscore.make.proof.judge.prove", counted)
    assert verify(exported, project).exit_code == 0
    assert verify(exported, project, "--full").exit_code == 0
    assert steps == [0.1, 0.1, 0.01, 0.01]
    assert verify("--help").output.count("0.01°") == 1


def test_bad_input_is_two(exported: Path, project: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    foreign = tmp_path / "foreign"
    foreign.mkdir()
    (foreign / "manifest.json").write_text('{"name": "else"}')
    bad = tmp_path / "bad.shaft"
    bad.write_text("{}")
    for arguments, words in (
        ((empty,), "holds no export: there is no manifest.json in it"),
        ((tmp_path / "nowhere",), "holds no export"),
        ((foreign,), "was not made by an export"),
        ((exported, bad), f"{bad}: "),
        ((exported, tmp_path / "none.shaft"), "1 fault"),
        ((), "Missing argument"),
    ):
        done = verify(*arguments)
        assert done.exit_code == 2, arguments
        assert words in done.stderr
        assert done.stdout == ""
        assert "Traceback" not in done.output


def test_a_folder_in_which_nothing_can_be_read_back_is_not_proved(tmp_path: Path) -> None:
    export_project(one_sided(), tmp_path, ["csv"])
    done = verify(tmp_path)
    assert done.exit_code == 1
    assert done.stdout.splitlines()[-1].startswith("Nothing proved: ")
