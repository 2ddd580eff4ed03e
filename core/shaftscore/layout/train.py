"""The parts of the drive train in the machine: the hub, its pinion, and wheels on axles between them.

A stage's pinion is level with the wheel that it drives. The wheel of an earlier stage is on the far side of
the pinion that it turns, away from the stack, as one part with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shaftscore.built.heights import HeightBand
from shaftscore.layout.drive import AXLE_MM, WALL_MM, PlacedStage, placed_stages
from shaftscore.layout.hub import hub_plan, outer_face_mm
from shaftscore.layout.placed import Placement, turning
from shaftscore.layout.stack_turns import stack_course
from shaftscore.layout.stacks import own_code
from shaftscore.model import Project, Stack
from shaftscore.stack import stack_plan

SHAFTS_MM = ((6.0, 5.5), (3.0, 2.5))
"""Motor shafts with a flat that pinions are made for: across, and from the flat to the far side, mm.

Usual ones of small gear motors (common practice, no source); the larger one is taken where it fits.
"""


@dataclass(frozen=True)
class PinionPlan:
    """The part that holds a stage's pinion.

    stage: that it drives. wheel: the stage whose driven wheel is one part with it, if any; else it is on the
    shaft of the motor, of `across_mm` and `flat_mm` (None: round, on an axle).
    """

    code: str
    stage: PlacedStage
    wheel: PlacedStage | None
    across_mm: float
    flat_mm: float | None

    @property
    def foot_mm(self) -> float:
        """Height of the wheel under the pinion, mm; 0 without one."""
        return 0.0 if self.wheel is None else self.wheel.spur.face_mm

    @property
    def reach_mm(self) -> float:
        """Radius over the teeth of the pinion, and of the wheel that is one part with it, mm."""
        own = self.stage.spur.pair.pinion.tip_mm
        return own if self.wheel is None else max(own, self.wheel.spur.pair.wheel.tip_mm)


def pinion_plans(project: Project) -> tuple[PinionPlan, ...]:
    """Return the pinions of all stages that are made, last stage first.

    Raises ValueError where one cannot be made.
    """
    stages = placed_stages(project)
    return tuple(
        _pinion(project, stage, stages[place + 1] if place + 1 < len(stages) else None)
        for place, stage in enumerate(stages)
    )


def _pinion(project: Project, stage: PlacedStage, wheel: PlacedStage | None) -> PinionPlan:
    """Return the part of one pinion. Raises ValueError where it cannot be made."""
    assert project.drive is not None, "a stage belongs to a drive"
    number = stage.spur.number
    code = "PINION" if len(project.drive.stages) == 1 else f"PINION{number}"
    clearance = project.stacks[0].fit_clearance_mm
    root = stage.spur.pair.pinion.root_mm
    if wheel is not None:
        if wheel.spur.is_internal:
            raise ValueError(f"stage {wheel.spur.number}: a ring that drives a further stage is not made")
        shafts: tuple[tuple[float, float | None], ...] = ((AXLE_MM, None),)
        root = min(root, wheel.spur.pair.wheel.root_mm)
    else:
        shafts = SHAFTS_MM
    for across, flat in shafts:
        if root - across / 2 - clearance >= WALL_MM:
            return PinionPlan(code, stage, wheel, across, flat)
    least = shafts[-1][0] / 2 + clearance + WALL_MM
    raise ValueError(
        f"stage {number}: the root of its pinion is {root:.2f} mm from the axis; "
        f"{least:.2f} mm required for a shaft of {shafts[-1][0]:g} mm"
    )


def train_placements(project: Project, stack_at: complex = 0j) -> Iterator[Placement]:
    """Yield the hubs of all stacks, and the pinions; stack_at: axis of the first stack, mm.

    Raises ValueError where one of them cannot be made.
    """
    first = project.stacks[0]
    if first.hub is not None:
        yield hub_placement(project, first, stack_at)
    for part in train_parts(project):
        plan = part.plan
        course = turning(plan.stage.driver_ratio, stack_at + plan.stage.driver_at, plan.stage.driver_deg)
        yield Placement(
            code=plan.code,
            instance=f"pinion of stage {plan.stage.spur.number}",
            body=f"train {plan.stage.spur.number}",
            bottom_mm=part.level_mm,
            course=course,
            upside_down=part.upside_down,
        )


@dataclass(frozen=True)
class TrainPart:
    """A pinion at its height. level_mm: of its own z = 0. upside_down: its body is below that."""

    plan: PinionPlan
    level_mm: float
    upside_down: bool

    @property
    def pinion_band(self) -> HeightBand:
        """Heights of the teeth of the pinion, mm from the bottom of the first stack."""
        foot = self.plan.foot_mm
        return self._band(foot, foot + self.plan.stage.spur.face_mm)

    @property
    def wheel_band(self) -> HeightBand:
        """Heights of the wheel that is one part with it."""
        return self._band(0.0, self.plan.foot_mm)

    @property
    def reach_mm(self) -> float:
        """Largest radius of the part, mm."""
        return self.plan.reach_mm

    def _band(self, low_mm: float, high_mm: float) -> HeightBand:
        if self.upside_down:
            return HeightBand(self.level_mm - high_mm, self.level_mm - low_mm)
        return HeightBand(self.level_mm + low_mm, self.level_mm + high_mm)


def train_parts(project: Project) -> Iterator[TrainPart]:
    """Yield the pinions at their heights; raises ValueError where one of them cannot be made."""
    first = project.stacks[0]
    level, down = driven_level_mm(project), -1 if first.driven_end == "bottom" else 1
    for plan in pinion_plans(project):
        level += down * plan.foot_mm
        yield TrainPart(plan, level, first.driven_end == "top")


def driven_level_mm(project: Project) -> float:
    """Return the height of the outer face of the last driven wheel, mm.

    Raises ValueError where the hub cannot be made.
    """
    first = project.stacks[0]
    if first.hub is not None:
        return outer_face_mm(project, hub_plan(project, first))
    return 0.0 if first.driven_end == "bottom" else stack_plan(project, first).height_mm


def hub_placement(project: Project, stack: Stack, at: complex = 0j) -> Placement:
    """Return where the hub of a stack is; at: axis of the stack, mm. Raises ValueError where it has none."""
    plan = hub_plan(project, stack)
    return Placement(
        code=own_code("HUB", project, stack),
        instance=f"hub of {stack.label}",
        body=f"stack {stack.id}",
        bottom_mm=outer_face_mm(project, plan),
        course=stack_course(project, stack, at),
        upside_down=plan.upside_down,
    )
