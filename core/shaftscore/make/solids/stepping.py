"""The driver and the wheel of a Geneva stage as parts: see `shaftscore.layout.stepping` for where they are.

Own frames: axis at the origin, zero mark at +x. Of the driver z = 0 is the face towards its stack: the plate,
on it the locking disc, and a hole for the pin, which is a rod. Of the wheel z = 0 is the outer face, with its
marks; its collar stands on the other one, towards the stack, with pegs or pockets where the stack has dogs.
The crossed mark of the wheel is in the concave arc that rests on the locking disc at 0°.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from functools import partial

from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.printed import refuse_gone, step_walls
from shaftscore.layout.stacks import step_codes
from shaftscore.layout.stepping import StepStage, step_stages
from shaftscore.make.solids.gear import gap_mark, marks_of
from shaftscore.make.solids.marks import stroke_width
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project, Stack
from shaftscore.stack import BulgePath, bore_path, dog_paths, mark_depth, pin_paths, pocket_depth, turn_sign
from shaftscore.stack.paths import circle, polygon
from shaftscore.stack.walls import holes_reach_mm

Named = tuple[str, BulgePath, tuple[float, float]]
"""Name, outline and heights of a body."""

EDGE_MM = 0.8
"""Least material between a mark on the wheel and its edges."""

MARK_LONG_MM = 6.0
"""Length of the marks on the wheel where there is room, mm."""


def step_makers(project: Project) -> tuple[Callable[[], MadePart], ...]:
    """Return what makes driver and wheel of each Geneva stage.

    Where a stage cannot be made, the one maker raises SolidError that says why.
    """
    try:
        stages = step_stages(project)
    except ValueError as error:
        return (partial(_refused, f"Geneva stage of {error}"),)
    parts = (driver_part, wheel_part)
    return tuple(partial(make, project, stage) for stage in stages for make in parts)


def _refused(why: str) -> MadePart:
    """Make nothing. Raises SolidError."""
    raise SolidError(why)


def wheel_path(shape: GenevaShape, turned_rad: float = 0.0) -> BulgePath:
    """Return the outline of a wheel, the middle of a concave arc at an angle, radians."""
    turns = (cmath.exp(1j * (turned_rad + 2 * shape.half_slot_rad * place)) for place in range(shape.slots))
    places, bulges = _sector(shape)
    return BulgePath(tuple(turn * place for turn in turns for place in places), bulges * shape.slots)


def _sector(shape: GenevaShape) -> tuple[tuple[complex, ...], tuple[float, ...]]:
    """Return the outline from the end of a slot round a concave arc, its middle at +x, to the next end."""
    c, arc, wheel, wide = shape.centre_mm, shape.arc_mm, shape.wheel_mm, shape.half_wide_mm
    beta = shape.corner_rad
    corner = c - arc * cmath.exp(-1j * beta)
    mouth = complex(math.sqrt(wheel * wheel - wide * wide), -wide)
    slot = cmath.exp(1j * shape.half_slot_rad)
    end, lip = slot * complex(shape.end_mm, -wide), slot * mouth
    rim = math.tan(cmath.phase(lip / corner) / 4)
    places = (end.conjugate(), lip.conjugate(), corner.conjugate(), corner, lip, end)
    return places, (0.0, rim, -math.tan(beta / 2), rim, 0.0, -1.0)


def lock_path(stage: StepStage, pin_rad: float) -> BulgePath:
    """Return the outline of a locking disc with its relief about the direction of the pin, radians."""
    shape, half = stage.shape, stage.shape.half_moving_rad
    core = shape.core_mm if not stage.is_open else stage.driving.bore.inner_radius_mm / 2
    first, last = (cmath.exp(1j * (pin_rad + way * half)) for way in (1, -1))
    back = cmath.exp(1j * (pin_rad + math.pi))
    outer = math.tan((math.pi - half) / 4)
    vertices = (shape.lock_mm * first, shape.lock_mm * back, shape.lock_mm * last, core * last, core * first)
    return BulgePath(vertices, (outer, outer, 0.0, math.tan(half / 2), 0.0))


def driver_part(project: Project, stage: StepStage) -> MadePart:
    """Make the driver of a stage. Raises SolidError where it cannot be made."""
    code = step_codes(project, stage)[0]
    stack, thick, width = stage.driving, stage.steps.thickness_mm, stroke_width(project.print.nozzle_mm)
    _refuse_gone(project, stage, code)
    flip = 1 if stage.is_up else -1
    pin = flip * stage.pin_rad(turn_sign(project, stack))
    at = stage.shape.crank_mm * cmath.exp(1j * pin)
    line = gap_mark(stage.plate_mm, stage.shape.lock_mm, 0.0, width)
    marks = marks_of({"zero mark": () if line is None else (line,)}, width, thick)
    pockets = _pockets(stack, (0.0, pocket_depth(stack))) if stage.is_up else ()
    return plain_part(
        project,
        PlainPart(
            kind="driver",
            code=code,
            label=f"driver of {stage.driven.label}",
            thickness_mm=thick,
            contour=circle(stage.plate_mm),
            holes=(*_holes(stack), circle(stage.shape.pin_mm / 2, at)),
            raised=(("locking disc", lock_path(stage, pin), (thick, stage.driver_high_mm)),),
            sunk=pockets,
            marks=marks,
            stack_id=stack.id,
            direction=turn_sign(project, stack) * flip,
            notes=tuple(f"{code}: no room for its {name}" for name in marks.missing),
        ),
    )


def wheel_part(project: Project, stage: StepStage) -> MadePart:
    """Make the wheel of a stage. Raises SolidError where it cannot be made."""
    code, stack = step_codes(project, stage)[1], stage.driven
    _refuse_gone(project, stage, code)
    thick, high = stage.steps.thickness_mm, stage.wheel_high_mm
    flip = -1 if stage.is_up else 1
    resting = flip * (stage.toward_rad + math.pi)
    collar: Named = ("collar", circle(stage.collar_radius_mm), (thick, high))
    pegs: tuple[Named, ...] = ()
    sunk = _marks(stage, resting, stroke_width(project.print.nozzle_mm))
    if stack.dogs is not None and not stage.is_up:
        pegs = tuple(
            ("peg", path, (high, high + stack.dogs.height_mm)) for path in dog_paths(stack.dogs, 0.0)
        )
    if stage.is_up:
        sunk = (*sunk, *_pockets(stack, (high - pocket_depth(stack), high)))
    return plain_part(
        project,
        PlainPart(
            kind="geneva",
            code=code,
            label=f"Geneva wheel of {stack.label}",
            thickness_mm=thick,
            contour=wheel_path(stage.shape, resting),
            holes=_holes(stack),
            raised=(collar, *pegs),
            sunk=sunk,
            stack_id=stack.id,
            direction=turn_sign(project, stack) * flip,
        ),
    )


def _refuse_gone(project: Project, stage: StepStage, code: str) -> None:
    """Raise SolidError where the printer's corrections leave nothing of a wall."""
    try:
        refuse_gone(project.print, step_walls(stage))
    except ValueError as error:
        raise SolidError(f"{code}: {error}") from error


def _holes(stack: Stack) -> tuple[BulgePath, ...]:
    """Return the holes for the rod of a stack and for its pins."""
    pins = () if stack.pins is None else pin_paths(stack.pins, stack.pins.clearance_mm)
    return (bore_path(stack.bore, stack.fit_clearance_mm), *pins)


def _pockets(stack: Stack, heights: tuple[float, float]) -> tuple[Named, ...]:
    """Return the pockets for the dogs of the end of a stack, if it has any."""
    if stack.dogs is None:
        return ()
    return tuple(("pocket", path, heights) for path in dog_paths(stack.dogs, stack.pocket_clearance_mm))


def _marks(stage: StepStage, resting_rad: float, width_mm: float) -> tuple[Named, ...]:
    """Return the zero mark and the crossed mark of the resting arc, in the outer face; none without room."""
    inner = holes_reach_mm(stage.driven) + EDGE_MM
    outer = min(stage.shape.bottom_mm, stage.shape.neck_mm) - EDGE_MM
    start = max(inner, outer - MARK_LONG_MM)
    if outer - start < 3 * width_mm:
        return ()
    heights = (0.0, mark_depth(stage.steps.thickness_mm))
    half, across = width_mm / 2, 2 * width_mm
    line = _box((start, outer), half)
    turn = cmath.exp(1j * resting_rad)
    crossed = _cross((start, outer), half, across)
    return (
        ("zero mark", polygon(line), heights),
        ("phase mark", polygon(tuple(turn * corner for corner in crossed)), heights),
    )


def _box(along: tuple[float, float], half_mm: float) -> tuple[complex, ...]:
    """Return a box along +x between two distances, half_mm to either side."""
    start, end = along
    corners = ((start, -half_mm), (end, -half_mm), (end, half_mm), (start, half_mm))
    return tuple(complex(*corner) for corner in corners)


def _cross(along: tuple[float, float], half_mm: float, across_mm: float) -> tuple[complex, ...]:
    """Return a line along +x with a bar across its inner end, which the zero mark does not have."""
    start, end = along
    bar = start + 2 * half_mm
    upper = (end, half_mm), (bar, half_mm), (bar, across_mm), (start, across_mm)
    lower = [(x, -y) for x, y in reversed(upper)]
    return tuple(complex(*corner) for corner in (*lower, *upper))
