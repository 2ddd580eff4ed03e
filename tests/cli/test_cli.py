"""The command line as a process of its own: exit codes, what is printed where, what is loaded."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from shaftscore.base.samples import sample_folder
from shaftscore_app.cli.program import _with_command, app

ROOT = Path(__file__).resolve().parents[2]
SEARCHED = os.pathsep.join(str(ROOT / folder) for folder in ("core", "app"))
SAMPLES = sample_folder()
CLEAN, DRAFT = (
    str(SAMPLES.joinpath(name)) for name in ("tea_blender.shaft", "tea_blender_first_draft.shaft")
)

ALLOWED = {
    "numpy",
    "pydantic",
    "pydantic_core",
    "typer",
    "rich",
    "click",  # of typer
    "shellingham",  # of typer
    "annotated_types",  # of pydantic
    "annotated_doc",  # of typer
    "typing_extensions",  # of pydantic
    "typing_inspection",  # of pydantic
    "markdown_it",  # of rich
    "mdurl",  # of rich
    "pygments",  # of rich
}
"""What `check` may load apart from Python and this project: four libraries and what they need."""


def shaftscore(
    *arguments: str | Path, cwd: Path = ROOT, **variables: str
) -> subprocess.CompletedProcess[str]:
    """Run the command line without a display and without a terminal."""
    env = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY")}
    env |= {"PYTHONPATH": SEARCHED, "PYTHONWARNINGS": "error", **variables}
    return subprocess.run(
        [sys.executable, "-m", "shaftscore_app", *map(str, arguments)],
        cwd=cwd,
        env=env,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )


def in_process(*arguments: str | Path) -> Result:
    """Run the command line within this process: a process takes a second, and usage is judged alike."""
    return CliRunner().invoke(app, _with_command(list(map(str, arguments))), prog_name="shaftscore")


def written(folder: Path, text: str, name: str = "tea.shaft") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


def project(**more: object) -> str:
    """A small machine of one gate, as text."""
    gate = {
        "id": "a",
        "levels": {"closed": 0, "open": 10},
        "blocks": [
            {"level": "open", "start_deg": 100, "end_deg": 130},
            {"level": "closed", "start_deg": 170, "end_deg": 420},
        ],
    }
    whole = {
        "format": "shaftscore-project",
        "version": 1,
        "name": "Tee für zwei",
        "shaft": {"turn": "clockwise", "speed_rpm": 6},
        "lanes": [gate],
    }
    return json.dumps({**whole, **more})


def test_check_of_a_clean_project() -> None:
    done = shaftscore("check", CLEAN)
    assert (done.returncode, done.stderr) == (0, "")
    first, *_, last = done.stdout.splitlines()
    assert first == "Tea blender: 10 lanes"
    assert last.startswith("Clean: nothing found. Smallest margin ")


def test_check_of_a_draft_tells_title_place_words_and_cure() -> None:
    done = shaftscore("check", DRAFT)
    assert (done.returncode, done.stderr) == (1, "")
    lines = done.stdout.splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("error    Overlap  Sencha, Mint  "))
    assert lines[at + 1].startswith("         Both are within ")
    assert lines[at + 2].startswith("         Start ")
    assert "error    Starvation  Ginger  turn 3, " in done.stdout
    assert "error    Pass-through  Chute flap  " in done.stdout
    assert "clean" not in done.stdout.lower()


def test_check_as_json() -> None:
    done = shaftscore("check", DRAFT, "--json")
    assert (done.returncode, done.stderr) == (1, "")
    assert done.stdout.isascii()
    made = json.loads(done.stdout)
    rules = {finding["rule"] for finding in made["findings"]}
    assert {"overlap", "starvation", "pass-through"} <= rules
    assert len(made["lanes"]) == 10


def test_check_of_some_lanes() -> None:
    done = shaftscore("check", DRAFT, "--lanes", "sencha,mint", "--json")
    made = json.loads(done.stdout)
    assert set(made["lanes"]) == {"sencha", "mint"}
    assert {finding["rule"] for finding in made["findings"]} == {"overlap"}
    alone = shaftscore("check", DRAFT, "--lanes", "assam")
    assert alone.returncode == 0
    assert "Within the chosen lanes: nothing found." in alone.stdout


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (["check", CLEAN, "--lanes", "sench"], 'there is no lane "sench"; did you mean "sencha"?'),
        (["check", CLEAN, "--lanes", ""], "names with commas between them are asked for"),
        (["table", CLEAN, "--lane", "x"], 'there is no lane "x"'),
        (
            ["table", CLEAN, "--lane", "mint", "--every", "0"],
            "--every: the step of a table is greater than 0",
        ),
        (["table", CLEAN, "--lane", "mint", "--every", "nan"], "--every: "),
        (["table", CLEAN], "--lane"),
        (["check"], "FILE"),
        (["check", CLEAN, "--nonsense"], "--nonsense"),
        (["export", CLEAN], "--out"),
        (["chek"], 'chek: there is no such file or command; did you mean "check"?'),
        (["missing.shaft"], "missing.shaft: there is no such file"),
    ],
)
def test_usage_errors_end_with_2(arguments: list[str], text: str) -> None:
    done = in_process(*arguments)
    assert (done.exit_code, done.stdout) == (2, "")
    assert text in done.stderr
    assert "Traceback" not in done.stderr


def test_a_usage_error_of_a_process_is_the_same() -> None:
    done, same = shaftscore("chek"), in_process("chek")
    assert (done.returncode, done.stdout, done.stderr) == (same.exit_code, same.stdout, same.stderr)


def test_bad_input_tells_file_and_count_then_a_line_a_fault(tmp_path: Path) -> None:
    file = written(tmp_path, project(lanes=[{"id": "a", "levels": {"open": 1}, "blocks": [], "x": 1}], y=2))
    done = shaftscore("check", file, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    first, *faults = done.stderr.splitlines()
    assert str(file) in first
    assert "2 faults" in first
    assert len(faults) == 2
    assert any(fault.startswith("lanes[0].x: ") for fault in faults)


@pytest.mark.parametrize(
    "command", [["check"], ["table", "--lane", "a"], ["export", "--out", "out"], ["faults"]]
)
def test_every_command_refuses_a_bad_file_alike(command: list[str], tmp_path: Path) -> None:
    file = written(tmp_path, "{")
    done = shaftscore(command[0], file, *command[1:], cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "1 fault" in done.stderr.splitlines()[0]
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == [file]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for name in (tmp_path / "none.shaft", tmp_path):
        done = shaftscore("check", name)
        assert done.returncode == 2
        assert str(name) in done.stderr.splitlines()[0]
        assert "Traceback" not in done.stderr


def test_table_is_csv_of_the_agreed_columns() -> None:
    done = shaftscore("table", CLEAN, "--lane", "mint", "--every", "90")
    assert (done.returncode, done.stderr) == (0, "")
    heads, *rows = csv.reader(io.StringIO(done.stdout))
    assert ",".join(heads) == (
        "theta_deg,s_mm,v_mm_s,a_mm_s2,j_mm_s3,pressure_angle_deg,pitch_x_mm,pitch_y_mm,"
        "profile_x_mm,profile_y_mm,radius_mm,curvature_1_mm,contact_n,torque_nm"
    )
    assert [row[0] for row in rows] == ["0", "90", "180", "270"]
    assert len(shaftscore("table", CLEAN, "--lane", "mint").stdout.splitlines()) == 361


def test_table_of_a_lane_without_motion(tmp_path: Path) -> None:
    clash = json.loads(project())
    clash["lanes"][0]["blocks"][1]["start_deg"] = 120
    done = shaftscore("table", written(tmp_path, json.dumps(clash)), "--lane", "a")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == "a has no motion: its findings say why\n"


def test_faults_say_what_would_be_seen_and_as_json(tmp_path: Path) -> None:
    file = written(tmp_path, project())
    done = in_process("faults", file)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "A1 is “closed”, not “open”:\n" in done.stdout
    assert "  A1 is stuck at “closed”. 1 sighting differs.\n" in done.stdout
    made = json.loads(in_process("faults", file, "--json").stdout)
    kinds = {fault["kind"] for group in made["groups"] for fault in group["faults"]}
    kinds |= {fault["kind"] for fault in made["invisible"]}
    assert {"wrong-way", "upside-down", "off-position", "disc-over", "stuck", "travel"} <= kinds
    empty = written(tmp_path, project(lanes=[]), "empty.shaft")
    assert in_process("faults", empty).stdout.startswith("Tee für zwei: ")


def test_faults_of_what_was_seen(tmp_path: Path) -> None:
    file = written(tmp_path, project())
    seen = written(
        tmp_path,
        "angle,A1\n60,closed\n110,closed\n115,closed\n120,closed\n240,closed\n245,closed\n250,closed\n",
        "seen.csv",
    )
    done = in_process("faults", file, "--seen", seen)
    assert (done.exit_code, done.stderr) == (0, "")
    assert done.stdout.startswith(
        "3 of 7 sightings differ.\n\n1  A1 is stuck at “closed”. 3 of 3 explained.\n"
    )
    made = json.loads(in_process("faults", file, "--seen", seen, "--json").stdout)
    assert made["clear"] is True
    assert made["groups"][0]["causes"][0]["faults"][0]["kind"] == "stuck"
    bad = written(tmp_path, "angle,A1\n20,opne\n", "bad.csv")
    for name, said in (
        (bad, 'line 2: "opne" is neither a level of a'),
        (tmp_path / "none.csv", "No such file"),
    ):
        refused = in_process("faults", file, "--seen", name)
        assert (refused.exit_code, refused.stdout) == (2, "")
        assert refused.stderr.startswith(f"{name}: {said}")


def test_export_writes_and_refuses(tmp_path: Path) -> None:
    file = written(tmp_path, project())
    done = shaftscore("export", file, "--out", tmp_path / "out", "--formats", "stl")
    assert (done.returncode, done.stderr) == (0, "")
    # The disc and the stack's fit coupon.
    assert sorted(path.suffix for path in (tmp_path / "out").iterdir()) == [".json", ".stl", ".stl"]
    assert "2 files written" in done.stdout
    refused = shaftscore("export", DRAFT, "--out", tmp_path / "draft")
    assert refused.returncode == 1
    assert len(refused.stderr.splitlines()) == 1
    assert not (tmp_path / "draft").exists()


def test_a_manual_alone_proves_nothing_and_says_so(tmp_path: Path) -> None:
    done = shaftscore("export", CLEAN, "--out", tmp_path / "out", "--formats", "pdf")
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().endswith("no disc file is among them, so nothing was proved.")


def test_export_of_what_changed_only(tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = shaftscore("export", written(tmp_path, project()), "--out", out, "--formats", "stl")
    assert "Parts: new A1" in first.stdout
    again = shaftscore("export", tmp_path / "tea.shaft", "--out", out, "--formats", "stl", "--only-changed")
    assert again.returncode == 0
    assert "unchanged A1" in again.stdout
    assert "0 files written" in again.stdout
    assert "2 files kept" in again.stdout


def test_export_to_a_disk_that_refuses_is_one_line(tmp_path: Path) -> None:
    file = written(tmp_path, project())
    taken = written(tmp_path, "", "taken")
    done = shaftscore("export", file, "--out", taken / "out", "--formats", "stl")
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_an_unknown_format_is_refused(tmp_path: Path) -> None:
    done = shaftscore(
        "export", written(tmp_path, project()), "--out", tmp_path / "out", "--formats", "stl,xyz"
    )
    assert done.returncode == 2
    assert "xyz" in done.stderr
    assert not (tmp_path / "out").exists()


def test_demo_without_a_display(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A small machine in place of the sample, of which every part is made: that takes half a minute."""
    small = written(tmp_path, project(), "tea_blender.shaft")
    monkeypatch.setattr("shaftscore_app.cli.demo.sample_folder", lambda: small.parent)
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    done = in_process("demo", "--out", tmp_path / "demo")
    assert "Nothing found in timing, parts." in done.stdout
    demo_was_made(tmp_path / "demo", done.exit_code, done.stdout, done.stderr)


def demo_was_made(folder: Path, code: int, said: str, failed: str) -> None:
    assert (code, failed) == (0, "")
    assert said.splitlines()[-1].startswith("There is no display, so the editor was not opened.")
    assert (folder / "tea_blender.shaft").exists()
    assert (folder / "discs" / "manifest.json").exists()


@pytest.mark.long
def test_demo_twice_into_one_folder(tmp_path: Path) -> None:
    for _ in range(2):
        done = shaftscore("demo", "--out", tmp_path / "demo")
        assert "Clean: nothing found." in done.stdout
        demo_was_made(tmp_path / "demo", done.returncode, done.stdout, done.stderr)


def test_the_editor_without_a_display() -> None:
    for arguments in ((), (CLEAN,)):
        done = shaftscore(*arguments)
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["check", "--help"], ["demo", "--help"]])
def test_help(arguments: list[str]) -> None:
    done = shaftscore(*arguments)
    assert (done.returncode, done.stderr) == (0, "")
    assert "shaftscore" in done.stdout


def test_a_terminal_that_knows_ascii_only_is_no_trouble(tmp_path: Path) -> None:
    file = written(tmp_path, project())
    done = shaftscore("check", file, PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.returncode == 0
    assert done.stdout.startswith("Tee für zwei: 1 lane\n")


def test_a_reader_that_goes_away_is_no_trouble(tmp_path: Path) -> None:
    command = f'"{sys.executable}" -m shaftscore_app table "{CLEAN}" --lane mint --every 0.01 | head -n 1'
    done = subprocess.run(
        command, shell=True, cwd=ROOT, capture_output=True, encoding="utf-8", check=False, timeout=300
    )
    assert done.stdout.startswith("theta_deg,")
    assert done.stderr == ""


LOADED = """
import sys
from shaftscore.base.samples import sample_folder
from shaftscore_app.cli.program import main
sys.argv = ["shaftscore", *sys.argv[1:]]
try:
    main()
except SystemExit:
    pass
import site
places = tuple(site.getsitepackages())
files = {name.split(".")[0]: getattr(module, "__file__", None) or "" for name, module in sys.modules.items()}
print(" ".join(sorted(name for name, file in files.items() if file.startswith(places))), file=sys.stderr)
assert "numpy.ma" not in sys.modules, "numpy's masked arrays take 15 ms to load"
"""


@pytest.mark.parametrize("options", [[], ["--json"]])
def test_check_loads_four_libraries_only(options: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOADED, "check", DRAFT, *options],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=300,
    )
    loaded = {name for name in done.stderr.split() if not name.startswith("_")}
    assert {"numpy", "pydantic", "typer"} <= loaded
    assert loaded - ALLOWED == set()


def test_export_into_another_machines_folder_is_refused_and_what_goes_is_named(tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = written(tmp_path, project(name="Puppet stage"), "first.shaft")
    assert shaftscore("export", first, "--out", out, "--formats", "stl,svg").returncode == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    lane = json.loads(project())["lanes"][0]
    other = written(tmp_path, project(lanes=[{**lane, "id": "b", "name": "Bell"}]), "other.shaft")
    refused = shaftscore("export", other, "--out", out, "--formats", "stl")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr == (
        f'{out} holds the export of another machine, "Puppet stage"; this one is "Tee für zwei": '
        "choose another folder\n"
    )
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    larger = project(name="Puppet stage", lanes=[{**lane, "disc": {"base_radius_mm": 40}}])
    done = shaftscore("export", written(tmp_path, larger, "first.shaft"), "--out", out, "--formats", "stl")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Removed, because A1 has changed: A1_a.svg.\n" in done.stdout
    assert "1 file of other formats is still true and is kept.\n" in done.stdout
