"""Springs: energy, limits and the work done at the roller."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from shaftscore.built.springs import (
    InstalledSpring,
    WireSpring,
    force_tolerance_n,
    force_tolerance_share,
    within_en_15800,
)

PRESSED = WireSpring("compression", 0.8, 8.0, 10.0, 30.0)
PULLED = WireSpring("extension", 0.8, 8.0, 20.0, 30.0, initial_n=1.5)


@pytest.mark.parametrize("spring", [PRESSED, PULLED], ids=["compression", "extension"])
def test_rate_by_the_twist_of_the_wire(spring: WireSpring) -> None:
    """The wire of length π D n is twisted by F D / 2 (polar moment π d⁴ / 32) at the arm D / 2."""
    polar = pi * spring.wire_mm**4 / 32
    twist, _ = quad(
        lambda _: spring.coil_mm / 2 / (81_500 * polar), 0, pi * spring.coil_mm * spring.active_coils
    )
    assert spring.rate_n_per_mm == pytest.approx(1 / (twist * spring.coil_mm / 2))


@pytest.mark.parametrize(
    ("spring", "installed"), [(PRESSED, 24.0), (PULLED, 33.0)], ids=["compression", "extension"]
)
@pytest.mark.parametrize("ratio", [0.5, 1.0, 1.7])
def test_roller_and_spring_do_the_same_work(spring: WireSpring, installed: float, ratio: float) -> None:
    place = InstalledSpring(spring, installed, ratio)
    at_roller, _ = quad(lambda x: float(place.roller_force_n(x)), 0, 6)
    lengths = sorted([installed, float(place.length_mm(6.0))])
    at_spring, _ = quad(lambda x: float(spring.force_n(x)), *lengths)
    assert at_roller == pytest.approx(at_spring, rel=1e-9)


def test_forces_beyond_the_free_length() -> None:
    assert PRESSED.force_n(np.array([31.0, 30.0, 28.0])) == pytest.approx([0.0, 0.0, 2 * 0.815])
    assert PULLED.force_n(np.array([29.0, 30.0, 32.0])) == pytest.approx([0.0, 0.0, 1.5 + 0.815])


def test_stress_grows_to_the_longest_extension() -> None:
    place = InstalledSpring(PULLED, 32.0)
    force = 1.5 + 0.4075 * (2 + 10)
    assert place.stress_mpa(10.0) == pytest.approx(10.5 / 9.25 * 8 * force * 8 / (pi * 0.8**3))
    assert place.stress_mpa(10.0) > place.stress_mpa(0.0)
    assert place.solid_margin_mm(10.0) == float("inf")
    assert place.buckling_margin_mm(10.0) == float("inf")


def test_travel_left_before_the_coils_touch() -> None:
    place = InstalledSpring(PRESSED, 24.0)
    assert PRESSED.solid_mm == pytest.approx(9.6)
    assert WireSpring("compression", 0.8, 8.0, 10.0, 30.0, ends="plain").solid_mm == pytest.approx(8.8)
    assert place.solid_margin_mm(10.0) == pytest.approx(4.4)
    assert place.solid_margin_mm(14.4) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("seating", [0.5, 1.0, 2.0])
def test_buckling_travel_solves_the_equation_of_the_loaded_column(seating: float) -> None:
    """Timoshenko and Gere, Theory of Elastic Stability, from memory: a column that bends and shears.

    P (1 + P/β) = π² α / (ν l)² at the loaded length l, with the rigidities α = 2 l E G I / (π n r (E + 2G))
    and β = l E I / (π n r³) of the coil.
    """
    spring = WireSpring("compression", 1.0, 10.0, 40.0, 200.0)
    inertia, radius, coils, e, g = pi / 64, 5.0, 40.0, 206_000, 81_500

    def short_of(travel: float) -> float:
        length = 200 - travel
        bending = 2 * length * e * g * inertia / (pi * coils * radius * (e + 2 * g))
        shearing = length * e * inertia / (pi * coils * radius**3)
        load = spring.rate_n_per_mm * travel
        return load * (1 + load / shearing) * (seating * length) ** 2 - pi**2 * bending

    root = brentq(short_of, 0.0, 150.0) / 200
    assert spring.buckling_travel_mm(seating) == pytest.approx(200 * root, rel=1e-9)
    place = InstalledSpring(spring, 200.0)
    assert place.buckling_margin_mm(200 * root, seating) == pytest.approx(0.0, abs=1e-6)


@given(free=st.floats(60, 300), more=st.floats(1.01, 2))
def test_longer_springs_buckle_at_less_travel_for_their_length(free: float, more: float) -> None:
    first = WireSpring("compression", 1.0, 10.0, 20.0, free).buckling_travel_mm() / free
    second = WireSpring("compression", 1.0, 10.0, 20.0, free * more).buckling_travel_mm() / (free * more)
    assert second < first


@pytest.mark.parametrize(
    ("spring", "installed", "ratio", "message"),
    [
        (PRESSED, 31.0, 1.0, "31"),
        (PULLED, 29.0, 1.0, "29"),
        (PRESSED, 24.0, 0.0, "ratio of 0"),
        (WireSpring("compression", 4.0, 4.0, 5.0, 50.0), 40.0, 1.0, "4"),
    ],
)
def test_impossible_places_are_refused(
    spring: WireSpring, installed: float, ratio: float, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        InstalledSpring(spring, installed, ratio)


def test_springs_that_en_15800_does_not_cover() -> None:
    for outside in (
        WireSpring("compression", 0.05, 0.5, 10.0, 5.0),
        WireSpring("compression", 1.0, 21.0, 10.0, 50.0),
        WireSpring("compression", 1.0, 8.0, 1.5, 50.0),
        WireSpring("compression", 1.0, 8.0, 10.0, 700.0),
    ):
        assert not within_en_15800(outside)
        with pytest.raises(ValueError, match="EN 15800"):
            force_tolerance_n(outside, 1.0)
    assert within_en_15800(PRESSED)
    with pytest.raises(ValueError, match="grade 4"):
        force_tolerance_n(PRESSED, 1.0, 4)
    with pytest.raises(ValueError, match=r"0\.0 N"):
        force_tolerance_share(PRESSED, 0.0)


def test_a_stronger_force_has_a_smaller_share() -> None:
    assert force_tolerance_share(PRESSED, 10.0) < force_tolerance_share(PRESSED, 2.0)
