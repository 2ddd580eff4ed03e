"""Rings moved along their normals, held against circles, squares and the shapely library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from shaftscore.make.solids.rings import Ring, mitred, moved, offset_rings, ring_area, wall


def regular(corners: int, radius: float) -> Ring:
    angle = 2 * np.pi * np.arange(corners) / corners
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def wavy(depth: float, waves: int, count: int = 900) -> Ring:
    angle = 2 * np.pi * np.arange(count) / count
    radius = 20 + depth * np.cos(waves * angle)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])


def test_area_of_a_square_with_its_sign() -> None:
    square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
    assert ring_area(square) == 4.0
    assert ring_area(square[::-1]) == -4.0


@given(corners=st.integers(3, 400), by=st.floats(-4.0, 4.0))
def test_a_regular_polygon_keeps_its_shape(corners: int, by: float) -> None:
    inscribed = 10.0
    ring = regular(corners, inscribed / np.cos(np.pi / corners))
    result = mitred(ring, by)
    if corners == 3 and result is None:
        return
    assert result is not None
    np.testing.assert_allclose(result, ring * (inscribed + by) / inscribed, atol=1e-9)


@given(depth=st.floats(0.0, 2.0), waves=st.integers(2, 6), by=st.floats(-0.6, 0.6))
def test_moving_agrees_with_another_library(depth: float, waves: int, by: float) -> None:
    ring = wavy(depth, waves)
    expected = Polygon(ring).buffer(by, join_style="mitre", mitre_limit=5.0)
    assert abs(ring_area(moved(ring, by)) - expected.area) < 1e-3 * expected.area
    assert Polygon(moved(ring, by)).symmetric_difference(expected).area < 2e-3


def test_a_crest_sharper_than_the_distance_is_left_to_the_general_way() -> None:
    angle = 2 * np.pi * np.arange(720) / 720
    crest = np.column_stack([np.cos(angle), 12 * np.sin(angle)])
    assert mitred(crest, -0.5) is None
    assert ring_area(moved(crest, -0.5)) == pytest.approx(Polygon(crest).buffer(-0.5).area, rel=2e-3)


def test_rings_with_as_many_corners_by_chance_are_not_joined_askew() -> None:
    """A circle and its parallel at 0.5 mm that begins elsewhere: no triangle may cross the disc."""
    lower = regular(60, 10.0)
    upper = np.roll(regular(60, 9.5), 10, axis=0)
    corners = np.concatenate([lower, upper])[wall(lower, upper, 0)]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    assert sides.max() < 1.2  # chords are 1.05 mm long


def test_a_ring_that_falls_apart_is_refused() -> None:
    waist = np.array([[-9, -4], [-1, -0.2], [1, -0.2], [9, -4], [9, 4], [1, 0.2], [-1, 0.2], [-9, 4]], float)
    assert len(offset_rings(waist, -0.5)) == 2
    with pytest.raises(ValueError, match="falls into 2 pieces"):
        moved(waist, -0.5)


@pytest.mark.parametrize("counts", [(40, 40), (40, 31), (17, 60)])
def test_walls_join_every_edge_once(counts: tuple[int, int]) -> None:
    lower, upper = regular(counts[0], 10.0), regular(counts[1], 9.5)
    faces = wall(lower, upper, 0)
    assert len(faces) == sum(counts)
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    ring_edges = [(int(a), int(b)) for a, b in edges if (a < counts[0]) == (b < counts[0])]
    below = {(k, (k + 1) % counts[0]) for k in range(counts[0])}
    above = {(counts[0] + (k + 1) % counts[1], counts[0] + k) for k in range(counts[1])}
    assert sorted(ring_edges) == sorted(below | above)
