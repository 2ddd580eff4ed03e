"""Arcs through the corners of a ring, held against the exact curve."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, points

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.solids.arcs import ARC_MM, fit_arcs
from shaftscore.make.solids.rings import Ring
from shaftscore.solution import solve
from shaftscore.stack.paths import circle
from tests.core.make.exporting.machines import FLAT, one_sided


def farthest(exact: np.ndarray, ring: Ring) -> float:
    line = LinearRing(ring)
    return float(line.distance(points(np.column_stack([exact.real, exact.imag]))).max())


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("flat", [False, True])
def test_a_profile_in_arcs_keeps_the_chord_error_with_few_of_them(turn: str, flat: bool) -> None:
    project = one_sided(turn, follower=FLAT if flat else None, base_radius_mm=45.0 if flat else 24.0)  # type: ignore[arg-type]
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    ring = profile.outline(CHORD_MM / 5)
    path = fit_arcs(ring)
    exact = profile.at(np.arange(0.0, 360.0, 0.05)).profile
    assert farthest(exact, path.flattened(1e-6)) < CHORD_MM
    assert len(path.vertices) < len(ring) / 8


@given(radius=st.floats(1.0, 200.0), count=st.integers(40, 2000))
def test_a_circle_becomes_a_few_arcs_of_its_own_radius(radius: float, count: int) -> None:
    angle = 2 * np.pi * np.arange(count) / count
    path = fit_arcs(radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    assert len(path.vertices) <= 8
    assert path.area == pytest.approx(circle(radius).area, rel=1e-9)


def test_corners_and_straight_lines_stay() -> None:
    square = np.array([[5.0, -5.0], [5.0, 5.0], [-5.0, 5.0], [-5.0, -5.0]])
    fine = np.concatenate(
        [
            a + (b - a) * np.linspace(0, 1, 30)[:-1, None]
            for a, b in zip(square, np.roll(square, -1, 0), strict=True)
        ]
    )
    path = fit_arcs(fine)
    assert sorted(path.vertices, key=lambda v: (v.real, v.imag)) == [-5 - 5j, -5 + 5j, 5 - 5j, 5 + 5j]
    assert path.bulges == (0.0,) * 4


@pytest.mark.parametrize("sign", [1, -1])
def test_a_quarter_turn_has_the_bulge_of_the_format(sign: int) -> None:
    """The DXF reference defines a bulge as the tangent of a quarter of the included angle."""
    angle = sign * np.linspace(0, np.pi / 2, 40)
    arc = 10 * np.column_stack([np.cos(angle), np.sin(angle)])
    path = fit_arcs(np.concatenate([arc, [[30.0, sign * 30.0]]]))
    assert path.bulges[0] == pytest.approx(sign * math.tan(math.pi / 8), rel=1e-6)


@settings(max_examples=20)
@given(depth=st.floats(0.1, 3.0), waves=st.integers(2, 7))
def test_no_corner_is_left_by_more_than_the_tolerance(depth: float, waves: int) -> None:
    angle = 2 * np.pi * np.arange(1500) / 1500
    radius = 25 + depth * np.cos(waves * angle)
    ring = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    path = fit_arcs(ring)
    assert farthest(ring @ [1, 1j], path.flattened(1e-5)) <= ARC_MM + 2e-5
