"""Intermittent stages between stacks: a stack that steps on once in each turn of another one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from shaftscore.model.base import Contradiction, Id, Mm, PositiveMm, Record, StartDeg

Teeth = Annotated[int, Field(ge=1, le=1000)]
"""A count of teeth."""


class GenevaSteps(Record):
    """A Geneva wheel, turned by a pin on another stack, one slot in each turn of that stack.

    stack: id of the driving stack. start_deg: angle of the driving stack's own turn at which the pin enters
    the slot, degrees. slots: how many the wheel has. inner: whether the pin runs inside the wheel, which
    then turns the same way. centre_distance_mm: of the two axes, mm. pin_diameter_mm: of the pin, mm.
    slot_clearance_mm: by which a slot is wider, to each side, mm. thickness_mm: of the wheel, mm.
    """

    kind: Literal["geneva"]
    stack: Id
    start_deg: StartDeg
    slots: Annotated[int, Field(ge=3, le=24)]
    inner: bool = False
    centre_distance_mm: PositiveMm
    pin_diameter_mm: PositiveMm
    slot_clearance_mm: Mm = 0.1
    thickness_mm: PositiveMm

    @property
    def driver_turns(self) -> int:
        """Turns of the driving stack in one turn of the driven one."""
        return self.slots

    @property
    def reverses(self) -> bool:
        """Whether the two stacks turn against one another."""
        return not self.inner


class CountedSteps(Record):
    """A mutilated gear: a driver with counted teeth, which turns a full wheel on and lets it rest.

    stack: id of the driving stack. start_deg: angle of the driving stack's own turn at which the first
    tooth meshes, degrees. teeth: of the driver if it were full. counted: teeth that are there. driven_teeth:
    of the driven wheel; a multiple of the counted ones. module_mm: of the teeth, mm. thickness_mm: of the
    wheels, mm.
    """

    kind: Literal["counted-gear"]
    stack: Id
    start_deg: StartDeg
    teeth: Teeth
    counted: Teeth
    driven_teeth: Teeth
    module_mm: Annotated[float, Field(gt=0, le=100)]
    thickness_mm: PositiveMm

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a driver without a gap, and a wheel that takes no whole number of turns."""
        if self.counted >= self.teeth:
            most = self.teeth - 1
            yield (
                "counted",
                f"must be at most {most}, so that the driver of {self.teeth} has a gap, got {self.counted}",
            )
        if self.driven_teeth % self.counted:
            rest = self.driven_teeth % self.counted
            below, above = self.driven_teeth - rest, self.driven_teeth - rest + self.counted
            near = f"{above}" if below == 0 else f"{below} or {above}"
            what = f"must be a multiple of the {self.counted} counted teeth, such as {near}"
            yield "driven_teeth", f"{what}, got {self.driven_teeth}"

    @property
    def driver_turns(self) -> int:
        """Turns of the driving stack in one turn of the driven one."""
        return self.driven_teeth // self.counted

    @property
    def reverses(self) -> bool:
        """Whether the two stacks turn against one another."""
        return True


StepsFrom = Annotated[GenevaSteps | CountedSteps, Field(discriminator="kind")]
"""The intermittent stage that drives a stack."""
