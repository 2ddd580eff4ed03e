"""The verdict is written beside what is exported: in the result, the manifest and on the first page."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf

from shaftscore.judge.report import coverage_text, examine, verdict_lines, verdict_text
from shaftscore.make.exporting import export_project
from shaftscore.make.manual.verdict import open_errors
from tests.core.judge.report.test_causes import starving
from tests.core.make.exporting.machines import one_sided


def test_result_manifest_and_first_page_say_what_check_says(tmp_path: Path) -> None:
    report = examine(one_sided())
    result = export_project(report, tmp_path, ["pdf"])
    assert result.verdict == verdict_lines(report) == (verdict_text(report), coverage_text(report))
    recorded = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))["verdict"]
    assert recorded["lines"] == list(result.verdict)
    assert recorded["coverage"]["shaft"] == "not-described"
    assert recorded["not_described"]["torque"][0] == "drive"
    first = " ".join(pypdf.PdfReader(tmp_path / "build_manual_a4.pdf").pages[0].extract_text().split())
    assert all(line in first for line in result.verdict)


def test_the_box_counts_causes_and_names_them() -> None:
    lines = open_errors(examine(starving()))
    assert lines[0] == "1 error was open when this was written"
    assert lines[1].startswith("Starvation: G")
    assert len(lines) == 2
    assert open_errors(examine(one_sided())) == []
