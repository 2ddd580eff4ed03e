"""Changes of a stack that lessen what the play of its discs does, in the order in which they are offered.

Each is a change of the stack's record with an order to the maker; the caller tries it before it is offered.
Pins go as far out as the spacers allow. Numbers are rounded to the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shaftscore.base.wording import degrees, listed, millimetres
from shaftscore.judge.fits.stack_fit import StackFit, joints_before
from shaftscore.kinematics.profiles.limits import WALL_MM
from shaftscore.model import Dogs, Pins, Project, Stack, replaced
from shaftscore.stack.mates import dog_mate, pin_mate
from shaftscore.stack.walls import holes_reach_mm

PIN_MM = 3.0
"""Diameter of the pins that a cure offers."""

PIN_STEP_MM = 0.5
"""Radii of pins and dogs in cures are rounded down to this."""

CLEARANCES_MM = (0.15, 0.1, 0.05)
"""Clearances that a cure offers, the widest first: steps of a fit coupon."""

DOG_MM, DOG_HEIGHT_MM = 4.0, 2.0
"""Width and height of the dogs that a cure offers."""

DOG_CORNER_MM = 0.3
"""The corners of the long dog reach further out than half its width by about this, mm."""


@dataclass(frozen=True)
class StackChange:
    """Fields of a stack to change, and the order to the maker, without its full stop."""

    stack: Stack
    fields: Mapping[str, object]
    order: str


def turned_against(project: Project, stack: Stack) -> str:
    """Return the sense in which discs are turned while tightened: against the stack's own rotation."""
    return "counterclockwise" if project.turn_of(stack) == "clockwise" else "clockwise"


def one_way(project: Project, fit: StackFit) -> StackChange | None:
    """Turn all discs against the drive's flank while tightening."""
    if fit.stack.joints == "one-way" or fit.stack.fixing != "keyed" or fit.is_free:
        return None
    sense = turned_against(project, fit.stack)
    return StackChange(fit.stack, {"joints": "one-way"}, f"turn all discs {sense} while tightening")


def pinned(fit: StackFit) -> StackChange | None:
    """Put two pins through all parts, as far out as spacers and discs allow."""
    stack = fit.stack
    if stack.pins is not None:
        return None
    clearance = Pins.model_fields["clearance_mm"].get_default()
    radius = _farthest_out(fit, PIN_MM / 2 + clearance + WALL_MM)
    if radius is None:
        return None
    pins = Pins(count=2, radius_mm=radius, across_mm=PIN_MM)
    play = degrees(float(pin_mate(pins).play_deg(pins.clearance_mm)))
    return StackChange(stack, {"pins": pins}, f"use two pins at {millimetres(radius, 1)} (±{play})")


def lined_up(fit: StackFit) -> StackChange | None:
    """Line the discs up by their marks against a straight edge."""
    stack = fit.stack
    done = stack.joints == "lined-up" and stack.against == "straight-edge"
    if done or stack.fixing != "keyed" or fit.is_free:
        return None
    limit = degrees(float(fit.drawn_lined_deg(fit.total_deg(fit.discs[-1]) if fit.discs else 0.0)))
    change = {"joints": "lined-up", "against": "straight-edge"}
    return StackChange(stack, change, f"line the discs up against a straight edge (±{limit})")


def closer(fit: StackFit, clearance_mm: float) -> StackChange | None:
    """Make the fit closer: this clearance to each side, mm; None where it is closer already."""
    if clearance_mm >= fit.stack.fit_clearance_mm:
        return None
    order = f"make the fit clearance {millimetres(clearance_mm, 2)}"
    return StackChange(fit.stack, {"fit_clearance_mm": clearance_mm}, order)


def both(first: StackChange | None, second: StackChange | None) -> StackChange | None:
    """Make two changes of one stack at once; the one that there is where the other has nothing to change."""
    if first is None or second is None:
        return first or second
    return StackChange(first.stack, {**first.fields, **second.fields}, f"{first.order} and {second.order}")


def dogged(fit: StackFit) -> StackChange | None:
    """Key the discs in a chain of dogs, where the sum of the chain is better than the present play."""
    stack = fit.stack
    if fit.is_chain or stack.pins is not None or stack.joint_play_deg is not None or not fit.discs:
        return None
    dogs = stack.dogs or _dogs_within(fit)
    if dogs is None:
        return None
    made = replaced(stack, keying="chain", dogs=dogs)
    joints = sum(joints_before(made, fit.discs).values())
    total = joints * float(dog_mate(dogs).play_deg(made.pocket_clearance_mm))
    if total >= fit.joint_deg:
        return None
    order = f"key the discs by dogs at {millimetres(dogs.radius_mm, 1)} (±{degrees(total)} in all)"
    return StackChange(stack, {"keying": "chain", "dogs": dogs}, order)


def _dogs_within(fit: StackFit) -> Dogs | None:
    """Return dogs as far out as spacers and discs allow, or None where there is no room."""
    radius = _farthest_out(fit, DOG_MM / 2 + fit.stack.fit_clearance_mm + WALL_MM, DOG_CORNER_MM)
    if radius is None:
        return None
    return Dogs(count=3, radius_mm=radius, width_mm=DOG_MM, height_mm=DOG_HEIGHT_MM)


def _farthest_out(fit: StackFit, reach_mm: float, corner_mm: float = 0.0) -> float | None:
    """Return the largest radius, mm, whose openings leave a wall to every rim and to the holes further in.

    reach_mm: half of an opening and a wall. corner_mm: by how much it reaches further outward. None where
    there is no room.
    """
    rims = [rim for rim in (fit.stack.spacer_radius_mm, fit.smallest_rim_mm) if rim is not None]
    radius = (min(rims) - reach_mm - corner_mm) // PIN_STEP_MM * PIN_STEP_MM
    return None if radius - reach_mm < holes_reach_mm(fit.stack) else radius


def sentence(changes: Mapping[str, StackChange], project: Project) -> str:
    """Write the order of one change of several stacks, by id; they are named where there are others."""
    orders = [*changes.values()]
    if len(orders) == len(project.stacks) and len({one.order for one in orders}) == 1:
        return orders[0].order
    by_order: dict[str, list[str]] = {}
    for one in orders:
        by_order.setdefault(one.order, []).append(one.stack.label)
    return "; ".join(
        f"{order} (on {listed(names)})" if len(project.stacks) > 1 else order
        for order, names in by_order.items()
    )
