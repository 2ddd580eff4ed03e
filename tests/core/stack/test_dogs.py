"""Dogs fit their pockets at one angle only."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Polygon

from shaftscore.model import Dogs, Stack
from shaftscore.stack import dog_paths, pocket_depth

DOGS = Dogs(count=4, radius_mm=9.0, width_mm=3.0, height_mm=2.0)


def shape(dogs: Dogs, grow: float) -> MultiPolygon:
    return MultiPolygon([Polygon(path.flattened(1e-4)) for path in dog_paths(dogs, grow)])


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6])
def test_pegs_enter_their_pockets_at_the_zero_mark_alone(count: int) -> None:
    dogs = Dogs(count=count, radius_mm=14.0, width_mm=3.0, height_mm=2.0)
    pegs, pockets = shape(dogs, 0.0), shape(dogs, 0.2)
    fitting = [turn for turn in range(360) if rotate(pegs, turn, (0, 0)).difference(pockets).area < 1e-6]
    assert fitting == [0]


@given(grow=st.floats(-0.5, 0.5))
def test_growing_moves_every_wall(grow: float) -> None:
    grown = shape(DOGS, grow)
    expected = shape(DOGS, 0.0).buffer(grow, quad_segs=200)
    assert grown.symmetric_difference(expected).area < 0.01


def test_all_dogs_lie_within_their_reach() -> None:
    inner, outer = DOGS.reach(0.2)
    radii = np.abs(np.concatenate([path.flattened(1e-4) @ [1, 1j] for path in dog_paths(DOGS, 0.2)]))
    assert radii.min() == pytest.approx(inner, abs=1e-3)
    assert radii.max() == pytest.approx(outer, abs=1e-3)


def test_pockets_are_deeper_than_pegs_are_high() -> None:
    assert pocket_depth(Stack(id="main", dogs=DOGS, fit_clearance_mm=0.25)) == 2.25
    assert pocket_depth(Stack(id="main")) == 0.0


def test_dogs_that_run_into_one_another_are_refused() -> None:
    with pytest.raises(ValueError, match=r"8 dogs 3 mm wide on a circle of 5 mm run into one another"):
        dog_paths(Dogs(count=8, radius_mm=5.0, width_mm=3.0, height_mm=2.0), 0.0)
    with pytest.raises(ValueError, match=r"cannot be made 1\.5 mm smaller"):
        dog_paths(DOGS, -1.5)
