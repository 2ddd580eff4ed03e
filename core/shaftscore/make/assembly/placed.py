"""Bodies in their places: where each is at every angle of the master shaft, and where one is seen from another.

Frame: z along the shafts from the bottom face of the lowest disc upward, x along station 0°, as seen from the
top; points of the plan are complex, x + iy, mm. A *pose* is the place of a body's own z axis and the factor of
length 1 by which it is turned.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.make.assembly.body import SectionedBody

Points = npt.NDArray[np.complex128]
"""Points or factors of the plan view, (n,)."""

Reals = npt.NDArray[np.float64]
"""Angles of the master shaft, degrees, (n,)."""

STILL_MM = 1e-7
"""Bodies that move less than this against one another are fixed to one another."""


@dataclass(frozen=True, eq=False)
class BodyPose:
    """Where a body is at n angles: at, (n,) mm; turn, (n,) factors of length 1."""

    at: Points
    turn: Points

    def seen_from(self, other: BodyPose) -> BodyPose:
        """Return where the body is in the frame of another one."""
        back = np.conj(other.turn)
        return BodyPose((self.at - other.at) * back, self.turn * back)

    def is_still(self, reach_mm: float) -> bool:
        """Return whether no point within a distance of the body's axis, mm, moves."""
        moved = np.abs(self.at - self.at[0]) + np.abs(self.turn - self.turn[0]) * reach_mm
        return bool(np.all(moved < STILL_MM))

    def chosen(self, which: npt.NDArray[np.intp]) -> BodyPose:
        """Return the poses at some of the angles, (k,) of their numbers."""
        return BodyPose(self.at[which], self.turn[which])

    @property
    def inverse(self) -> BodyPose:
        """Where the other body is in the frame of this one."""
        return BodyPose(-self.at * np.conj(self.turn), np.conj(self.turn))


def at_rest(at: complex = 0j, turn_deg: float = 0.0) -> Callable[[Reals], BodyPose]:
    """Return the pose of a body that does not move: at a point, mm, turned by degrees."""
    factor = complex(np.exp(1j * np.radians(turn_deg)))
    return lambda deg: BodyPose(np.full(len(deg), complex(at)), np.full(len(deg), factor))


def turning(turns: float, at: complex = 0j) -> Callable[[Reals], BodyPose]:
    """Return the pose of a body that turns about its own axis at a point, mm, so many turns in a cycle.

    turns: counterclockwise positive, seen from the top.
    """
    return lambda deg: BodyPose(np.full(len(deg), complex(at)), np.exp(1j * np.radians(turns * deg)))


@dataclass(frozen=True, eq=False)
class PlacedBody:
    """A body of the assembly.

    name: as people read it, "A1 lever". code: of its part, empty for what is bought. bottom_mm: height of its
    own z = 0. pose: by angle of the master shaft. turns: times that its motion repeats in a cycle, 0 if it
    stands still. lane: id of its lane, empty if it has none. frame: only bodies of one frame have places that
    are known against one another.
    """

    name: str
    code: str
    body: SectionedBody
    bottom_mm: float
    pose: Callable[[Reals], BodyPose]
    turns: int = 0
    lane: str = ""
    frame: str = ""

    @property
    def heights_mm(self) -> tuple[float, float]:
        """Heights of its lowest and its highest point."""
        return self.bottom_mm + self.body.bottom_mm, self.bottom_mm + self.body.top_mm
