"""Shafts, sections and bearings against worked examples, each with its source."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from shaftscore.built.beam import (
    BEARING_FRICTION,
    bearing_torque_nm,
    bending_stress_mpa,
    even_shaft,
    torsion_stress_mpa,
)
from shaftscore.built.sections import hexagon_section, ring_section, square_section
from tests.core.built.test_beam import in_plane


def deflection(beam_ei: float, span: float, place: float, force: float, at: float) -> float:
    loaded = even_shaft([0.0, span], beam_ei).loaded(np.array([place]), in_plane(force))
    return float(loaded.deflection_mm(np.array([at]))[0, 0, 0])


def test_wooden_beam_under_one_load() -> None:
    """A. Pytel and J. Kiusalaas, Mechanics of Materials, example 6.3, p. 198: 300 N at 2 m of 3 m: 7.09 mm.

    Section 40 x 80 mm, E 12 GPa. Its steepest slope is 0.466274° (printed 0.487, off by a digit).
    """
    rigidity = 12e3 * 40 * 80**3 / 12
    found = minimize_scalar(
        lambda z: -deflection(rigidity, 3000, 2000, 300, z), bounds=(0, 3000), method="bounded"
    )
    assert -found.fun == pytest.approx(7.09, abs=0.005)
    slope = deflection(rigidity, 3000, 2000, 300, 3000 - 1e-2) / 1e-2
    assert np.degrees(np.arctan(slope)) == pytest.approx(0.466274, abs=2e-5)


def test_two_loads_on_one_span() -> None:
    """A. Pytel and J. Kiusalaas, Mechanics of Materials, example 6.11, p. 234.

    E I v in the middle is 1981 lb ft³; 80 lb at 3 ft and 100 lb at 7 ft of 9 ft.
    """
    loaded = even_shaft([0.0, 9.0], 1.0).loaded(np.array([3.0, 7.0]), in_plane(80.0, 100.0))
    assert float(loaded.deflection_mm(np.array([4.5]))[0, 0, 0]) == pytest.approx(1981, abs=0.5)


def test_spread_load_as_many_loads() -> None:
    """A. Pytel and J. Kiusalaas, Mechanics of Materials, example 6.12, p. 234.

    E I v in the middle is 6963 N m³; 600 N/m over 1 to 4 m of 6 m, here as 600 loads of 3 N.
    """
    places = 1 + (np.arange(600) + 0.5) / 200
    loaded = even_shaft([0.0, 6.0], 1.0).loaded(places, in_plane(*[3.0] * 600))
    assert float(loaded.deflection_mm(np.array([3.0]))[0, 0, 0]) == pytest.approx(6963, abs=1.0)


def test_stress_of_a_cantilever() -> None:
    """B. K. Sarkar, Strength of Materials, example 6.3, p. 156: 10694.44 N/cm².

    I 13500 cm⁴, depth 25 cm. Its end moment, 40 kN x 1.2 m + 15 kN/m x (3 m)² / 2, as of a
    shaft that overhangs to both sides.
    """
    moment = 40e3 * 1200 + 15 * 3000**2 / 2
    beam = even_shaft([0.0, 1000.0], 1.0)
    loaded = beam.loaded(np.array([-1000.0, 2000.0]), in_plane(moment / 1000, moment / 1000))
    assert loaded.worst_moment_nmm() == pytest.approx(moment)
    depth = 250.0
    assert loaded.worst_moment_nmm() * depth / 2 / 13500e4 == pytest.approx(106.9444, abs=1e-4)


def test_load_off_the_middle() -> None:
    """B. K. Sarkar, Strength of Materials, example 6.6, p. 158: 10 kN at 6 m of 10 m, I 1e-4 m⁴, E 210 GPa.

    Printed: slope 0.00267 at the far bearing, 9.14 mm under the load; greatest 9.40712 mm (prints 9.38).
    """
    rigidity = 210e3 * 1e8
    assert deflection(rigidity, 10e3, 6000, 10e3, 6000) == pytest.approx(9.14, abs=0.005)
    far = deflection(rigidity, 10e3, 6000, 10e3, 10e3 - 0.1) / 0.1
    near = deflection(rigidity, 10e3, 6000, 10e3, 0.1) / 0.1
    assert min(far, near) == pytest.approx(0.00267, abs=1e-5)
    assert deflection(rigidity, 10e3, 6000, 10e3, np.sqrt((10e3**2 - 4e3**2) / 3)) == pytest.approx(
        9.40712, abs=1e-5
    )


def test_twist_of_a_bar() -> None:
    """J. M. Gere, Mechanics of Materials, example 3.1, p. 196: bar ø 1.5 in x 54 in, 250 lb ft.

    Printed: 4527 psi, 1.62°. G 11.5e6 psi; with 6000 psi and 2.5° allowed 331 lb ft. Inches
    and pounds; 1000 is mm per m.
    """
    bar = ring_section(1.5)
    stress = torsion_stress_mpa(250 * 12 / 1000, bar)
    beam = even_shaft([0.0, 54.0], 1.0, 11.5e6 * bar.torsion_mm4)
    twist = float(beam.twist_deg(0.0, np.array([54.0]), np.array([[250 * 12 / 1000]]))[0, 0])
    assert stress == pytest.approx(4527, abs=0.5)
    assert twist == pytest.approx(1.62, abs=0.005)
    assert 250 * min(6000 / stress, 2.5 / twist) == pytest.approx(331, abs=0.5)


def test_torsion_of_a_tube() -> None:
    """E. P. Popov, Engineering Mechanics of Solids, example 4.3, p. 184: tube 20/16 mm, 40 N·m.

    Printed: 43.15 MPa outside, 34.52 MPa inside. The book takes 3.14 for π.
    """
    tube = ring_section(20.0, 16.0)
    assert torsion_stress_mpa(40.0, tube) * pi / 3.14 == pytest.approx(43.15, abs=0.005)
    assert torsion_stress_mpa(40.0, tube) * 16 / 20 * pi / 3.14 == pytest.approx(34.52, abs=0.01)


def test_shaft_for_a_power() -> None:
    """U. C. Jindal, Machine Design, 2010, example 15-3, p. 421: 16 hp, 3000 rpm, 100 MPa: 12.46 mm."""
    torque = 16 * 746 / (2 * pi * 3000 / 60)
    assert torsion_stress_mpa(torque, ring_section(12.46)) == pytest.approx(100.0, rel=5e-4)


def test_shaft_with_a_gear() -> None:
    """T. H. Wentzell, Machine Design, 2007, example 17.1, p. 379: ø 0.75 in, 180 lb in, gear of 4 in, 20°.

    The gear is in the middle of 15 in. Printed: 2173 psi, gear force 95.78 lb, bending moment 359.16 lb in;
    the stress is 8671.7 psi (prints 8760 with a rounded modulus).
    """
    rod = ring_section(0.75)
    assert torsion_stress_mpa(180 / 1000, rod) == pytest.approx(2173, abs=0.5)
    force = 180 / 2 / np.cos(np.radians(20))
    assert force == pytest.approx(95.78, abs=0.005)
    loaded = even_shaft([0.0, 15.0], 1.0).loaded(np.array([7.5]), in_plane(force))
    assert loaded.worst_moment_nmm() == pytest.approx(359.16, abs=0.005)
    assert bending_stress_mpa(loaded.worst_moment_nmm(), rod) == pytest.approx(8671.7, abs=0.1)


def test_constants_of_hexagon_and_square() -> None:
    """Handbook torsion tables, from memory: hexagon 0.115 and 0.188, square 0.1406 and 0.208 of the width.

    Computed: bending 0.0601407 and 0.104167 of a hexagon.
    """
    hexagon, square = hexagon_section(1.0), square_section(1.0)
    assert hexagon.torsion_mm4 == pytest.approx(0.115, abs=5e-4)
    assert hexagon.torsion_modulus_mm3 == pytest.approx(0.188, abs=5e-4)
    assert square.torsion_mm4 == pytest.approx(0.1406, abs=5e-5)
    assert square.torsion_modulus_mm3 == pytest.approx(0.208, abs=5e-4)
    assert (hexagon.inertia_mm4, hexagon.modulus_mm3) == pytest.approx((0.0601407, 0.104167), abs=5e-7)


def test_overhung_rod() -> None:
    """ø 8 steel (E 200 GPa), bearings 200 apart, 20 N overhung by 40 mm, computed by two routes.

    0.063662 mm at the load, 15.9155 MPa; E I 40.2124 N m².
    """
    rod = ring_section(8.0)
    assert 200e3 * rod.inertia_mm4 / 1e6 == pytest.approx(40.2124, abs=5e-5)
    loaded = even_shaft([0.0, 200.0], 200e3 * rod.inertia_mm4).loaded(np.array([240.0]), in_plane(20.0))
    assert float(loaded.deflection_mm(np.array([240.0]))[0, 0, 0]) == pytest.approx(0.063662, abs=5e-7)
    assert bending_stress_mpa(loaded.worst_moment_nmm(), rod) == pytest.approx(15.9155, abs=5e-5)


def test_bearing_friction_of_a_worked_example() -> None:
    """U. C. Jindal, Machine Design, 2010, example 18-1, p. 507: 16 kN, 0.0011, ø 40, 1440 rpm: 53.08 W."""
    torque = bearing_torque_nm(in_plane(16e3), 40.0, 0.0011)
    assert float(torque[0]) * 2 * pi * 1440 / 60 == pytest.approx(53.08, abs=0.005)


def test_bearing_friction_of_a_small_bearing() -> None:
    """A 608 at 5 N with friction 0.0015, computed: 0.03 N mm (makers' tables: 0.0010 to 0.0015)."""
    assert BEARING_FRICTION["ball"] == 0.0015
    assert 1000 * float(bearing_torque_nm(in_plane(5.0), 8.0, BEARING_FRICTION["ball"])[0]) == pytest.approx(
        0.03
    )
