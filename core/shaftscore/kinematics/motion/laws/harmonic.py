"""Harmonic laws: simple harmonic, double harmonic and cycloidal.

Closed forms as in cam handbooks (H. A. Rothbart, Cam Design Handbook; VDI 2143 sheet 1 gives the
normalised forms), from memory.
"""

from __future__ import annotations

from math import pi

from shaftscore.kinematics.motion.curve import CurvePiece
from shaftscore.kinematics.motion.law import law_of

SIMPLE_HARMONIC = law_of(
    "simple-harmonic",
    "simple harmonic",
    # y = (1 - cos(pi x)) / 2
    [CurvePiece(1.0, (0.5,), ((-0.5, pi, pi / 2),))],
    symmetric=True,
)

DOUBLE_HARMONIC = law_of(
    "double-harmonic",
    "double harmonic",
    # y = ((1 - cos(pi x)) - (1 - cos(2 pi x)) / 4) / 2: from a dwell, ends at full deceleration
    [CurvePiece(1.0, (0.375,), ((-0.5, pi, pi / 2), (0.125, 2 * pi, pi / 2)))],
    symmetric=False,
)

CYCLOIDAL = law_of(
    "cycloidal",
    "cycloidal",
    # y = x - sin(2 pi x) / (2 pi)
    [CurvePiece(1.0, (0.0, 1.0), ((-1 / (2 * pi), 2 * pi, 0.0),))],
    symmetric=True,
)
