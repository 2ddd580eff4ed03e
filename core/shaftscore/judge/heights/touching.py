"""What a follower may touch beside its own disc, when heights are off by their tolerance.

Only parts that keep apart in height as drawn count here: others are the check of interference's. Two parts
meet if they overlap in height in the worst case, and in plan view at some angle.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shaftscore.built.heights import HeightBand, gap_mm
from shaftscore.judge.bodies import BodyPair, BodyPart, keeps_apart
from shaftscore.judge.bodies.parts import STANDING, TURNING
from shaftscore.stack.plan import StackPlan

FIXED = ("guide", "block", "pinion", *STANDING, *TURNING)
"""Kinds of parts that do not move with a roller."""


@dataclass(frozen=True)
class WorstTouch:
    """Two parts that meet in the worst case, by their names.

    gap_mm: in height, negative, mm. is_spacer: whether the second is a spacer. near_mm: a distance from the
    axis within which the first never comes, mm.
    """

    first: str
    second: str
    gap_mm: float
    is_spacer: bool
    near_mm: float


def is_near(own: HeightBand, host: str, tolerance_mm: float, plan: StackPlan) -> bool:
    """Return whether heights alone let a follower reach another part of its stack.

    own: of all its parts. host: lane of its disc. tolerance_mm: plus-minus limit.
    """
    return any(
        layer.lane_id != host
        and _worst_mm(own, HeightBand(layer.bottom_mm, layer.top_mm), tolerance_mm) is not None
        for layer in plan.layers
    )


def worst_touch(lane_id: str, tolerance_mm: float, parts: Iterable[BodyPart]) -> WorstTouch | None:
    """Return the deepest touch of a lane's follower with another disc or a spacer, None where there is none.

    tolerance_mm: plus-minus limit along the shaft. parts: of the whole stack.
    """
    all_parts = tuple(parts)
    moving = [part for part in all_parts if part.lane == lane_id and part.kind not in FIXED]
    still = [part for part in all_parts if part.kind in ("disc", "spacer")]
    near = [
        (gap, first, second)
        for first in moving
        for second in still
        if second.kind == "spacer" or second.lane != first.host
        if (gap := _worst_mm(_band(first), _band(second), tolerance_mm)) is not None
    ]
    for gap, first, second in sorted(near, key=lambda one: one[0]):
        if not keeps_apart(BodyPair(first, second), 0.0):
            return WorstTouch(first.name, second.name, gap, second.kind == "spacer", first.near_mm)
    return None


def _band(part: BodyPart) -> HeightBand:
    return HeightBand(part.bottom_mm, part.top_mm)


def _worst_mm(first: HeightBand, second: HeightBand, tolerance_mm: float) -> float | None:
    """Return the least gap in height where it is negative only in the worst case, mm; else None."""
    worst = gap_mm(first, second, tolerance_mm)
    return worst if worst < 0 <= gap_mm(first, second, 0.0) else None
