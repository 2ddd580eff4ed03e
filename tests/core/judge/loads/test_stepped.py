"""Loads of lanes on stepped stacks, against the conservation of energy."""

from __future__ import annotations

import json
from fractions import Fraction

import numpy as np
import pytest

from shaftscore.judge.loads import LaneLoads, MachineLoads, machine_loads
from shaftscore.judge.loads.cases import CONTACT
from shaftscore.judge.report import examine, report_json
from shaftscore.model import Project, read_project
from shaftscore.solution import solve
from shaftscore.solution.rounds import over_round

SPRING = {"spring_preload_n": 3, "spring_rate_n_per_mm": 0.5, "spring_tolerance_percent": 0}


def stepped(load: dict[str, float], **more: object) -> Project:
    """Return a lane on a wheel of 6 slots that rises by 8 mm in its first step and falls in its fourth."""
    stage = {"kind": "geneva", "stack": "main", "start_deg": 90, "slots": 6}
    sizes = {"centre_distance_mm": 60, "pin_diameter_mm": 4, "thickness_mm": 6}
    blocks = [
        {"level": "low", "start_deg": 230, "end_deg": 370},
        {"level": "high", "start_deg": 50, "end_deg": 190},
    ]
    raw = {
        "format": "shaftscore-project",
        "version": 2,
        "shaft": {"turn": "clockwise", "speed_rpm": 30},
        "stacks": [{"id": "main"}, {"id": "wheel", "steps_from": stage | sizes}],
        "lanes": [
            {
                "id": "arm",
                "stack": "wheel",
                "levels": {"low": 0, "high": 8},
                "blocks": sorted(blocks, key=lambda block: float(block["start_deg"])),  # type: ignore[arg-type]
                "load": SPRING | load,
                "follower": {"kind": "translating-roller", "roller_radius_mm": 4, "contact_friction": 0},
                "disc": {"base_radius_mm": 40},
            }
        ],
    }
    return read_project(json.dumps(raw | more).encode(), "stepped.shaft")


def machine_of(project: Project) -> MachineLoads:
    return machine_loads(over_round(solve(project), Fraction(6), {"arm"}))


def loads_of(project: Project) -> LaneLoads:
    return machine_loads(solve(project)).lanes["arm"]


def test_the_work_of_a_step_is_what_the_spring_takes_up() -> None:
    """Without friction the torque by the master's angle stores 3 N 8 mm + 0.5 N/mm (8 mm)^2 / 2 = 40 mJ."""
    loads = machine_of(stepped({"moving_mass_g": 40, "friction_n": 0})).camshaft
    cycles = 6.0
    cycle = np.linspace(0.0, 360.0, 200_001)
    torque = loads.torque_at(cycle / cycles) / cycles
    work = np.trapezoid(torque, np.radians(cycle))
    assert work == pytest.approx(0.040, rel=1e-5)
    assert torque[(cycle < 89) | (cycle > 211)] == pytest.approx(0.0, abs=1e-12)
    all_cycles = np.linspace(0.0, 360.0, 600_001)
    assert np.trapezoid(loads.torque_at(all_cycles), np.radians(all_cycles)) == pytest.approx(0.0, abs=1e-6)
    assert loads.peak is not None
    assert loads.peak.value == pytest.approx(float(torque.max()) * cycles, rel=1e-6)


def test_contact_is_lost_just_above_the_speed_found() -> None:
    loads = loads_of(stepped({"moving_mass_g": 400, "friction_n": 0}))
    limit = loads.float_speed
    assert limit is not None
    own = np.linspace(0.0, 360.0, 400_001)
    for speed, holds in ((limit.value * 0.999, True), (limit.value * 1.001, False)):
        assert bool(np.all(loads.forces(own, speed, case=CONTACT).driving_n > 0)) is holds


def test_a_wheel_that_is_too_quick_lets_its_follower_float() -> None:
    heavy = examine(stepped({"moving_mass_g": 9000, "friction_n": 0}))
    (lost,) = [one for one in heavy.findings if one.rule == "float"]
    assert lost.cycles == 6
    figures = report_json(heavy)["lanes"]["arm"]  # type: ignore[index]
    assert figures["float_speed_rpm"] == pytest.approx(lost.value)
    assert figures["min_contact_n"] < 0


def test_the_torque_of_a_stepped_lane_counts_at_the_motor() -> None:
    motor = {"kind": "motor", "rated_speed_rpm": 30, "rated_torque_nm": 0.001, "turn": "clockwise"}
    report = examine(stepped({"moving_mass_g": 40, "friction_n": 0}, drive={"source": motor}))
    (weak,) = [one for one in report.findings if one.rule == "overload"]
    peak = machine_of(report.project).camshaft.peak
    assert peak is not None
    assert weak.value == pytest.approx(peak.value / 6, rel=1e-3)
