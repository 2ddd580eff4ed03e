"""Distances of plan-view shapes, against shapely's."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.judge.bodies.rim import BodyRim, subdivided
from shaftscore.judge.bodies.shapes import Circle, StraightStrip, distance

PLACES = st.tuples(st.floats(-60, 60), st.floats(-60, 60)).map(lambda xy: complex(*xy))
TURNS = st.floats(-4, 4)
BOXES = st.tuples(PLACES, TURNS, st.floats(5, 80), st.floats(0.5, 12))
Numbers = tuple[complex, float, float, float]


def box(start: complex, turn: float, length: float, half: float) -> StraightStrip:
    return StraightStrip(np.array([start]), np.array([cmath.exp(1j * turn)]), length, half)


def polygon(start: complex, turn: float, length: float, half: float) -> shapely.Polygon:
    along = cmath.exp(1j * turn)
    corners = [(0, -half), (length, -half), (length, half), (0, half)]
    return shapely.Polygon([(p.real, p.imag) for p in (start + along * complex(*xy) for xy in corners)])


def agrees(found: float, apart: float, overlap: float) -> bool:
    """Return whether a distance is shapely's, or not positive where shapely sees an overlap."""
    if apart > 0:
        return found == pytest.approx(apart, abs=1e-9)
    return found <= 1e-9 and (found < 0 or overlap < 1e-6)


@given(BOXES, BOXES)
def test_strips_are_as_far_apart_as_their_polygons(one: Numbers, two: Numbers) -> None:
    first, second = polygon(*one), polygon(*two)
    found = float(distance(box(*one), box(*two))[0])
    assert agrees(found, first.distance(second), first.intersection(second).area)


@given(BOXES, PLACES, st.floats(0.5, 15))
def test_a_circle_is_as_far_from_a_strip_as_its_centre_less_its_radius(
    one: Numbers, centre: complex, radius: float
) -> None:
    strip, point = polygon(*one), shapely.Point(centre.real, centre.imag)
    away = point.distance(strip) or -point.distance(strip.exterior)
    for pair in ((box(*one), Circle(np.array([centre]), radius)),):
        assert float(distance(*pair)[0]) == pytest.approx(away - radius, abs=1e-9)
        assert float(distance(*pair[::-1])[0]) == pytest.approx(away - radius, abs=1e-9)


def heart(count: int) -> np.ndarray:
    angles = np.linspace(0, math.tau, count, endpoint=False)
    return (25 + 8 * np.cos(angles) + 2 * np.sin(3 * angles)) * np.exp(1j * angles)


@given(BOXES, st.floats(0, 360), st.sampled_from([-1, 1]))
def test_a_strip_is_as_far_from_a_turned_rim_as_from_its_polygon(
    one: Numbers, theta: float, direction: int
) -> None:
    points = heart(200)
    turned = points * cmath.exp(1j * direction * math.radians(theta))
    edge = shapely.Polygon(np.column_stack([turned.real, turned.imag]))
    strip = polygon(*one)
    found = float(BodyRim(points, direction).distance(box(*one), np.array([theta]))[0])
    assert agrees(found, edge.distance(strip), edge.intersection(strip).area)


@given(st.floats(0.01, 60), st.floats(0, 360), st.floats(-180, 180), st.sampled_from([-1, 1]))
def test_no_turn_moves_a_rim_outward_by_more_than_its_ripple(
    turn: float, mid: float, towards: float, direction: int
) -> None:
    rim = BodyRim(heart(400), direction)
    ripple = float(rim.ripple_mm(np.array([turn]), towards, 20.0, np.array([mid]))[0])
    fine = subdivided(rim.points, 0.05)
    angles = np.degrees(np.angle(fine)) + direction * mid - towards
    half = turn / 2
    for seen in (-20.0, 0.0, 20.0):
        beside = np.abs((angles - seen + 180) - 360 * np.floor((angles - seen + 180) / 360) - 180)
        radii = np.abs(fine[beside <= half])
        assert len(radii) == 0 or np.ptp(radii) <= ripple + 1e-9


def test_a_dwell_has_next_to_no_ripple() -> None:
    rim = BodyRim(30 * np.exp(1j * np.linspace(0, math.tau, 400, endpoint=False)), 1)
    assert float(rim.ripple_mm(np.array([30.0]), 0.0, 40.0, np.array([10.0]))[0]) < 0.002
