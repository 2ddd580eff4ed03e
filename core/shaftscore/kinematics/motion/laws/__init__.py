"""The table of motion laws: one module a family, one entry here a law.

`drop` and `blend-345` are no entries: their curves depend on the lane (see `kinematics.motion.drop` and
`shaftscore.kinematics.motion.laws.polynomial.blend_345`).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.laws.harmonic import CYCLOIDAL, DOUBLE_HARMONIC, SIMPLE_HARMONIC
from shaftscore.kinematics.motion.laws.modified import (
    MODIFIED_CONSTANT_VELOCITY,
    MODIFIED_SINE,
    MODIFIED_TRAPEZOID,
)
from shaftscore.kinematics.motion.laws.polynomial import (
    CONSTANT_VELOCITY,
    PARABOLIC,
    POLYNOMIAL_345,
    POLYNOMIAL_4567,
)

LAWS: Mapping[str, Law] = MappingProxyType(
    {
        law.name: law
        for law in (
            CONSTANT_VELOCITY,
            PARABOLIC,
            SIMPLE_HARMONIC,
            DOUBLE_HARMONIC,
            CYCLOIDAL,
            MODIFIED_TRAPEZOID,
            MODIFIED_SINE,
            MODIFIED_CONSTANT_VELOCITY,
            POLYNOMIAL_345,
            POLYNOMIAL_4567,
        )
    }
)
"""Every law with a fixed curve, by its name in the file format."""

__all__ = ["LAWS"]
