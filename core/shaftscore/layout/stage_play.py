"""The play that an intermittent stage leaves the stack that it steps, while that rests."""

from __future__ import annotations

from math import degrees, sin

from shaftscore.built.counted import CountedShape
from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.stepping import counted_shape_of, driving_stack
from shaftscore.model import GenevaSteps, Project, Stack


def stack_backlash_deg(project: Project, stack: Stack) -> float:
    """Return the whole play of a stack against the motor at rest, degrees of its own turn.

    That of its record, and that of its own stage: the locked wheel turns until a corner of its arc touches
    the locking disc. Both parts may be off their axes by the clearance of their bores, which adds to that
    of the arc. A stage that cannot be made has none of its own, and a finding says why.
    """
    return stack.backlash_deg + _stage_play_deg(project, stack)


def _stage_play_deg(project: Project, stack: Stack) -> float:
    if stack.steps_from is None:
        return 0.0
    shape = _shape(project, stack)
    if shape is None:
        return 0.0
    off = shape.clearance_mm + driving_stack(project, stack).fit_clearance_mm + stack.fit_clearance_mm
    return 2 * degrees(off / (shape.centre_mm * sin(shape.corner_rad)))


def _shape(project: Project, stack: Stack) -> GenevaShape | CountedShape | None:
    """Return the shape of the stage that steps a stack; None where it has no lock."""
    steps = stack.steps_from
    if isinstance(steps, GenevaSteps):
        sizes = steps.centre_distance_mm, steps.pin_diameter_mm, steps.slot_clearance_mm
        geneva = GenevaShape(steps.slots, *sizes)
        return None if steps.inner or geneva.arc_mm <= 0 else geneva
    try:
        counted = counted_shape_of(project, stack)
    except ValueError:
        return None
    return counted if counted.has_lock else None
