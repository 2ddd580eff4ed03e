"""Drawn offsets of discs in their circle, and the angle of a follower off its place."""

from __future__ import annotations

from math import atan, degrees, radians, sqrt

import numpy as np
import pytest

from shaftscore.built.seat import drawn_offsets_mm, station_angle_deg


def test_offsets_fill_the_circle_evenly() -> None:
    """Uniform in a circle of radius c: mean square radius c²/2, half of the points within c/√2."""
    offsets = drawn_offsets_mm(0.2, np.random.default_rng(3).random((100_000, 2)))
    radius = np.hypot(*offsets.T)
    assert radius.max() <= 0.2
    assert (radius**2).mean() == pytest.approx(0.02, rel=0.01)
    assert np.mean(radius < 0.2 / sqrt(2)) == pytest.approx(0.5, abs=0.01)
    assert np.abs(offsets.mean(axis=0)).max() < 0.002


def test_each_machine_has_its_own_clearance() -> None:
    offsets = drawn_offsets_mm(np.array([0.0, 0.1]), np.array([[1.0, 0.25], [1.0, 0.25]]))
    assert offsets == pytest.approx(np.array([[0.0, 0.0], [0.0, 0.1]]))


def test_station_error_as_an_angle() -> None:
    assert float(station_angle_deg(0.2, 40.0)) == pytest.approx(degrees(atan(0.005)))
    assert radians(float(station_angle_deg(0.2, 40.0))) * 40 == pytest.approx(0.2, rel=1e-4)
