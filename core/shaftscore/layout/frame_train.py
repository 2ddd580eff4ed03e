"""The drive train in the frame: what its wheels take between the plates, and where their axles are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from shaftscore.base.wording import millimetres
from shaftscore.layout.coupled import hub_wheels
from shaftscore.layout.drive import AXLE_MM, placed_stages
from shaftscore.layout.frame_plan import (
    BOTH,
    FrameError,
    FrameHole,
    FramePlan,
    FrameWheel,
    OtherPartError,
)
from shaftscore.layout.hub import ring_root_mm
from shaftscore.layout.stepping import step_stages
from shaftscore.layout.train import train_placements
from shaftscore.model import Project

HUB_GAP_MM = 0.5
"""Least gap between the wheels of the train and the plate or its bearing, mm."""


def train_wheels(project: Project) -> tuple[FrameWheel, ...]:
    """Return what the wheels of the drive take in plan view; raises OtherPartError where they have none."""
    try:
        stages, geared = placed_stages(project), hub_wheels(project)
    except ValueError as error:
        raise OtherPartError(str(error)) from error
    is_up = project.stacks[0].driven_end == "top"
    wheels = [FrameWheel(one.at, one.wheel.tip_mm, is_up) for one in geared.values() if one.pinion is None]
    for stage in stages:
        pair = stage.spur.pair
        outer = ring_root_mm(pair.wheel, pair.pinion) if pair.wheel.internal else pair.wheel.tip_mm
        wheels.append(FrameWheel(stage.driven_at, outer, is_up))
        wheels.append(FrameWheel(stage.driver_at, pair.pinion.tip_mm, is_up))
    return tuple(wheels)


def stage_wheels(project: Project, axes: Mapping[str, complex]) -> Iterator[FrameWheel]:
    """Yield what the drivers and wheels of intermittent stages take in plan view; axes: of the stacks, mm.

    Raises OtherPartError where they cannot be made.
    """
    try:
        stages = step_stages(project)
    except ValueError as error:
        raise OtherPartError(str(error)) from error
    for stage in stages:
        if stage.driving.id in axes:
            at = axes[stage.driving.id]
            yield FrameWheel(at, stage.plate_mm, stage.is_up)
            yield FrameWheel(at + stage.offset, stage.shape.wheel_mm, stage.is_up)


def axle_holes(project: Project) -> Iterator[FrameHole]:
    """Yield the holes for the axles of wheels between the motor and the first stack, in both plates."""
    for number, stage in enumerate(placed_stages(project)[:-1], start=1):
        purpose = f"axle of the pinion of stage {stage.spur.number}"
        yield FrameHole(f"G{number}", stage.driver_at, AXLE_MM, purpose, BOTH)


def refuse_low_train(project: Project, plan: FramePlan) -> None:
    """Raise FrameError where hub or pinions reach into the bottom plate; OtherPartError without them."""
    first = plan.shafts[0]
    if first.stack.driven_end != "bottom":
        return
    try:
        bottoms = [one.bottom_mm for one in train_placements(project) if not one.upside_down]
    except ValueError as error:
        raise OtherPartError(str(error)) from error
    face = plan.plates["bottom"][1]
    if first.bearing is not None:
        face = max(face, first.lower_mm + first.bearing[1].width_mm / 2)
    missing = face + HUB_GAP_MM - min(bottoms, default=face + HUB_GAP_MM)
    if missing > 1e-6:
        assert first.stack.rod is not None
        told = millimetres(first.stack.rod.below_mm + missing)
        raise FrameError(
            f"hub and pinion reach {millimetres(missing)} too far down, into the bottom bearing; put the "
            f"middle of the lower bearing of {first.stack.label} at least {told} below the stack"
        )
