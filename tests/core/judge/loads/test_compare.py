"""All laws on one lane: each figure against the law's coefficients, and what is recommended."""

from __future__ import annotations

from math import inf, pi

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import use_law
from shaftscore.judge.loads import compare_laws
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.model import Block, Disc, Load, TranslatingRoller
from tests.core.judge.loads.test_forces import lane, loads_of, machine

RPM = 30.0
TIME_S = 90.0 / (6 * RPM)
"""Both moves of the lane take 90 degrees, 10 mm."""

LOAD = Load(moving_mass_g=100.0, spring_preload_n=20.0, spring_rate_n_per_mm=0.5)

PEAKS = {
    # law: peak velocity h/t, peak acceleration h/t², peak jerk h/t³. First two: from the definitions.
    "simple-harmonic": (pi / 2, pi**2 / 2, inf),
    "cycloidal": (2.0, 2 * pi, 4 * pi**2),
    # By differentiating 10 x³ - 15 x⁴ + 6 x⁵: 15/8, 10/sqrt(3), 60.
    "polynomial-345": (1.875, 5.7735, 60.0),
    "parabolic": (2.0, 4.0, inf),
    "constant-velocity": (1.0, inf, inf),
}


@pytest.mark.parametrize("law", PEAKS)
def test_peaks_are_those_of_the_law(law: str) -> None:
    row = compare_laws(machine(lane(LOAD), speed_rpm=RPM), "a").row(law)
    cv, ca, cj = PEAKS[law]
    assert row.velocity == pytest.approx(cv * 10 / TIME_S, rel=1e-4)
    assert row.acceleration == pytest.approx(ca * 10 / TIME_S**2, rel=1e-4)
    assert row.jerk == pytest.approx(cj * 10 / TIME_S**3, rel=1e-4)


def test_every_law_is_there_and_each_row_is_the_lane_solved_with_it() -> None:
    project = machine(lane(LOAD), speed_rpm=RPM)
    comparison = compare_laws(project, "a")
    assert [row.law for row in comparison.rows] == list(LAWS)
    for law in ("cycloidal", "polynomial-4567"):
        row, alone = comparison.row(law), loads_of(machine(lane(LOAD, law=law), speed_rpm=RPM))
        assert alone.peak_torque is not None
        assert alone.float_speed is not None
        assert row.torque_nm == pytest.approx(alone.peak_torque.value)
        assert row.top_rpm == pytest.approx(alone.float_speed.value)
        assert row.pressure_deg == pytest.approx(alone.profile.max_pressure_angle_deg)


def test_an_automatic_base_asks_for_the_smallest_disc_without_steps() -> None:
    wanted = compare_laws(machine(lane(LOAD, disc=Disc(base_radius_mm="auto")), speed_rpm=RPM), "a")
    smooth = [row for row in wanted.rows if row.steps == 0 and not row.undercut]
    assert wanted.recommended is not None
    best = wanted.row(wanted.recommended)
    assert best.steps == 0
    assert best.base_radius_mm <= 1.02 * min(row.base_radius_mm for row in smooth)
    assert best.title in wanted.reason
    assert "smallest disc" in wanted.reason
    assert "with a step in velocity" in wanted.reason


def test_a_given_base_asks_for_the_least_used_limit() -> None:
    comparison = compare_laws(machine(lane(LOAD), speed_rpm=RPM), "a")
    assert comparison.recommended is not None
    best = comparison.row(comparison.recommended)
    assert best.steps == 0
    smooth = [row for row in comparison.rows if row.steps == 0]
    assert best.pressure_used <= 1.02 * min(row.pressure_used for row in smooth) or best.top_rpm is not None
    assert "limits are used least" in comparison.reason


def test_a_law_that_lets_the_follower_float_is_left_out() -> None:
    """400 g at 300 rev/min with 9.5 N: cycloidal needs 10.1 N (2π h m / t²), modified sine 8.8 N.

    The modified sine's coefficient, 5.528, is from memory.
    """
    load = Load(moving_mass_g=400.0, spring_preload_n=9.5, spring_tolerance_percent=0.0)
    project = machine(lane(load), speed_rpm=300.0)
    comparison = compare_laws(project, "a")
    cycloidal, sine = comparison.row("cycloidal"), comparison.row("modified-sine")
    assert cycloidal.top_rpm is not None
    assert sine.top_rpm is not None
    assert cycloidal.top_rpm < 300.0 < sine.top_rpm
    assert comparison.recommended != "cycloidal"
    assert "over a limit" in comparison.reason


def test_a_law_under_which_the_guide_locks_is_said_so() -> None:
    """μ (1 + 2A/B) = 0.6 (1 + 2 x 30/10) = 4.2: the follower locks from atan(1/4.2) = 13.4 degrees on."""
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=6.0,
        guide_friction=0.6,
        guide_length_mm=10.0,
        overhang_mm=30.0,
    )
    project = machine(lane(LOAD, follower, disc=Disc(base_radius_mm=20.0)), speed_rpm=RPM)
    comparison = compare_laws(project, "a")
    for row in comparison.rows:
        locks = row.pressure_deg > 13.4
        assert (row.torque_nm == inf) == locks
        assert (row.stress_used == inf) == locks
    assert comparison.recommended is None
    assert comparison.reason.startswith("No law helps")


def test_without_a_load_there_is_no_torque_and_no_float() -> None:
    row = compare_laws(machine(lane(None), speed_rpm=RPM), "a").row("cycloidal")
    assert (row.torque_nm, row.top_rpm, row.stress_used) == (None, None, None)


def test_blocks_that_overlap_leave_no_law() -> None:
    blocks = (
        Block(level="up", start_deg=0.0, end_deg=180.0),
        Block(level="down", start_deg=90.0, end_deg=300.0),
    )
    comparison = compare_laws(machine(lane(LOAD, blocks=blocks), speed_rpm=RPM), "a")
    assert comparison.recommended is None
    assert comparison.reason.startswith("No law works: ")
    assert all(row.why_not for row in comparison.rows)


def test_using_a_law_clears_those_of_the_blocks_but_not_a_drop() -> None:
    blocks = (
        Block(level="up", start_deg=120.0, end_deg=180.0, law="parabolic"),
        Block(level="down", start_deg=300.0, end_deg=390.0, law="drop"),
    )
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0)
    edited = use_law(machine(lane(LOAD, follower, blocks=blocks)), "a", "cycloidal")
    changed = edited.project.lane("a")
    assert changed.law == "cycloidal"
    assert [block.law for block in changed.blocks] == [None, "drop"]
    assert edited.name == "Use cycloidal for a"


def test_a_lane_without_blocks_has_nothing_to_compare() -> None:
    with pytest.raises(EditError, match="no blocks"):
        compare_laws(machine(lane(LOAD, blocks=())), "a")
