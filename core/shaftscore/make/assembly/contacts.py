"""Kinds of contact between two bodies of a machine, and how deep each lets them go into one another.

- free: they pass one another, or never meet
- fixed: they never move against one another, their faces touch
- sliding: a bore on a rod, a pin in its hole; the play is proved by the fit
- rolling: a roller or a flat face on its disc; the file's lift may be off the program's
- meshing: teeth of two wheels; each flank may be off its place by what a file allows
- press: one is pressed into the other, by its interference more
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from shaftscore.base.tolerance import PROOF_DEPTH_MM, PROOF_LIFT_MM, PROOF_SHAPE_MM

ContactKind = Literal["free", "fixed", "sliding", "rolling", "meshing", "press"]
"""How two bodies meet."""

LIMITS_MM: Mapping[ContactKind, float] = MappingProxyType(
    {
        "free": PROOF_DEPTH_MM,
        "fixed": PROOF_DEPTH_MM,
        "sliding": PROOF_DEPTH_MM,
        "rolling": PROOF_DEPTH_MM + PROOF_LIFT_MM,
        "meshing": PROOF_DEPTH_MM + PROOF_SHAPE_MM,
        "press": PROOF_DEPTH_MM,
    }
)
"""By how much two bodies may go into one another, mm; a press fit by its interference more."""


@dataclass(frozen=True)
class PairContact:
    """How two bodies meet; interference_mm: of a press fit, by which one is larger on each side."""

    kind: ContactKind = "free"
    interference_mm: float = 0.0

    @property
    def limit_mm(self) -> float:
        """How deep the bodies may go into one another."""
        return LIMITS_MM[self.kind] + self.interference_mm


FREE = PairContact()
"""What holds of a pair of which nothing else is said."""
