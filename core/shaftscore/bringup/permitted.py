"""How the parts of a stack can be put together wrongly: positions of a disc, sides, teeth of a wheel."""

from __future__ import annotations

import math

from shaftscore.base.angles import TURN
from shaftscore.layout.coupled import hub_wheels
from shaftscore.model import Lane, Project, Stack

SIDES = {"hex": 6, "square": 4, "d": 1}
"""Positions in which a bore goes onto its rod; a round one goes on at any angle (0)."""


def positions(stack: Stack) -> int:
    """Return in how many evenly spaced positions a disc of a stack goes on; 0 where at any angle.

    Dogs go together in one way only. Pins and bore must both agree.
    """
    if stack.dogs is not None:
        return 1
    sides = SIDES.get(stack.bore.shape, 0)
    return sides if stack.pins is None else math.gcd(stack.pins.count, sides)


def goes_on_turned_over(stack: Stack, lane: Lane) -> bool:
    """Return whether a disc goes on with its marked face down: not with dogs, not with a groove."""
    return stack.dogs is None and lane.follower.closure != "groove"


def stack_goes_on_turned_over(project: Project, stack: Stack) -> bool:
    """Return whether a whole stack can be put on upside down, with a follower left on every disc.

    A hub that mates with dogs goes to one end only.
    """
    grooved = any(lane.follower.closure == "groove" for lane in project.discs_of(stack))
    return not grooved and (stack.dogs is None or stack.hub is None)


def tooth_deg(project: Project, stack: Stack) -> float | None:
    """Return the angle of one tooth of a stack's wheel, degrees of that stack; None without a wheel."""
    try:
        wheel = hub_wheels(project).get(stack.id)
    except ValueError:  # the hub is not made either, and the export says why
        wheel = None
    if wheel is not None:
        return TURN / wheel.wheel.teeth
    drive = project.drive
    if drive is not None and drive.stages and stack is project.stacks[0]:
        return TURN / drive.stages[-1].driven_teeth
    return None
