"""Bodies in their places (`shaftscore.layout`), and where one is seen from another.

Frame of the machine: z along the shafts from the bottom face of the first stack upward, x along station 0°,
as seen from the top, mm. A body's own frame has its z axis where its placement puts its origin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.layout import Course, Placement, PlanPose
from shaftscore.make.assembly.body import SectionedBody

STILL_MM = 1e-7
"""Bodies that move less than this against one another are fixed to one another."""


@dataclass(frozen=True, eq=False)
class PlacedBody:
    """A body of the assembly.

    name: as people read it, "A1 lever". code: of its part, empty for what is bought. bottom_mm: height of its
    own z = 0. course: its pose by angle of the master shaft. follows: id of the stack in whose turn its
    motion repeats, empty if it stands still. lane: id of its lane, empty if it has none. frame: only bodies
    of one frame have places that are known against one another. rank: a sentence on two bodies begins with
    that of the lower rank.
    """

    name: str
    code: str
    body: SectionedBody
    bottom_mm: float
    course: Course
    follows: str = ""
    lane: str = ""
    frame: str = ""
    rank: int = 0

    @property
    def heights_mm(self) -> tuple[float, float]:
        """Heights of its lowest and its highest point."""
        return self.bottom_mm + self.body.bottom_mm, self.bottom_mm + self.body.top_mm


def body_at(placement: Placement, body: SectionedBody) -> SectionedBody:
    """Return a body as a placement puts it: turned over, if that says so."""
    return body.turned_over() if placement.upside_down else body


def seen_from(pose: PlanPose, other: PlanPose) -> PlanPose:
    """Return where a body is in the frame of another one."""
    back = np.conj(other.turn)
    return PlanPose((pose.at - other.at) * back, pose.turn * back)


def inverse(pose: PlanPose) -> PlanPose:
    """Return where the other body is in the frame of this one."""
    return PlanPose(-pose.at * np.conj(pose.turn), np.conj(pose.turn))


def chosen(pose: PlanPose, which: npt.NDArray[np.intp]) -> PlanPose:
    """Return the poses at some of the angles, (k,) of their numbers."""
    return PlanPose(pose.at[which], pose.turn[which])


def is_still(pose: PlanPose, reach_mm: float) -> bool:
    """Return whether no point within a distance of the body's axis, mm, moves."""
    moved = np.abs(pose.at - pose.at[0]) + np.abs(pose.turn - pose.turn[0]) * reach_mm
    return bool(np.all(moved < STILL_MM))
