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

from shaftscore.judge.report import QUICK, examine, report_json
from shaftscore.model import Project, load_project, replaced

FOLDER = Path(__file__).parents[1] / "model" / "versions" / "v1"
SAID: dict[str, Any] = json.loads((FOLDER / "figures.json").read_bytes())
NEW: frozenset[str] = frozenset({"off-edge", "unlikely", "thin-margin"})
"""Rules of version 2 that find something in machines of version 1: their discs are tightened as they lie."""

EXACT = {"fit_spread_mm": 0.0, "station_mm": 0.0, "zero_mm": 0.0}
"""Tolerances that version 1 did not know."""


def exact(project: Project) -> Project:
    """Return a project with the fits that version 1 assumed: none of its discs has any play."""
    stacks = tuple(replaced(stack, fit_clearance_mm=0.0) for stack in project.stacks)
    return replaced(project, stacks=stacks, tolerances=replaced(project.tolerances, **EXACT))


def assert_same(now: Any, then: Any) -> None:
    """Compare what is there in `then`, numbers to a billionth."""
    if isinstance(then, dict):
        for key, value in then.items():
            assert_same(now[key], value)
    elif isinstance(then, float):
        assert now == pytest.approx(then, rel=1e-9, abs=1e-9)
    else:
        assert now == then


def sample(name: str) -> Project:
    return load_project(FOLDER / "samples" / f"{name}.shaft")


def with_exact_springs(project: Project) -> Project:
    """Leave out the tolerance of springs, which version 1 did not know."""
    lanes = [
        lane if lane.load is None else replaced(lane, load=replaced(lane.load, spring_tolerance_percent=0.0))
        for lane in project.lanes
    ]
    return replaced(project, lanes=tuple(lanes))


@pytest.mark.parametrize("name", SAID)
def test_a_sample_of_version_1_has_the_findings_and_figures_that_it_had(name: str) -> None:
    made = report_json(examine(with_exact_springs(sample(name)), cures=False))
    findings = [finding for finding in made["findings"] if finding["rule"] not in NEW]
    assert len(findings) == len(SAID[name]["findings"])
    for now, then in zip(findings, SAID[name]["findings"], strict=True):
        assert_same(now, then)
    for part in ("lanes", "drive"):
        assert_same(made[part], SAID[name][part])
    assert_same(made["margin"], {"smallest_deg": SAID[name]["margin"]["smallest_deg"]})


SPRUNG = {"peak_torque_nm", "mean_torque_nm", "rms_torque_nm", "energy_j", "start_torque_nm"}
"""Figures that count the strongest spring within its tolerance, 20 % where a file says nothing of it."""


@pytest.mark.parametrize("name", SAID)
def test_the_tolerance_of_its_springs_changes_torque_alone(name: str) -> None:
    made, then = report_json(examine(sample(name), stage=QUICK)), SAID[name]
    pairs = [(made["drive"], then["drive"])]
    pairs += [(made["lanes"][lane], figures) for lane, figures in then["lanes"].items()]
    for now, before in pairs:
        kept = {key: value for key, value in before.items() if key not in SPRUNG}
        assert_same(now, kept)
        for key in SPRUNG & before.keys():
            assert before[key] < now[key] <= 1.2 * before[key]


@pytest.mark.parametrize("name", SAID)
def test_without_clearance_the_chance_and_the_worst_case_are_those_of_version_1(name: str) -> None:
    project = exact(load_project(FOLDER / "samples" / f"{name}.shaft"))
    now, then = report_json(examine(project, cures=False))["margin"], dict(SAID[name]["margin"])
    chance = then.pop("chance")  # of other machines, 10,000 of them: it lies within the interval of these
    assert isinstance(now, dict)
    assert now["chance_low"] <= chance <= now["chance_high"]
    assert_same(now, then)
