"""What clamps a stack on its rod: a collar or a nut at each end, where there is room for one."""

from __future__ import annotations

import numpy as np

from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.prisms import UprightPrism, contour_of
from shaftscore.make.drawing.pictures.stack_parts import hub, stage_parts
from shaftscore.model import Stack
from shaftscore.stack import stack_plan
from shaftscore.stack.paths import circle

COLLAR_MM, COLLAR_WALL_MM = 8.0, 6.0
"""Height of a clamp collar and its wall about the rod, as drawn, mm (common practice, no source)."""

NUT_SHARE = 0.85
"""Half the width of a nut across its flats over its thread (ISO 4032: M10 16 mm, M8 13 mm; from memory)."""


def clamp(machine: PicturedMachine, stack: Stack, *, upper: bool) -> PicturedPart | None:
    """Return the collar or nut at one end of a stack; None without a clamp or where it has no room."""
    own = stack.rod
    if own is None or own.clamp_n is None:
        return None
    low, high = _ends_mm(machine, stack)
    tall = min(COLLAR_MM, _room_mm(machine, stack, high if upper else low, upper=upper))
    if tall < COLLAR_MM / 2:
        return None
    ends = (high, high + tall) if upper else (low - tall, low)
    at = machine.places[stack.id][0]
    word = "nut" if own.thread is not None else "clamp collar"
    outline = at + contour_of(circle(stack.bore.outer_radius_mm + COLLAR_WALL_MM))
    if own.thread is not None:
        corners = NUT_SHARE * own.across_mm / np.cos(np.pi / 6) * np.exp(1j * np.pi / 3 * np.arange(6))
        outline = np.asarray(at + corners, np.complex128)
    hole = at + contour_of(circle(stack.bore.outer_radius_mm))
    prism = UprightPrism(outline, *ends, f"{'upper' if upper else 'lower'} {word}", (hole,))
    return PicturedPart("clamp", "", prism.name, (prism,), stack_id=stack.id)


def clamp_word(part: PicturedPart) -> str:
    """Return what a clamp is called, without the end that it is at."""
    return part.instance.removeprefix("lower ").removeprefix("upper ")


def _ends_mm(machine: PicturedMachine, stack: Stack) -> tuple[float, float]:
    """Return the heights of the lowest and the highest face of a stack with its hub, mm."""
    bottom = machine.places[stack.id][1]
    low, high = bottom, bottom + stack_plan(machine.project, stack).height_mm
    part = hub(machine, stack)
    ends = [*([] if part is None else [part]), *stage_parts(machine, stack)]
    return min([low, *(one.bottom_mm for one in ends)]), max([high, *(one.top_mm for one in ends)])


def _room_mm(machine: PicturedMachine, stack: Stack, face_mm: float, *, upper: bool) -> float:
    """Return the length of rod between a face of the stack and its bearing, mm."""
    frame = machine.frame
    if frame is None:
        return COLLAR_MM
    shaft = frame.shaft(stack.id)
    half = 0.0 if shaft.bearing is None else shaft.bearing[1].width_mm / 2
    return shaft.upper_mm - half - face_mm if upper else face_mm - shaft.lower_mm - half
