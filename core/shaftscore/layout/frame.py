"""The frame: two end plates with what is drilled in them, pillars between them, and how long rods are.

Both plates have one outline, so that they can be drilled together. It holds the discs of all stacks, the
wheels of the drive, pivots, feet of brackets and the motor, with the frame's margin about them. A bearing
sits in a *seat* that opens towards the stack: as deep as the bearing is wide, or as the plate allows, over a
floor with a smaller hole for the rod. The middles of the first stack's bearings are where its rod record
says; all other stacks share its plates. Every hole has one name: S of a shaft, F of a pillar, M of the motor,
and a letter for each station.

Frame of the machine: see `shaftscore.layout`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from shaftscore.base.wording import millimetres
from shaftscore.built.fasteners import fastener
from shaftscore.layout.axes import stack_axes
from shaftscore.layout.bracket_feet import foot_holes, guide_inset_mm
from shaftscore.layout.crank import refuse_short_crank
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.frame_heights import FrameHeights
from shaftscore.layout.frame_holes import (
    motor_holes,
    refuse_crossing,
    shaft_holes,
    spring_holes,
    station_holes,
)
from shaftscore.layout.frame_plan import (
    WALL_MM,
    FootHole,
    FrameError,
    FrameHole,
    FramePlan,
    FrameShaft,
    FrameWheel,
    OtherPartError,
    PlateSide,
    pillar_outer_mm,
)
from shaftscore.layout.frame_room import refuse_squeezed
from shaftscore.layout.frame_train import axle_holes, refuse_low_train, stage_wheels, train_wheels
from shaftscore.layout.pillars import CLEAR_MM, STEP_MM, PillarSearch
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.printed import frame_walls, refuse_gone
from shaftscore.layout.reach import disc_reach_mm, lanes_on
from shaftscore.layout.spring_rods import spring_rods
from shaftscore.layout.sweeps import SweptBands
from shaftscore.model import MachineFrame, Project, Stack
from shaftscore.solution import Solution

WASHER_MM = 2.0
"""Thickness that is allowed for a washer (ISO 7089: 1.6 mm at M6; from memory)."""

FARTHER = "another station or a longer arm is needed"
"""What is done where a follower stands in the way."""

BEYOND_MM = 2.0
"""What the rod of a pillar stands out beyond its nuts."""


def machine_frame(solution: Solution) -> FramePlan | None:
    """Lay out the frame of a project with the wheels of its drive and the brackets of its followers.

    None if it has no frame. Raises FrameError, which says why, where it cannot be laid out, OtherPartError
    where that is another part's fault.
    """
    project = solution.project
    if project.frame is None:
        return None
    wheels, axles = train_wheels(project), tuple(axle_holes(project))
    try:
        axes = stack_axes(solution, used_stacks(project), wheels)
        wheels = (*wheels, *stage_wheels(project, axes))
        followers = tuple(_followers(solution, axes))
        feet = tuple(foot for layout in followers for foot in foot_holes(layout))
        rods = spring_rods(followers)
        plan = frame_plan(solution, wheels, feet, (*axles, *spring_holes(rods)), axes)
    except FollowerLayoutError as error:
        raise OtherPartError(str(error)) from error
    _refuse_feet(feet, wheels)
    _refuse_rods(project, followers, wheels)
    if plan is not None:
        refuse_low_train(project, plan)
        refuse_squeezed(solution, plan, followers)
        _refuse_lost(project, plan)
        plan = replace(plan, springs=rods)
    return plan


def _refuse_lost(project: Project, plan: FramePlan) -> None:
    """Raise FrameError where the printer's corrections leave nothing of a wall."""
    try:
        refuse_gone(project.print, frame_walls(plan))
    except ValueError as error:
        raise FrameError(str(error)) from error


def _refuse_feet(feet: Sequence[FootHole], wheels: Sequence[FrameWheel]) -> None:
    """Raise FrameError where two brackets are at one place, or a wheel would turn through one."""
    corners: dict[tuple[str, str], list[complex]] = {}
    for foot in feet:
        corners.setdefault((foot.lane_id, foot.bracket), []).append(foot.at)
    names = [name for _, name in corners]
    areas = [_foot_area(found) for found in corners.values()]
    cure = FARTHER
    for (first, area), (second, other) in combinations(zip(names, areas, strict=True), 2):
        if area.is_near(other) and area.from_bands(other) <= 0:
            raise FrameError(f"the {first} is where the {second} is; {cure}")
    low = [wheel for wheel in wheels if not wheel.is_up]  # those at the top turn above all levers
    for name, area in zip(names, areas, strict=True):
        for wheel in low:
            room = max(area.from_point(wheel.at), 0.0) - wheel.radius_mm
            if room < 0:
                raise FrameError(f"the {name} is {millimetres(-room)} inside a wheel; {cure}")


def _refuse_rods(project: Project, followers: Sequence[FollowerLayout], wheels: Sequence[FrameWheel]) -> None:
    """Raise FrameError where the rod of a lever that both plates hold would go through a wheel above it."""
    high = [wheel for wheel in wheels if wheel.is_up]  # posts are held against those at the bottom
    for layout in followers:
        if not layout.rod_in_frame or layout.pivot is None:
            continue
        needed = layout.parts.pivot_rod_mm / 2 + project.stack_of(layout.lane).body_clearance_mm
        for wheel in high:
            missing = wheel.radius_mm + needed - abs(layout.pivot - wheel.at)
            if missing > 0:
                told = f"the pivot rod of {layout.lane.label} is {millimetres(missing)} too near a wheel"
                raise FrameError(f"{told}, which it passes on its way to the top plate; {FARTHER}")


def _foot_area(screws: Sequence[complex]) -> SweptBands:
    """Return what the foot of a bracket covers: bands between its screws."""
    return SweptBands.of((one, other, guide_inset_mm()) for one, other in combinations(screws, 2))


def _followers(solution: Solution, axes: Mapping[str, complex]) -> Iterator[FollowerLayout]:
    """Yield all followers that are made as parts."""
    seats = lever_seats(solution)
    for stack in used_stacks(solution.project):
        for lane in lanes_on(solution, stack):
            layout = machine_follower(solution, lane, seats, axes[stack.id])
            if layout is not None:
                yield layout


def used_stacks(project: Project) -> list[Stack]:
    """Return the stacks that carry discs; raises FrameError if none does."""
    stacks = [stack for stack in project.stacks if project.discs_of(stack)]
    if not stacks:
        raise FrameError("no stack carries a disc, so there is nothing that a frame would hold")
    return stacks


def frame_plan(
    solution: Solution,
    wheels: Sequence[FrameWheel] = (),
    feet: Sequence[FootHole] = (),
    axles: Sequence[FrameHole] = (),
    axes: Mapping[str, complex] | None = None,
) -> FramePlan | None:
    """Lay out the frame of a project; None if it has none.

    wheels: of the drive. feet: holes for what is on the bottom plate. axles: rods through both plates. axes:
    of the stacks, where known. Raises FrameError, which says why, where it cannot be laid out.
    """
    frame = solution.project.frame
    if frame is None:
        return None
    stacks = used_stacks(solution.project)
    refuse_short_crank(solution.project, stacks[0])
    axes = stack_axes(solution, stacks, wheels) if axes is None else axes
    heights = FrameHeights.of(solution.project, frame, stacks)
    shafts = tuple(heights.shaft(stack, axes[stack.id], number) for number, stack in enumerate(stacks))
    inner = [*shaft_holes(shafts, frame), *motor_holes(frame), *axles]
    inner += station_holes(solution, axes, feet)
    refuse_crossing(inner)
    low, high = _corners(solution, frame, shafts, wheels, inner)
    pillars = PillarSearch(solution, frame, axes, wheels, inner, (low, high)).placed()
    plates: dict[PlateSide, tuple[float, float]] = {"bottom": heights.bottom, "top": heights.top}
    return FramePlan(
        frame=frame,
        shafts=shafts,
        low=low,
        high=high,
        holes=(*inner, *pillars),
        plates=plates,
        pillar_outer_mm=pillar_outer_mm(frame),
        pillar_rod_mm=_pillar_rod_mm(frame, heights),
        notes=tuple(heights.notes),
        pillar_pieces=_pieces(solution.project, heights.top[0] - heights.bottom[1]),
    )


def _pieces(project: Project, long_mm: float) -> int:
    """Return in how many equal lengths sleeves of a length, mm, are made: as the printer's height permits."""
    return max(1, math.ceil(long_mm / project.print.bed_z_mm - 1e-9))


def _pillar_rod_mm(frame: MachineFrame, heights: FrameHeights) -> float:
    """Return the length of a pillar's rod: through both plates, a washer and a nut on each, whole mm."""
    through = heights.top[1] - heights.bottom[0]
    try:
        nut = fastener(frame.pillar_mm).nut_mm
    except ValueError as error:
        raise FrameError(str(error)) from error
    return float(math.ceil(through + 2 * (WASHER_MM + nut + BEYOND_MM) - 1e-9))


def _corners(
    solution: Solution,
    frame: MachineFrame,
    shafts: Sequence[FrameShaft],
    wheels: Sequence[FrameWheel],
    holes: Sequence[FrameHole],
) -> tuple[complex, complex]:
    """Return two corners of the plates, whole mm, about all that must be inside, with the margin."""
    inside = [(shaft.at, disc_reach_mm(solution, shaft.stack)) for shaft in shafts]
    inside += [(wheel.at, wheel.radius_mm) for wheel in wheels]
    inside += [(hole.at, hole.reach_mm + WALL_MM) for hole in holes]
    room = max(frame.margin_mm, pillar_outer_mm(frame) + 2 * CLEAR_MM)

    def out(value: float) -> float:
        return math.ceil(round(value / STEP_MM, 6)) * STEP_MM

    low = complex(
        -out(max(radius - at.real for at, radius in inside) + room),
        -out(max(radius - at.imag for at, radius in inside) + room),
    )
    high = complex(
        out(max(radius + at.real for at, radius in inside) + room),
        out(max(radius + at.imag for at, radius in inside) + room),
    )
    return low, high
