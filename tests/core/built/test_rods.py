"""Undersize of rods: ranges of sizes, and the formulas that the standards round."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

import pytest

from shaftscore.built.rods import SIZE_STEPS_MM, THREAD_6G_UM, standard_tolerance_mm, undersize_mm
from shaftscore.built.threads import COARSE_PITCH_MM, thread_named


@pytest.mark.parametrize(
    ("size", "h9", "h11"), [(3.0, 25, 60), (3.01, 30, 75), (10.0, 36, 90), (18.5, 52, 130)]
)
def test_upper_ends_of_ranges_belong_to_them(size: float, h9: int, h11: int) -> None:
    assert undersize_mm("h9", size) == (0.0, h9 / 1000)
    assert undersize_mm("h11", size) == (0.0, h11 / 1000)


@pytest.mark.parametrize(
    ("grade", "units"), [(6, 10), (7, 16), (8, 25), (9, 40), (10, 64), (11, 100), (12, 160)]
)
def test_tolerances_follow_the_unit_of_the_standard(grade: int, units: int) -> None:
    """ISO 286-1: so many units i = 0.45 D^(1/3) + 0.001 D µm, D the geometric mean of the range, rounded."""
    for low, high in pairwise(SIZE_STEPS_MM):
        middle = sqrt(low * high)
        expected = units * (0.45 * middle ** (1 / 3) + 0.001 * middle)
        assert standard_tolerance_mm(grade, high) * 1000 == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize("pitch", THREAD_6G_UM)
def test_6g_limits_follow_the_formulas_of_the_standard(pitch: float) -> None:
    """ISO 965-1 (from memory): es = -(15 + 11 P) µm, Td(6) = 180 P^(2/3) - 3.15 / √P µm, both rounded."""
    least, greatest = THREAD_6G_UM[pitch]
    assert least == pytest.approx(15 + 11 * pitch, abs=1.6)
    assert greatest - least == pytest.approx(180 * pitch ** (2 / 3) - 3.15 / sqrt(pitch), rel=0.04)


def test_every_coarse_thread_has_its_6g_limits() -> None:
    for nominal in COARSE_PITCH_MM:
        least, greatest = undersize_mm("6g", nominal, thread_named(f"M{nominal:g}"))
        assert 0 < least < greatest < 0.5


@pytest.mark.parametrize(
    ("tolerance", "size", "message"),
    [("h13", 8.0, "13"), ("h9", 130.0, "130"), ("h9", 0.0, "0"), ("k6", 8.0, "k6"), ("6g", 8.0, "thread")],
)
def test_unknown_classes_and_sizes_are_refused(tolerance: str, size: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        undersize_mm(tolerance, size)


def test_a_pitch_without_6g_limits_is_refused() -> None:
    with pytest.raises(ValueError, match=r"1\.1"):
        undersize_mm("6g", 8.0, thread_named("M8x1.1"))


@pytest.mark.parametrize("text", ["8", "M8x0", "M9", "M2x3", "m8", "M8x"])
def test_wrong_designations_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=text):
        thread_named(text)
