"""Findings of loads and drive: when they arise, what they say, and that their cures cure."""

from __future__ import annotations

import json
from math import pi, radians

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import examine, report_json
from shaftscore.model import Drive, Load, MotorSource, Project, Stage, TranslatingRoller, replaced
from tests.core.judge.loads.test_forces import lane, machine


def motor(turn: str = "counterclockwise", speed: float = 180.0, torque: float = 0.5) -> Drive:
    source = MotorSource(kind="motor", rated_speed_rpm=speed, rated_torque_nm=torque, turn=turn)
    return Drive(source=source, stages=(Stage(driver_teeth=10, driven_teeth=60, kind="external"),))


def of_rule(project: Project, rule: str) -> list[Finding]:
    return [finding for finding in examine(project).findings if finding.rule == rule]


def test_float_names_the_speed_and_a_preload_that_cures() -> None:
    project = machine(lane(Load(moving_mass_g=900, spring_preload_n=1)), speed_rpm=120)
    (finding,) = of_rule(project, "float")
    assert finding.severity is Severity.ERROR
    said = words(finding, project)
    assert said.what.startswith("Loses contact above ")
    assert "; the machine runs at 120.0." in said.what
    assert said.cure.startswith("Preload ")
    cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    assert not of_rule(cured, "float")
    less = replaced(cured.lanes[0].load, spring_preload_n=cured.lanes[0].load.spring_preload_n - 0.11)
    assert of_rule(replaced(cured, lanes=(replaced(cured.lanes[0], load=less),)), "float")


def test_contact_stress_over_the_weaker_material() -> None:
    project = machine(lane(Load(spring_preload_n=300)))
    (finding,) = of_rule(project, "contact-stress")
    assert finding.severity is Severity.WARNING
    assert finding.limit == pytest.approx(30.0)  # PLA, the disc
    assert not of_rule(machine(lane(Load(spring_preload_n=3))), "contact-stress")


def test_self_locking_guide() -> None:
    guide = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=6.0,
        guide_length_mm=5.0,
        overhang_mm=80.0,
        guide_friction=0.4,
    )
    (finding,) = of_rule(machine(lane(Load(spring_preload_n=3), guide)), "self-locking")
    assert finding.facts["move"] == "rise"
    assert finding.value > finding.limit


def test_acceleration_jump_only_where_it_costs_contact_force() -> None:
    soft = Load(moving_mass_g=200, spring_preload_n=5)
    assert not of_rule(machine(lane(soft, law="simple-harmonic"), speed_rpm=5), "acceleration-jump")
    assert not of_rule(machine(lane(soft, law="cycloidal"), speed_rpm=120), "acceleration-jump")
    (note,) = of_rule(machine(lane(soft, law="parabolic"), speed_rpm=120), "acceleration-jump")
    assert note.severity is Severity.NOTE
    weak = Load(moving_mass_g=200, spring_preload_n=0.6)
    (warning,) = of_rule(machine(lane(weak, law="parabolic"), speed_rpm=120), "acceleration-jump")
    assert warning.severity is Severity.WARNING


def test_the_step_of_the_parabola_is_twice_its_acceleration() -> None:
    """At mid stroke it steps from +4 h ω²/β² to -4 h ω²/β² (Ca = 4, from memory of the handbooks' tables)."""
    load = Load(moving_mass_g=200, spring_preload_n=5)
    (note,) = of_rule(machine(lane(load, law="parabolic"), speed_rpm=120), "acceleration-jump")
    beta, omega = 90 * 3.141592653589793 / 180, 120 * 3.141592653589793 / 30
    assert note.value == pytest.approx(0.2 * 8 * 0.010 * omega**2 / beta**2, rel=1e-6)


def test_overload_wrong_hand_and_off_speed() -> None:
    loaded = machine(lane(Load(spring_preload_n=40)))
    good = replaced(loaded, drive=motor())
    assert not {f.rule for f in examine(good).findings} & {"overload", "wrong-hand", "off-speed"}
    (overload,) = of_rule(replaced(loaded, drive=motor(torque=0.02)), "overload")
    assert overload.value > overload.limit == pytest.approx(0.02 * 6 * 0.95 / 1.5)
    (hand,) = of_rule(replaced(loaded, drive=motor(turn="clockwise")), "wrong-hand")
    assert words(hand, loaded).what == (
        "The drive train turns the shaft counterclockwise; the program is for clockwise."
    )
    (speed,) = of_rule(replaced(loaded, drive=motor(speed=190.0)), "off-speed")
    assert speed.value == pytest.approx(190 / 6)
    assert not of_rule(replaced(loaded, drive=motor(speed=183.5)), "off-speed")  # 1.9 % off


def test_figures_in_the_json() -> None:
    project = replaced(machine(lane(Load(spring_preload_n=40)), lane(None, id="b")), drive=motor())
    shown = report_json(examine(project))
    a, b, drive = shown["lanes"]["a"], shown["lanes"]["b"], shown["drive"]
    assert a["peak_torque_nm"] > 0
    assert a["min_contact_n"] == pytest.approx(40.0)
    assert a["float_speed_rpm"] is None  # without mass no speed loses contact
    assert all(
        b[key] is None for key in ("peak_torque_nm", "min_contact_n", "float_speed_rpm", "max_contact_mpa")
    )
    assert drive["peak_torque_nm"] == pytest.approx(a["peak_torque_nm"])
    assert drive["allowed_torque_nm"] == pytest.approx(0.5 * 6 * 0.95 / 1.5)
    assert drive["shaft_turn"] == "clockwise"
    assert drive["shaft_speed_rpm"] == pytest.approx(30.0)
    assert a["base_governed_by"] == "given"
    assert a["offset_mm"] == 0.0
    assert a["peak_jerk_mm_s3"] == pytest.approx(4 * pi**2 * 10 * (pi / radians(90)) ** 3, rel=1e-9)
    assert a["wanted_preload_n"] == 0.0
    assert drive["energy_j"] > 0
    assert 0 < drive["start_torque_nm"] <= drive["start_allowed_nm"]
    assert all(0 <= end < 360 for stretch in drive["springs_drive"] for end in stretch)
    assert {"float", "contact-stress", "self-locking", "overload", "wrong-hand"} <= set(shown["checked"])


@pytest.mark.parametrize("external_n", [-999_985.0, -999_995.0, -1_000_000.0])
def test_a_preload_that_no_field_holds_is_no_edit(external_n: float) -> None:
    """The file format bounds a force by 1e6 N: what is a little over it must not end the check."""
    project = machine(lane(Load(moving_mass_g=10.0, external_n=external_n)), speed_rpm=1.0)
    (finding,) = of_rule(project, "float")
    assert finding.cure is not None
    if finding.cure.edit is None:
        assert finding.cure.sentence.startswith("No spring that can be given")
    else:
        cured = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
        assert not of_rule(cured, "float")


STILL_LINK = (
    {"roller_mm": 0, "output_mm": 0},
    {"roller_mm": 50, "output_mm": 1},
    {"roller_mm": 60, "output_mm": 20},
)


@pytest.mark.parametrize(
    ("load", "follower"),
    [
        (
            Load(external_n=5.0, friction_n=50.0),
            {"guide_length_mm": 1.0, "overhang_mm": 100.0, "guide_friction": 1.0},
        ),
        (Load(moving_mass_g=100.0, at="output"), {"link": STILL_LINK}),
        (Load(moving_mass_g=100.0, spring_preload_n=1.0, at="output"), {"link": STILL_LINK}),
    ],
)
@pytest.mark.parametrize("rpm", [1e-3, 1e4])
def test_no_warning_of_arithmetic_leaves_an_extreme_machine(load: Load, follower: dict, rpm: float) -> None:
    """Warnings fail a test: 0 friction times the infinite force of a locked guide, and the like."""
    kind = {"kind": "translating-roller", "roller_radius_mm": 6.0, "contact_friction": 0.0}
    one = lane(load, TranslatingRoller(**kind, **follower))
    report = examine(machine(one, speed_rpm=rpm))
    json.dumps(report_json(report), allow_nan=False)
