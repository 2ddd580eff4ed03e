"""Worked examples of motion from textbooks: lanes made as a user makes them, figures as printed.

Speeds enter as v = s' omega and a = s'' omega^2, with s' and s'' per radian of shaft angle.
"""

from __future__ import annotations

from math import pi
from typing import NamedTuple

import numpy as np
import pytest

from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.segments import Move
from shaftscore.model import Block, Lane

INCH = 25.4


def rise_and_fall(law: str, lift_mm: float, up_deg: float, down_deg: float) -> LaneMotion:
    """A dwell at the bottom, the rise, ten degrees at the top, the fall."""
    start = 350.0 - up_deg - down_deg
    made = program(
        Lane(
            id="follower",
            levels={"down": 0.0, "up": lift_mm},
            law=law,  # type: ignore[arg-type]
            blocks=(
                Block(level="down", start_deg=0.0, end_deg=start),
                Block(level="up", start_deg=start + up_deg, end_deg=start + up_deg + 10),
            ),
        )
    )
    assert isinstance(made, LaneMotion)
    return made


def peaks(made: LaneMotion, rpm: float) -> list[float]:
    """Velocity (m/s) and acceleration (m/s^2), at the rise and then at the fall."""
    omega = rpm * 2 * pi / 60
    rise, fall = (i for i, s in enumerate(made.segments) if isinstance(s, Move))
    peak = made.segment_peaks
    return [peak[order, i] * omega ** (order + 1) / 1000 for i in (rise, fall) for order in (0, 1)]


class Example(NamedTuple):
    """A printed example: law, lift mm, angles out and back, rpm; v, a out; v, a back (None: not printed)."""

    law: str
    lift_mm: float
    out_deg: float
    back_deg: float
    rpm: float
    printed: tuple[float | None, float | None, float | None, float | None]
    within: tuple[float, float, float, float]


SARKAR = "B. K. Sarkar, Theory of Machines, Tata McGraw-Hill, 1st ed. 2002"
KHURMI = "R. S. Khurmi and J. K. Gupta, Theory of Machines, ch. 20"

EXAMPLES = {
    # The book takes pi as 3.141 (0.02 %), which the acceleration carries squared.
    f"{SARKAR}, illustration 9.2, p. 247": Example(
        "simple-harmonic", 40, 60, 90, 300, (None, 177.6, None, 78.9), (0, 0.12, 0, 0.08)
    ),
    # 0.78 is cut off, not rounded (0.7854).
    f"{SARKAR}, illustration 9.3, p. 249, and mycoursehelp.com exercise 67124": Example(
        "simple-harmonic", 50, 120, 60, 100, (0.39, 6.17, 0.78, 24.67), (0.005, 0.005, 0.01, 0.005)
    ),
    # Printed in cm/s^2: 25000.0 and 44444.4 (the label "m/s^2" there is a slip).
    f"{SARKAR}, illustration 9.5, p. 252": Example(
        "parabolic", 25, 120, 90, 1000, (None, 250.0, None, 444.444), (0, 0.0005, 0, 0.0005)
    ),
    # omega is taken as 25.14 (25.1327), 0.03 %, squared in the acceleration.
    f"{KHURMI}, harmonic motion 40 mm, from memory": Example(
        "simple-harmonic", 40, 90, 60, 240, (1.00, 50.6, 1.51, 113.8), (0.006, 0.08, 0.005, 0.12)
    ),
    f"{KHURMI}, uniform acceleration 40 mm, from memory": Example(
        "parabolic", 40, 100, 90, 900, (4.32, 467, 4.8, None), (0.005, 0.5, 0.05, 0)
    ),
}


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_rise_and_fall(example: Example) -> None:
    made = rise_and_fall(example.law, example.lift_mm, example.out_deg, example.back_deg)
    computed = peaks(made, example.rpm)
    for value, printed, within in zip(computed, example.printed, example.within, strict=True):
        if printed is not None:
            assert value == pytest.approx(printed, abs=within)


def test_harmonic_rise_of_an_inch_and_a_half() -> None:
    """H. A. Rothbart (ed.), Cam Design Handbook, McGraw-Hill 2004, pp. 43-44.

    1.5 in simple harmonic in 150 degrees at 300 rpm, at 30 degrees: y 0.14324 in, v 16.6194 in/s, a
    862.3584 in/s^2, by factors K 0.09549, Cv 0.9233, Ca 3.9924 of four digits, whose rounding the long
    figures carry (5e-5).
    """
    made = rise_and_fall("simple-harmonic", 1.5 * INCH, 150, 100)
    omega = 300 * 2 * pi / 60
    y, slope, bend, _ = made.at(np.array([130.0]))[:, 0] / INCH
    assert (y, slope * omega, bend * omega**2) == pytest.approx((0.14324, 16.6194, 862.3584), rel=5e-5)
    factors = LAWS["simple-harmonic"].at(np.array([0.2]))[:3, 0]
    assert factors == pytest.approx([0.09549, 0.9233, 3.9924], abs=1e-4)


def test_cycloidal_rise_degree_by_degree() -> None:
    """Homework sheet HW4-fall08 (scribd document 402730349): cycloidal 20 mm in 60 degrees.

    Travel mm, velocity mm/degree, acceleration mm/degree^2, within half a unit of the last digit.
    """
    printed = {
        5: (0.075117, 0.044658, 0.017453),
        10: (0.576689, 0.166667, 0.03023),
        15: (1.816901, 0.333333, 0.034907),
        20: (3.910022, 0.5, 0.03023),
        25: (6.741784, 0.622008, 0.017453),
        30: (10.0, 0.666667, 0.0),
        55: (19.92488, 0.044658, -0.017453),
    }
    made = rise_and_fall("cycloidal", 20, 60, 100)
    per_degree = np.radians(1.0) ** np.arange(3)
    for angle, row in printed.items():
        computed = made.at(np.array([190.0 + angle]))[:3, 0] * per_degree
        assert computed == pytest.approx(row, abs=5.1e-6 if angle == 55 else 5.1e-7 if angle != 10 else 1e-6)


SKEWED = {
    "modified trapezoid, 1 to 4": ("modified-trapezoid", 1 / 4, 12.2203, 3.05508, 5e-5),
    "parabola, 1 to 3": ("parabolic", 1 / 3, 8.0, 8 / 3, 1e-9),
}


@pytest.mark.parametrize(("law", "ratio", "first", "second", "within"), SKEWED.values(), ids=SKEWED)
def test_skewed_halves(law: str, ratio: float, first: float, second: float, within: float) -> None:
    """H. A. Rothbart (ed.), Cam Design Handbook, McGraw-Hill 2004, p. 71: halves of unequal length.

    With p = beta1 / beta2 and one velocity where the halves meet, a1 = a (1 + p) / (2 p) and a2 = a (1 + p)
    / 2. Each half is half of a symmetric move of twice its angle and travel (unit travel, 1 rad).
    """
    shares = ratio / (1 + ratio), 1 / (1 + ratio)
    moves = [
        Move(0.0, float(np.degrees(2 * share)), LAWS[law], 0.0, 2 * share, "down", "up", 0)
        for share in shares
    ]
    rising = moves[0].at(np.linspace(0, np.degrees(shares[0]), 1001), "left")
    slowing = moves[1].at(np.linspace(np.degrees(shares[1]), np.degrees(2 * shares[1]), 1001))
    symmetric = LAWS[law].ca
    assert np.abs(rising[2]).max() == pytest.approx(first, abs=within)
    assert np.abs(slowing[2]).max() == pytest.approx(second, abs=within)
    assert np.abs(rising[2]).max() == pytest.approx(symmetric * (1 + ratio) / (2 * ratio), rel=1e-6)
    assert rising[1, -1] == pytest.approx(slowing[1, 0])
    assert rising[0, -1] + slowing[0, -1] - slowing[0, 0] == pytest.approx(1)


def test_a_press_and_a_mill_that_wait_for_each_other() -> None:
    """mechanical-design-handbook.blogspot.com, "Timing diagram", parts 1 and 2 (2009).

    2000 pieces an hour, the die moves 50 mm by a cycloid in 55 degrees: 0.275 s and so a peak of
    2 pi 0.05 / 0.275^2 = 4.154 m/s^2; in twice the angle a quarter of it.
    """
    rpm = 2000 / 60
    narrow, wide = (rise_and_fall("cycloidal", 50, angle, 100) for angle in (55, 110))
    assert 55 / (6 * rpm) == pytest.approx(0.275)
    assert peaks(narrow, rpm)[1] == pytest.approx(2 * pi * 0.05 / 0.275**2)
    assert peaks(wide, rpm)[1] == pytest.approx(peaks(narrow, rpm)[1] / 4)
