"""Layers, heights and contact widths against limits, counting and drawn stacks."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.built.heights import (
    HeightBand,
    gap_mm,
    height_tolerance_mm,
    is_printable,
    overlap_mm,
    printable_mm,
    required_overlap_mm,
    rim,
    worst_overlap_mm,
)


@pytest.mark.parametrize(
    ("thickness", "first", "layer", "expected"),
    [
        (4.0, 0.2, 0.2, (4.0, 4.0)),
        (4.0, 0.3, 0.2, (3.9, 4.1)),
        (0.5, 0.2, 0.2, (0.4, 0.6)),
        (0.1, 0.2, 0.2, (0.2, 0.2)),
        (0.2, 0.2, 0.1, (0.2, 0.2)),
        (6.3, 0.2, 0.15, (6.2, 6.35)),
        (0.6, 0.2, 0.2, (0.6, 0.6)),
    ],
)
def test_neighbouring_printable_thicknesses(
    thickness: float, first: float, layer: float, expected: tuple[float, float]
) -> None:
    assert printable_mm(thickness, first, layer) == pytest.approx(expected)
    assert is_printable(thickness, first, layer) is (thickness in expected)


@given(
    count=st.integers(0, 400), first=st.sampled_from([0.1, 0.2, 0.3]), layer=st.sampled_from([0.1, 0.12, 0.2])
)
def test_whole_layers_are_printable_and_halves_are_not(count: int, first: float, layer: float) -> None:
    assert is_printable(round(first + count * layer, 6), first, layer)
    assert not is_printable(first + (count + 0.5) * layer, first, layer)


def test_layers_must_exist() -> None:
    with pytest.raises(ValueError, match=r"0\.0"):
        printable_mm(4.0, 0.2, 0.0)


def test_height_tolerance_adds_up() -> None:
    assert height_tolerance_mm(0, 0.05, 0.05, 0.5) == pytest.approx(0.5)
    assert height_tolerance_mm(9, 0.05, 0.05, 0.5) == pytest.approx(9 * 0.05 + 3 * 0.05 + 0.5)


def test_own_thickness_errors_add_up_by_squares() -> None:
    """Nine parts, each ± 0.05 at three sigma: ± 0.15 at three sigma."""
    drawn = np.random.default_rng(5).normal(0, 0.05 / 3, (200_000, 9)).sum(axis=1)
    assert height_tolerance_mm(9, 0.05, 0.0, 0.0) == pytest.approx(3 * drawn.std(), rel=0.01)
    assert height_tolerance_mm(9, 0.05, 0.0, 0.0) == pytest.approx(0.05 * sqrt(9))


def test_contact_width_as_drawn_and_at_worst() -> None:
    upright = rim(HeightBand(10.0, 14.0), 0.3)
    roller = HeightBand(9.0, 15.0)
    assert upright == HeightBand(10.3, 14.0)
    assert overlap_mm(upright, roller) == pytest.approx(3.7)
    assert worst_overlap_mm(upright, roller, 1.0) == pytest.approx(3.7)
    assert worst_overlap_mm(upright, roller, 2.0) == pytest.approx(2.7)
    assert worst_overlap_mm(upright, roller, 9.0) == 0.0
    assert required_overlap_mm(upright, roller) == pytest.approx(1.85)


@given(middle=st.floats(-3, 3), width=st.floats(0.5, 8), tolerance=st.floats(0, 3), shift=st.floats(-1, 1))
def test_no_shift_within_the_tolerance_is_worse(
    middle: float, width: float, tolerance: float, shift: float
) -> None:
    upright, roller = HeightBand(-2.0, 2.0), HeightBand(middle - width / 2, middle + width / 2)
    moved = overlap_mm(upright, roller.moved(shift * tolerance))
    assert worst_overlap_mm(upright, roller, tolerance) <= moved + 1e-12
    assert worst_overlap_mm(upright, roller, 0.0) == pytest.approx(overlap_mm(upright, roller))


def test_gap_to_a_neighbour() -> None:
    roller = HeightBand(10.0, 15.0)
    assert gap_mm(roller, HeightBand(16.0, 20.0), 0.4) == pytest.approx(0.6)
    assert gap_mm(roller, HeightBand(2.0, 9.0), 1.2) == pytest.approx(-0.2)
    assert gap_mm(roller, HeightBand(12.0, 20.0), 0.0) == pytest.approx(-3.0)
