"""What is read of one stack to judge its shaft: parts along z, bearings, hub, rod, joints.

z runs along the shaft, mm, from the stack's bottom face up. The parts are rings from the bore to the
radius of the joints that they share; what is further out carries no bending from face to face. A spacer's
material is the softer one of the discs that it parts, since the file has no material of spacers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from shaftscore.judge.shaft.discs import ContactForces
from shaftscore.judge.shaft.rods import RodFigures, moduli_mpa, rod_figures
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Project, Stack, Stage
from shaftscore.model.materials import materials_of
from shaftscore.model.shaft import Rod
from shaftscore.solution import Solution
from shaftscore.stack import Layer, StackPlan, stack_plan

TOOTHED = ("external", "internal")
"""Kinds of stage whose force is that of a 20° tooth; those of belts, chains, bevels and worms differ."""


@dataclass(frozen=True)
class ClampedJoint:
    """Where two parts of a stack meet: z, outer and inner radius of their common ring, mm.

    below, above: the layers that meet.
    """

    z_mm: float
    outer_mm: float
    inner_mm: float
    below: Layer
    above: Layer


@dataclass(frozen=True, eq=False)
class ShaftCase:
    """A stack whose shaft can be judged.

    rod: its record, and figures. rims_mm: least radius of each disc that has one, by lane id. lanes:
    forces by lane id, those with a load alone. without_load: ids of the other lanes that run on the stack.
    bearings_mm: (b,) z of the bearings' middles in order. wheel: the stage whose driven wheel is on the
    stack's hub, None where its force is not described, with left_out, the sentence that says so.
    """

    project: Project
    stack: Stack
    plan: StackPlan
    rod: Rod
    figures: RodFigures
    rims_mm: Mapping[str, float]
    lanes: Mapping[str, ContactForces]
    without_load: tuple[str, ...]
    bearings_mm: Reals
    wheel: Stage | None
    left_out: tuple[str, ...]

    def on_rod(self, project: Project) -> ShaftCase | str:
        """Return the case of an edited project in which only the rod changed, or why it cannot be judged.

        Raises ValueError if the stack has no rod any more, and StopIteration if it is gone.
        """
        stack = next(one for one in project.stacks if one.id == self.stack.id)
        if stack.rod is None:
            raise ValueError(f"the stack {stack.id!r} has no rod")
        figures = rod_figures(project, stack, stack.rod)
        if isinstance(figures, str):
            return figures
        bearings = bearings_mm(self.plan, stack.rod)
        return replace(
            self, project=project, stack=stack, rod=stack.rod, figures=figures, bearings_mm=bearings
        )

    @property
    def hub_mm(self) -> float:
        """Return z of the hub: the stack's driven end, and half the wheel's face width beyond it."""
        beyond = (self.wheel.face_mm or 0.0) / 2 if self.wheel is not None else 0.0
        return -beyond if self.stack.driven_end == "bottom" else self.plan.height_mm + beyond

    @property
    def pitch_radius_mm(self) -> float | None:
        """Return the pitch radius of the driven wheel, or None where its force is not described."""
        if self.wheel is None or self.wheel.module_mm is None:
            return None
        return self.wheel.module_mm * self.wheel.driven_teeth / 2

    @cached_property
    def joints(self) -> tuple[ClampedJoint, ...]:
        """Return the joints from the bottom up; those of a disc without a rim are left out."""
        inner = self.stack.bore.inner_radius_mm
        found = []
        for below, above in pairwise(self.plan.layers):
            outer = min(self._radius(below), self._radius(above))
            if outer > inner:
                found.append(ClampedJoint(below.top_mm, outer, inner, below, above))
        return tuple(found)

    def _radius(self, layer: Layer) -> float:
        if layer.lane_id is None:
            return self.stack.spacer_radius_mm
        return self.rims_mm.get(layer.lane_id, 0.0)

    @cached_property
    def joint_radii_mm(self) -> Mapping[Layer, float]:
        """Return the least outer radius of the joints of each layer that has one."""
        found: dict[Layer, float] = {}
        for joint in self.joints:
            for layer in (joint.below, joint.above):
                found[layer] = min(found.get(layer, joint.outer_mm), joint.outer_mm)
        return found

    @cached_property
    def part_moduli_mpa(self) -> Mapping[Layer, tuple[float, float]]:
        """Return the elastic and the shear modulus of each layer, MPa; of a spacer the softer neighbour's."""
        table, layers = materials_of(self.project), self.plan.layers
        found = {}
        for index, layer in enumerate(layers):
            near = (layer,) if layer.lane_id else layers[max(index - 1, 0) : index + 2]
            names = [self.project.lane(one.lane_id).disc.material for one in near if one.lane_id]
            found[layer] = min(moduli_mpa(table[name]) for name in names)
        return found


def shaft_case(
    solution: Solution, stack: Stack, lanes: Mapping[str, ContactForces], rims_mm: Mapping[str, float]
) -> ShaftCase | str:
    """Return what is judged of a stack with a rod, or the sentence why it cannot be; see `ShaftCase`.

    Raises ValueError for a stack without a rod.
    """
    project, rod = solution.project, stack.rod
    if rod is None:
        raise ValueError(f"the stack {stack.id!r} has no rod")
    plan = stack_plan(project, stack)
    figures = rod_figures(project, stack, rod)
    why = figures if isinstance(figures, str) else _why_not(plan, rod, lanes, project)
    if why or isinstance(figures, str):
        return why
    running = [lane_id for lane_id, lane in solution.lanes.items() if lane.stack == stack.id]
    wheel, left_out = _wheel(project, stack)
    return ShaftCase(
        project=project,
        stack=stack,
        plan=plan,
        rod=rod,
        figures=figures,
        rims_mm=rims_mm,
        lanes=lanes,
        without_load=tuple(lane_id for lane_id in running if lane_id not in lanes),
        bearings_mm=bearings_mm(plan, rod),
        wheel=wheel,
        left_out=left_out,
    )


def bearings_mm(plan: StackPlan, rod: Rod) -> Reals:
    """Return z of the middles of both bearings, (2,) mm, the lower one first."""
    return np.array([-rod.below_mm, plan.height_mm + rod.above_mm])


def _why_not(plan: StackPlan, rod: Rod, lanes: Mapping[str, ContactForces], project: Project) -> str:
    """Return the sentence why a shaft cannot be computed, or an empty text."""
    if not plan.discs:
        return "It carries no disc."
    if plan.height_mm + rod.above_mm + rod.below_mm <= 0:
        return "Both bearings are at the same place."
    if not lanes:
        return "No lane on it has a load, so no force on it is known."
    locked = [project.lane(one.lane_id).label for one in lanes.values() if one.locks]
    return f"The guide of {locked[0]} locks, so the force on its disc is not known." if locked else ""


def _wheel(project: Project, stack: Stack) -> tuple[Stage | None, tuple[str, ...]]:
    """Return the stage whose wheel is on the stack, or None and what is left out for it."""
    drive = project.drive
    if drive is None or not drive.stages:
        return None, ("The force of the drive on the shaft is not counted: no stage drives it.",)
    if len(project.stacks) > 1 or stack.turns != 1:
        what = "the file does not say which wheel is on this stack"
        return None, (f"The force of the drive on the shaft is not counted: {what}.",)
    last = drive.stages[-1]
    if last.kind not in TOOTHED:
        return None, (f"The force of the {last.kind} stage on the shaft is not counted.",)
    if last.module_mm is None:
        what = "the last stage has no module"
        return None, (f"The force of the gear on the shaft is not counted: {what}.",)
    return last, ()
