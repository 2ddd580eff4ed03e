"""What a section of a shaft shows: parts in their heights, rows that say what they are, heights to measure.

z is along the shaft, mm, from the bottom face of the stack. Sizes of plates, bearings and rod are those of
the frame where the project has one; without it, rod and bearings are where the rod's record says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.built.heights import height_tolerance_mm
from shaftscore.layout.frame_plan import FramePlan, FrameShaft
from shaftscore.layout.hub import HubPlan, hub_plan, outer_face_mm
from shaftscore.make.drawing.shaft import CLAMP_HIGH_MM, ShaftPart, bearing_parts
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution
from shaftscore.stack import Layer, StackPlan, stack_plan

PLATE_MM = 2.0
"""Plates are drawn this far beyond the largest disc."""


@dataclass(frozen=True)
class SectionRow:
    """A row beside a section: at which z, from which radius its line comes, mm, and what it says."""

    z_mm: float
    radius_mm: float
    code: str
    name: str
    heights: str = ""
    radii: str = ""


@dataclass(frozen=True)
class MeasuredHeight:
    """A height to measure with a caliper: what, the nominal value and its plus-minus limit if known, mm."""

    what: str
    value_mm: float
    tolerance_mm: float | None


@dataclass(frozen=True, eq=False)
class SectionParts:
    """What is cut. plates_mm: z of the plates' inner faces, rod_mm: of the rod's ends; None if not known."""

    project: Project
    stack: Stack
    plan: StackPlan
    parts: tuple[ShaftPart, ...]
    rows: tuple[SectionRow, ...]
    plates_mm: tuple[float, float] | None
    rod_mm: tuple[float, float] | None

    @property
    def reach_mm(self) -> float:
        """Return the largest radius but that of plates."""
        return max(max(one.right_mm, one.reach_mm) for one in self.parts if one.kind != "plate")

    @property
    def ends_mm(self) -> tuple[float, float]:
        """Return the lowest and the highest z of all parts."""
        return min(one.bottom_mm for one in self.parts), max(one.top_mm for one in self.parts)


def section_parts(solution: Solution, stack: Stack, frame: FramePlan | None) -> SectionParts:
    """Return what the section of a stack shows; frame: of the machine, where it is laid out."""
    project, plan = solution.project, stack_plan(solution.project, stack)
    shaft = None
    if frame is not None:
        shaft = next((one for one in frame.shafts if one.stack.id == stack.id), None)
    hub = _hub(project, stack)
    layers = [_layer(solution, stack, layer) for layer in plan.layers]
    parts = [*layers, *_hub_parts(project, plan, hub)]
    reach = max(max(part.right_mm, part.reach_mm) for part in parts) + PLATE_MM
    plates = rod = None
    if shaft is not None and frame is not None:
        parts += _frame_parts(shaft, frame, reach)
        low, high = frame.plates["bottom"][1] - shaft.bottom_mm, frame.plates["top"][0] - shaft.bottom_mm
        plates, rod = (low, high), (shaft.rod_mm[0] - shaft.bottom_mm, shaft.rod_mm[1] - shaft.bottom_mm)
    else:
        parts += bearing_parts(stack, plan)
    parts += _clamp(stack, plan, hub)
    rows = (*_layer_rows(solution, layers), *_other_rows(parts, hub, shaft, frame))
    return SectionParts(project, stack, plan, tuple(parts), rows, plates, rod)


def _hub(project: Project, stack: Stack) -> HubPlan | None:
    """Return the plan of a stack's hub; None without one, or if it cannot be made: the export says why."""
    if stack.hub is None:
        return None
    try:
        return hub_plan(project, stack)
    except ValueError:
        return None


def _layer(solution: Solution, stack: Stack, layer: Layer) -> ShaftPart:
    """Return a disc to its least radius with its largest, or a spacer."""
    kind, radius, reach = "spacer", stack.spacer_radius_mm, 0.0
    profile = None if layer.lane_id is None else solution.lanes[layer.lane_id].profile
    if layer.lane_id is not None:
        kind = "disc"
    if profile is not None:
        radii = np.abs(profile.at_nodes.profile)
        radius, reach = float(radii.min()), float(radii.max())
    bottom, top = layer.bottom_mm, layer.top_mm
    return ShaftPart(
        "disc" if kind == "disc" else "spacer", layer.lane_id, -radius, radius, bottom, top, reach_mm=reach
    )


def _hub_parts(project: Project, plan: StackPlan, hub: HubPlan | None) -> Iterator[ShaftPart]:
    """Yield foot and collar of a hub at the driven end."""
    if hub is None:
        return
    outer = outer_face_mm(project, hub)
    way = -1.0 if hub.upside_down else 1.0
    middle = outer + way * hub.foot_mm
    if hub.foot_mm > 0:
        radius = hub.foot_radius_mm
        if radius is None:
            assert hub.gear is not None, "a foot without a radius is a wheel"
            radius = hub.gear.wheel.tip_mm
        low, high = sorted((outer, middle))
        yield ShaftPart("hub", None, -radius, radius, low, high)
    face = 0.0 if not hub.upside_down else plan.height_mm
    low, high = sorted((middle, face))
    yield ShaftPart("hub", None, -hub.collar_mm, hub.collar_mm, low, high)


def _frame_parts(shaft: FrameShaft, frame: FramePlan, reach_mm: float) -> Iterator[ShaftPart]:
    """Yield plates with the seats of bearings, bearings and rod in their sizes."""
    up, half = shaft.bottom_mm, shaft.stack.rod.across_mm / 2 if shaft.stack.rod is not None else 0.0
    bearing = None if shaft.bearing is None else shaft.bearing[1]
    hole = next((one for one in frame.holes if one.name == shaft.name), None)
    for side, middle in (("bottom", shaft.lower_mm), ("top", shaft.upper_mm)):
        low, high = (z - up for z in frame.plates["bottom" if side == "bottom" else "top"])
        inner, seat = half + 0.2, None
        if hole is not None and hole.seat is not None:
            inner, radius, deep = hole.seat.through_mm / 2, hole.reach_mm, hole.seat.depth_mm
            seat = (radius, high - deep, high) if side == "bottom" else (radius, low + deep, low)
        elif hole is not None:
            inner = hole.reach_mm
        yield ShaftPart("plate", None, -reach_mm, reach_mm, low, high, inner, seat=seat)
        if bearing is not None:
            z, wide = middle - up, bearing.width_mm / 2
            outer = bearing.outer_mm / 2
            yield ShaftPart("bearing", None, -outer, outer, z - wide, z + wide, bearing.bore_mm / 2)
    yield ShaftPart("rod", None, -half, half, shaft.rod_mm[0] - up, shaft.rod_mm[1] - up)


def _clamp(stack: Stack, plan: StackPlan, hub: HubPlan | None) -> Iterator[ShaftPart]:
    """Yield the nut of a clamped stack, at the end where no hub is."""
    if stack.rod is None or stack.rod.clamp_n is None:
        return
    radius, at_top = 1.8 * stack.rod.across_mm / 2, hub is None or not hub.upside_down
    room = stack.rod.above_mm if at_top else stack.rod.below_mm
    high = min(CLAMP_HIGH_MM, max(room - 3.0, 1.0))
    low = plan.height_mm if at_top else -high
    yield ShaftPart("clamp", None, -radius, radius, low, low + high)


# Rows


def _layer_rows(solution: Solution, layers: Sequence[ShaftPart]) -> Iterator[SectionRow]:
    """Yield a row a disc; spacers are alike and are said once."""
    for part in layers:
        if part.lane_id is not None:
            lane = solution.project.lane(part.lane_id)
            radii = f"{plain(part.right_mm, 1)} to {plain(part.reach_mm, 1)}" if part.reach_mm else "not made"
            heights = f"{plain(part.bottom_mm, 2)} to {plain(part.top_mm, 2)}"
            reach = max(part.reach_mm, part.right_mm)
            yield SectionRow(part.middle_mm, reach, lane.code or "", lane.label, heights, radii)


def _other_rows(
    parts: Sequence[ShaftPart], hub: HubPlan | None, shaft: FrameShaft | None, frame: FramePlan | None
) -> Iterator[SectionRow]:
    """Yield rows of plates, bearings, ring and hub."""
    if shaft is not None and frame is not None:
        for part, name in zip([p for p in parts if p.kind == "plate"], ("Bottom", "Top"), strict=True):
            deep = abs(part.seat[2] - part.seat[1]) if part.seat is not None else None
            seat = "" if deep is None else f", seat {plain(deep, 2)} deep"
            thick = plain(part.top_mm - part.bottom_mm, 2)
            yield SectionRow(part.middle_mm, part.right_mm, "", f"{name} plate, {thick} thick{seat}")
        name = "" if shaft.bearing is None else f"bearing {shaft.bearing[0]}"
        for part in [p for p in parts if p.kind == "bearing"] if name else ():
            yield SectionRow(part.middle_mm, part.right_mm, "", name)
    for part in parts:
        if part.kind == "clamp":
            yield SectionRow(part.middle_mm, part.right_mm, "", "nut, tight")
    yield from _hub_rows([part for part in parts if part.kind == "hub"], hub)


def _hub_rows(parts: Sequence[ShaftPart], hub: HubPlan | None) -> Iterator[SectionRow]:
    if hub is None or not parts:
        return
    foot = parts[0]
    thick = plain(foot.top_mm - foot.bottom_mm, 2)
    name = f"hub, {thick} thick"
    if hub.gear is not None:
        name = f"hub gear, {hub.gear.wheel.teeth} teeth, {thick} thick"
    yield SectionRow(foot.middle_mm, foot.right_mm, "", name)


# Heights to measure


def measured_heights(drawn: SectionParts) -> Iterator[MeasuredHeight]:
    """Yield the heights that a caliper can check, from the bottom up."""
    project, plan = drawn.project, drawn.plan
    first, last = (_name(project, layer) for layer in (plan.discs[0], plan.discs[-1]))
    if drawn.plates_mm is not None:
        low = -drawn.plates_mm[0]
        yield MeasuredHeight(f"Underside of {first} above the bottom plate", low, None)
        yield MeasuredHeight(f"Top of {last} above the bottom plate", low + plan.height_mm, None)
        yield MeasuredHeight("Between the plates", drawn.plates_mm[1] - drawn.plates_mm[0], None)
    own = project.tolerances
    limit = height_tolerance_mm(len(plan.layers), own.thickness_mm, own.thickness_common_mm, 0.0)
    tight = ", nut tight" if drawn.stack.rod is not None and drawn.stack.rod.clamp_n is not None else ""
    if len(plan.discs) > 1:
        yield MeasuredHeight(f"Stack, {first} to {last}{tight}", plan.height_mm, limit)
    one = height_tolerance_mm(1, own.thickness_mm, own.thickness_common_mm, 0.0)
    thick = plan.discs[0].top_mm - plan.discs[0].bottom_mm
    yield MeasuredHeight(f"Thickness of {first}", thick, one)


def _name(project: Project, layer: Layer) -> str:
    lane = project.lane(str(layer.lane_id))
    return lane.code or lane.label
