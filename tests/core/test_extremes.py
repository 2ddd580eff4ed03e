"""Extreme but legal projects: every figure is finite, or a finding says why there is none.

Moves of 0.01 degree, lifts of 0.01 mm and 2 m, 1e-3 to 1e4 rev/min, every law and follower, 1,000 lanes.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.errors import ExportError
from shaftscore.judge.findings import words
from shaftscore.judge.report import FULL, QUICK, ExaminationStage, Report, examine, report_json
from shaftscore.make.exporting import export_project
from shaftscore.make.table import TableError, angles, lane_table
from shaftscore.model import Project, read_project
from tests.strategies import LAWS

ODD = re.compile(r"(?<![A-Za-z])(?:nan|inf|infinity|none)(?![A-Za-z])", re.IGNORECASE)
NUMBERLESS = re.compile(r"(?<![A-Za-z])(?:nan|inf|infinity)(?![A-Za-z])", re.IGNORECASE)
LOAD = {"moving_mass_g": 50, "friction_n": 1, "spring_preload_n": 5, "spring_rate_n_per_mm": 0.5}
MOTOR = {"kind": "motor", "rated_speed_rpm": 60, "rated_torque_nm": 0.5, "turn": "clockwise"}
FOLLOWERS: dict[str, dict[str, Any]] = {
    "roller": {"kind": "translating-roller", "roller_radius_mm": 5},
    "offset": {
        "kind": "translating-roller",
        "roller_radius_mm": 5,
        "offset_mm": "auto",
        "guide_length_mm": 30,
    },
    "knife": {"kind": "translating-roller", "roller_radius_mm": 0},
    "groove": {"kind": "translating-roller", "roller_radius_mm": 5, "closure": "groove"},
    "flat": {"kind": "translating-flat", "face_width_mm": 40},
    "arm": {
        "kind": "swinging-roller",
        "roller_radius_mm": 5,
        "arm_mm": 60,
        "pivot_distance_mm": 70,
        "pivot_side": "clockwise",
    },
}


def lane(
    lane_id: str, move_deg: float, lift_mm: float, law: str, follower: str, **more: Any
) -> dict[str, Any]:
    """A lane up and down with one short move and one long one."""
    rise = {"level": "high", "start_deg": 20 + move_deg, "end_deg": 180}
    return {
        "id": lane_id,
        "levels": {"low": 0, "high": lift_mm},
        "blocks": [{"level": "low", "start_deg": 0, "end_deg": 20}, rise],
        "law": "modified-sine" if law == "drop" else law,
        "follower": FOLLOWERS[follower],
        "load": LOAD,
        **more,
    }


def project(lanes: list[dict[str, Any]], rpm: float, **more: Any) -> Project:
    raw = {
        "format": "shaftscore-project",
        "version": 1,
        "shaft": {"turn": "clockwise", "speed_rpm": rpm},
        "drive": {"source": MOTOR},
        "lanes": lanes,
        **more,
    }
    return read_project(json.dumps(raw).encode(), "extreme")


def judged(machine: Project, *, stage: ExaminationStage = FULL) -> Report:
    """Examine a project; all that would be shown or printed of it must be of finite numbers."""
    report = examine(machine, stage=stage)
    json.dumps(report_json(report), allow_nan=False)
    for finding in report.findings:
        said = words(finding, machine)
        for text in (said.title, said.where, said.what, said.cure):
            assert not ODD.search(text), text
    for name, solved in report.solution.lanes.items():
        explained = any(name in finding.lanes for finding in report.findings)
        assert solved.profile is not None or explained, name
    return report


def table_of(machine: Project, lane_id: str) -> list[list[str]]:
    """Return a lane's table as the command line writes it; every cell is empty or a finite number."""
    out = io.StringIO()
    csv.writer(out).writerows(lane_table(machine, lane_id, angles(15.0)))
    rows = list(csv.reader(io.StringIO(out.getvalue())))
    for row in rows[1:]:
        assert all(cell == "" or math.isfinite(float(cell)) for cell in row), row
    return rows


@pytest.mark.parametrize("laws", [LAWS[::4], pytest.param(LAWS, marks=pytest.mark.long)], ids=["some", "all"])
@pytest.mark.parametrize(("lift_mm", "rpm"), [(0.01, 1e4), (10.0, 1e-3), (2000.0, 1e4)])
@pytest.mark.parametrize("follower", FOLLOWERS)
def test_every_law_on_every_follower_with_moves_of_a_hundredth_degree(
    follower: str, lift_mm: float, rpm: float, laws: tuple[str, ...]
) -> None:
    lanes = [lane(f"l{n}", 0.01, lift_mm, law, follower) for n, law in enumerate(laws)]
    machine = project(lanes, rpm)
    judged(machine, stage=QUICK)
    for one in machine.lanes[:2]:
        try:
            assert len(table_of(machine, one.id)) == 25
        except TableError as error:
            assert str(error)  # noqa: PT017 - a lane without a disc has no table, and is told so


@pytest.mark.parametrize("rpm", [1e-3, 1e4])
def test_a_drop_at_any_speed(rpm: float) -> None:
    fall = {"level": "low", "start_deg": 180.01, "end_deg": 360, "law": "drop"}
    blocks = [{"level": "high", "start_deg": 60, "end_deg": 180}, fall]
    judged(project([lane("l", 1.0, 10.0, "modified-sine", "roller", blocks=blocks)], rpm))


@settings(max_examples=12)
@given(
    move=st.sampled_from([0.0001, 0.01, 1.0, 150.0]),
    lift=st.sampled_from([1e-6, 0.01, 5.0, 2000.0]),
    rpm=st.sampled_from([1e-3, 1.0, 1e4]),
    law=st.sampled_from([law for law in LAWS if law != "drop"]),
    follower=st.sampled_from(sorted(FOLLOWERS)),
    load=st.sampled_from(
        [
            {},
            {"moving_mass_g": 1e6},
            {"spring_preload_n": 1e6, "spring_rate_n_per_mm": 1e6},
            {"external_n": -1e6, "friction_n": 1e6},
        ]
    ),
)
def test_any_mixture_of_extremes(**extremes: Any) -> None:
    made = lane(
        "l",
        extremes["move"],
        extremes["lift"],
        extremes["law"],
        extremes["follower"],
        load={key: min(value, 1e5) for key, value in extremes["load"].items()},
    )
    judged(project([made], extremes["rpm"]))


@pytest.mark.parametrize("count", [100, pytest.param(1000, marks=pytest.mark.long)])
def test_a_thousand_lanes(count: int) -> None:
    plain = {"load": None, "disc": {"base_radius_mm": 40}}
    lanes = [lane(f"l{n}", 30.0, 5.0, "modified-sine", "roller", **plain) for n in range(count)]
    lanes = [{key: value for key, value in one.items() if value is not None} for one in lanes]
    report = judged(project(lanes, 6.0), stage=QUICK)
    assert len(report.solution.lanes) == count
    assert all(solved.profile is not None for solved in report.solution.lanes.values())


@pytest.mark.parametrize(("move_deg", "lift_mm", "rpm"), [(0.01, 0.01, 1e4), (40.0, 0.01, 1e-3)])
def test_exported_files_hold_finite_numbers_or_are_refused(
    tmp_path: Path, move_deg: float, lift_mm: float, rpm: float
) -> None:
    machine = project([lane("l", move_deg, lift_mm, "cycloidal", "roller")], rpm)
    formats = ("stl", "dxf", "svg", "csv", "3mf")
    try:
        result = export_project(machine, tmp_path / "out", formats, despite_errors=True)
    except ExportError as error:
        assert not ODD.search(str(error)), error  # noqa: PT017 - it may be refused, with its reason
        return
    for name in result.files:
        path = result.out / name
        if path.suffix in (".dxf", ".svg", ".csv"):
            assert not NUMBERLESS.search(path.read_text("utf-8")), name
        if path.suffix == ".stl":
            record = np.dtype([("numbers", "<f4", 12), ("attribute", "<u2")])
            assert np.isfinite(np.frombuffer(path.read_bytes(), record, offset=84)["numbers"]).all()
