"""What new parts begin with, where that is not the default of the file format.

Defaults fill what a file leaves open, files of earlier versions included; a new machine can begin with
better values.
"""

from __future__ import annotations

from typing import Any

from shaftscore.model.lanes import TranslatingRoller
from shaftscore.model.shaft import Stack

NEW_STACK: dict[str, Any] = {"joints": "one-way", "fit_clearance_mm": 0.1}
"""Fields of a new stack: discs turned one way while tightened, with the clearance found on the coupon."""

NEW_FOLLOWER: dict[str, Any] = {"arm_thickness_mm": 4.0}
"""Fields of a new follower: its lever is described."""


def new_stack(stack_id: str = "main", **fields: Any) -> Stack:
    """Return a new stack; raises pydantic.ValidationError where its fields are not allowed."""
    return Stack(**{"id": stack_id, **NEW_STACK, **fields})


def new_roller() -> TranslatingRoller:
    """Return the follower with which a new lane begins."""
    return TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, **NEW_FOLLOWER)
