"""Lift errors of shifted discs against the exact circle, limits and drawn machines."""

from __future__ import annotations

from math import atan, cos, degrees, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.built.seat import (
    drawn_offsets_mm,
    grooved_lift_error_mm,
    lift_error_mm,
    sprung_lift_error_mm,
    station_angle_deg,
    worst_lift_error_mm,
)


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


def test_machines_by_contacts() -> None:
    offsets = np.array([[0.1, 0.0], [0.0, 0.2]])
    normals = np.array([[1.0, 0.0], [0.0, 1.0], [sqrt(0.5), sqrt(0.5)]])
    errors = lift_error_mm(offsets[:, None, :], normals, np.array([1.0, 1.0, sqrt(0.5)]))
    assert errors == pytest.approx(np.array([[0.1, 0.0, 0.1], [0.0, 0.2, 0.2]]))


@given(direction=st.floats(0, 6.28), alpha=st.floats(0, 1.0), clearance=st.floats(0, 0.5))
def test_no_offset_is_worse_than_the_worst(direction: float, alpha: float, clearance: float) -> None:
    offset = clearance * np.array([cos(direction), sin(direction)])
    error = float(lift_error_mm(offset, np.array([1.0, 0.0]), cos(alpha)))
    worst = float(worst_lift_error_mm(clearance, cos(alpha)))
    assert abs(error) <= worst + 1e-12
    along = clearance * np.array([1.0, 0.0])
    assert float(lift_error_mm(along, np.array([1.0, 0.0]), cos(alpha))) == pytest.approx(worst)


@pytest.mark.parametrize("station_offset", [0.0, 12.0])
def test_shifted_eccentric_against_the_exact_circle(station_offset: float) -> None:
    """A round disc about C and a roller on a line at the distance a: its height is √(ρ² - (a - Cx)²) + Cy."""
    reach, e = 38.0, np.array([0.06, -0.08])
    centre = np.array([5.0, 3.0])

    def height(c: np.ndarray) -> float:
        return float(sqrt(reach**2 - (station_offset - c[0]) ** 2) + c[1])

    roller = np.array([station_offset, height(centre)])
    normal = (roller - centre) / reach
    exact = height(centre + e) - height(centre)
    assert float(lift_error_mm(e, normal, normal[1])) == pytest.approx(exact, abs=e @ e / reach)


def test_loose_discs_give_way() -> None:
    cos_alpha = np.array([1.0, 0.8])
    assert sprung_lift_error_mm(0.2, cos_alpha) == pytest.approx([-0.2, -0.25])
    assert grooved_lift_error_mm(0.2, 0.8, np.array([3.0, -3.0, 0.0])) == pytest.approx([-0.25, 0.25, 0.0])
    assert sprung_lift_error_mm(0.0, cos_alpha) == pytest.approx(0.0)


def test_station_error_as_an_angle() -> None:
    assert float(station_angle_deg(0.2, 40.0)) == pytest.approx(degrees(atan(0.005)))
    assert radians(float(station_angle_deg(0.2, 40.0))) * 40 == pytest.approx(0.2, rel=1e-4)
