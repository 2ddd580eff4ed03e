"""A lever guided along a straight line: layout, deviation, transfer."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares, newton

from shaftscore.built.guidance import GuidanceError, GuidedLever, guided_lever

CASES = [(120.0, 16.0), (60.0, 16.0), (60.0, 40.0), (30.0, 24.0)]


def far_joint(guide: GuidedLever, angle: float) -> complex:
    """Find the end of the guide link by its angle alone, from the length of the coupler."""
    near = guide.lever_mm * np.exp(1j * angle)

    def long(turn: float) -> float:
        return abs(guide.guide_pivot - guide.guide_mm * np.exp(1j * turn) - near) - guide.coupler_mm

    guess = np.arcsin((guide.guide_pivot.imag - near.imag - guide.coupler_mm) / guide.guide_mm)
    turn = newton(long, guess, tol=1e-14)
    return guide.guide_pivot - guide.guide_mm * np.exp(1j * turn)


def point(guide: GuidedLever, angle: float) -> complex:
    near = guide.lever_mm * np.exp(1j * angle)
    return near + (far_joint(guide, angle) - near) * guide.point_mm / guide.coupler_mm


@pytest.mark.parametrize(("lever", "travel"), CASES)
def test_output_keeps_to_its_line_over_the_travel(lever: float, travel: float) -> None:
    """Each place found by a root finder: the deviation is what the record says, and under 0.05 mm."""
    guide = guided_lever(lever, travel)
    angles = guide.start_rad + np.linspace(0, guide.swing_rad, 41)
    path = np.array([point(guide, angle) for angle in angles])
    assert np.ptp(path.real) == pytest.approx(guide.deviation_mm, rel=0.02)
    assert guide.deviation_mm < 0.05
    assert path.imag[-1] - path.imag[0] == pytest.approx(travel, abs=1e-9)
    assert path.imag - path.imag[0] == pytest.approx(guide.output_mm(angles - angles[0]), abs=1e-9)


def test_deviation_is_near_the_least_that_the_lengths_permit() -> None:
    """Against scipy's least squares over pivot, output point and line of the same links, at 41 places."""
    guide = guided_lever(60.0, 30.0, 30.0, 40.0)
    angles = guide.start_rad + np.linspace(0, guide.swing_rad, 41)

    def path(values: np.ndarray) -> np.ndarray:
        x, y, along, _ = values
        made = GuidedLever(60.0, 30.0, 40.0, float(along), complex(x, y), 0.0, 30.0)
        return made.joints(angles - guide.start_rad)[1].real

    start = [guide.guide_pivot.real + 0.3, guide.guide_pivot.imag - 0.3, guide.point_mm + 0.5, 58.0]
    best = least_squares(lambda values: path(values) - values[3], start, xtol=1e-12, ftol=1e-12)
    assert guide.deviation_mm < 1.25 * np.ptp(path(best.x))


def test_the_textbook_rule_is_where_the_search_ends_for_a_small_travel() -> None:
    """The output divides the coupler as guide to lever (theory-of-machines texts; from memory)."""
    guide = guided_lever(100.0, 4.0, 40.0, 60.0)
    assert guide.point_mm / 40.0 == pytest.approx(60 / 160, abs=3e-4)


@pytest.mark.parametrize(("lever", "travel"), CASES)
def test_a_curve_through_the_table_is_the_linkages_own_transfer(lever: float, travel: float) -> None:
    """scipy's monotone cubic through the rows, against the linkage between them."""
    guide = guided_lever(lever, travel)
    rows = np.array(guide.rows(lever / 2))
    assert rows[0] == pytest.approx([0, 0], abs=1e-12)
    assert rows[-1, 1] > travel
    swing = np.linspace(0, guide.swing_rad, 500)
    curve = PchipInterpolator(rows[:, 0], rows[:, 1])
    assert np.abs(curve(swing * lever / 2) - guide.output_mm(swing)).max() < 1e-3


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ((20.0, 40.0), "a travel of 40 mm is too far for a lever of 20 mm: it takes at least 25 mm"),
        ((60.0, 30.0, 30.0, 15.0), "too far for a guide link of 15 mm: it takes at least 18.8 mm"),
        ((60.0, 30.0, 2.0, 30.0), "the links do not meet"),
        ((60.0, 0.0), "has no line to keep to"),
    ],
)
def test_links_that_cannot_guide_are_refused(numbers: tuple[float, ...], told: str) -> None:
    with pytest.raises(GuidanceError, match=told):
        guided_lever(*numbers)
