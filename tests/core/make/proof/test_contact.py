"""Rollers and flat faces on polygons, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.kinematics.followers import (
    FollowerModel,
    SwingingRollerModel,
    TranslatingFlatModel,
    TranslatingRollerModel,
)
from shaftscore.kinematics.profiles import DiscPlacement
from shaftscore.make.proof import ReadRim, Running, contact_lift

COUNT = 4000


def circle(radius: float, centre: complex, inward: bool = False) -> ReadRim:
    """A circle's polygon with the material inside it (or outside: a hole)."""
    angle = 2 * np.pi * np.arange(COUNT) / COUNT
    ring = centre + radius * np.exp(1j * (-angle if inward else angle))
    return ReadRim(ring, np.roll(ring, -1), None)


@given(
    station=st.floats(-180, 180),
    direction=st.sampled_from([1, -1]),
    eccentricity=st.floats(0.0, 6.0),
    offset=st.floats(-8.0, 8.0),
    roller=st.sampled_from([0.0, 0.5, 6.0]),
)
def test_a_roller_on_an_eccentric_circle(
    station: float, direction: int, eccentricity: float, offset: float, roller: float
) -> None:
    model = TranslatingRollerModel(24.0, roller, offset)
    theta = np.arange(0.0, 360.0, 7.0)
    rim = circle(30.0, complex(eccentricity, 0.0))
    running = Running(model, DiscPlacement(direction, station), roller)
    seen = eccentricity * np.exp(-1j * np.radians(station - direction * theta)) + 1j * offset
    expected = seen.real + np.sqrt((30.0 + roller) ** 2 - seen.imag**2) - model.centre(np.zeros(1))[0].real
    found = contact_lift(rim, running, theta, expected + 0.4)
    np.testing.assert_allclose(found, expected, atol=1e-4)


def test_a_knife_edge_runs_within_a_contour_that_was_moved_outward() -> None:
    """On a circle of 30 mm that is drawn 1.4 mm larger, and not in a mark that is nearer to the edge."""
    rim, mark = circle(31.4, 0j), circle(28.8, 0j, inward=True)
    both = ReadRim(np.append(rim.start, mark.start), np.append(rim.end, mark.end), None)
    ring, hole = (np.column_stack([one.start.real, one.start.imag]) for one in (rim, mark))
    theta = np.arange(0.0, 360.0, 7.0)
    running = Running(TranslatingRollerModel(24.0, 0.0, 0.0), DiscPlacement(1, 0.0), -1.4)
    found = contact_lift(both.outermost(shapely.Polygon(ring, [hole])), running, theta, np.full(52, 5.9))
    np.testing.assert_allclose(found, 6.0, atol=1e-4)


@given(station=st.floats(-180, 180), direction=st.sampled_from([1, -1]), eccentricity=st.floats(0.0, 6.0))
def test_a_flat_face_on_an_eccentric_circle(station: float, direction: int, eccentricity: float) -> None:
    model = TranslatingFlatModel(24.0, 50.0)
    theta = np.arange(0.0, 360.0, 7.0)
    running = Running(model, DiscPlacement(direction, station), 0.0)
    expected = 30.0 + eccentricity * np.cos(np.radians(station - direction * theta)) - 24.0
    found = contact_lift(circle(30.0, complex(eccentricity, 0.0)), running, theta, expected)
    np.testing.assert_allclose(found, expected, atol=1e-4)


@pytest.mark.parametrize("side", [1, -1])
def test_an_arm_on_an_eccentric_circle_is_a_four_bar_linkage(side: int) -> None:
    """Crank e, coupler R + r, rocker L, ground c: the cosine rule gives the rocker's angle."""
    model = SwingingRollerModel(24.0, 6.0, 60.0, 70.0, side)
    theta = np.arange(0.0, 360.0, 15.0)
    crank = 4.0 * np.exp(-1j * np.radians(20.0 - theta))
    start = circle(30.0, 4.0 + 0j)
    found = contact_lift(start, Running(model, DiscPlacement(1, 20.0), 6.0), theta, _guess(model, crank))
    centre = model.centre(found)[0]
    np.testing.assert_allclose(np.abs(centre - crank), 36.0, atol=1e-4)
    np.testing.assert_allclose(np.abs(centre - model.pivot), 60.0, atol=1e-9)


def _guess(model: FollowerModel, crank: np.ndarray) -> np.ndarray:
    lifts = np.linspace(-5.0, 25.0, 301)
    reach = np.abs(model.centre(lifts)[0][:, None] - crank) - 36.0
    return np.asarray(lifts[np.abs(reach).argmin(0)])


def test_the_outer_flank_of_a_groove_holds_the_roller_from_outside() -> None:
    model = TranslatingRollerModel(24.0, 5.0)
    theta = np.arange(0.0, 360.0, 9.0)
    rim = circle(38.0, 3.0 + 0j, inward=True)
    seen = 3.0 * np.exp(-1j * np.radians(-theta))
    expected = seen.real + np.sqrt((38.0 - 5.1) ** 2 - seen.imag**2) - 29.0
    found = contact_lift(
        rim, Running(model, DiscPlacement(1, 0.0), 5.1, outward=False), theta, expected - 0.3
    )
    np.testing.assert_allclose(found, expected, atol=1e-4)


def test_a_roller_over_nothing_touches_nothing() -> None:
    model = TranslatingRollerModel(60.0, 5.0)
    found = contact_lift(
        circle(20.0, 0j), Running(model, DiscPlacement(1, 0.0), 5.0), np.arange(4.0), np.zeros(4)
    )
    assert np.isnan(found).all()


def test_a_roller_that_lies_within_reach_of_no_contact_touches_nothing() -> None:
    model = TranslatingRollerModel(24.0, 5.0)
    running = Running(model, DiscPlacement(1, 0.0), 5.0)
    assert np.isnan(contact_lift(circle(26.0, 0j), running, np.arange(4.0), np.zeros(4))).all()
    np.testing.assert_allclose(
        contact_lift(circle(24.9, 0j), running, np.arange(4.0), np.zeros(4)), 0.9, atol=1e-4
    )
