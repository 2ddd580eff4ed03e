"""Wheels as outlines of arcs, their phase marks, and the pinions of the drive train as parts.

The phase mark of a pinion points along a tooth, that of the wheel it drives into a gap: they are put
together so that the two point at one another while the stack's zero marks are on the reference line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

import numpy as np

from shaftscore.built.gears import SpurWheel
from shaftscore.built.teeth import wheel_outline
from shaftscore.layout.coupled import HubWheel
from shaftscore.layout.drive import PlacedStage
from shaftscore.layout.printed import pinion_walls, refuse_gone
from shaftscore.layout.train import PinionPlan, pinion_plans
from shaftscore.make.solids.arcs import fit_arcs
from shaftscore.make.solids.marks import Marks, stroke_width
from shaftscore.make.solids.part import FINE_MM, MadePart, PlainPart, plain_part
from shaftscore.make.solids.strokes import Polyline
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Bore, Project
from shaftscore.stack import BulgePath, bore_path, mark_depth
from shaftscore.stack.paths import circle

EDGE_MM = 0.4
"""Least material beside a mark on a tooth: one line of a usual nozzle."""

MARK_LONG_MM = 5.0
"""Length to which marks on wheels are drawn where there is room."""


def wheel_path(wheel: SpurWheel, turned_rad: float = 0.0, pinion: SpurWheel | None = None) -> BulgePath:
    """Return the outline of a wheel as true arcs, turned counterclockwise about its axis, radians.

    pinion: that runs in an internal wheel. Raises ValueError for an internal wheel without one.
    """
    return fit_arcs(wheel_outline(wheel, FINE_MM, pinion)).turned(turned_rad)


def driven_path(stage: PlacedStage, *, upside_down: bool) -> BulgePath:
    """Return the outline of a stage's driven wheel in its part's own frame."""
    pair = stage.spur.pair
    return wheel_path(pair.wheel, stage.outline_turn(upside_down=upside_down), pair.pinion)


def hub_path(gear: HubWheel, *, upside_down: bool) -> BulgePath:
    """Return the outline of the wheel on a hub in the hub's own frame."""
    turned = -gear.turned_rad if upside_down else gear.turned_rad
    return wheel_path(gear.wheel, turned, gear.pinion)


def tooth_mark(wheel: SpurWheel, bore_mm: float, width_mm: float) -> Polyline | None:
    """Return a line along the tooth at +x, between the bore and the tip; None where there is no room.

    bore_mm: radius of the bore. width_mm: of the stroke.
    """
    inner, outer = bore_mm + EDGE_MM + width_mm / 2, wheel.reference_mm
    while outer > inner and wheel.thickness_mm(max(outer, wheel.base_mm)) < width_mm + 2 * EDGE_MM:
        outer -= 0.1
    start = max(inner, outer - MARK_LONG_MM)
    return None if outer - start < width_mm else np.array([start, outer], dtype=complex)


def gap_mark(root_mm: float, inner_mm: float, angle_rad: float, width_mm: float) -> Polyline | None:
    """Return a line towards a gap at an angle in radians, ending short of its root; None without room.

    root_mm: radius of the root. inner_mm: within which there is no room. width_mm: of the stroke.
    """
    outer = root_mm - EDGE_MM - width_mm / 2
    start = max(inner_mm + EDGE_MM + width_mm / 2, outer - MARK_LONG_MM)
    if outer - start < width_mm:
        return None
    return np.array([start, outer]) * complex(math.cos(angle_rad), math.sin(angle_rad))


def crossed(line: Polyline | None, width_mm: float) -> tuple[Polyline, ...]:
    """Return a line with a bar across its inner end, which the zero mark does not have; width_mm: of both."""
    if line is None:
        return ()
    across = 1.5 * width_mm * 1j * line[0] / abs(line[0])
    return line, np.array([line[0] - across, line[0] + across])


def marks_of(groups: Mapping[str, tuple[Polyline, ...]], width_mm: float, thickness_mm: float) -> Marks:
    """Return marks by their names, empty ones where there is no room; width and thickness in mm."""
    drawn = dict(groups)
    return Marks(MappingProxyType(drawn), width_mm, mark_depth(thickness_mm))


def pinion_makers(project: Project) -> tuple[Callable[[], MadePart], ...]:
    """Return what makes the pinion of each stage with a module.

    Where the train cannot be made, the one maker raises SolidError that says why.
    """
    try:
        plans = pinion_plans(project)
    except ValueError as error:
        return (partial(_refused, str(error)),)
    return tuple(partial(pinion_part, project, plan) for plan in plans)


def _refused(why: str) -> MadePart:
    """Make nothing. Raises SolidError."""
    raise SolidError(f"PINION: {why}")


def pinion_part(project: Project, plan: PinionPlan) -> MadePart:
    """Make a pinion, with the wheel that turns it where they are one part.

    Raises SolidError where nothing is left of one of its outlines.
    """
    try:
        refuse_gone(project.print, pinion_walls(project, plan))
    except ValueError as error:
        raise SolidError(f"{plan.code}: {error}") from error
    upside_down = project.stacks[0].driven_end == "top"
    own, face = plan.stage.spur.pair.pinion, plan.stage.spur.face_mm
    pinion = wheel_path(own)
    width = stroke_width(project.print.nozzle_mm)
    bore = _bore(project, plan)
    along = tooth_mark(own, bore.largest_radius, width)
    groups: dict[str, tuple[Polyline, ...]] = {"phase mark": () if along is None else (along,)}
    raised: tuple[tuple[str, BulgePath, tuple[float, float]], ...] = ()
    foot, thickness = pinion, face
    if plan.wheel is not None:
        foot = driven_path(plan.wheel, upside_down=upside_down)
        raised = (("pinion", pinion, (plan.foot_mm, plan.foot_mm + face)),)
        thickness, wheel = plan.foot_mm, plan.wheel.spur.pair.wheel
        gap = plan.wheel.gap_rad(upside_down=upside_down)
        groups = {"phase mark": crossed(gap_mark(wheel.root_mm, own.tip_mm, gap, width), width)}
    marks = marks_of(groups, width, thickness)
    return plain_part(
        project,
        PlainPart(
            kind="pinion",
            code=plan.code,
            label=f"pinion of stage {plan.stage.spur.number}",
            thickness_mm=thickness,
            contour=foot,
            holes=(bore,),
            raised=raised,
            marks=marks,
            stack_id=project.stacks[0].id,
            direction=1 if plan.stage.driver_ratio > 0 else -1,
            notes=_notes(plan, marks),
        ),
    )


def _bore(project: Project, plan: PinionPlan) -> BulgePath:
    """Return the hole of a pinion: with a flat for a motor's shaft, round for an axle."""
    clearance = project.stacks[0].fit_clearance_mm
    if plan.flat_mm is None:
        return circle(plan.across_mm / 2 + clearance)
    return bore_path(Bore(shape="d", across_mm=plan.across_mm, flat_mm=plan.flat_mm), clearance)


def _notes(plan: PinionPlan, marks: Marks) -> tuple[str, ...]:
    """Return what a maker has to know: the shaft that the bore is for, and marks without room."""
    notes = []
    if plan.flat_mm is not None:
        size = f"{plan.across_mm:g} mm with a flat, {plan.flat_mm:g} mm across it"
        notes.append(f"{plan.code}: bore for a motor shaft of {size}; check it against the motor")
    if plan.stage.spur.pair.contact_ratio < EVEN_RATIO:
        ratio = f"{plan.stage.spur.pair.contact_ratio:.2f}"
        notes.append(f"{plan.code}: contact ratio {ratio}; over {EVEN_RATIO:g} runs more evenly")
    notes += [f"{plan.code}: no room for its {name}" for name in marks.missing]
    return tuple(notes)


EVEN_RATIO = 1.2
"""Contact ratio from which on a pair is said to run evenly (common practice, no source)."""
