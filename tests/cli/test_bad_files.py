"""The corpus of malformed files through the command line: exit code 2, a line a fault, never a traceback."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from shaftscore.make.files.names import file_stem, is_plain_name
from shaftscore_app.cli.program import BAD, app
from tests.core.model.test_malformed import BYTES, CASES, GOOD


def corpus() -> dict[str, bytes]:
    """Return all malformed files by name."""
    files = {name: data for name, (data, _, _) in BYTES.items()}
    for number, (change, path, _) in enumerate(CASES):
        project = copy.deepcopy(GOOD)
        change(project)
        files[f"{number} {path}"] = json.dumps(project).encode()
    return files


FILES = corpus()
OTHERS = (["check", "--json"], ["table", "--lane", "mint"], ["export", "--out", "out"])
"""All read a file alike: each refuses every third one, and `check` all."""


@pytest.mark.parametrize(("number", "name"), list(enumerate(FILES)), ids=list(FILES))
def test_a_malformed_file_is_two_and_a_line_a_fault(
    number: int, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "bad.shaft"
    path.write_bytes(FILES[name])
    other = [OTHERS[number % len(OTHERS)]] if len(FILES[name]) < 10_000 else []
    for command in (["check"], *other):
        done = CliRunner().invoke(app, [command[0], str(path), *command[1:]])
        assert done.exit_code == BAD, done.output
        assert done.stdout == ""
        first, *faults = done.stderr.splitlines()
        more = faults[-1:] == ["and more"]
        count = len(faults) - more
        assert first == f"{path}: {count}{' or more' if more else ''} fault{'' if count == 1 else 's'}"
        assert all(line.strip() for line in faults)
        assert "Traceback" not in done.output
    assert not (tmp_path / "out").exists()


def test_the_corpus_is_large_enough() -> None:
    """With the files in which each value in turn is at fault (test_versions), over a thousand."""
    assert len(FILES) > 150


HOSTILE = (
    "../../evil",
    "/etc/passwd",
    "..",
    "C:\\x",
    "a\nb",
    "con",
    "a/b",
    "gpj.exe",
    "x" * 200,
    "~root",
)


def test_names_in_a_project_never_lead_out_of_the_export_folder(tmp_path: Path) -> None:
    gate = {
        "levels": {"closed": 0, "open": 10},
        "blocks": [
            {"level": "open", "start_deg": 100, "end_deg": 130},
            {"level": "closed", "start_deg": 170, "end_deg": 420},
        ],
    }
    lanes = [{"id": f"l{n}", "name": name, "group": name, **gate} for n, name in enumerate(HOSTILE)]
    raw = {
        "format": "shaftscore-project",
        "version": 1,
        "name": "../../../evil",
        "shaft": {"turn": "clockwise", "speed_rpm": 6},
        "stacks": [{"id": "main", "name": "../stack"}],
        "lanes": lanes,
    }
    folder = tmp_path / "deep" / "er"
    folder.mkdir(parents=True)
    (folder / "evil.shaft").write_text(json.dumps(raw), "utf-8")
    (folder / "mine.txt").write_text("mine", "utf-8")
    before = set(tmp_path.rglob("*"))
    out = folder / "out"
    arguments = ["export", str(folder / "evil.shaft"), "--out", str(out), "--formats", "stl,svg,csv"]
    done = CliRunner().invoke(app, [*arguments, "--despite-errors"])
    assert done.exit_code == 0, done.output
    made = set(tmp_path.rglob("*")) - before
    assert all(out in (path, path.parent) for path in made)
    assert len(made) > 3 * len(HOSTILE)
    assert all(is_plain_name(path.name) for path in made - {out})


@settings(max_examples=300)
@given(st.from_regex(r"\A[A-Z]{1,2}[0-9]{1,2}\Z"), st.text(max_size=200))
def test_any_name_makes_a_plain_file_name(code: str, label: str) -> None:
    assert is_plain_name(f"{file_stem(code, label)}.stl")
    assert is_plain_name(f"{file_stem('plates', label)}.3mf")
