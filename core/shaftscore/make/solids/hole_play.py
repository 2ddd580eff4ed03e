"""The play that each hole of a fit coupon would give, counted as the verdict counts it."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from shaftscore.base.wording import degrees
from shaftscore.judge.fits import stack_fit
from shaftscore.make.solids.coupon import CLEARANCES_MM
from shaftscore.model import Project, Stack, replaced
from shaftscore.solution import Solution


@dataclass(frozen=True)
class HolePlay:
    """A hole of a coupon: its number from the upper left, its clearance, and the play of one joint.

    play_deg: ±, degrees of the stack; `inf` where the discs would turn freely.
    """

    hole: int
    clearance_mm: float
    play_deg: float

    @property
    def play_text(self) -> str:
        """The play, for people."""
        return f"±{degrees(self.play_deg)}" if isfinite(self.play_deg) else "turns freely"


def hole_plays(project: Project, stack: Stack) -> tuple[HolePlay, ...]:
    """Return the play that a stack's discs would have with the clearance of each hole of its coupon.

    With the rod as it is bought. Holes that are not used for what turns the discs, as with pins, change
    nothing.
    """
    return tuple(
        HolePlay(number, clearance, _joint_deg(project, replaced(stack, fit_clearance_mm=clearance)))
        for number, clearance in enumerate(CLEARANCES_MM, start=1)
    )


def _joint_deg(project: Project, stack: Stack) -> float:
    return stack_fit(Solution(project, {}), stack).joint_deg
