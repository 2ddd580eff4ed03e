"""What a frame is laid out as: shafts, holes, plates and pillars; see `layout.frame`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from shaftscore.base.wording import listed
from shaftscore.built.bearings import BearingSize
from shaftscore.built.fasteners import fastener
from shaftscore.model import MachineFrame, Stack

PlateSide = Literal["bottom", "top"]
"""One of the two plates."""

BOTH: tuple[PlateSide, ...] = ("bottom", "top")
"""Both plates."""

WALL_MM = 4.0
"""Least material about holes, and the wall of a pillar's sleeve (common practice, no source)."""


SPRING_ROD_MM = 4.0
"""Thread of the rods that springs hook on: M4 (common practice, no source)."""


def plate_code(side: PlateSide) -> str:
    """Return the code of a plate, as in the names of its files."""
    return f"PLATE-{side.upper()}"


class FrameError(ValueError):
    """A frame that cannot be laid out; the text says why."""


class OtherPartError(FrameError):
    """A frame that waits for another part, which cannot be made itself and has a finding of its own."""


@dataclass(frozen=True)
class BearingSeat:
    """The seat of a bearing: how deep it is, and the diameter of the hole under it, mm."""

    depth_mm: float
    through_mm: float


@dataclass(frozen=True)
class FrameHole:
    """A hole, by its one name. at: mm. across_mm: its diameter. purpose: for people.

    plates: that have it. seat: if it is a bearing's.
    """

    name: str
    at: complex
    across_mm: float
    purpose: str
    plates: tuple[PlateSide, ...]
    seat: BearingSeat | None = None

    @property
    def reach_mm(self) -> float:
        """Radius, mm."""
        return self.across_mm / 2

    @property
    def is_pillar(self) -> bool:
        """Whether it is a pillar's."""
        return self.name.startswith("F")


@dataclass(frozen=True)
class FrameWheel:
    """A wheel between the plates. at: of its axis, mm; radius_mm: over its teeth; is_up: at the top."""

    at: complex
    radius_mm: float
    is_up: bool = False


@dataclass(frozen=True)
class FootHole:
    """A screw hole in the bottom plate for what stands on it.

    lane_id: whose follower it serves. bracket: name of what it holds, for people. through: whether the
    plates hold the rod of that follower's lever.
    """

    lane_id: str
    at: complex
    screw_mm: float
    purpose: str
    bracket: str = ""
    through: bool = False


@dataclass(frozen=True)
class FrameShaft:
    """The shaft of a stack in the frame.

    name: of its hole. at: its axis, mm. round_mm: diameter of the circle that holds the rod's section.
    bearing: name and size; None for plain ones. bottom_mm: height of the stack's bottom face. lower_mm,
    upper_mm: heights of the bearings' middles. rod_mm: heights of both ends of the rod.
    """

    stack: Stack
    name: str
    at: complex
    round_mm: float
    bearing: tuple[str, BearingSize] | None
    bottom_mm: float
    lower_mm: float
    upper_mm: float
    rod_mm: tuple[float, float]

    @property
    def rod_length_mm(self) -> float:
        """Length of the rod."""
        return self.rod_mm[1] - self.rod_mm[0]


@dataclass(frozen=True)
class SpringRod:
    """A rod on which springs hook. name: of its hole. at: its axis, mm. lanes: whose springs, their codes."""

    name: str
    at: complex
    lanes: tuple[str, ...]

    @property
    def purpose(self) -> str:
        """What it is for, for people."""
        return f"rod M{SPRING_ROD_MM:g} of the springs of {listed(list(self.lanes))}"


@dataclass(frozen=True)
class FramePlan:
    """A frame with all its holes.

    low, high: corners of both plates, mm. plates: heights of bottom and top face of each. pillar_outer_mm:
    diameter of a pillar's sleeve. rod_mm: length of a pillar's rod. notes: what a person has to know.
    pillar_pieces: lengths in which the sleeve of a pillar is made. springs: rods that springs hook on.
    """

    frame: MachineFrame
    shafts: tuple[FrameShaft, ...]
    low: complex
    high: complex
    holes: tuple[FrameHole, ...]
    plates: Mapping[PlateSide, tuple[float, float]]
    pillar_outer_mm: float
    pillar_rod_mm: float
    notes: tuple[str, ...]
    pillar_pieces: int = 1
    springs: tuple[SpringRod, ...] = ()

    @property
    def size_mm(self) -> tuple[float, float]:
        """Length along x and y of a plate."""
        return self.high.real - self.low.real, self.high.imag - self.low.imag

    @property
    def between_mm(self) -> float:
        """Distance of the plates' inner faces: length of a pillar's sleeve."""
        return self.plates["top"][0] - self.plates["bottom"][1]

    def of_plate(self, side: PlateSide) -> tuple[FrameHole, ...]:
        """Return the holes of a plate, in the order of the table."""
        return tuple(hole for hole in self.holes if side in hole.plates)

    def shaft(self, stack_id: str) -> FrameShaft:
        """Return the shaft of a stack; raises KeyError if it has none in the frame."""
        for one in self.shafts:
            if one.stack.id == stack_id:
                return one
        raise KeyError(stack_id)


def pillar_outer_mm(frame: MachineFrame) -> float:
    """Return the diameter of the sleeve about a pillar's rod, mm."""
    return screw_hole_mm(frame.pillar_mm) + 2 * WALL_MM


def screw_hole_mm(size_mm: float) -> float:
    """Return the clearance hole of a screw or threaded rod, mm; raises FrameError for an odd size."""
    try:
        return fastener(size_mm).hole_mm
    except ValueError as error:
        raise FrameError(str(error)) from error
