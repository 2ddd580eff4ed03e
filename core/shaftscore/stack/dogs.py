"""Dogs: pegs on the top of every part that fit pockets in the bottom of the next, in one way only.

The dogs stand on a circle, evenly spaced from the zero mark on. All are round pegs but the one at the
zero mark, which is twice as long along the circle: it enters only the pocket made for it, so parts go
together at one angle, and never upside down.
"""

from __future__ import annotations

import math

from shaftscore.model import Dogs, Stack
from shaftscore.stack.paths import BulgePath, circle


def dog_paths(dogs: Dogs, grow_mm: float) -> tuple[BulgePath, ...]:
    """Return the outlines of all dogs, the long one first, their walls moved outward by `grow_mm`.

    Raises ValueError if nothing of a dog is left, or they would run into one another.
    """
    radius = dogs.width_mm / 2 + grow_mm
    if radius <= 0:
        raise ValueError(
            f"dogs {dogs.width_mm:g} mm wide cannot be made {-grow_mm:g} mm smaller on each side"
        )
    _refuse_crowded(dogs, grow_mm)
    peg = circle(radius, complex(dogs.radius_mm, 0))
    others = tuple(peg.turned(math.tau * place / dogs.count) for place in range(1, dogs.count))
    return (_long_dog(dogs, radius), *others)


def pocket_depth(stack: Stack) -> float:
    """Depth of the pockets for a stack's dogs, mm: they do not bottom. 0 without dogs.

    Deeper than the dogs are high by the clearance of the bore or by their own, whichever is larger.
    """
    if stack.dogs is None:
        return 0.0
    return stack.dogs.height_mm + max(stack.fit_clearance_mm, stack.pocket_clearance_mm)


def dog_gap(dogs: Dogs) -> float:
    """Return the least material between two dogs, beside the long one, mm; inf for a single dog."""
    if dogs.count == 1:
        return math.inf
    turn = math.tau / dogs.count
    neighbour = complex(dogs.radius_mm * math.cos(turn), dogs.radius_mm * math.sin(turn))
    return abs(neighbour - complex(dogs.radius_mm, dogs.width_mm / 2)) - dogs.width_mm


def _long_dog(dogs: Dogs, radius: float) -> BulgePath:
    """Make a slot with round ends, along the circle's tangent at +x."""
    half = dogs.width_mm / 2
    inner, outer = dogs.radius_mm - radius, dogs.radius_mm + radius
    corners = (complex(outer, -half), complex(outer, half), complex(inner, half), complex(inner, -half))
    return BulgePath(corners, (0.0, 1.0, 0.0, 1.0))


def _refuse_crowded(dogs: Dogs, grow_mm: float) -> None:
    gap = dog_gap(dogs) - 2 * grow_mm
    if gap <= 0:
        raise ValueError(
            f"{dogs.count} dogs {dogs.width_mm:g} mm wide on a circle of {dogs.radius_mm:g} mm run into one "
            f"another: {gap:.2g} mm is left beside the long one"
        )
