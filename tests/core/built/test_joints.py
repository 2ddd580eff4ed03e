"""Flanks, lined-up parts and clamp friction against limits and integration."""

from __future__ import annotations

from math import asin, degrees, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from shaftscore.built.joints import (
    clamp_force_for_n,
    clamp_torque_nm,
    flank_signs,
    free_part,
    joint_slips,
    lined_up_deg,
)


def test_lined_up_never_exceeds_the_play() -> None:
    limits = lined_up_deg(0.3, 30.0, np.array([0.1, 4.0, np.inf]))
    assert limits == pytest.approx([0.1, degrees(asin(0.01)), degrees(asin(0.01))])
    assert float(lined_up_deg(5.0, 3.0, np.inf)) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("torque", "signs"),
    [
        ([1.0, 0.0, -2.0, 0.0], [1, 1, -1, -1]),
        ([0.0, 0.0, 3.0, -1.0], [-1, -1, 1, -1]),
        ([0.0, 0.0], [0, 0]),
    ],
)
def test_a_loose_joint_stays_on_its_flank_without_torque(torque: list[float], signs: list[int]) -> None:
    assert flank_signs(np.array(torque)).tolist() == signs


@given(
    torque=st.lists(st.sampled_from([-1.0, 0.0, 0.0, 2.0]), min_size=1, max_size=12),
    shift=st.integers(0, 11),
)
def test_flanks_turn_with_the_cycle(torque: list[float], shift: int) -> None:
    whole = np.array(torque)
    assert np.roll(flank_signs(whole), shift).tolist() == flank_signs(np.roll(whole, shift)).tolist()


@pytest.mark.parametrize(("outer", "inner"), [(20.0, 5.0), (12.0, 0.0), (30.0, 29.5)])
def test_clamp_friction_is_the_integral_over_the_ring(outer: float, inner: float) -> None:
    force, friction = 500.0, 0.2
    pressure = force / (pi * (outer**2 - inner**2))
    moment, _ = quad(lambda r: friction * pressure * r * 2 * pi * r, inner, outer)
    assert float(clamp_torque_nm(force, outer, inner)) == pytest.approx(moment / 1000, rel=1e-9)
    assert clamp_force_for_n(moment / 1000, outer, inner) == pytest.approx(force)


def test_a_thin_ring_carries_friction_times_force_times_radius() -> None:
    assert float(clamp_torque_nm(100.0, 25.0, 25.0 - 1e-9)) == pytest.approx(0.2 * 100 * 25 / 1000)
    with pytest.raises(ValueError, match=r"5\.0 and 5\.0"):
        clamp_torque_nm(100.0, 5.0, 5.0)


def test_what_a_clamp_must_carry() -> None:
    capacity = np.array([0.9, 1.0, 1.4, 1.5])
    assert joint_slips(capacity, -1.0).tolist() == [True, False, False, False]
    assert free_part(np.inf, capacity, 1.0).tolist() == [True, True, True, False]
    assert not free_part(4.2, capacity, 1.0).any()
