"""What is said once of a file of version 1."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from shaftscore.judge.findings import found
from shaftscore.judge.report import QUICK, examine, migrated_text
from shaftscore.judge.report import migrated as module
from shaftscore.model.loader import load_file, read_file

OLD = Path(__file__).parents[2] / "model" / "versions" / "v1" / "samples" / "tea_blender.shaft"

HEAD = "File version 1 described the drawing; the built machine is judged now: fits, heights, shaft."


def test_the_version_of_a_file_is_known_after_reading() -> None:
    loaded = load_file(OLD)
    assert (loaded.version, loaded.is_migrated) == (1, True)
    assert loaded.project.version == 2
    raw = json.loads(OLD.read_text(encoding="utf-8")) | {"version": 2}
    for stack in raw.get("stacks", ()):
        stack.pop("clamped", None)
    now = read_file(json.dumps(raw).encode(), "now")
    assert (now.version, now.is_migrated) == (2, False)


def test_it_names_what_is_judged_now_and_what_is_assumed_or_not_described() -> None:
    report = examine(load_file(OLD).project, stage=QUICK)
    old = replace(report, findings=(), causes=())
    said = migrated_text(old)
    assert said == f"{HEAD} Assumed until you state it: fits and heights. Not described: shaft."
    assert "\n" not in said


def test_it_counts_what_only_the_new_rules_find(monkeypatch: pytest.MonkeyPatch) -> None:
    report = examine(load_file(OLD).project, stage=QUICK)
    both = (found("overlap", ("mint",)), found("undercut", ("mint",)), found("undercut", ("rose",)))
    made = replace(report, findings=both, causes=(None, None, None))
    assert "New:" not in migrated_text(made)
    monkeypatch.setattr(module, "NEW_RULES", frozenset({"undercut"}))
    assert migrated_text(made).startswith(f"{HEAD} New: 2 errors (Undercut). Assumed")
