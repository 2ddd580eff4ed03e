"""Points handed to Qt at once."""

from __future__ import annotations

import numpy as np
import pytest

from app.polygons import polygon_of


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
