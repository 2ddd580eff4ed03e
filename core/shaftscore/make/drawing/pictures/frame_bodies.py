"""The frame in pictures: plates with their holes, pillars and their rods, bearings, motor and knob."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from shaftscore.layout.frame_places import frame_placements
from shaftscore.layout.frame_plan import BOTH, SPRING_ROD_MM, FrameHole, FramePlan, PlateSide, plate_code
from shaftscore.layout.placed import Points
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.prisms import INSERT, ROD, UprightPrism, contour_of, round_prism
from shaftscore.stack.paths import circle

MOTOR_MM = 30.0
"""Length at which a motor is drawn, whose length is not described, mm."""

NUT_MM = 8.0
"""By which the rod of a pillar stands out beyond a plate, mm, at least."""

ROD_OUT_MM = 5.0
"""By which a rod that springs hook on stands out beyond both plates, with its nuts, mm."""


def plate(machine: PicturedMachine, side: PlateSide) -> PicturedPart:
    """Return a plate of the frame, with its holes; raises ValueError without a frame."""
    plan = frame_of(machine)
    low, high = plan.low, plan.high
    outline = np.array([low, complex(high.real, low.imag), high, complex(low.real, high.imag)])
    holes = tuple(_hole(hole, side) for hole in plan.of_plate(side))
    code = plate_code(side)
    prism = UprightPrism(outline, *plan.plates[side], code, holes)
    return PicturedPart("plate", code, code, (prism,))


def frame_of(machine: PicturedMachine) -> FramePlan:
    """Return the frame of a machine; raises ValueError if it has none."""
    if machine.frame is None:
        raise ValueError("the machine has no frame")
    return machine.frame


def _hole(hole: FrameHole, side: PlateSide) -> Points:
    """Return the hole as it is seen in the upper face: a seat is open upward in the bottom plate only."""
    across = hole.across_mm
    if hole.seat is not None and side == "top":
        across = hole.seat.through_mm
    return contour_of(circle(across / 2, hole.at))


def pillars(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield the rods of the pillars with their sleeves."""
    plan = frame_of(machine)
    low, high = plan.plates["bottom"][0], plan.plates["top"][1]
    over = max((plan.pillar_rod_mm - (high - low)) / 2, NUT_MM)
    for where in frame_placements(machine.project, plan):
        if where.code != "PILLAR":
            continue
        prisms = machine.placed(where)
        at = complex(where.course(np.zeros(1)).at[0])
        name = f"rod of {where.instance}"
        rod = round_prism(plan.frame.pillar_mm / 2, (low - over, high + over), name)
        if where.bottom_mm == plan.plates["bottom"][1]:  # the lowest length of its sleeve
            yield PicturedPart("pillar rod", "", name, (replace(rod, inside=ROD).moved(at),))
        if prisms:
            yield PicturedPart("pillar", where.code, where.instance, prisms)


def spring_rods(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield the rods between the plates that springs hook on."""
    plan = frame_of(machine)
    ends = (plan.plates["bottom"][0] - ROD_OUT_MM, plan.plates["top"][1] + ROD_OUT_MM)
    for own in plan.springs:
        rod = replace(round_prism(SPRING_ROD_MM / 2, ends, f"spring rod {own.name}"), inside=ROD)
        yield PicturedPart("pivot", "", rod.name, (rod.moved(own.at),))


def bearings(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield the ball bearings of all shafts, where they are in their plates."""
    for shaft in frame_of(machine).shafts:
        if shaft.bearing is None:
            continue
        size = shaft.bearing[1]
        for name, middle in (("lower", shaft.lower_mm), ("upper", shaft.upper_mm)):
            ends = (middle - size.width_mm / 2, middle + size.width_mm / 2)
            own = f"{name} bearing of {shaft.stack.label}"
            ring = round_prism(size.outer_mm / 2, ends, own)
            hole = contour_of(circle(size.bore_mm / 2))
            prism = replace(ring, holes=(hole,), inside=INSERT).moved(shaft.at)
            yield PicturedPart("bearing", "", own, (prism,), stack_id=shaft.stack.id)


def knob(machine: PicturedMachine) -> PicturedPart | None:
    """Return the knob or crank arm; None where it is not made."""
    plan = frame_of(machine)
    where = next(one for one in frame_placements(machine.project, plan) if one.code == "KNOB")
    prisms = machine.placed(where)
    if not prisms:
        return None
    return PicturedPart("knob", where.code, where.instance, prisms, stack_id=plan.shafts[0].stack.id)


def motor(machine: PicturedMachine) -> PicturedPart | None:
    """Return the motor as a plain round body on its plate; None where the frame has none."""
    plan = frame_of(machine)
    own = plan.frame.motor
    if own is None:
        return None
    at, radius = complex(own.x_mm, own.y_mm), own.screw_circle_mm / 2 + own.screw_mm
    face = plan.plates["bottom"][0] if own.face == "below" else plan.plates["top"][1]
    ends = (face - MOTOR_MM, face) if own.face == "below" else (face, face + MOTOR_MM)
    return PicturedPart("motor", "", "motor", (round_prism(radius, ends, "motor").moved(at),))


def frame_parts(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield all parts of the frame."""
    yield from (plate(machine, side) for side in BOTH)
    yield from pillars(machine)
    yield from spring_rods(machine)
    yield from bearings(machine)
    yield from (part for part in (knob(machine), motor(machine)) if part is not None)
