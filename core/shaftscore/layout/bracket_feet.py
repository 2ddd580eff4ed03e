"""Where the screws of brackets are: in a bracket's own frame, and in the plate that it stands on.

Own frames: see `shaftscore.layout.followers`.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.layout.followers import SLIDING_MM, WALL_MM, FollowerLayout, half_width_mm
from shaftscore.layout.frame_plan import FootHole
from shaftscore.model import Lane
from shaftscore.stack.followers import TURNING_MM, post_radius_mm

SCREW_MM = 3.0
"""Diameter of the screws of brackets: M3."""

LEDGE_MM = 0.4
"""By which a foot is wider than its post all round, mm: faces that all but coincide make no closed body."""

LABEL_MM = 16.0
"""Room for the code on a post's foot, between post and screw, mm."""

ROOF_MM = 3.0
"""Material over and beside a guide's tunnel, mm."""

EAR_MM = 10.0
"""Width of a guide's foot on both sides of its block, mm."""


def post_screws(rod_mm: float) -> tuple[complex, ...]:
    """Return the screws of a lever's post in its own frame, mm; rod_mm: diameter of its rod."""
    out = post_radius_mm(rod_mm) + LABEL_MM + SCREW_MM / 2
    return complex(out), complex(-out)


def guide_inset_mm() -> float:
    """Return how far the screws of a guide's foot are from its ends, mm."""
    return SCREW_MM / 2 + TURNING_MM + WALL_MM


def guide_side_mm(lane: Lane) -> float:
    """Return half the width of the block of a slide's guide, mm."""
    return half_width_mm(lane) + SLIDING_MM + ROOF_MM


def guide_screws(long_mm: float, side_mm: float) -> tuple[complex, ...]:
    """Return the screws of a guide in its own frame, mm; long_mm: of the guide, side_mm: half its block."""
    inset, out = guide_inset_mm(), side_mm + EAR_MM / 2
    places = ((inset, -out), (long_mm - inset, -out), (long_mm - inset, out), (inset, out))
    return tuple(complex(*place) for place in places)


def own_screws(layout: FollowerLayout) -> tuple[complex, ...]:
    """Return the screws of the bracket of a follower in the bracket's own frame, mm."""
    if layout.pivot is not None:
        return post_screws(layout.parts.pivot_rod_mm)
    return guide_screws(layout.guide_length_mm, guide_side_mm(layout.lane))


def foot_holes(layout: FollowerLayout) -> Iterator[FootHole]:
    """Yield the holes that the brackets of a follower need in the plate that they stand on; a sleeve none."""
    if layout.is_sleeve:
        return
    places = [layout.guide_start if layout.pivot is None else layout.pivot]
    if layout.guide_pivot is not None:
        places.append(layout.guide_pivot)
    for number, at in enumerate(places, start=1):
        which = f"bracket {number}" if len(places) > 1 else "bracket"
        assert at is not None
        turn = layout.bracket_turn(at)
        for screw in own_screws(layout):
            purpose = f"bracket {layout.lane.code}-K, M{SCREW_MM:g}"
            told = f"{which} of {layout.lane.label}"
            yield FootHole(layout.lane.id, at + turn * screw, SCREW_MM, purpose, told, layout.rod_in_frame)
