"""A project of version 1 keeps its findings and its figures.

`versions/v1/figures.json` holds what the last release that wrote version 1 said of the samples as they
were then (`check --json`, cut to findings and some figures), but for float speeds, which are exact since
(up to 0.024 % lower), and sentinels, which are null. A check that version 2 adds and that has something
to say of them is named in `NEW`.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from shaftscore.judge.report import examine, report_json
from shaftscore.model import load_project

FOLDER = Path(__file__).parents[1] / "model" / "versions" / "v1"
SAID: dict[str, Any] = json.loads((FOLDER / "figures.json").read_bytes())
NEW: frozenset[str] = frozenset({"off-edge"})
"""Rules of version 2 that find something in machines of version 1."""


def assert_same(now: Any, then: Any) -> None:
    """Compare what is there in `then`, numbers to a billionth."""
    if isinstance(then, dict):
        for key, value in then.items():
            assert_same(now[key], value)
    elif isinstance(then, float):
        assert now == pytest.approx(then, rel=1e-9, abs=1e-9)
    else:
        assert now == then


@pytest.mark.parametrize("name", SAID)
def test_a_sample_of_version_1_has_the_findings_and_figures_that_it_had(name: str) -> None:
    made = report_json(examine(load_project(FOLDER / "samples" / f"{name}.shaft")))
    findings = [finding for finding in made["findings"] if finding["rule"] not in NEW]
    assert len(findings) == len(SAID[name]["findings"])
    for now, then in zip(findings, SAID[name]["findings"], strict=True):
        assert_same(now, then)
    for part in ("lanes", "drive", "margin"):
        assert_same(made[part], SAID[name][part])
