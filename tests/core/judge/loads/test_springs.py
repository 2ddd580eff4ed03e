"""The spring for a wanted speed, and where springs drive the shaft, against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from shaftscore.base.angles import Arcs, ahead
from shaftscore.judge.loads import Camshaft, lane_loads, spring_for, springs_drive
from shaftscore.model import Load, TranslatingRoller, replaced
from shaftscore.solution import solve
from tests.core.judge.loads.test_forces import lane, loads_of, machine, shaft_of

MASS_G, RPM = 400.0, 300.0


def cycloidal_fall_n(speed_rpm: float) -> float:
    """Force of inertia at the greatest deceleration of the rise, 10 mm in 90 degrees, N.

    Cycloidal motion: peak acceleration 2π h / t² (differentiating h (x - sin 2πx / 2π) twice), at x = 3/4.
    """
    time = 90.0 / (6 * speed_rpm)
    return MASS_G * 1e-3 * 2 * pi * 0.010 / time**2


def test_preload_for_a_speed_is_the_inertia_that_the_rate_leaves() -> None:
    """Without a rate the preload alone meets the peak deceleration at margin x speed (closed form)."""
    loads = loads_of(machine(lane(Load(moving_mass_g=MASS_G, spring_preload_n=1.0)), speed_rpm=RPM))
    advice = spring_for(loads, RPM, margin=1.2)
    assert advice is not None
    assert advice.up_to_rpm == pytest.approx(360.0)
    assert advice.preload_n == pytest.approx(cycloidal_fall_n(360.0), rel=1e-6)


def test_margin_counts_squared() -> None:
    loads = loads_of(machine(lane(Load(moving_mass_g=MASS_G)), speed_rpm=RPM))
    plain, wide = spring_for(loads, RPM, margin=1.0), spring_for(loads, RPM, margin=1.5)
    assert plain is not None
    assert wide is not None
    assert wide.preload_n == pytest.approx(2.25 * plain.preload_n, rel=1e-9)


@pytest.mark.parametrize("preload", [8.0, 12.0])
def test_with_the_advised_spring_the_float_speed_is_the_one_asked_for(preload: float) -> None:
    """An identity, found by another way: the float speed of the changed lane."""
    for_it = Load(moving_mass_g=MASS_G, spring_preload_n=preload, spring_rate_n_per_mm=0.2)
    project = machine(lane(for_it), speed_rpm=RPM)
    advice = spring_for(loads_of(project), RPM)
    assert advice is not None
    assert advice.rate_n_per_mm is not None
    springs: list[dict[str, float]] = [
        {"spring_preload_n": advice.preload_n},
        {"spring_rate_n_per_mm": advice.rate_n_per_mm},
    ]
    for change in springs:
        changed = machine(lane(replaced(for_it, **change)), speed_rpm=RPM)
        limit = loads_of(changed).float_speed
        assert limit is not None
        assert limit.value == pytest.approx(360.0, rel=1e-3)


def test_no_rate_helps_where_the_spring_is_not_drawn_out() -> None:
    """Without preload, a pull from outside lifts the follower off in the lowest dwell."""
    loads = loads_of(machine(lane(Load(external_n=-3.0, spring_rate_n_per_mm=5.0)), speed_rpm=RPM))
    advice = spring_for(loads, RPM)
    assert advice is not None
    assert advice.preload_n == pytest.approx(3.0)
    assert advice.rate_n_per_mm is None


def test_a_groove_needs_no_spring_and_speeds_must_make_sense() -> None:
    groove = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, closure="groove")
    load = Load(moving_mass_g=MASS_G)
    project = machine(lane(load, groove), speed_rpm=RPM)
    loads = lane_loads(project, solve(project).lanes["a"])
    assert loads is not None
    assert spring_for(loads, RPM) is None
    with pytest.raises(ValueError, match="speed over 0"):
        spring_for(loads, 0.0)
    with pytest.raises(ValueError, match="margin"):
        spring_for(loads, RPM, margin=0.9)


def test_springs_drive_where_a_frictionless_spring_lets_the_follower_fall() -> None:
    """Energy: a spring gives its work back exactly while the follower falls (180 to 300 degrees)."""
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0)
    shaft = shaft_of(machine(lane(Load(spring_preload_n=20.0), follower), speed_rpm=1.0))
    driven = springs_drive(shaft)
    assert len(driven.spans) == 1
    assert driven.start == pytest.approx(180.0, abs=1.5)
    assert driven.end == pytest.approx(300.0, abs=1.5)


def test_a_stretch_over_the_end_of_the_turn_is_one() -> None:
    theta = np.arange(0.0, 360.0, 0.1)

    class Wave(Camshaft):
        overrun = -np.cos(np.radians(theta))

    driven = springs_drive(Wave({}, {}))
    assert len(driven.spans) == 1
    assert driven.start == pytest.approx(270.0, abs=0.06)
    assert driven.end == pytest.approx(90.0, abs=0.06)
    assert ahead(driven.start, driven.end) == pytest.approx(180.0, abs=0.12)


def test_without_loads_nothing_drives() -> None:
    assert springs_drive(Camshaft({}, {})) == Arcs.empty()


def test_a_spring_that_holds_by_its_preload_alone_needs_no_rate() -> None:
    load = Load(
        moving_mass_g=MASS_G, spring_preload_n=1.5 * cycloidal_fall_n(360.0), spring_rate_n_per_mm=0.2
    )
    advice = spring_for(loads_of(machine(lane(load), speed_rpm=RPM)), RPM)
    assert advice is not None
    assert advice.rate_n_per_mm == 0.0
