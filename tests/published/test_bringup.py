"""Rolling on slopes and wear against published values, each with its source."""

from __future__ import annotations

import pytest

from shaftscore.bringup.rolling import GRAVITY, ball_run, block_run
from shaftscore.built.wear_rates import WEAR_RATES, archard_depth_mm, wear_rate


def test_ball_rolls_with_five_sevenths() -> None:
    """a = (5/7) g sin β, "More about rolling motion" (miniphysics.com), computed at 10° over 100 mm.

    30°: 3.5 m/s² printed with g 9.8 in a set of exercises (questions.zollege.in, rolling solid sphere).
    """
    run = ball_run(10.0, 100.0, 8.0)
    assert run.acceleration_m_s2 == pytest.approx(1.21636, abs=6e-6)
    assert run.time_s == pytest.approx(0.405493, abs=6e-7)
    assert ball_run(30.0, 100.0, 8.0).acceleration_m_s2 * 9.8 / GRAVITY == pytest.approx(3.5)


def test_ball_needs_two_sevenths_of_the_slope_to_roll() -> None:
    """μ >= (2/7) tan β, same page: 0.164957 at 30°."""
    least = ball_run(30.0, 100.0, 8.0).least_friction
    assert least == pytest.approx(0.164957, abs=6e-7)
    assert ball_run(30.0, 100.0, 8.0, friction=least).rolls
    assert not ball_run(30.0, 100.0, 8.0, friction=least - 1e-6).rolls


def test_sphere_that_slips() -> None:
    """McLean, Engineering Mechanics, Schaum, 16-6, p. 338: 30°, μ 0.10: a = 13.3 ft/s²."""
    run = ball_run(30.0, 100.0, 8.0, friction=0.10)
    assert not run.rolls
    assert run.acceleration_m_s2 / 0.3048 == pytest.approx(13.3, abs=0.05)


def test_resistance_stops_a_ball_on_a_gentle_slope() -> None:
    """sin φ = (b / r) cos φ: radius 8 mm, arm 0.4 mm: it rests below atan 0.05 = 2.86° (computed)."""
    assert ball_run(2.86, 100.0, 8.0, arm_mm=0.4).acceleration_m_s2 <= 0
    assert ball_run(2.87, 100.0, 8.0, arm_mm=0.4).acceleration_m_s2 > 0


def test_block_slides() -> None:
    """a = g (sin φ - μ cos φ): 25°, μ 0.30, 150 mm: 1.47812 m/s², 0.450512 s (computed).

    Verma, Concepts of Physics 1, 6.4, p. 90: it slides evenly at 15° with μ 0.268.
    """
    run = block_run(25.0, 150.0, 0.30)
    assert run.acceleration_m_s2 == pytest.approx(1.47812, abs=6e-6)
    assert run.time_s == pytest.approx(0.450512, abs=6e-7)
    assert block_run(15.0, 150.0, 0.268).acceleration_m_s2 == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(
    ("value", "text"), [((0.0, 1.0, 1.0), "slope"), ((5.0, 0.0, 1.0), "length"), ((5.0, 1.0, 0.0), "radius")]
)
def test_impossible_slopes_are_refused(value: tuple[float, float, float], text: str) -> None:
    with pytest.raises(ValueError, match=text):
        ball_run(*value)


@pytest.mark.parametrize(("pressure_mpa", "um_per_km"), [(0.05, 22), (0.09, 20), (0.1, 30)])
def test_printed_pla(pressure_mpa: float, um_per_km: float) -> None:
    """doi 10.2478/msp-2025-0039, tables: linear wear of printed PLA, µm by km."""
    row = wear_rate("PLA", "steel", printed=True)
    assert row is not None
    low, high = (archard_depth_mm(rate, pressure_mpa, 1000) * 1000 for rate in (row.least, row.most))
    assert low <= um_per_km * 1.01
    assert high >= um_per_km * 0.99


def test_moulded_pairs() -> None:
    """rtpcompany.com, 800 series: wear factors 26e-8 and 265e-8 mm³/(N·m) of POM and PA 66 on one another.

    A nose of 4 x 0.5 mm under 3 N that slides 20 mm a turn at 3e-4 loses 0.2 mm in 22,222 turns (computed).
    """
    assert wear_rate("POM", "nylon", printed=False).most == pytest.approx(26e-8)
    assert wear_rate("nylon", "POM", printed=False).most == pytest.approx(265e-8)
    assert archard_depth_mm(3e-4, 3 / 2, 0.020 * 22_222.2) == pytest.approx(0.2, rel=1e-5)


def test_what_is_not_published_is_not_known() -> None:
    assert wear_rate("PETG", "steel", printed=True) is None
    assert wear_rate("POM", "nylon", printed=True) is None  # moulded alone
    assert all(row.source for row in WEAR_RATES)
