"""Forces and torques against worked examples, each with its source."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest

from shaftscore.judge.loads.forces import guide_factor
from shaftscore.model import Block, Disc, Load, TranslatingRoller
from tests.core.judge.loads.test_forces import lane, loads_of, machine

LB_IN_N, IN_MM, LB_KG = 4.4482216152605, 25.4, 0.45359237


def test_guide_friction_multiplies_the_load() -> None:
    """H. A. Rothbart (ed.), Cam Design Handbook, McGraw-Hill 2004, p. 164, eq. 6.4 to 6.6.

    N / F for overhang 60, bearing length 80, μ 0.1: 1.17070 at 20°, 1.34948 at 30° (computed from the
    printed formula).
    """
    guide = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=5.0,
        guide_length_mm=80.0,
        overhang_mm=60.0,
        guide_friction=0.1,
    )
    for alpha, expected in ((20, 1.17070), (30, 1.34948)):
        grip = cos(radians(alpha)) - guide_factor(guide) * sin(radians(alpha))
        assert 1 / grip == pytest.approx(expected, abs=5e-6)


def test_a_cycloidal_follower_that_loses_contact() -> None:
    """Radial roller, cycloidal 10 mm in 120°, 1000 rpm, 15 N/mm preset by 2.5 mm, 1.8 kg, at 100°.

    A public exercise that prints no answer; computed by the formula: force -61.6881 N, torque by the
    force -147.269 N mm, contact lost above 864.911 rpm at this angle.
    """
    load = Load(moving_mass_g=1800, spring_rate_n_per_mm=15, spring_preload_n=37.5)
    blocks = (
        Block(level="up", start_deg=120.0, end_deg=180.0),
        Block(level="down", start_deg=300.0, end_deg=360.0),
    )
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0)
    loads = loads_of(machine(lane(load, roller, blocks=blocks), speed_rpm=1000))
    forces = loads.forces(np.array([100.0]), 1000.0)
    assert forces.driving_n[0] == pytest.approx(-61.6881, abs=1e-4)
    assert forces.driving_n[0] * forces.at.lift[1][0] == pytest.approx(-147.269, abs=1e-3)
    assert loads.forces(np.array([100.0]), 864.911).driving_n[0] == pytest.approx(0.0, abs=1e-3)


def test_parabolic_follower_of_the_handbook() -> None:
    """H. A. Rothbart (ed.), Cam Design Handbook, 2004, p. 227, fig. 8.7 (speed inferred: 1200 rpm).

    Skewed parabola of 1 1/4 in: 5/16 in in 40°, then 15/16 in in 120°; 2 lb, load 10 lb, spring 14 lb
    at rest and 51.2 lb/in. Printed: accelerations +20,200 and -6750 in/s², totals 130, 146, 7, 55 lb
    (the order of the figure's labels is inferred).
    """
    omega = 1200 * np.pi / 30
    gravity = 386.088
    rises = [(5 / 16, 40.0, +1), (15 / 16, 120.0, -1)]
    a = [sign * 2 * h * omega**2 / radians(beta) ** 2 for h, beta, sign in rises]
    assert a[0] == pytest.approx(20250.0, abs=0.5)
    assert a[1] == pytest.approx(-6750.0, abs=0.5)
    totals = [
        (2 / gravity * acceleration + 14 + 51.2 * lift + 12)
        for acceleration, lift in ((a[0], 0), (a[0], 5 / 16), (a[1], 5 / 16), (a[1], 1.25))
    ]
    assert totals == pytest.approx([130, 146, 7, 55], abs=1.1)


def test_spring_rate_of_the_handbook() -> None:
    """H. A. Rothbart (ed.), Cam Design Handbook, 2004, p. 227, fig. 8.7: spring 14, 30 and 78 lb (printed).

    At lifts of 0, 5/16 and 1 1/4 in, which is a rate of exactly 51.2 lb/in (computed). Read from the program
    in its dwells, where nothing but the spring presses.
    """
    load = Load(
        spring_preload_n=14 * LB_IN_N,
        spring_rate_n_per_mm=51.2 * LB_IN_N / IN_MM,
        moving_mass_g=2 * LB_KG * 1000,
    )
    blocks = (
        Block(level="change", start_deg=40.0, end_deg=60.0),
        Block(level="top", start_deg=160.0, end_deg=180.0),
        Block(level="rest", start_deg=300.0, end_deg=360.0),
    )
    levels = {"rest": 0.0, "change": 5 / 16 * IN_MM, "top": 1.25 * IN_MM}
    loads = loads_of(machine(lane(load, blocks=blocks, levels=levels), speed_rpm=60))
    pressed = loads.forces(np.array([330.0, 50.0, 170.0]), 60.0).driving_n
    assert pressed / LB_IN_N == pytest.approx([14, 30, 78], abs=1e-9)


def test_contact_is_lost_where_the_handbooks_figures_say() -> None:
    """The same example: 7 lb are left at the change (printed), and contact is lost there at 1315 rpm.

    That speed is computed from the printed figures: (30 + 12) lb / 35 lb = (n / 1200 rpm)². The second
    stretch, 15/16 in in 120°, is the second half of a symmetric parabola of 15/8 in in 240°, whose middle
    lies 5/8 in higher than the handbook's change: the preload makes that good.
    """
    higher_in = 15 / 16 - 5 / 16
    load = Load(
        moving_mass_g=2 * LB_KG * 1000,
        spring_preload_n=0.0,
        spring_rate_n_per_mm=51.2 * LB_IN_N / IN_MM,
        external_n=(14 + 12 - 51.2 * higher_in) * LB_IN_N,
    )
    blocks = (
        Block(level="up", start_deg=240.0, end_deg=250.0),
        Block(level="down", start_deg=350.0, end_deg=360.0),
    )
    made = lane(
        load,
        law="parabolic",
        blocks=blocks,
        levels={"down": 0.0, "up": 15 / 8 * IN_MM},
        disc=Disc(base_radius_mm=80.0),
    )
    loads = loads_of(machine(made, speed_rpm=1200))
    change = loads.forces(np.array([120.0]), 1200.0, "right").driving_n[0]
    assert change / LB_IN_N == pytest.approx(7, abs=0.1)
    lost = loads.forces(np.array([120.0]), 1315.0, "right").driving_n[0]
    assert lost / LB_IN_N == pytest.approx(0.0, abs=0.05)


def test_newton_and_pound_units() -> None:
    """1 lbf in = 112.985 N mm; the torque at the handbook's change-over: 146 lb (printed) x 0.895247 in."""
    assert pytest.approx(112.985, abs=5e-4) == LB_IN_N * IN_MM
    load = Load(
        moving_mass_g=2 * LB_KG * 1000,
        spring_preload_n=14 * LB_IN_N,
        spring_rate_n_per_mm=51.2 * LB_IN_N / IN_MM,
        external_n=12 * LB_IN_N,
    )
    # The first half of a symmetric parabola of 5/8 in in 80° is the handbook's first stretch.
    blocks = (
        Block(level="up", start_deg=80.0, end_deg=180.0),
        Block(level="down", start_deg=300.0, end_deg=360.0),
    )
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0)
    made = lane(
        load,
        roller,
        law="parabolic",
        blocks=blocks,
        levels={"down": 0.0, "up": 5 / 8 * IN_MM},
        disc=Disc(base_radius_mm=60.0),
    )
    forces = loads_of(machine(made, speed_rpm=1200)).forces(np.array([40.0]), 1200.0, "left")
    assert forces.torque_nm[0] / (LB_IN_N * IN_MM / 1000) == pytest.approx(146 * 0.895247, abs=0.9)
