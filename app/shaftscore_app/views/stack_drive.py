"""What turns beside the discs of a stack: its hub, and the parts of stages between stacks, with the mates.

Pure, without Qt and without OpenGL, in the frame of the Stack view: the axis of the stack at the origin, its
zero marks at +x. A *mate* is the other part of a stage, which turns about its own axis.
"""

from __future__ import annotations

import cmath
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from shaftscore.layout.hub import HubPlan, hub_plan, raised_mm
from shaftscore.layout.placed import Placement
from shaftscore.layout.stacks import stages_of, step_placements, under_drivers_mm
from shaftscore.layout.stepping import GenevaStepStage, StepStage
from shaftscore.layout.train import hub_placement
from shaftscore.make.drawing.pictures.prisms import UprightPrism, contour_of, part_prisms, round_prism
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.hub import hub_part
from shaftscore.make.solids.stepping import driver_part, wheel_part
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project, Stack
from shaftscore.stack import bore_path, turn_sign
from shaftscore.stack.paths import circle


@dataclass(frozen=True)
class DriveMate:
    """Where the other part of a stage is: the id of its stack, its axis, mm, and the sign of its turn."""

    stack_id: str
    axis: complex
    sign: int

    def turn(self, own_deg: float) -> complex:
        """Return the turn of the part as a number of length 1; own_deg: of its stack, degrees."""
        return cmath.exp(1j * np.radians(self.sign * own_deg))


@dataclass(frozen=True, eq=False)
class DrivePart:
    """A part beside the discs. is_below: under them. mate: None of what turns with the stack."""

    prisms: tuple[UprightPrism, ...]
    is_below: bool
    mate: DriveMate | None = None

    @property
    def ends_mm(self) -> tuple[float, float]:
        """Its lowest and its greatest height, mm."""
        return min(one.bottom_mm for one in self.prisms), max(one.top_mm for one in self.prisms)


@dataclass(frozen=True, eq=False)
class StackDrive:
    """The parts beside the discs of a stack, by what they are made from."""

    project: Project
    stack: Stack
    hub: HubPlan | None
    stages: tuple[StepStage, ...]

    def is_like(self, other: StackDrive) -> bool:
        """Return whether another one has the same parts at the same places."""
        mine, its = (
            (one.stack, one.hub, one.stages, one.project.print, [*map(one.raised, one.stages)])
            for one in (self, other)
        )
        return mine == its

    def raised(self, stage: StepStage) -> float:
        """Return the height of the driving stack's bottom over this one's, mm."""
        return raised_mm(self.project, stage.driving) - raised_mm(self.project, self.stack)

    @cached_property
    def parts(self) -> tuple[DrivePart, ...]:
        """The parts; none where one cannot be made, which a finding says."""
        return tuple(self._made())

    def _made(self) -> Iterator[DrivePart]:
        project, stack = self.project, self.stack
        if self.hub is not None:
            try:
                own = hub_part(project, stack)
                yield _placed(own, hub_placement(project, stack), is_below=not self.hub.upside_down)
            except SolidError:
                pass
        for bottom in under_drivers_mm(project, stack):
            ring = round_prism(stack.spacer_radius_mm, (bottom, bottom + stack.spacer_mm))
            bore = contour_of(bore_path(stack.bore, stack.fit_clearance_mm))
            yield DrivePart((replace(ring, holes=(bore,)),), bottom < 0)
        for stage in self.stages:
            at = 0j if stage.driving is stack else -stage.offset
            try:
                made = driver_part(project, stage), wheel_part(project, stage)
            except SolidError:
                continue
            owners = stage.driving, stage.driven
            places = step_placements(project, stage, at, self.raised(stage))
            for part, owner, where in zip(made, owners, places, strict=True):
                axis = at if owner is stage.driving else at + stage.offset
                mate = None if owner is stack else DriveMate(owner.id, axis, turn_sign(project, owner))
                yield _placed(part, where, is_below=not stage.is_up, mate=mate)
                if part is made[0] and isinstance(stage, GenevaStepStage):
                    yield DrivePart((_pin(project, stage, at, where.bottom_mm),), not stage.is_up, mate)


def stack_drive(project: Project, stack: Stack) -> StackDrive:
    """Return what is beside the discs of a stack."""
    hub = None
    if stack.hub is not None:
        try:
            hub = hub_plan(project, stack)
        except ValueError:  # a finding says why
            hub = None
    stages = tuple(one for one in stages_of(project) if stack in (one.driving, one.driven))
    return StackDrive(project, stack, hub, stages)


def _placed(part: MadePart, where: Placement, *, is_below: bool, mate: DriveMate | None = None) -> DrivePart:
    """Return a part where it is at angle 0."""
    pose = where.course(np.zeros(1))
    own = part_prisms(part)
    if where.upside_down:
        own = tuple(one.turned_over() for one in own)
    at, turn = complex(pose.at[0]), complex(pose.turn[0])
    return DrivePart(tuple(one.posed(at, turn, where.bottom_mm) for one in own), is_below, mate)


def _pin(project: Project, stage: GenevaStepStage, at: complex, face_mm: float) -> UprightPrism:
    """Return the pin of a driver at angle 0; at: its axis, face_mm: height of its face, mm."""
    middle = at + cmath.rect(stage.shape.crank_mm, stage.pin_rad(turn_sign(project, stage.driving)))
    low, high = sorted((face_mm, face_mm + stage.outward * stage.driver_high_mm))
    return UprightPrism(contour_of(circle(stage.shape.pin_mm / 2, middle)), low, high)
