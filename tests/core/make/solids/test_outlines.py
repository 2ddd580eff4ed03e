"""Outlines of bars against shapely: the hull of their round bosses."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Point, Polygon
from shapely.ops import unary_union

from shaftscore.make.solids.outlines import bar_path, box_path

bosses = st.lists(st.tuples(st.floats(-50, 150), st.floats(1, 12)), min_size=1, max_size=5)


@given(bosses)
@example([(0.0, 6.0), (60.0, 6.0), (120.0, 4.0)])
@example([(0.0, 6.0), (60.0, 6.0)])
@example([(0.0, 5.0), (1.0, 2.0)])
@settings(max_examples=60)
def test_a_bar_is_the_hull_of_its_bosses(places: list[tuple[float, float]]) -> None:
    path = bar_path(places)
    made = Polygon(path.flattened(1e-4))
    hull = unary_union([Point(x, 0).buffer(r, quad_segs=256) for x, r in places]).convex_hull
    assert made.is_valid
    assert made.symmetric_difference(hull).area < 2e-4 * hull.area
    assert path.area == pytest.approx(made.area, rel=1e-3)


def test_a_plain_bar_is_a_stadium() -> None:
    path = bar_path([(0, 5), (40, 5)])
    assert len(path.vertices) == 4
    stadium = LineString([(0, 0), (40, 0)]).buffer(5, quad_segs=512)
    assert path.area == pytest.approx(stadium.area, rel=1e-5)


def test_a_box_of_any_corners() -> None:
    assert box_path(3 + 4j, -1 - 2j).area == pytest.approx(24)
    assert MultiPoint(box_path(3 + 4j, -1 - 2j).flattened(1)).bounds == (-1, -2, 3, 4)


def test_a_bar_without_an_end_is_refused() -> None:
    with pytest.raises(ValueError, match="round ends"):
        bar_path([])
    with pytest.raises(ValueError, match="round ends"):
        bar_path([(0.0, 4.0), (9.0, 0.0)])
