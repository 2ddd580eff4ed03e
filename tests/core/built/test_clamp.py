"""Clamped rings: opening moment by integration of the pressure, and what stiffness is left."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from scipy.integrate import dblquad

from shaftscore.built.clamp import (
    clamp_needed_n,
    clamped_rigidity,
    force_left_n,
    joint_opens,
    opening_moment_nmm,
)


@pytest.mark.parametrize(("outer", "inner"), [(20.0, 5.0), (12.0, 0.0), (15.0, 14.0)])
def test_opening_moment_by_the_pressure_that_reaches_zero_at_the_rim(outer: float, inner: float) -> None:
    """Pressure p (1 + x / R): zero at one rim; its force and its moment by integration over the ring."""

    def over_ring(value: object) -> float:
        total, _ = dblquad(lambda r, a: value(r * np.cos(a)) * r, 0, 2 * pi, inner, outer)  # type: ignore[operator]
        return total

    force = over_ring(lambda x: 1 + x / outer)
    moment = over_ring(lambda x: (1 + x / outer) * x)
    assert opening_moment_nmm(force, outer, inner) == pytest.approx(moment, rel=1e-6)


def test_the_clamp_force_needed_just_keeps_the_joint_shut() -> None:
    clamp = clamp_needed_n(3000.0, 20.0, 5.0)
    left = force_left_n(clamp)
    assert left == pytest.approx(clamp / 2)
    assert joint_opens(np.array([2999.0, -2999.0, 3001.0, -3001.0]), left, 20.0, 5.0).tolist() == [
        False,
        False,
        True,
        True,
    ]


def test_clamped_parts_count_with_three_tenths() -> None:
    assert clamped_rigidity(1000.0, 500.0) == pytest.approx(1150.0)
    assert clamped_rigidity(1000.0, 0.0) == 1000.0
