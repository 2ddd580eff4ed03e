"""The motion of the intermittent stage that drives a stack."""

from __future__ import annotations

from shaftscore.built.intermittent import CountedStage, GenevaStage, IntermittentStage
from shaftscore.model import CountedSteps, GenevaSteps


def stage_of(steps: GenevaSteps | CountedSteps) -> IntermittentStage:
    """Return the motion of an intermittent stage."""
    if isinstance(steps, GenevaSteps):
        return GenevaStage(steps.slots, steps.inner)
    return CountedStage(steps.teeth, steps.counted, steps.driven_teeth)
