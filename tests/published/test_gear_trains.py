"""Gear trains against worked textbook examples, each with its source."""

from __future__ import annotations

import pytest

from shaftscore.judge.loads import drive as train
from shaftscore.model import CrankSource, Drive, MotorSource, Stage


def geared(speed_rpm: float, torque_nm: float, *stages: tuple[int, int], efficiency: float = 1.0) -> Drive:
    source = MotorSource(kind="motor", rated_speed_rpm=speed_rpm, rated_torque_nm=torque_nm, turn="clockwise")
    made = tuple(
        Stage(driver_teeth=a, driven_teeth=b, kind="external", efficiency=efficiency) for a, b in stages
    )
    return Drive(source=source, stages=made, torque_reserve=1.0)


def test_compound_train() -> None:
    """R. S. Khurmi and J. K. Gupta, Theory of Machines, 14th ed. 2009, example 13.1: 975 rpm give 52 rpm."""
    drive = geared(975, 1, (20, 50), (25, 75), (26, 65))
    assert train.shaft_speed_rpm(drive) == pytest.approx(52.0)


def test_two_stages_multiply_torque() -> None:
    """T. H. Wentzell, Machine Design, Cengage 2007, example 11.1: 60/20 x 60/20, 3600 rpm, 200 lb in.

    Printed: 400.00 rpm and 1800.00 lb in, without losses.
    """
    drive = geared(3600, 200, (20, 60), (20, 60))
    assert train.shaft_speed_rpm(drive) == pytest.approx(400.0)
    assert train.given_torque_nm(drive) == pytest.approx(1800.0)


def test_an_idler_changes_the_sense_alone() -> None:
    """T. H. Wentzell, Machine Design, Cengage 2007, example 11.2: 65/20 x 22/20 x 60/22, 3000 rpm.

    Printed: ratio 9.75, 307.69 rpm; the idler of 22 teeth cancels and flips the sense.
    """
    drive = geared(3000, 1, (20, 65), (20, 22), (22, 60))
    plain = geared(3000, 1, (20, 65), (20, 60))
    assert train.ratio(drive) == pytest.approx(9.75)
    assert train.shaft_speed_rpm(drive) == pytest.approx(307.69, abs=0.005)
    assert train.ratio(plain) == pytest.approx(9.75)
    assert train.shaft_turn(drive) != train.shaft_turn(plain)


def test_losses_multiply() -> None:
    """Three meshes of 0.97 each (common practice, no source) leave 0.912673 of the torque."""
    drive = geared(100, 1, (20, 20), (20, 20), (20, 20), efficiency=0.97)
    assert train.given_torque_nm(drive) == pytest.approx(0.912673)


@pytest.mark.parametrize(
    ("stages", "from_below", "turn"),
    [
        ([], False, "clockwise"),
        ([], True, "counterclockwise"),
        ([("external", None)], False, "counterclockwise"),
        ([("external", None), ("external", None)], False, "clockwise"),
        ([("internal", None), ("belt", None), ("chain", None)], False, "clockwise"),
        ([("bevel", True)], False, "counterclockwise"),
        ([("bevel", False)], False, "clockwise"),
        ([("worm", True), ("external", None)], False, "clockwise"),
    ],
)
def test_sense_of_rotation(stages: list[tuple[str, bool | None]], from_below: bool, turn: str) -> None:
    """External meshes reverse, internal ones, belts and chains do not (any textbook)."""
    source = MotorSource(
        kind="motor", rated_speed_rpm=10, rated_torque_nm=1, turn="clockwise", from_below=from_below
    )
    made = tuple(Stage(driver_teeth=10, driven_teeth=20, kind=kind, reverses=flips) for kind, flips in stages)
    assert train.shaft_turn(Drive(source=source, stages=made)) == turn


def test_a_crank_gives_force_times_radius() -> None:
    drive = Drive(source=CrankSource(kind="crank", radius_mm=80.0, turn="clockwise"))
    assert train.allowed_torque_nm(drive) == pytest.approx(20 * 0.080 / 1.5)
    assert train.shaft_speed_rpm(drive) is None


def test_springs_cannot_run_a_poor_worm() -> None:
    worm = Stage(driver_teeth=1, driven_teeth=30, kind="worm", reverses=False, efficiency=0.45)
    source = MotorSource(kind="motor", rated_speed_rpm=90, rated_torque_nm=1, turn="clockwise")
    assert not train.can_overrun(Drive(source=source, stages=(worm,)))
    assert train.can_overrun(geared(100, 1, (20, 60)))


def test_a_start_has_the_stall_torque_where_it_is_given() -> None:
    """Torque out = torque in x ratio x efficiencies (any textbook of machine elements), from stall."""
    source = MotorSource(
        kind="motor", rated_speed_rpm=90, rated_torque_nm=0.2, stall_torque_nm=0.6, turn="clockwise"
    )
    stage = Stage(driver_teeth=12, driven_teeth=60, kind="belt", efficiency=0.9)
    drive = Drive(source=source, stages=(stage,))
    assert train.starting_torque_nm(drive) == pytest.approx(0.6 * 5 * 0.9)
    assert train.starting_torque_nm(geared(90, 0.2, (12, 60))) == pytest.approx(1.0)
