"""Driver and wheel of an intermittent stage as parts: see `shaftscore.layout.stepping` for where they are.

Own frames: axis at the origin, zero mark at +x. Of the driver z = 0 is the face towards its stack: the plate
with a hole for the pin, which is a rod, or the counted teeth; on it is the locking disc. Of the wheel z = 0
is the outer face, with its marks; on the other one stand the teeth, if it has any, and its collar, towards
the stack, with pegs or pockets where the stack has dogs. The crossed mark of the wheel is in the concave arc
that rests on the locking disc at 0°.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from functools import partial

from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.printed import refuse_gone, step_walls
from shaftscore.layout.stacks import step_codes
from shaftscore.layout.stepping import CountedStepStage, GenevaStepStage, StepStage, step_stages
from shaftscore.make.solids import counted
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
    """Return what makes driver and wheel of each intermittent stage.

    Where a stage cannot be made, the one maker raises SolidError that says why.
    """
    try:
        stages = step_stages(project)
    except ValueError as error:
        return (partial(_refused, f"stage of {error}"),)
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


def lock_path(stage: GenevaStepStage, pin_rad: float) -> BulgePath:
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
    sign, flip = turn_sign(project, stack), 1 if stage.is_up else -1
    pockets = _pockets(stack, (0.0, pocket_depth(stack))) if stage.is_up else ()
    holes, notes, marks, sunk = _holes(stack), tuple[str, ...](), None, pockets
    if isinstance(stage, GenevaStepStage):
        pin = flip * stage.pin_rad(sign)
        line = gap_mark(stage.plate_mm, stage.shape.lock_mm, 0.0, width)
        marks = marks_of({"zero mark": () if line is None else (line,)}, width, thick)
        notes = tuple(f"{code}: no room for its {name}" for name in marks.missing)
        contour, lock = circle(stage.plate_mm), lock_path(stage, pin)
        holes = (*holes, circle(stage.shape.pin_mm / 2, stage.shape.crank_mm * cmath.exp(1j * pin)))
    else:
        assert isinstance(stage, CountedStepStage), "a stage has a pin or counted teeth"
        turn = flip * (stage.toward_rad - sign * math.radians(stage.steps.start_deg))
        contour, lock = (
            _seen(path(stage.shape), turn, sign * flip) for path in (counted.teeth_path, counted.lock_path)
        )
        mark = _zero_line(holes_reach_mm(stack) + EDGE_MM, stage.shape.core_mm - EDGE_MM, width)
        heights = stage.driver_high_mm - mark_depth(thick), stage.driver_high_mm
        sunk = (*sunk, *(("zero mark", path, heights) for path in mark))
        notes = () if mark else (f"{code}: no room for its zero mark",)
    return plain_part(
        project,
        PlainPart(
            kind="driver",
            code=code,
            label=f"driver of {stage.driven.label}",
            thickness_mm=thick,
            contour=contour,
            holes=holes,
            raised=(("locking disc", lock, (thick, stage.driver_high_mm)),),
            sunk=sunk,
            marks=marks,
            stack_id=stack.id,
            direction=sign * flip,
            notes=notes,
        ),
    )


def _seen(path: BulgePath, turned_rad: float, sign: int) -> BulgePath:
    """Return an outline of what turns counterclockwise, as of what turns by the sign, turned by an angle."""
    return (path if sign > 0 else path.mirrored()).turned(turned_rad)


def wheel_part(project: Project, stage: StepStage) -> MadePart:
    """Make the wheel of a stage. Raises SolidError where it cannot be made."""
    code, stack = step_codes(project, stage)[1], stage.driven
    _refuse_gone(project, stage, code)
    thick, body, high = stage.steps.thickness_mm, stage.wheel_thick_mm, stage.wheel_high_mm
    flip = -1 if stage.is_up else 1
    resting = flip * (stage.toward_rad + math.pi)
    raised = tuple[Named, ...]()
    if isinstance(stage, GenevaStepStage):
        contour, inner = wheel_path(stage.shape, resting), min(stage.shape.bottom_mm, stage.shape.neck_mm)
    else:
        assert isinstance(stage, CountedStepStage), "a stage has a pin or counted teeth"
        sign, inner = flip * turn_sign(project, stage.driving), stage.shape.neck_mm
        contour, teeth = (
            _seen(path(stage.shape), resting - math.pi, sign)
            for path in (counted.plate_path, counted.wheel_teeth_path)
        )
        raised = (("teeth", teeth, (thick, body)),)
    if stage.collar_mm > 0:
        raised = (*raised, ("collar", circle(stage.collar_radius_mm), (body, high)))
    sunk = _marks(stage, inner, resting, stroke_width(project.print.nozzle_mm))
    if stack.dogs is not None and not stage.is_up:
        ends = (high, high + stack.dogs.height_mm)
        raised = (*raised, *(("peg", path, ends) for path in dog_paths(stack.dogs, 0.0)))
    if stage.is_up:
        sunk = (*sunk, *_pockets(stack, (high - pocket_depth(stack), high)))
    return plain_part(
        project,
        PlainPart(
            kind="geneva" if isinstance(stage, GenevaStepStage) else "stepped",
            code=code,
            label=f"{stage.wheel_name} of {stack.label}",
            thickness_mm=thick,
            contour=contour,
            holes=_holes(stack),
            raised=raised,
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


def _zero_line(inner_mm: float, outer_mm: float, width_mm: float) -> tuple[BulgePath, ...]:
    """Return a zero mark between two radii, as long as marks are; none where there is no room."""
    start = max(inner_mm, outer_mm - MARK_LONG_MM)
    return () if outer_mm - start < 3 * width_mm else (polygon(_box((start, outer_mm), width_mm / 2)),)


def _marks(stage: StepStage, inner_mm: float, resting_rad: float, width_mm: float) -> tuple[Named, ...]:
    """Return the zero mark and the crossed mark of the resting arc, in the outer face; none without room.

    inner_mm: least radius of the wheel.
    """
    start, outer = holes_reach_mm(stage.driven) + EDGE_MM, inner_mm - EDGE_MM
    line = _zero_line(start, outer, width_mm)
    if not line:
        return ()
    heights = (0.0, mark_depth(stage.steps.thickness_mm))
    turn = cmath.exp(1j * resting_rad)
    crossed = _cross((max(start, outer - MARK_LONG_MM), outer), width_mm / 2, 2 * width_mm)
    return (
        ("zero mark", line[0], heights),
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
