"""Points handed to Qt at once."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from shaftscore.make.drawing.thinning import WITHIN_PX, thinned
from shaftscore_app.theme.polygons import polygon_of


@pytest.mark.parametrize("count", [0, 1, 2, 1300])
def test_every_corner_arrives_as_it_was(count: int) -> None:
    x, y = np.random.default_rng(count).normal(scale=1e4, size=(2, count))
    polygon = polygon_of(x, y)
    assert [(point.x(), point.y()) for point in polygon] == list(zip(x.tolist(), y.tolist(), strict=True))


def test_lists_will_do_and_the_polygon_is_its_own() -> None:
    x = np.array([1.0, 2.0])
    polygon = polygon_of(x, [3, 4])
    x[:] = 9.0
    assert (polygon[0].x(), polygon[1].y(), polygon.size()) == (1.0, 4.0, 2)


def test_numbers_that_differ_are_refused() -> None:
    with pytest.raises(ValueError, match="same shape"):
        polygon_of([1.0], [1.0, 2.0])


@st.composite
def lines(draw: st.DrawFn) -> np.ndarray:
    """Up to 200 corners, shape (2, n), at whole sixteenths of a px."""
    count = draw(st.integers(0, 200))
    return draw(arrays(int, (2, count), elements=st.integers(-160_000, 160_000))) / 16.0


@given(lines(), st.floats(0.0, 50.0))
def test_no_corner_left_out_lies_far_from_the_line(line: np.ndarray, within: float) -> None:
    """Held against Shapely's distance from a place to a line."""
    left = np.stack(thinned(*line, within))
    if line.shape[1] < 2 or len(np.unique(line, axis=1).T) < 2:
        assert set(map(tuple, left.T)) == set(map(tuple, line.T))
        return
    assert np.array_equal(left[:, [0, -1]], line[:, [0, -1]])
    far = shapely.distance(shapely.LineString(left.T), shapely.points(line.T))
    assert far.max() <= within + 1e-6


def test_a_straight_line_keeps_few_corners_and_a_corner_stays() -> None:
    x = np.arange(1281.0)
    y = np.where(x < 700, 0.0, 25.0)
    left_x, left_y = thinned(x, y)
    assert len(left_x) < 60
    assert {(699.0, 0.0), (700.0, 25.0)} <= set(zip(left_x, left_y, strict=True))


def test_a_curve_is_thinned_as_far_as_its_bend_allows() -> None:
    """A chord of a circle lies off its arc by r (1 - cos(half the angle)): plane geometry."""
    angle = np.linspace(0.0, math.tau, 4097)
    left, _ = thinned(100.0 * np.cos(angle), 100.0 * np.sin(angle))
    least = math.pi / math.acos(1.0 - WITHIN_PX / 100.0)
    assert least <= len(left) <= 2 * least + 1
