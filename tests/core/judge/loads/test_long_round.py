"""Torque over a long round: distinct cycles against counting by whole numbers, figures against each cycle."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from shaftscore.judge.loads import machine_loads, springs_drive
from shaftscore.judge.loads.long_round import LongCamshaft, distinct_cycles, long_camshaft
from shaftscore.judge.report import examine
from shaftscore.kinematics.course import course_of
from shaftscore.model import Project, read_project
from shaftscore.solution import solve
from tests.core.test_counting import GEAR, GENEVA

LOAD = {
    "moving_mass_g": 20,
    "friction_n": 0,
    "spring_preload_n": 3,
    "spring_rate_n_per_mm": 0.5,
    "spring_tolerance_percent": 0,
}


def _lane(stack: str, dwells: list[tuple[str, float, float]]) -> dict[str, Any]:
    return {
        "id": f"on_{stack}",
        "stack": stack,
        "levels": {"off": 0, "on": 6},
        "blocks": [{"level": level, "start_deg": start, "end_deg": end} for level, start, end in dwells],
        "follower": {"kind": "translating-roller", "roller_radius_mm": 3, "contact_friction": 0},
        "disc": {"base_radius_mm": 40},
        "load": LOAD,
    }


def counter(*digits: str, **more: Any) -> Project:
    """Return a counter: a Geneva wheel steps the first digit, counted teeth each next one."""
    stacks: list[Any] = [
        {"id": "main"},
        {"id": digits[0], "steps_from": GENEVA | {"stack": "main", "start_deg": 180, "slots": 10}},
    ]
    for before, digit in pairwise(digits):
        stacks.append({"id": digit, "steps_from": GEAR | {"stack": before, "start_deg": 324}})
    lanes = [_lane(digit, [("on", 100, 190), ("off", 250, 410)]) for digit in digits]
    lanes += [_lane("main", [("on", 30, 60), ("off", 120, 330)])]
    raw = {"format": "shaftscore-project", "version": 2, "shaft": {"turn": "clockwise", "speed_rpm": 6}}
    return read_project(json.dumps(raw | {"stacks": stacks, "lanes": lanes} | more).encode(), "x")


def test_distinct_cycles_are_those_of_counting_with_carry() -> None:
    """Plain carry: ones move always; tens as ones go from 9 to 0; hundreds as tens do too: 9 + 9 + 10."""
    project = counter("ones", "tens", "hundreds")
    courses = {stack.id: course_of(project, stack) for stack in project.stacks}
    firsts, counts = distinct_cycles(courses, 1000)
    seen: dict[tuple[int, ...], list[int]] = {}
    for cycle in range(1000):
        ones, tens, hundreds = cycle % 10, cycle // 10 % 10, cycle // 100
        carry = ones == 9
        key = (ones, tens if carry else -1, hundreds if carry and tens == 9 else -1)
        seen.setdefault(key, []).append(cycle)
    assert len(seen) == 28
    assert {int(first): int(count) for first, count in zip(firsts, counts, strict=True)} == {
        cycles[0]: len(cycles) for cycles in seen.values()
    }


def test_slow_stacks_of_coprime_cycles_meet_in_all_of_them() -> None:
    project = counter("ones")
    stacks = [{"id": f"s{cycles}", "cycles": cycles} for cycles in (7, 11, 13)]
    raw = json.loads(json.dumps({"stacks": stacks}))
    lanes = [_lane(stack["id"], [("on", 30, 60), ("off", 120, 330)]) for stack in stacks]
    base = {"format": "shaftscore-project", "version": 2, "shaft": {"turn": "clockwise", "speed_rpm": 6}}
    project = read_project(json.dumps(base | raw | {"lanes": lanes}).encode(), "x")
    courses = {stack.id: course_of(project, stack) for stack in project.stacks}
    firsts, counts = distinct_cycles(courses, 1001)
    assert firsts.tolist() == list(range(1001))
    assert set(counts.tolist()) == {1}


@pytest.fixture(scope="module")
def hundred() -> LongCamshaft:
    found = long_camshaft(machine_loads(solve(counter("ones", "tens"))), Fraction(100))
    assert found is not None
    return found


def test_figures_are_those_of_every_cycle(hundred: LongCamshaft) -> None:
    """All 100 cycles one by one, at 720 places each."""
    places = (np.arange(100)[:, None] * 360.0 + np.arange(720)[None, :] * 0.5) / 100
    every = hundred.torque_at(places.ravel()).reshape(100, 720)
    assert hundred.peak is not None
    assert float(every.max()) <= hundred.peak.value + 1e-12
    assert hundred.peak.value == pytest.approx(float(every.max()), rel=5e-3)
    assert hundred.lowest.value == pytest.approx(float(every.min()), rel=5e-3)
    assert hundred.rms_nm == pytest.approx(float(np.sqrt(np.mean(every**2))), rel=2e-3)
    driven = springs_drive(hundred)
    assert not driven.is_empty
    inside = [theta for theta, nm in zip(places.ravel(), every.ravel(), strict=True) if nm < -1e-3]
    first = [theta for theta in inside if int(theta * 100 // 360) in hundred._firsts]
    assert all(driven.contains(theta) for theta in first)


def test_without_friction_no_work_is_left_over_after_a_round(hundred: LongCamshaft) -> None:
    """Conservation of energy: springs give back what they took up, so that the mean is 0."""
    assert hundred.mean_nm == pytest.approx(0.0, abs=2e-3 * hundred.rms_nm)


def test_a_counter_of_1000_cycles_is_judged_whole() -> None:
    """Its peak names the cycle; the one lane on the master rises in every cycle, the carry only adds."""
    motor = {"kind": "motor", "rated_speed_rpm": 6, "rated_torque_nm": 0.001, "turn": "clockwise"}
    report = examine(counter("ones", "tens", "hundreds", drive={"source": motor}))
    (weak,) = [one for one in report.findings if one.rule == "overload"]
    assert weak.cycles == 1000
    told = [one.facts.get("why", "") for one in report.findings if one.rule == "not-checked"]
    assert not [why for why in told if "torque of all lanes" in str(why)]
