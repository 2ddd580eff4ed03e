"""Springs against worked examples and printed formulas, each with its source.

Where a printed value is off, because its notebook ran under integer division, the right one is checked and
the printed one is named.
"""

from __future__ import annotations

from math import pi

import pytest

from shaftscore.built.springs import (
    SPRING_MATERIALS,
    WireSpring,
    force_tolerance_n,
    force_tolerance_share,
    short_spring_share,
)


def compression(wire: float, coil: float, coils: float, free: float = 100.0, **more: str) -> WireSpring:
    return WireSpring("compression", wire, coil, coils, free, **more)  # type: ignore[arg-type]


def rate_for(modulus: float, spring: WireSpring) -> float:
    """Scale the rate to a book's shear modulus: it is in proportion."""
    return spring.rate_n_per_mm * modulus / SPRING_MATERIALS[spring.material].shear_modulus_mpa


def test_curvature_factor_lies_by_wahls() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-1, p. 224, index 6: Wahl's factor 1.2525 (prints 1.1025).

    The factor of EN 13906-1 stays within 1.5 % of Wahl's.
    """
    wahl = (4 * 6 - 1) / (4 * 6 - 4) + 0.615 / 6
    assert wahl == pytest.approx(1.2525)
    assert compression(5.0, 30.0, 8.0).curvature_factor == pytest.approx(wahl, rel=0.015)


def test_spring_for_a_wanted_rate() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-4, p. 226: d 2.337, D 22.2, G 81000, 3 N/mm, 150 N.

    Printed: solid length 26.18 mm, free length 83.68 mm (15 % over the travel of 50 mm); 9.20131 coils
    computed.
    """
    spring = compression(2.337, 22.2, 9.20131)
    assert rate_for(81_000, spring) == pytest.approx(3.0, abs=2e-5)
    assert spring.solid_mm == pytest.approx(26.18, abs=0.005)
    assert spring.solid_mm + 1.15 * 150 / 3 == pytest.approx(83.68, abs=0.005)


def test_hard_drawn_spring() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-6, p. 228: wire 1.219, outer 12.5, 11.5 active of 13.5.

    Printed: stress 0.4 x 1783 / d^0.19 = 686.9 MPa, 41.1 N by the factor 1 + 0.5/w, travel 30.457 mm, solid
    15.2375 mm.
    """
    spring = compression(1.219, 12.5 - 1.219, 11.5, material="hard-drawn", ends="plain")
    assert 0.4 * spring.strength_mpa == pytest.approx(686.9, abs=0.05)
    plain = float(spring.stress_mpa(1.0)) / spring.curvature_factor * (1 + 0.5 / spring.index)
    force = 0.4 * spring.strength_mpa / plain
    assert force == pytest.approx(41.1, abs=0.05)
    assert force / spring.rate_n_per_mm == pytest.approx(30.457, abs=6e-4)
    assert spring.solid_mm == pytest.approx(15.2375)


def test_rate_of_nine_coils() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-8, p. 229: d 2, D 18, n 9, G 81000: 3.08642 N/mm.

    Printed 3.000, off by integer division.
    """
    assert rate_for(81_000, compression(2.0, 18.0, 9.0)) == pytest.approx(3.08642, abs=5e-6)


def test_strength_of_music_wire() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-9, p. 230: 497.25 N mm at 0.78 of the strength.

    Torsion spring of d 1.5, outer 16: the moment is σ π d³ / (32 Ki), with the inner factor Ki.
    """
    spring = compression(1.5, 14.5, 4.25)
    index = spring.index
    inner = (4 * index**2 - index - 1) / (4 * index * (index - 1))
    assert 0.78 * spring.strength_mpa * pi * 1.5**3 / (32 * inner) == pytest.approx(497.25, abs=0.005)


def test_mean_stress_under_a_changing_load() -> None:
    """U. C. Jindal, Machine Design, 2010, example 8-13, p. 233: d 3, index 7, 40 to 120 N: mean 169.77 MPa.

    The mean stress has the factor 1 + 0.5/w.
    """
    spring = compression(3.0, 21.0, 8.0)
    plain = float(spring.stress_mpa(80.0)) / spring.curvature_factor
    assert plain * (1 + 0.5 / 7) == pytest.approx(169.77, abs=0.006)


def test_force_tolerance_of_en_15800() -> None:
    """EN 15800 formulas as printed at github.com/melchiorrecaruso/springone (EN15800.pas), computed.

    d 0.8, D 8, n 10, 5 N: ±0.712447, 1.13087, 1.80939 N in grades 1, 2, 3. No printed example was found.
    """
    spring = compression(0.8, 8.0, 10.0)
    for grade, expected in ((1, 0.712447), (2, 1.13087), (3, 1.80939)):
        assert float(force_tolerance_n(spring, 5.0, grade)) == pytest.approx(expected, rel=1e-5)
    assert force_tolerance_share(spring, 5.0) == pytest.approx(1.13087 / 5, rel=1e-5)


@pytest.mark.parametrize(("coil", "share"), [(5.0, 0.15), (7.0, 0.19), (6.0, 0.17)])
def test_short_springs_are_softer(coil: float, share: float) -> None:
    """doi 10.2478/ama-2025-0055, springs of 2.5 to 3 coils: up to 15 % (index 5), 19 % (index 7) softer."""
    assert short_spring_share(compression(1.0, coil, 3.0)) == pytest.approx(share)
    assert short_spring_share(compression(1.0, coil, 4.0)) == 0.0


def test_design_case() -> None:
    """d 0.8, D 8, n 10, G 81500, 5 N, computed by two routes (no printed value).

    0.815 N/mm, 198.944 MPa, factor 1.13514, 225.828 MPa.
    """
    spring = compression(0.8, 8.0, 10.0)
    assert spring.rate_n_per_mm == pytest.approx(0.815)
    assert spring.curvature_factor == pytest.approx(1.13514, abs=5e-6)
    assert float(spring.stress_mpa(5.0)) == pytest.approx(225.828, abs=6e-4)
    assert float(spring.stress_mpa(5.0)) / spring.curvature_factor == pytest.approx(198.944, abs=6e-4)


def test_slenderness_at_which_steel_springs_buckle() -> None:
    """Machine design texts, from memory: ends on plates, no buckling up to a free length of about 5.26 D."""
    safe, slender = compression(1.0, 10.0, 20.0, free=51.0), compression(1.0, 10.0, 20.0, free=53.5)
    assert safe.buckling_travel_mm() == float("inf")
    assert slender.buckling_travel_mm() < 53.5
