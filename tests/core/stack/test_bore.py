"""Bores as exact curves: areas by textbook formulas, and a clearance that moves every wall."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.model import Bore
from shaftscore.stack import bore_path
from shaftscore.stack.paths import BulgePath, circle

ACROSS, FLAT, GROW = 8.0, 7.0, 0.2
R = ACROSS / 2 + GROW
SEGMENT = 2 * math.acos((FLAT - ACROSS / 2 + GROW) / R)

AREAS = {
    "round": math.pi * R**2,
    "square": (2 * R) ** 2,
    "hex": 2 * math.sqrt(3) * R**2,
    "d": math.pi * R**2 - R**2 * (SEGMENT - math.sin(SEGMENT)) / 2,
}
"""Circle, square, regular hexagon by its inscribed circle, circle less a segment (plane geometry)."""


@pytest.mark.parametrize("shape", AREAS)
def test_area_is_that_of_the_figure(shape: str) -> None:
    path = bore_path(Bore(shape=shape, across_mm=ACROSS, flat_mm=FLAT if shape == "d" else None), GROW)  # type: ignore[arg-type]
    assert path.area == pytest.approx(AREAS[shape], rel=1e-12)


@pytest.mark.parametrize("shape", ["d", "hex", "square"])
def test_a_flat_faces_the_zero_mark(shape: str) -> None:
    path = bore_path(Bore(shape=shape, across_mm=ACROSS, flat_mm=FLAT if shape == "d" else None), GROW)  # type: ignore[arg-type]
    flat = FLAT - ACROSS / 2 + GROW if shape == "d" else R
    right = [v for v in path.vertices if v.real > 0 and abs(v.real - flat) < 1e-9]
    assert sorted(v.imag > 0 for v in right) == [False, True]


@pytest.mark.parametrize("shape", ["round", "d", "hex", "square"])
@given(chord=st.floats(1e-4, 0.1))
def test_polygons_stay_within_the_chord_error(shape: str, chord: float) -> None:
    path = bore_path(Bore(shape=shape, across_mm=ACROSS, flat_mm=FLAT if shape == "d" else None), 0.0)  # type: ignore[arg-type]
    points = path.flattened(chord) @ np.array([1, 1j])
    middles = (points + np.roll(points, -1)) / 2
    round_part = np.abs(np.abs(points) - ACROSS / 2) < 1e-9
    on_arc = round_part & np.roll(round_part, -1) & (shape in ("round", "d"))
    if shape == "d":
        on_arc &= middles.real < FLAT - ACROSS / 2 - 1e-9
    assert np.all(ACROSS / 2 - np.abs(middles[on_arc]) <= chord + 1e-12)


def test_a_bore_that_vanishes_is_refused() -> None:
    with pytest.raises(ValueError, match=r"8 mm cannot be made 4\.5 mm smaller"):
        bore_path(Bore(shape="round", across_mm=8.0), -4.5)


def test_bulge_of_a_quarter_circle() -> None:
    quarter = math.tan(math.pi / 8)
    path = BulgePath((1 + 0j, 1j, -1 + 0j, -1j), (quarter,) * 4)
    assert path.area == pytest.approx(circle(1.0).area, rel=1e-12) == pytest.approx(math.pi)
    assert np.abs(path.flattened(1e-3) @ np.array([1, 1j])) == pytest.approx(1.0)


def test_turning_keeps_area_and_moves_the_flat() -> None:
    path = bore_path(Bore(shape="d", across_mm=ACROSS, flat_mm=FLAT), 0.0)
    turned = path.turned(math.pi / 2)
    assert turned.area == pytest.approx(path.area)
    assert max(v.imag for v in turned.vertices) == pytest.approx(3.0)
