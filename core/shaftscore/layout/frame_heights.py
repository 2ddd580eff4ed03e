"""Heights of the plates, the stacks between them, their bearings and their rods."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from shaftscore.base.wording import millimetres
from shaftscore.built.bearings import BearingSize
from shaftscore.built.shaft_bearings import shaft_bearing
from shaftscore.layout.frame_plan import FrameError, FrameShaft
from shaftscore.model import Bore, MachineFrame, Project, Rod, Stack
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import FLOOR_MM

SEAT_FLOOR_MM = 1.0
"""Least floor under a seat (common practice, no source)."""

KNOB_MM = 10.0
"""Thickness of the knob or crank arm, on the first stack's rod above the top plate."""

KNOB_GAP_MM = 1.0
"""Distance of the knob from the top plate."""

END_MM = 1.0
"""What a rod stands out beyond a knob."""


@dataclass
class FrameHeights:
    """Heights of the plates, found for all stacks together; notes on what does not agree."""

    project: Project
    frame: MachineFrame
    bottom: tuple[float, float] = (0.0, 0.0)
    top: tuple[float, float] = (0.0, 0.0)
    notes: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, project: Project, frame: MachineFrame, stacks: Sequence[Stack]) -> FrameHeights:
        """Find the heights: the first stack sets the bottom plate, the tallest the top plate."""
        made = cls(project, frame)
        first = inset_mm(frame, stacks[0])
        inner = -rod_of(stacks[0]).below_mm + first
        made.bottom = (inner - frame.plate_mm, inner)
        above = max(inner + made._span_mm(stack) for stack in stacks)
        made.top = (above, above + frame.plate_mm)
        return made

    def _span_mm(self, stack: Stack) -> float:
        """Return the distance of the inner faces that a stack's own record asks for, mm."""
        rod, height = rod_of(stack), stack_plan(self.project, stack).height_mm
        return rod.below_mm + height + rod.above_mm - 2 * inset_mm(self.frame, stack)

    def shaft(self, stack: Stack, at: complex, number: int) -> FrameShaft:
        """Place a stack between the plates; notes where its upper bearing is not as its record says."""
        rod, inset = rod_of(stack), inset_mm(self.frame, stack)
        lower, upper = self.bottom[1] - inset, self.top[0] + inset
        bottom = lower + rod.below_mm
        above = upper - bottom - stack_plan(self.project, stack).height_mm
        if abs(above - rod.above_mm) > 0.05:
            there, stated = millimetres(above), millimetres(rod.above_mm)
            self.notes.append(
                f"{stack.label}: its upper bearing is {there} above the stack in the common plate; its rod "
                f"says {stated}. Set that to {there}, so that its bending is computed for it"
            )
        name = f"S{number + 1}" if self._has_several else "S"
        knob = KNOB_GAP_MM + KNOB_MM + END_MM if number == 0 else 0.0
        ends = (self.bottom[0], self.top[1] + knob)
        length = math.ceil(ends[1] - ends[0] - 1e-9)
        rod_mm = (ends[0], ends[0] + length)
        return FrameShaft(stack, name, at, round_mm(stack), bearing_of(stack), bottom, lower, upper, rod_mm)

    @property
    def _has_several(self) -> bool:
        return sum(bool(self.project.discs_of(stack)) for stack in self.project.stacks) > 1


def rod_of(stack: Stack) -> Rod:
    """Return the rod of a stack; raises FrameError without one."""
    if stack.rod is None:
        raise FrameError(f"{stack.label} has no rod; describe it in Machine > Stacks and order")
    return stack.rod


def round_mm(stack: Stack) -> float:
    """Return the diameter of the circle that holds the section of a stack's rod, mm."""
    rod = rod_of(stack)
    shape, flat = rod.shape_in(stack.bore), rod.flat_in(stack.bore)
    return (
        2 * Bore(shape=shape, across_mm=rod.across_mm, flat_mm=flat if shape == "d" else None).outer_radius_mm
    )


def bearing_of(stack: Stack) -> tuple[str, BearingSize] | None:
    """Return the ball bearing of a stack's rod; None for plain ones. Raises FrameError for none so large."""
    if rod_of(stack).bearing == "plain":
        return None
    try:
        return shaft_bearing(round_mm(stack))
    except ValueError as error:
        raise FrameError(f"{stack.label}: {error}") from error


def seat_depth_mm(frame: MachineFrame, size: BearingSize) -> float:
    """Return how deep the seat of a bearing is in a plate of the frame, mm."""
    return min(size.width_mm, frame.plate_mm - SEAT_FLOOR_MM)


def bracket_floor_mm(project: Project, stack: Stack) -> float:
    """Return the height of the face that brackets stand on, mm, from the bottom face of a stack.

    That is the inner face of the bottom plate; a usual one where no frame or rod says it.
    """
    frame = project.frame
    if frame is None or stack.rod is None:
        return -FLOOR_MM
    try:
        return inset_mm(frame, stack) - stack.rod.below_mm
    except FrameError:  # a rod for which there is no bearing: a finding says so
        return -FLOOR_MM


def inset_mm(frame: MachineFrame, stack: Stack) -> float:
    """Return how far the middle of a stack's bearing is behind the inner face of its plate, mm.

    Negative where it stands out. Raises FrameError where there is no bearing for the rod.
    """
    bearing = bearing_of(stack)
    if bearing is None:
        return frame.plate_mm / 2
    return seat_depth_mm(frame, bearing[1]) - bearing[1].width_mm / 2
