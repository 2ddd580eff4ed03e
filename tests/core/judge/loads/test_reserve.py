"""Springs against friction: closed forms, plain numbers and a second route."""

from __future__ import annotations

import json
from math import pi, radians

import numpy as np
import pytest
from scipy.optimize import brentq

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.loads import machine_loads, springs_drive
from shaftscore.judge.report import QUICK, examine, report_json
from shaftscore.model import (
    CoilSpring,
    FrictionCase,
    Lane,
    Limits,
    Load,
    Project,
    Stack,
    TranslatingRoller,
    replaced,
)
from shaftscore.solution import solve
from tests.core.judge.loads.test_forces import lane, loads_of, machine

FALL_DEG, LIFT_MM = 120.0, 10.0
"""Of the fall of `lane`, cycloidal, from 180 to 300 degrees; it rests until 390 and rises until 480."""


def weak(project: Project) -> list[Finding]:
    return [finding for finding in examine(project, stage=QUICK).findings if finding.rule == "weak-spring"]


def figures(project: Project, lane_id: str = "a") -> dict:
    return report_json(examine(project, stage=QUICK))["lanes"][lane_id]


def fallen(x: float) -> float:
    """Lift at a share of the cycloidal fall, mm: h (1 - x + sin 2πx / 2π)."""
    return LIFT_MM * (1 - x + np.sin(2 * pi * x) / (2 * pi))


def test_a_spring_that_just_equals_its_friction_sticks() -> None:
    """0.40 N against a friction of 0.39 N; at rest it holds 1.3 x 0.39 = 0.507 N."""
    project = machine(lane(Load(spring_preload_n=0.40, friction_n=0.39)))
    (finding,) = weak(project)
    assert finding.severity is Severity.ERROR
    assert finding.value == pytest.approx(0.40 / 0.507)
    assert (
        "0.40 N return the follower, friction and inertia hold it with 0.51 N" in words(finding, project).what
    )
    shown = figures(project)
    assert shown["spring_reserve"] == pytest.approx(0.40 / 0.507)
    assert shown["sticks_at_deg"] == [[pytest.approx(180.0, abs=1e-6), pytest.approx(30.0, abs=1e-6)]]


@pytest.mark.parametrize(
    ("preload", "severity", "how"),
    [
        (0.507, Severity.ERROR, "sticks"),  # the edge itself sticks
        (0.508, Severity.WARNING, "weakest-sticks"),
        (0.633, Severity.WARNING, "weakest-sticks"),  # 0.8 x 0.633 < 0.507
        (0.635, Severity.WARNING, "reserve"),  # 0.8 x 0.635 > 0.507, and 0.635 < 1.5 x 0.507
        (0.760, Severity.WARNING, "reserve"),
        (0.761, None, ""),  # 1.5 x 0.507 = 0.7605
    ],
)
def test_the_edges_of_error_and_warning(preload: float, severity: Severity | None, how: str) -> None:
    found = weak(machine(lane(Load(spring_preload_n=preload, friction_n=0.39))))
    assert [(one.severity, one.facts["how"]) for one in found] == ([(severity, how)] if severity else [])


def test_the_reserve_that_is_required_is_the_projects() -> None:
    tight = lane(Load(spring_preload_n=0.761, friction_n=0.39))
    assert weak(replaced(machine(tight), limits=Limits(force_reserve=1.6)))
    assert not weak(replaced(machine(tight), limits=Limits(force_reserve=1.4)))


@pytest.mark.parametrize("rpm", [0.01, 120.0, 300.0])
def test_inertia_counts_where_it_acts_against_the_fall(rpm: float) -> None:
    """B = 1.3 f + m 2π h / t² with the cycloid's greatest acceleration; at no speed it is statics alone.

    Peak acceleration 2π h / t² by differentiating the cycloid twice.
    """
    load = Load(moving_mass_g=400, spring_preload_n=20.0, external_n=3.0, friction_n=2.0)
    time = FALL_DEG / (6 * rpm)
    required = 1.3 * 2.0 + 0.4 * 2 * pi * LIFT_MM / 1000 / time**2
    shown = figures(machine(lane(load), speed_rpm=rpm))
    assert shown["spring_reserve"] == pytest.approx(23.0 / required, rel=1e-6)
    assert (required < 2.6 * (1 + 1e-6)) == (rpm < 1)


def test_it_sticks_where_the_springs_force_has_become_too_small() -> None:
    """0.5 N + 0.1 N/mm x lift = 1.3 x 0.6 N at a lift of 2.8 mm; solved on the cycloid by another route."""
    shown = figures(machine(lane(Load(spring_preload_n=0.5, spring_rate_n_per_mm=0.1, friction_n=0.6))))
    share = brentq(lambda x: fallen(x) - 2.8, 0.0, 1.0, xtol=1e-14)
    assert shown["sticks_at_deg"] == [
        [pytest.approx(180.0 + FALL_DEG * share, abs=1e-6), pytest.approx(30.0, abs=1e-6)]
    ]
    assert shown["spring_reserve"] == pytest.approx(0.5 / 0.78)


def test_the_case_with_the_most_friction_is_named() -> None:
    cases = (FrictionCase(name="dry", friction_n=0.1), FrictionCase(name="Damp tea", friction_n=0.39))
    project = machine(lane(Load(spring_preload_n=0.40, frictions=cases)))
    (finding,) = weak(project)
    assert "(Damp tea)" in words(finding, project).what
    assert not weak(machine(lane(Load(spring_preload_n=0.40, frictions=cases[:1]))))


CURABLE = [
    Load(spring_preload_n=0.40, friction_n=0.39),
    Load(spring_preload_n=0.1, spring_rate_n_per_mm=0.3, friction_n=0.9, moving_mass_g=200),
    Load(spring_preload_n=4.0, external_n=-3.0, friction_n=0.6, spring_tolerance_percent=40.0),
    Load(spring_preload_n=1.0, friction_n=0.6, moving_mass_g=200, at="output", static_ratio=2.0),
]


@pytest.mark.parametrize("load", CURABLE)
def test_the_preload_cures_and_0_2_less_does_not(load: Load) -> None:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, output_ratio=1.5)
    project = machine(lane(load, follower), speed_rpm=100)
    (finding,) = weak(project)
    assert finding.cure is not None
    assert finding.cure.edit is not None
    cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    assert not weak(cured)
    now = cured.lanes[0].load.spring_preload_n
    assert finding.cure.sentence.startswith(f"Preload {now:.1f} N, ")
    less = replaced(load, spring_preload_n=now - 0.2)
    assert weak(machine(lane(less, follower), speed_rpm=100))


def test_the_rate_that_is_named_would_do_too() -> None:
    """Where it is weak at the top of the fall alone: at the start a heavy slide, above the lowest place."""
    load = Load(spring_preload_n=2.0, spring_rate_n_per_mm=0.01, friction_n=0.6, moving_mass_g=900)
    project = machine(lane(load), speed_rpm=140)
    (finding,) = weak(project)
    rate = float(finding.cure.sentence.split("rate ")[1].split(" N/mm")[0])
    assert not weak(machine(lane(replaced(load, spring_rate_n_per_mm=rate)), speed_rpm=140))
    assert weak(machine(lane(replaced(load, spring_rate_n_per_mm=rate - 0.03)), speed_rpm=140))


def test_no_spring_cures_where_its_tolerance_is_all_of_it() -> None:
    load = Load(spring_preload_n=2.0, friction_n=0.6, spring_tolerance_percent=100.0)
    (finding,) = weak(machine(lane(load)))
    assert finding.cure is not None
    assert not finding.cure.is_edit


def test_grooves_do_not_stick() -> None:
    groove = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, closure="groove")
    project = machine(lane(Load(friction_n=5.0), groove))
    assert not weak(project)
    shown = figures(project)
    assert shown["spring_reserve"] is None
    assert shown["sticks_at_deg"] is None


def test_without_friction_and_mass_there_is_no_reserve_to_name() -> None:
    shown = figures(machine(lane(Load(spring_preload_n=1.0))))
    assert shown["spring_reserve"] is None
    assert shown["sticks_at_deg"] == []
    assert figures(machine(lane(None)))["sticks_at_deg"] is None


def test_a_rider_counts_with_its_own_load() -> None:
    host = lane(Load(spring_preload_n=5.0, friction_n=0.39))
    rider = Lane(
        id="r",
        kind="rider",
        disc_of="a",
        station_deg=90.0,
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0),
        load=Load(spring_preload_n=0.40, friction_n=0.39),
    )
    (finding,) = weak(machine(host, rider))
    assert finding.lanes == ("r",)


def test_a_stack_that_turns_three_times_sticks_in_three_places() -> None:
    stacks = (Stack(id="main"), Stack(id="fast", turns=3))
    weak_one = lane(Load(spring_preload_n=0.40, friction_n=0.39), stack="fast")
    shown = figures(machine(weak_one, stacks=stacks))
    assert shown["sticks_at_deg"] == [
        [pytest.approx(60.0 + 120 * k, abs=1e-6), pytest.approx((130.0 + 120 * k) % 360, abs=1e-6)]
        for k in range(3)
    ]


# Which friction and which spring count


CASES = (FrictionCase(name="clean", friction_n=0.5), FrictionCase(name="dirty", friction_n=2.0))


def test_float_takes_the_least_friction_on_rises_and_the_most_on_falls() -> None:
    """Contact goes where preload + 0.5 N = m a on the rise, or preload - 2 N = m a on the fall."""
    load = Load(moving_mass_g=500, spring_preload_n=10, frictions=CASES)
    rise, fall = radians(90.0), radians(FALL_DEG)
    slows = [
        (10.5 / (0.5 * 2 * pi * 0.010 / rise**2)) ** 0.5,
        (8.0 / (0.5 * 2 * pi * 0.010 / fall**2)) ** 0.5,
    ]
    limit = loads_of(machine(lane(load))).float_speed
    assert limit is not None
    assert limit.value == pytest.approx(min(slows) * 30 / pi, rel=1e-7)


def test_contact_stress_takes_the_strongest_spring() -> None:
    """The pressure of a line contact grows with the root of the force (Hertz): 1.2 times the force, √1.2."""
    wide, exact = (
        loads_of(machine(lane(Load(spring_preload_n=10, spring_tolerance_percent=percent))))
        for percent in (20.0, 0.0)
    )
    assert wide.peak_pressure.value == pytest.approx(exact.peak_pressure.value * 1.2**0.5, rel=1e-9)


def test_the_energy_of_a_turn_is_that_of_the_most_friction_and_overrun_that_of_the_least() -> None:
    """Springs give back what they take; friction f over 10 mm up and down takes 2 f h: 40 and 10 N mm."""
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0)
    load = Load(moving_mass_g=100, spring_preload_n=30, spring_rate_n_per_mm=0.4, frictions=CASES)
    shaft = machine_loads(solve(machine(lane(load, follower)))).camshaft
    assert shaft.energy_j * 1000 == pytest.approx(2 * 2.0 * LIFT_MM, rel=5e-3)
    assert 2 * pi * float(np.mean(shaft.overrun)) * 1000 == pytest.approx(2 * 0.5 * LIFT_MM, rel=2e-2)
    assert shaft.lowest.value == float(np.min(shaft.overrun)) < float(np.min(shaft.total))
    assert not springs_drive(shaft).is_empty


def test_torque_takes_the_strongest_spring_and_the_most_friction() -> None:
    """A constant force F over a cycloidal rise h in β needs F 2h/β: 1.2 x 30 N + 2 N."""
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0)
    load = Load(spring_preload_n=30, frictions=CASES)
    peak = figures(machine(lane(load, follower)))["peak_torque_nm"]
    assert peak * 1000 == pytest.approx(38.0 * 2 * LIFT_MM / radians(90.0), rel=1e-6)


# A described spring

SPRING = {"kind": "compression", "wire_mm": 2.0, "coil_mm": 18.0, "active_coils": 9.0, "free_mm": 60.0}


def described(**changes: object) -> Load:
    return Load(spring=CoilSpring.model_validate({**SPRING, "installed_mm": 50.0, **changes}))


def test_a_described_spring_acts_with_the_force_of_the_book() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-8, p. 229: d 2, D 18, n 9, G 81000: 3.08642 N/mm.

    The book prints 3.000, off by integer division. Music wire has G 81500 here, so 3.10547 N/mm: 31.0547 N
    at 10 mm of compression, 15.5274 N more at a lift of 5 mm.
    """
    rate = 3.08642 * 81_500 / 81_000
    shown = figures(machine(lane(described())))
    assert shown["min_contact_n"] == pytest.approx(10 * rate, rel=2e-6)
    high = lane(described(), levels={"down": 5.0, "up": 10.0})
    assert figures(machine(high))["min_contact_n"] == pytest.approx(15 * rate, rel=2e-6)


def test_a_ratio_counts_once_for_the_travel_and_once_for_the_force() -> None:
    """Work: at a ratio of 0.5 preload halves and the rate is a quarter."""
    rate = 3.08642 * 81_500 / 81_000
    high = lane(described(ratio=0.5), levels={"down": 4.0, "up": 10.0})
    assert figures(machine(high))["min_contact_n"] == pytest.approx(5 * rate + rate, rel=2e-6)


def test_the_tolerance_of_a_described_spring_is_that_of_en_15800() -> None:
    """Grade 2 as printed in secondary sources (tests/published): d 0.8, D 8, n 10 at 5 N: ±1.13087 N."""
    spring = {"wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 10.0, "free_mm": 30.0}
    load = described(**spring, installed_mm=30.0 - 5.0 / 0.815)
    force = load.spring_force
    assert force.preload_n == pytest.approx(5.0)
    assert float(force.at(0.0, -1.0)) == pytest.approx(5.0 - 1.13087, abs=2e-5)
    assert float(force.at(0.0, 1.0)) == pytest.approx(5.0 + 1.13087, abs=2e-5)
    few = described(active_coils=1.5)  # outside of the standard: the stated percent
    assert float(few.spring_force.at(0.0, 1.0)) == pytest.approx(1.2 * few.spring_force.preload_n)


def test_a_described_spring_that_is_too_weak_is_installed_shorter() -> None:
    spring = {"wire_mm": 0.6, "coil_mm": 8.0, "active_coils": 12.0, "free_mm": 40.0, "installed_mm": 37.0}
    load = replaced(described(**spring), friction_n=1.0)
    project = machine(lane(load))
    (finding,) = weak(project)
    assert finding.cure is not None
    assert finding.cure.edit is not None
    cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    made = cured.lanes[0].load.spring
    assert finding.cure.sentence.startswith(
        f"Install the spring at {made.installed_mm:.1f} mm instead of 37.0 mm"
    )
    assert not weak(cured)
    longer = replaced(load, spring=replaced(load.spring, installed_mm=made.installed_mm + 0.2))
    assert weak(machine(lane(longer)))


def test_where_no_length_does_the_preload_is_named() -> None:
    spring = {"wire_mm": 0.3, "coil_mm": 8.0, "active_coils": 12.0, "free_mm": 20.0, "installed_mm": 18.0}
    (finding,) = weak(machine(lane(replaced(described(**spring), friction_n=1.0))))
    assert finding.cure is not None
    assert not finding.cure.is_edit
    assert finding.cure.sentence.startswith("A spring with a preload of ")


# What a described spring bears


def strained(load: Load) -> dict[tuple[str, str], Finding]:
    found = examine(machine(lane(load)), stage=QUICK).findings
    return {(f.rule, str(f.facts.get("how", ""))): f for f in found if f.rule.startswith("spring-")}


def test_coils_that_touch_and_a_longer_spring() -> None:
    """Solid length (10 + 2) x 0.8 = 9.6 mm, closed ends; installed at 19.5 mm, 10 mm leave 9.5 mm."""
    spring = {"wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 10.0, "free_mm": 22.0}
    assert ("spring-solid", "") not in strained(described(**spring, installed_mm=19.7))
    project = machine(lane(described(**spring, installed_mm=19.5)))
    finding = strained(project.lanes[0].load)["spring-solid", ""]
    assert finding.severity is Severity.ERROR
    assert (finding.value, finding.limit) == (pytest.approx(9.5), pytest.approx(9.6))
    assert finding.start_deg == pytest.approx(120.0, abs=60.0)
    cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    made = cured.lanes[0].load
    assert ("spring-solid", "") not in strained(made)
    assert made.spring_force.preload_n == pytest.approx(
        described(**spring, installed_mm=19.5).spring_force.preload_n
    )


def test_stress_over_half_of_the_wires_strength() -> None:
    """d 0.8, D 8: 225.828 MPa at 5 N (tests/published), and 0.5 x 2211 / 0.8^0.145 = 1141.85 MPa allowed.

    That is 25.28 N, 31.02 mm of compression at 0.815 N/mm.
    """
    spring = {"wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 10.0, "free_mm": 60.0}
    edge = 1141.85 / 225.828 * 5 / 0.815 - 10.0
    assert ("spring-stress", "stress") not in strained(described(**spring, installed_mm=60.0 - edge + 0.1))
    project = machine(lane(described(**spring, installed_mm=60.0 - edge - 0.1)))
    finding = strained(project.lanes[0].load)["spring-stress", "stress"]
    assert finding.severity is Severity.WARNING
    assert finding.limit == pytest.approx(1141.85, abs=0.1)
    cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    made = cured.lanes[0].load
    assert ("spring-stress", "stress") not in strained(made)
    assert made.spring_force.rate_n_per_mm == pytest.approx(0.815, rel=0.01)


def test_an_extension_spring_is_judged_at_its_longest() -> None:
    """2 N and 0.815 N/mm over 20 mm are 18.3 N: 225.828 / 5 x 18.3 = 826.5 MPa (tests/published)."""
    spring = {"wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 10.0, "free_mm": 30.0}
    pulled = described(kind="extension", **spring, installed_mm=40.0, initial_n=2.0)
    assert not strained(pulled)
    taut = described(kind="extension", **spring, installed_mm=50.0, initial_n=2.0)
    finding = strained(taut)["spring-stress", "stress"]
    assert finding.value == pytest.approx(225.828 / 5 * (2.0 + 0.815 * 30), rel=1e-5)


def test_a_slender_spring_buckles() -> None:
    """Free length 80 over a coil of 8 is 10, far over 5.26 (tests/published)."""
    spring = {"wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 20.0, "free_mm": 80.0}
    found = strained(described(**spring, installed_mm=60.0))
    assert set(found) == {("spring-stress", "buckles")}
    assert found["spring-stress", "buckles"].value == pytest.approx(30.0)
    assert not strained(described(**{**spring, "free_mm": 40.0}, installed_mm=36.0))


def test_the_json_of_a_described_spring_is_plain() -> None:
    json.dumps(report_json(examine(machine(lane(described(installed_mm=60.0))))), allow_nan=False)
