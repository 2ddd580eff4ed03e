"""Where the axes of several stacks are in plan view."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from shaftscore.base.wording import millimetres
from shaftscore.layout.coupled import hub_wheels
from shaftscore.layout.frame_plan import FrameError, FrameWheel, OtherPartError
from shaftscore.layout.reach import disc_reach_mm
from shaftscore.layout.stepping import StepStage, step_stages
from shaftscore.layout.sweeps import SweptBands, swept
from shaftscore.model import Stack
from shaftscore.solution import Solution

NEAR_BAR_MM = 32.0
"""Length of bars that must not meet other stacks; what they go on to is outside."""

APART_MM = 3.0
"""Least distance of what two stacks sweep."""

FARTHEST_MM = 400
"""Places are looked for up to so much farther than discs that touch."""

ROUNDED_MM = 0.2
"""By which rounding moves two places that are a step apart, at most: each by half a tenth in x and y."""

DIRECTIONS = (270, 90, 0, 180, *(angle for angle in range(0, 360, 10) if angle % 90))
"""Directions in which a stack looks for its place, those along the plates' edges first, degrees."""


def stack_axes(
    solution: Solution, stacks: Sequence[Stack], wheels: Sequence[FrameWheel] = ()
) -> dict[str, complex]:
    """Return where the axis of each stack is, mm: the first at 0, the others as near to it as all stay clear.

    A stack that its hub gears to one before is where its wheel puts it, one that a stage steps at its
    centre distance from the driving one; wheels are not as high as discs. Directions are multiples of
    10°, distances of 5 mm. Raises FrameError if there is no place.
    """
    axes = {stacks[0].id: 0j}
    if len(stacks) == 1:
        return axes
    circles = [(wheel.at, wheel.at, wheel.radius_mm) for wheel in wheels]
    taken = [swept(solution, stacks[0], NEAR_BAR_MM), *([SweptBands.of(circles)] if circles else [])]
    geared, swept_by_stacks = _geared(solution), taken[:1]
    stages = _stepped(solution)
    for stack in driving_first(stacks):
        if stack is stacks[0]:
            continue
        own = swept(solution, stack, NEAR_BAR_MM)
        stage = stages.get(stack.id)
        if stage is not None and stage.driving.id in axes:
            taken.append(SweptBands.of(stage_circles(stage, axes[stage.driving.id])))
            fixed: complex | None = axes[stage.driving.id] + stage.offset
        else:
            fixed = geared.get(stack.id)
        if fixed is not None:
            axes[stack.id] = _clear(stack, fixed, own, SweptBands.joined(swept_by_stacks), stage)
            taken.append(own.shifted(fixed))
            swept_by_stacks.append(taken[-1])
            continue
        reach = disc_reach_mm(solution, stacks[0]) + disc_reach_mm(solution, stack)
        at = _nearest(own, SweptBands.joined(taken), reach)
        if at is None:
            most = millimetres(reach + FARTHEST_MM, 0)
            raise FrameError(f"{stack.label} has no place beside the others within {most}")
        axes[stack.id] = at
        taken.append(own.shifted(at))
        swept_by_stacks.append(taken[-1])
    return axes


def _geared(solution: Solution) -> dict[str, complex]:
    """Return the axes that wheels on hubs fix, by stack; raises FrameError where one cannot be made."""
    try:
        wheels = hub_wheels(solution.project)
    except ValueError as error:
        raise FrameError(str(error)) from error
    return {stack_id: wheel.at for stack_id, wheel in wheels.items() if wheel.mate}


def _stepped(solution: Solution) -> dict[str, StepStage]:
    """Return the stages, by the stack that each steps; raises FrameError where one cannot be made."""
    try:
        return {stage.driven.id: stage for stage in step_stages(solution.project)}
    except ValueError as error:
        raise OtherPartError(str(error)) from error


def driving_first(stacks: Sequence[Stack]) -> list[Stack]:
    """Return the stacks in their order, but each after the one whose stage steps it."""
    left, found = list(stacks), list[Stack]()
    while left:
        waiting = {stack.id for stack in left}
        ready = [one for one in left if one.steps_from is None or one.steps_from.stack not in waiting]
        found += ready[:1]
        left.remove(ready[0])
    return found


def stage_circles(stage: StepStage, at: complex) -> list[tuple[complex, complex, float]]:
    """Return what driver and wheel of a stage sweep, as bands; at: axis of the driving stack, mm."""
    circles = ((at, stage.plate_mm), (at + stage.offset, stage.shape.wheel_mm))
    return [(middle, middle, radius) for middle, radius in circles]


def _clear(stack: Stack, at: complex, own: SweptBands, taken: SweptBands, stage: StepStage | None) -> complex:
    """Return the place of a geared or stepped stack; raises FrameError where it meets what is there."""
    room = own.shifted(at).from_bands(taken)
    if room < APART_MM:
        missing = millimetres(APART_MM - room)
        if stage is not None:
            told = f"{stack.label} is {missing} too near the other stacks"
            where = f"at the centre distance of its {stage.name}"
            raise FrameError(f"{told} {where}; {stage.farther} or smaller discs are required")
        raise FrameError(f"{stack.label} is {missing} too near where its wheel puts it; more teeth or module")
    return at


def _nearest(own: SweptBands, taken: SweptBands, reach_mm: float) -> complex | None:
    """Return the nearest place from the origin at which what a stack sweeps is clear; None if none is.

    A step brings two sweeps apart by no more than its length, so that one too near by much skips many.
    """
    clear_from = dict.fromkeys(DIRECTIONS, 0.0)
    for distance in range(int(reach_mm / 5) * 5, int(reach_mm) + FARTHEST_MM, 5):
        for angle in DIRECTIONS:
            if distance < clear_from[angle]:
                continue
            at = cmath.rect(distance, math.radians(angle))
            at = complex(round(at.real, 1), round(at.imag, 1))
            room = own.shifted(at).from_bands(taken)
            if room >= APART_MM:
                return at
            clear_from[angle] = distance + APART_MM - room - ROUNDED_MM
    return None
