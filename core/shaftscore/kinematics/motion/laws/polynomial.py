"""Polynomial laws: constant velocity, parabolic, 3-4-5 and 4-5-6-7; and the quintic with free ends.

Closed forms as in J. Angeles, Fundamentals of Robotic Mechanical Systems, and R. L. Norton, Design of
Machinery, from memory.
"""

from __future__ import annotations

from shaftscore.kinematics.motion.curve import CurvePiece, quintic
from shaftscore.kinematics.motion.law import Law, law_of

CONSTANT_VELOCITY = law_of(
    "constant-velocity", "constant velocity", [CurvePiece(1.0, (0.0, 1.0))], symmetric=True
)

PARABOLIC = law_of(
    "parabolic",
    "parabolic",
    # y = 2 x^2, then 1 - 2 (1 - x)^2
    [CurvePiece(0.5, (0.0, 0.0, 2.0)), CurvePiece(0.5, (0.5, 2.0, -2.0))],
    symmetric=True,
)

POLYNOMIAL_345 = law_of(
    "polynomial-345", "polynomial 3-4-5", [CurvePiece(1.0, (0.0, 0.0, 0.0, 10.0, -15.0, 6.0))], symmetric=True
)

POLYNOMIAL_4567 = law_of(
    "polynomial-4567",
    "polynomial 4-5-6-7",
    [CurvePiece(1.0, (0.0, 0.0, 0.0, 0.0, 35.0, -84.0, 70.0, -20.0))],
    symmetric=True,
)


def blend_345(start_slope: float, end_slope: float) -> Law:
    """Make the fifth-degree law with these end velocities y'(0), y'(1) and no end acceleration.

    Both 0: the 3-4-5 polynomial. It only rises while both lie within 0 to 2: y' is linear in the two
    slopes, and is nowhere negative for the four corners (0, 0), (2, 0), (0, 2) and (2, 2).
    """
    poly = quintic((0.0, start_slope, 0.0), (1.0, end_slope, 0.0))
    return law_of("blend-345", "blend 3-4-5", [CurvePiece(1.0, poly)], symmetric=start_slope == end_slope)
