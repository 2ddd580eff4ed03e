"""The play that an intermittent stage leaves the stack that it steps, while that rests."""

from __future__ import annotations

from math import degrees, sin

from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.gears import backlash_for_mm
from shaftscore.model import GenevaSteps, Project, Stack


def stack_backlash_deg(project: Project, stack: Stack) -> float:
    """Return the whole play of a stack against the motor at rest, degrees of its own turn.

    That of its record, and that of its own stage: the locked wheel turns until a corner of its arc touches
    the locking disc. Both parts may be off their axes by the clearance of their bores, which adds to that
    of the arc. A mutilated gear has the backlash of its teeth.
    """
    return stack.backlash_deg + _stage_play_deg(project, stack)


def _stage_play_deg(project: Project, stack: Stack) -> float:
    steps = stack.steps_from
    if steps is None:
        return 0.0
    driving = next(one for one in project.stacks if one.id == steps.stack)
    if not isinstance(steps, GenevaSteps):
        radius = steps.module_mm * steps.driven_teeth / 2
        return degrees(backlash_for_mm(driving.fit_clearance_mm) / radius)
    shape = GenevaShape(steps.slots, steps.centre_distance_mm, steps.pin_diameter_mm, steps.slot_clearance_mm)
    if steps.inner or shape.arc_mm <= 0:  # it is not made, and a finding says why
        return 0.0
    off = steps.slot_clearance_mm + driving.fit_clearance_mm + stack.fit_clearance_mm
    return 2 * degrees(off / (shape.centre_mm * sin(shape.corner_rad)))
