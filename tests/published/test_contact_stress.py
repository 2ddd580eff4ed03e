"""Line contact (Hertz) against a worked textbook example and a scaling seen in the trade.

Source: A. P. Boresi and R. J. Schmidt, Advanced Mechanics of Materials, 6th ed., example 17.3, p. 621 (as
worked in a public companion notebook): two steel cylinders of radius 40 mm (E 200 GPa, ν 0.29), 24.1 kN on
20 mm, greatest pressure 1445 MPa. The book uses a rounded coefficient, so it agrees within 0.2 %.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from shaftscore.judge.loads.contact import effective_modulus_mpa, line_pressure_mpa
from shaftscore.model import Material

STEEL = Material(name="steel of the example", modulus_gpa=200.0, poisson=0.29, contact_mpa=1000.0)


def test_two_steel_cylinders() -> None:
    modulus = effective_modulus_mpa(STEEL, STEEL)
    load, curvature = np.array([24100 / 20]), np.array([2 / 40])
    pressure = line_pressure_mpa(load, curvature, modulus)[0]
    assert pressure == pytest.approx(1445, rel=0.002)  # the book's printed value
    assert pressure == pytest.approx(1447.04, abs=0.01)  # the formula without rounding, computed


def test_pressure_falls_with_the_root_of_the_width() -> None:
    """331,228.24 psi at 3/8 in, 306,657.76 at 7/16, 286,852.07 at 1/2 (a public engineering forum)."""
    modulus = effective_modulus_mpa(STEEL, STEEL)
    at = [line_pressure_mpa(np.array([1000 / w]), np.array([0.1]), modulus)[0] for w in (3 / 8, 7 / 16, 0.5)]
    assert at[1] / at[0] == pytest.approx(306657.76 / 331228.24, rel=1e-7)
    assert at[2] / at[0] == pytest.approx(286852.07 / 331228.24, rel=1e-7)
    assert at[2] / at[0] == pytest.approx(sqrt(3 / 4))


def test_conforming_surfaces_have_no_line_contact() -> None:
    assert np.isnan(line_pressure_mpa(np.array([5.0]), np.array([-0.01]), 1000.0)[0])
