"""Four-bar linkages against textbook rows and named linkages, each with its source."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.built.linkage import FourBar, straight_fit


@pytest.mark.parametrize(
    ("side", "coupler_deg", "output_deg"), [(1, 88.8, 117.3), (-1, -115.2, -143.6)], ids=["open", "crossed"]
)
def test_position_of_a_four_bar(side: int, coupler_deg: float, output_deg: float) -> None:
    """R. L. Norton, Design of Machinery, problem 4-7, row a (from memory): links 6, 2, 7, 9, at 30°."""
    bar = FourBar(0j, 6 + 0j, 2, 7, 9, 1 if side == 1 else -1)
    near, far = bar.joints(np.radians([30.0]))[:, 0]
    assert np.degrees(np.angle(far - near)) == pytest.approx(coupler_deg, abs=0.06)
    assert np.degrees(np.angle(far - 6)) == pytest.approx(output_deg, abs=0.06)


@pytest.mark.parametrize(
    ("crank_deg", "ground", "links", "length", "percent"),
    [
        (40, 2.95, 3.925, 1.193, 0.00004),
        (120, 2.625, 3.4375, 3.238, 0.010),
        (140, 2.5, 3.25, 3.623, 0.023),
        (180, 2.2, 2.8, 4.181, 0.096),
    ],
)
def test_crank_driven_straight_line(
    crank_deg: float, ground: float, links: float, length: float, percent: float
) -> None:
    """R. L. Norton, Design of Machinery, table 3-1 (from memory): crank 1, coupler as long as its extension.

    Length and deviation of the straight part, in crank lengths and in percent of that length.
    """
    bar = FourBar(0j, complex(ground), 1.0, links, links, 1)
    angles = np.radians(180 + np.linspace(-crank_deg / 2, crank_deg / 2, 2001))
    fit = straight_fit(bar.coupler_point(angles, 2 * links))
    assert fit.length_mm == pytest.approx(length, abs=0.0006)
    digit = 0.5e-3 if percent > 0.001 else 0.5e-5
    assert 100 * fit.deviation_mm / fit.length_mm == pytest.approx(percent, abs=1.2 * digit)
    assert abs(fit.along.imag) < 1e-9


def test_equal_arms_about_an_upright_coupler() -> None:
    """No published row; computed by a second route: arms and coupler 1, its middle, arms to ±0.3 rad."""
    bar = FourBar(0j, 2 + 1j, 1.0, 1.0, 1.0, 1)
    path = bar.coupler_point(np.linspace(-0.3, 0.3, 2001), 0.5)
    assert np.ptp(path.imag) == pytest.approx(0.591152, abs=1e-6)
    assert np.ptp(path.real) == pytest.approx(0.00123859, abs=1e-8)
