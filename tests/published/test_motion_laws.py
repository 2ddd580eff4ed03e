"""Every motion law against printed factors and against handbook formulas worked out at 50 digits.

Printed figures are compared within half a unit of their last digit. Of the page "カム曲線" the figures
that are the closed forms' are used; its largest positive jerks (69.45578, 61.41662 and 201.25802) are
differences over 1/720 of the move and lie 0.015 to 0.06 % low, so they are left out.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import mpmath
import numpy as np
import pytest
from mpmath import mpf

from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.laws.modified import quarter_wave_law

TUTORIAL = (
    "trade tutorial 'カム曲線' (cam curves), tarukichi.chu.jp/design/camcurve.html, tables of 720 divisions"
)
HANDBOOKS = "tables of peak factors in cam handbooks (Rothbart; Norton), from memory"
NORTON = "R. L. Norton, Design of Machinery, table of the sine-constant-cosine family, from memory"
ANGELES = "J. Angeles, Fundamentals of Robotic Mechanical Systems, ch. 6, and Norton, from memory"
ROTHBART = "H. A. Rothbart, Cam Design Handbook, from memory"
SMOOTH = "'Smooth steps and minimal jerk', 2020, socsci.ru.nl/wilberth/physics/smooth.html"


class Printed(NamedTuple):
    """A printed figure of a law: cv, ca, cj, qm, the value of acceleration or jerk just before a place
    ("j 0.5"), or its largest positive value ("a+")."""

    law: str
    figure: str
    value: str
    source: str


PRINTED = [
    Printed("constant-velocity", "cv", "1", "by definition"),
    Printed("parabolic", "cv", "2.000", HANDBOOKS),
    Printed("parabolic", "ca", "4.000", HANDBOOKS),
    Printed("parabolic", "qm", "8.000", HANDBOOKS),
    Printed("simple-harmonic", "cv", "1.571", HANDBOOKS),
    Printed("simple-harmonic", "ca", "4.935", HANDBOOKS),
    Printed("simple-harmonic", "j 0.5", "-15.50", HANDBOOKS),
    Printed("simple-harmonic", "qm", "3.876", HANDBOOKS),
    Printed("double-harmonic", "cv", "2.04", ROTHBART),
    Printed("double-harmonic", "a 1.0", "-9.87", ROTHBART),
    Printed("double-harmonic", "a+", "5.55", ROTHBART),
    Printed("cycloidal", "cv", "2.000", HANDBOOKS),
    Printed("cycloidal", "ca", "6.283", HANDBOOKS),
    Printed("cycloidal", "cj", "39.48", HANDBOOKS),
    Printed("cycloidal", "qm", "8.162", HANDBOOKS),
    Printed("modified-trapezoid", "cv", "2.0", TUTORIAL),
    Printed("modified-trapezoid", "ca", "4.88812", TUTORIAL),
    Printed("modified-trapezoid", "j 0.5", "-61.42597", TUTORIAL),
    Printed("modified-trapezoid", "qm", "8.090", HANDBOOKS),
    Printed("modified-sine", "cv", "1.75960", TUTORIAL),
    Printed("modified-sine", "ca", "5.52796", TUTORIAL),
    Printed("modified-sine", "cj", "69.466", NORTON),
    Printed("modified-sine", "j 0.5", "-23.15545", TUTORIAL),
    Printed("modified-sine", "qm", "5.46", "from memory"),
    Printed("modified-constant-velocity", "cv", "1.27526", TUTORIAL),
    Printed("modified-constant-velocity", "ca", "8.01268", TUTORIAL),
    Printed("modified-constant-velocity", "cj", "201.4", "from memory"),
    Printed("modified-constant-velocity", "j 0.25", "-67.12690", TUTORIAL),
    Printed("polynomial-345", "cv", "1.875", SMOOTH),
    Printed("polynomial-345", "ca", "5.77", SMOOTH),
    Printed("polynomial-345", "cj", "60", SMOOTH),
    Printed("polynomial-345", "j 0.5", "-30", SMOOTH),
    Printed("polynomial-4567", "cv", "2.1875", ANGELES),
    Printed("polynomial-4567", "ca", "7.5132", ANGELES),
    Printed("polynomial-4567", "cj", "52.5", ANGELES),
    Printed("polynomial-4567", "j 0.5", "-52.5", ANGELES),
    Printed("polynomial-4567", "j+", "42", ANGELES),
]


def figure(law: Law, name: str) -> float:
    kind, _, place = name.partition(" ")
    if kind in ("a", "j"):
        return float(law.at(np.array([float(place)]), "left")[2 if kind == "a" else 3, 0])
    if kind in ("a+", "j+"):
        return float(law.nodes(20001)[1][2 if kind == "a+" else 3].max())
    return float(getattr(law, kind))


def half_a_unit(printed: str) -> float:
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10.0**-decimals


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row.law} {row.figure}")
def test_a_printed_figure(row: Printed) -> None:
    within = half_a_unit(row.value)
    computed = figure(LAWS[row.law], row.figure)
    assert computed == pytest.approx(float(row.value), abs=within), row.source


def test_every_law_has_printed_figures() -> None:
    assert {row.law for row in PRINTED} == set(LAWS)


CLOSED = {
    ("simple-harmonic", "cv"): lambda p: p / 2,
    ("simple-harmonic", "ca"): lambda p: p**2 / 2,
    ("simple-harmonic", "cj_between_steps"): lambda p: p**3 / 2,
    ("simple-harmonic", "qm"): lambda p: p**3 / 8,
    ("double-harmonic", "cv"): lambda p: 3 * mpmath.sqrt(3) * p / 8,
    ("double-harmonic", "ca"): lambda p: p**2,
    ("cycloidal", "ca"): lambda p: 2 * p,
    ("cycloidal", "cj"): lambda p: 4 * p**2,
    ("cycloidal", "qm"): lambda p: 3 * mpmath.sqrt(3) * p / 2,
    ("modified-trapezoid", "ca"): lambda p: 8 * p / (2 + p),
    ("modified-trapezoid", "cj"): lambda p: 32 * p**2 / (2 + p),
    ("modified-sine", "cv"): lambda p: 4 * p / (4 + p),
    ("modified-sine", "ca"): lambda p: 4 * p**2 / (4 + p),
    ("modified-sine", "cj"): lambda p: 16 * p**3 / (4 + p),
    ("modified-constant-velocity", "ca"): lambda p: p**2 / (((8 - 6 * p) / 16 + p) / 2),
    ("polynomial-345", "cv"): lambda _: mpf(15) / 8,
    ("polynomial-345", "ca"): lambda _: 10 / mpmath.sqrt(3),
    ("polynomial-345", "cj"): lambda _: mpf(60),
    ("polynomial-4567", "cv"): lambda _: mpf(35) / 16,
    ("polynomial-4567", "ca"): lambda _: 84 * mpmath.sqrt(5) / 25,
    ("polynomial-4567", "cj"): lambda _: mpf(105) / 2,
}


@pytest.mark.parametrize(("case", "closed"), CLOSED.items(), ids=[" ".join(case) for case in CLOSED])
def test_a_factor_is_its_closed_form(case: tuple[str, str], closed: Callable[[mpf], mpf]) -> None:
    """Closed forms of cam handbooks, from memory, at 50 digits."""
    with mpmath.workdps(50):
        expected = float(closed(mpmath.pi))
    assert getattr(LAWS[case[0]], case[1]) == pytest.approx(expected, rel=1e-13)


def test_the_family_with_a_fifth_at_constant_velocity() -> None:
    """Ca = pi^2 / (8 t1 ((8 - 6 pi) t1 + pi)), t1 = 1/10, Cv from the same family; computed, not printed."""
    law = quarter_wave_law("mcv20", "", 0.1, 0.0, 0.3)
    assert (law.cv, law.ca) == pytest.approx((1.52754, 5.99863), abs=5e-6)


def modified_sine(x: mpf) -> mpf:
    """Pieces as printed in physicsforums.com/threads/288110, citing Rothbart, Cam Design Handbook, p. 75."""
    k, p = 1 / (4 + mpmath.pi), mpmath.pi
    if x <= mpf(1) / 8:
        return k * (p * x - mpmath.sin(4 * p * x) / 4)
    if x <= mpf(7) / 8:
        return k * (2 + p * x - mpf(9) / 4 * mpmath.sin(4 * p * x / 3 + p / 3))
    return k * (4 + p * x - mpmath.sin(4 * p * x) / 4)


def modified_trapezoid(x: mpf) -> mpf:
    """Rothbart, Cam Design Handbook, from memory: eighths of x."""
    if x > mpf(1) / 2:
        return 1 - modified_trapezoid(1 - x)
    a, k, p = 8 * mpmath.pi / (2 + mpmath.pi), 1 / (4 * mpmath.pi), mpmath.pi
    if x <= mpf(1) / 8:
        return a * k * (x - k * mpmath.sin(4 * p * x))
    if x <= mpf(3) / 8:
        u = x - mpf(1) / 8
        return a * (k * (mpf(1) / 8 - k) + k * u + u**2 / 2)
    u = x - mpf(3) / 8
    constant = k * (mpf(1) / 8 - k) + k / 4 + mpf(1) / 32
    return a * (constant + (k + mpf(1) / 4) * u + k**2 * (1 - mpmath.cos(4 * p * u)))


def modified_constant_velocity(x: mpf) -> mpf:
    """Quarter sine 1/16, quarter cosine 3/16, constant velocity 1/2: integrated twice by mpmath."""
    if x > mpf(1) / 2:
        return 1 - modified_constant_velocity(1 - x)
    p = mpmath.pi
    ca = p**2 / (((8 - 6 * p) / 16 + p) / 2)
    k1, k3 = 1 / (8 * p), 3 / (8 * p)
    if x <= mpf(1) / 16:
        return ca * k1 * (x - k1 * mpmath.sin(x / k1))
    s1 = k1 * (mpf(1) / 16 - k1)
    if x <= mpf(1) / 4:
        u = x - mpf(1) / 16
        return ca * (s1 + k1 * u + k3**2 * (1 - mpmath.cos(u / k3)))
    u = x - mpf(1) / 4
    return ca * (s1 + k1 * mpf(3) / 16 + k3**2 + (k1 + k3) * u)


def parabolic(x: mpf) -> mpf:
    return 2 * x**2 if x <= mpf(1) / 2 else 1 - 2 * (1 - x) ** 2


FORMULAS: dict[str, Callable[[mpf], mpf]] = {
    "constant-velocity": lambda x: x,
    "parabolic": parabolic,
    "simple-harmonic": lambda x: (1 - mpmath.cos(mpmath.pi * x)) / 2,
    "double-harmonic": lambda x: (
        ((1 - mpmath.cos(mpmath.pi * x)) - (1 - mpmath.cos(2 * mpmath.pi * x)) / 4) / 2
    ),
    "cycloidal": lambda x: x - mpmath.sin(2 * mpmath.pi * x) / (2 * mpmath.pi),
    "modified-trapezoid": modified_trapezoid,
    "modified-sine": modified_sine,
    "modified-constant-velocity": modified_constant_velocity,
    "polynomial-345": lambda x: 10 * x**3 - 15 * x**4 + 6 * x**5,
    "polynomial-4567": lambda x: 35 * x**4 - 84 * x**5 + 70 * x**6 - 20 * x**7,
}

# Off every joint, so that the derivatives by differences see one piece.
PLACES = [mpf(n) / 37 for n in range(1, 37)]


def test_every_law_has_a_formula() -> None:
    assert set(FORMULAS) == set(LAWS)


@pytest.mark.parametrize("name", LAWS)
def test_fifty_digits_agree(name: str) -> None:
    """Travel and its three derivatives by mpmath at 50 digits against the numpy evaluation."""
    x = np.array([float(place) for place in PLACES])
    with mpmath.workdps(50):
        exact = np.array(
            [
                [float(mpmath.diff(FORMULAS[name], mpf(float(place)), order)) for place in PLACES]
                for order in range(4)
            ]
        )
    computed = LAWS[name].at(x)
    # A hundred roundings: the powers of the seventh degree cancel to that near the end.
    scale = np.maximum(1.0, np.abs(exact).max(axis=1, keepdims=True))
    np.testing.assert_allclose(computed / scale, exact / scale, rtol=0, atol=5e-14)


@pytest.mark.parametrize("name", LAWS)
def test_fifty_digits_agree_on_the_inverse(name: str) -> None:
    """Heights down to a millionth: their places by mpmath's own root finder."""
    heights = [1e-6, 1e-3, 0.1, 0.3, 0.5, 0.77, 0.9, 0.999]
    computed = LAWS[name].inverse(np.array(heights))
    with mpmath.workdps(50):
        for height, x in zip(heights, computed, strict=True):
            near = mpf(float(x))
            exact = mpmath.findroot(
                lambda t, y=height: FORMULAS[name](t) - mpf(y), (near * (1 - mpf(10) ** -6), near), tol=1e-60
            )
            # 1e-9 degree of a move of a full turn.
            assert abs(float(exact - near)) < 1e-9 / 360
