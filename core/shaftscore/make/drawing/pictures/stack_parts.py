"""What is on the shaft of a stack, from its lower end to its upper one: rod, hub, discs and spacers, pins."""

from __future__ import annotations

import cmath
from collections.abc import Iterator

import numpy as np

from shaftscore.layout import stack_placements
from shaftscore.layout.frame_heights import bearing_of, round_mm
from shaftscore.layout.frame_plan import FrameError
from shaftscore.layout.stacks import own_code, stages_of, step_placements
from shaftscore.layout.stepping import GenevaStepStage
from shaftscore.layout.train import hub_placement, train_placements
from shaftscore.make.drawing.pictures.machine import PartRole, PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.prisms import ROD, UprightPrism, contour_of
from shaftscore.model import Bore, Stack
from shaftscore.stack import BulgePath, bore_path, pin_paths, stack_plan, turn_sign
from shaftscore.stack.paths import circle

BEYOND_MM = 10.0
"""By which a rod that is not described is drawn longer than its stack at each end."""

PIN_MM = 2.0
"""By which pins are drawn longer than their stack, so that they are seen."""


def layers(machine: PicturedMachine, stack: Stack) -> Iterator[PicturedPart]:
    """Yield the discs and spacers of a stack that are made, bottom to top."""
    at, bottom = machine.places[stack.id]
    spacer = own_code("SPACER", machine.project, stack)
    for where in stack_placements(machine.project, stack, at):
        prisms = machine.placed(where, bottom)
        if not prisms:
            continue
        if where.code == spacer:
            yield PicturedPart("spacer", where.code, where.instance, prisms, stack_id=stack.id)
            continue
        lane_id = machine.made(where.code)[0].lane_id or ""
        yield PicturedPart("disc", where.code, where.instance, prisms, lane_id, stack.id)


def hub(machine: PicturedMachine, stack: Stack) -> PicturedPart | None:
    """Return the hub of a stack; None where it has none that is made."""
    if stack.hub is None or not machine.made(own_code("HUB", machine.project, stack)):
        return None
    at, bottom = machine.places[stack.id]
    where = hub_placement(machine.project, stack, at)
    prisms = machine.placed(where, bottom)
    return PicturedPart("hub", where.code, where.instance, prisms, stack_id=stack.id)


def pinions(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield the pinions of the drive that are made, the one that drives the first stack first."""
    stack = machine.project.stacks[0]
    if stack.id not in machine.places:
        return
    at, bottom = machine.places[stack.id]
    try:
        found = list(train_placements(machine.project, at))
    except ValueError:  # they are not made, and the export says why
        return
    for where in found:
        prisms = machine.placed(where, bottom)
        if prisms and where.code.startswith("PINION"):
            yield PicturedPart("pinion", where.code, where.instance, prisms, stack_id=stack.id)


def stage_parts(machine: PicturedMachine, stack: Stack) -> Iterator[PicturedPart]:
    """Yield the drivers, with their pins, and the wheel of stages that are on the shaft of a stack."""
    for stage in stages_of(machine.project):
        if stack not in (stage.driving, stage.driven) or stage.driving.id not in machine.places:
            continue
        at, bottom = machine.places[stage.driving.id]
        driver, wheel = step_placements(machine.project, stage, at, bottom)
        if stack is stage.driving and machine.made(driver.code):
            prisms = tuple(machine.placed(driver))
            if isinstance(stage, GenevaStepStage):
                prisms = (*prisms, _stage_pin(machine, stage, at, driver.bottom_mm))
            yield PicturedPart("driver", driver.code, driver.instance, prisms, stack_id=stack.id)
        if stack is stage.driven and machine.made(wheel.code):
            role: PartRole = "geneva" if isinstance(stage, GenevaStepStage) else "stepped"
            yield PicturedPart(role, wheel.code, wheel.instance, machine.placed(wheel), stack_id=stack.id)


def _stage_pin(machine: PicturedMachine, stage: GenevaStepStage, at: complex, face_mm: float) -> UprightPrism:
    """Return the pin of a stage's driver as it is at angle 0."""
    middle = at + cmath.rect(stage.shape.crank_mm, stage.pin_rad(turn_sign(machine.project, stage.driving)))
    low, high = sorted((face_mm, face_mm + stage.outward * stage.driver_high_mm))
    outline = contour_of(circle(stage.shape.pin_mm / 2, middle))
    return UprightPrism(outline, low, high, f"pin of {stage.driven.label}", inside=ROD)


def rod_path(stack: Stack) -> BulgePath:
    """Return the section of a stack's rod; its bore's where no rod is described."""
    rod = stack.rod
    if rod is None:
        return bore_path(stack.bore, 0.0)
    shape, flat = rod.shape_in(stack.bore), rod.flat_in(stack.bore)
    return bore_path(Bore(shape=shape, across_mm=rod.across_mm, flat_mm=flat if shape == "d" else None), 0.0)


def rod_ends_mm(machine: PicturedMachine, stack: Stack) -> tuple[float, float]:
    """Return the heights of both ends of a stack's rod, mm."""
    if machine.frame is not None:
        return machine.frame.shaft(stack.id).rod_mm
    _, bottom = machine.places[stack.id]
    high = stack_plan(machine.project, stack).height_mm
    below, above = BEYOND_MM, BEYOND_MM
    if stack.rod is not None:
        below, above = (max(one, 0.0) + BEYOND_MM for one in (stack.rod.below_mm, stack.rod.above_mm))
    return bottom - below, bottom + high + above


def rod(machine: PicturedMachine, stack: Stack) -> PicturedPart:
    """Return the rod of a stack."""
    at, _ = machine.places[stack.id]
    name = f"rod of {stack.label}"
    outline = at + contour_of(rod_path(stack))
    prism = UprightPrism(outline, *rod_ends_mm(machine, stack), name, inside=ROD)
    return PicturedPart("rod", "", name, (prism,), stack_id=stack.id)


def pins(machine: PicturedMachine, stack: Stack) -> Iterator[PicturedPart]:
    """Yield the pins that turn the discs of a stack."""
    if stack.pins is None:
        return
    at, bottom = machine.places[stack.id]
    top = bottom + stack_plan(machine.project, stack).height_mm + PIN_MM
    for number, path in enumerate(pin_paths(stack.pins, 0.0), start=1):
        name = f"pin {number} of {stack.label}"
        outline = np.asarray(at + contour_of(path))
        prism = UprightPrism(outline, bottom - PIN_MM, top, name, inside=ROD)
        yield PicturedPart("pin", "", name, (prism,), stack_id=stack.id)


def sleeve_size(stack: Stack) -> tuple[float, float] | None:
    """Return outside diameter and length of the bearing sleeves that a rod needs, mm; None without."""
    if stack.rod is None:
        return None
    try:
        bearing = bearing_of(stack)
    except FrameError:  # a rod for which there is no bearing: a finding says so
        return None
    if bearing is None:
        return None
    size = bearing[1]
    if stack.rod.shape_in(stack.bore) == "round" and size.bore_mm <= round_mm(stack):
        return None
    return size.bore_mm, size.width_mm
