"""Friction, seat and gear efficiency against worked examples, each with its source."""

from __future__ import annotations

from math import atan, degrees

import numpy as np
import pytest

from shaftscore.built.efficiency import back_driving_efficiency, worm_efficiency
from shaftscore.judge.spread.contact import ContactTable, SeatErrors
from shaftscore.model import Disc, TranslatingRoller
from shaftscore.solution import solve
from tests.machines import lane, machine


def test_worm_of_a_worked_example() -> None:
    """U. C. Jindal, Machine Design, 2010, example 28-4, p. 728: z 2, q 8, μ 0.032, 20°, 1.2 kW in.

    Printed: 1.047 kW out, 0.153 kW lost.
    """
    share = worm_efficiency(degrees(atan(2 / 8)), 0.032)
    assert 1.2 * share == pytest.approx(1.047, abs=6e-4)
    assert 1.2 * (1 - share) == pytest.approx(0.153, abs=6e-4)


def test_worm_of_a_second_worked_example() -> None:
    """U. C. Jindal, Machine Design, 2010, example 28-5: z 2, q 10, μ 0.028: efficiency 0.865."""
    assert worm_efficiency(degrees(atan(2 / 10)), 0.028) == pytest.approx(0.865, abs=6e-4)


def test_worm_by_the_plain_formula() -> None:
    """T. H. Wentzell, Machine Design, 2007, example 13.6, p. 288: lead 4.77°, friction 0.03: 0.73.

    Its formula has no pressure angle.
    """
    assert worm_efficiency(4.77, 0.03, pressure_angle_deg=0.0) == pytest.approx(0.73, abs=6e-3)


@pytest.mark.parametrize(
    ("lead", "percent"),
    [(1, 25.2), (2.5, 45.7), (5, 62.6), (7.5, 71.3), (10, 76.6), (15, 82.7), (20, 85.9), (30, 89.1)],
)
def test_worm_efficiencies_of_the_handbook(lead: float, percent: float) -> None:
    """Shigley's Mechanical Engineering Design, table of worm-set efficiencies, from memory: f 0.05, 14.5°."""
    assert 100 * worm_efficiency(lead, 0.05, pressure_angle_deg=14.5) == pytest.approx(percent, abs=0.06)


@pytest.mark.parametrize(
    ("friction", "lead", "percent"),
    [(0.1, 5, 46.2552), (0.1, 10, 62.6858), (0.1, 20, 75.5917), (0.3, 5, 21.9858), (0.3, 20, 48.8317)],
)
def test_worm_efficiencies_computed(friction: float, lead: float, percent: float) -> None:
    """tan λ / tan(λ + ρ), formula of novasolver.jp/en/tools/worm-gear.html, computed (no printed value).

    Self-locking where the lead is under the friction angle: 5.71° at 0.1.
    """
    assert 100 * worm_efficiency(lead, friction, pressure_angle_deg=0.0) == pytest.approx(percent, abs=6e-5)
    assert (back_driving_efficiency(5.70, 0.1, 0.0), back_driving_efficiency(5.72, 0.1, 0.0) > 0) == (
        0.0,
        True,
    )


def test_lift_error_of_a_disc_off_its_axis() -> None:
    """Disc 0.1 mm off, follower in line, base 30 and roller 8: e cos φ, at most 0.1 mm, computed.

    The exact -e cos φ + √((R + Rr)² - e² sin² φ) differs by the second order, 0.000131579 mm.
    """
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=8.0)
    still = lane("A", ("closed", 0, 360), follower=follower, disc=Disc(base_radius_mm=30.0))
    profile = solve(machine(still)).lanes["a"].profile
    assert profile is not None
    turn, nothing = np.linspace(0, 2 * np.pi, 361), np.zeros(361)
    at = ContactTable.of(profile)
    seat = SeatErrors(at, "anywhere", 0.1 * np.cos(turn), 0.1 * np.sin(turn), nothing, nothing)
    first_order = seat.lift_mm(0.0)
    phi = turn - np.angle(at.normal_at(0.0))
    exact = 0.1 * np.cos(phi) + np.sqrt(38**2 - (0.1 * np.sin(phi)) ** 2) - 38
    assert np.abs(first_order).max() == pytest.approx(0.1)
    assert np.abs(first_order - exact).max() == pytest.approx(0.000131579, abs=1e-9)
