"""Parts where they are in the machine, through the cycle of the master shaft."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
"""Angles or lengths, (n,)."""

Points = npt.NDArray[np.complex128]
"""Points in plan view, x + iy, (n,) mm."""


@dataclass(frozen=True)
class PlanPose:
    """How a part lies in plan view at n angles: where its own origin is, (n,) mm, and its turn, (n,).

    turn: complex numbers of length 1: a point p of the part is at `at + turn * p`.
    """

    at: Points
    turn: Points

    def points(self, own: complex) -> Points:
        """Return where a point of the part is, own: in its own frame, mm; (n,) mm."""
        return self.at + self.turn * own


Course = Callable[[Reals], PlanPose]
"""From angles of the master shaft, (n,) degrees, to the pose of a part."""


@dataclass(frozen=True)
class Placement:
    """One copy of a part in the machine.

    code: of the part, as in the names of its files. instance: which copy it is, for people ("A1",
    "spacer 3"). bottom_mm: height of the part's own z = 0. upside_down: it is turned over about its own x
    axis first, its own z = 0 then at bottom_mm as well, with its body below. body: copies of one body never
    move relative to one another ("frame", "stack main", "follower B1"). course: its pose over the cycle.
    """

    code: str
    instance: str
    body: str
    bottom_mm: float
    course: Course
    upside_down: bool = False


def standing(at: complex = 0j, turned_deg: float = 0.0) -> Course:
    """Return the course of a part that stands still, its origin at `at` mm, turned counterclockwise."""
    turn = complex(np.exp(1j * np.radians(turned_deg)))

    def course(master_deg: Reals) -> PlanPose:
        """Return the same pose for all angles, degrees."""
        one = np.ones(len(master_deg), np.complex128)
        return PlanPose(at * one, turn * one)

    return course


def turning(ratio: float, at: complex = 0j, start_deg: float = 0.0) -> Course:
    """Return the course of a part on an axis at `at` mm.

    ratio: its turns in one of the master shaft's, positive counterclockwise seen from the top. start_deg:
    its turn at 0°, degrees counterclockwise.
    """

    def course(master_deg: Reals) -> PlanPose:
        """Return the pose at angles of the master shaft, degrees."""
        turn = np.exp(1j * np.radians(start_deg + ratio * master_deg))
        return PlanPose(np.full(len(master_deg), at, np.complex128), turn)

    return course
