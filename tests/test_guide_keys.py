"""The guide's pages on printed objects name every key that the program prints, and no other column."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from shaftscore.judge.report import examine
from shaftscore.judge.report.json_object import report_json
from shaftscore.make.exporting.manifest import FileEntry, PartEntry
from shaftscore.make.table import COLUMNS
from shaftscore.model.loader import load_project

ROOT = Path(__file__).resolve().parents[1]
GUIDE, SAMPLES = ROOT / "docs" / "guide" / "reference", ROOT / "sample_projects"
NAMED = {"lanes", "heights", "fits", "shaft", "magazines", "states", "play_deg", "shift_deg", "deflection_mm"}
"""Objects whose keys are names of the project."""


def codes(page: str) -> set[str]:
    """Return the words that a page shows as code."""
    text = (GUIDE / page).read_text(encoding="utf-8")
    return {word for code in re.findall(r"`([^`\n]+)`", text) for word in re.findall(r"\w+", code)}


def keys(value: object, inside: str = "") -> Iterator[str]:
    """Yield the keys of an object and all in it, names of the project left out."""
    if isinstance(value, list):
        for one in value:
            yield from keys(one, inside)
    elif isinstance(value, dict):
        for key, one in value.items():
            if inside not in NAMED:
                yield key
            yield from keys(one, "" if inside in NAMED else key)


@pytest.mark.parametrize("sample", ["tea_blender", "tea_blender_first_draft", "tally_board"])
def test_the_page_of_check_names_every_key(sample: str) -> None:
    report = examine(load_project(SAMPLES / f"{sample}.shaft"))
    printed = set(keys(report_json(report)))
    assert len(printed) > 60
    assert sorted(printed - codes("check_json.md")) == []


def test_the_page_of_table_has_its_columns_in_their_order() -> None:
    text = (GUIDE / "table.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    assert [name for row in rows for name in re.findall(r"`(\w+)`", row)] == list(COLUMNS)


def test_the_page_of_the_manifest_names_every_field() -> None:
    fields = {*PartEntry.__dataclass_fields__, *FileEntry.__dataclass_fields__}
    assert sorted(fields - codes("manifest.md")) == []
