"""The walls of a part: rings in plan view, each at its height, going up.

Both ways to make a body begin with them: by its surface (`surface`) and by adding and cutting (`solid`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.rings import Ring, moved
from shaftscore.make.solids.strokes import Polyline
from shaftscore.make.solids.trouble import SolidError

MARK_MM = 1e-3
"""Corners of marks nearer to a line than this are left out."""

ROUND_END = 8
"""Edges of a stroke's half-round end."""


@dataclass(frozen=True)
class WallRings:
    """A wall around something: its rings, counterclockwise, and their heights, mm."""

    rings: tuple[Ring, ...]
    heights_mm: tuple[float, ...]

    @property
    def ascends(self) -> bool:
        """Whether it goes up; it does not where a chamfer is higher than what it belongs to."""
        return all(low <= high for low, high in pairwise(self.heights_mm))


def outline_wall(part: MadePart) -> WallRings:
    """Return the wall of the main body with its chamfers, from the bottom face to the top one.

    Raises SolidError where no chamfer can be made.
    """
    low, high, top = part.bottom_chamfer_mm, part.chamfer_mm, part.thickness_mm
    if low == 0:
        return WallRings((part.outline, part.outline), (0.0, top))
    rings, heights = [chamfered(part, part.outline, -low), part.outline], [0.0, low]
    if high > 0:
        rings, heights = [*rings, part.outline], [*heights, top - high]
    return WallRings((*rings, chamfered(part, part.outline, -high)), (*heights, top))


def peg_wall(part: MadePart, ring: Ring) -> WallRings:
    """Return the wall of a peg with its lead-in, from the top face of the main body on."""
    assert part.dogs is not None
    foot, top = part.thickness_mm, part.thickness_mm + part.dogs.height_mm
    if part.tip_mm == 0:
        return WallRings((ring, ring), (foot, top))
    return WallRings((ring, ring, chamfered(part, ring, -part.tip_mm)), (foot, top - part.tip_mm, top))


def opening_wall(part: MadePart, ring: Ring, bottom_mm: float, top_mm: float) -> WallRings:
    """Return the wall of what is cut out between two heights; in the bottom face it has a foot chamfer."""
    if part.foot_mm == 0 or bottom_mm > 0:
        return WallRings((ring, ring), (bottom_mm, top_mm))
    mouth = chamfered(part, ring, part.foot_mm)
    return WallRings((mouth, ring, ring), (bottom_mm, part.foot_mm, top_mm))


def flank_wall(part: MadePart, flank: Ring, way: int) -> WallRings:
    """Return the wall within a flank of the groove; its mouth goes `way` by the chamfer."""
    assert part.groove is not None
    top = part.thickness_mm
    floor = top - part.groove.depth_mm
    if part.chamfer_mm == 0:
        return WallRings((flank, flank), (floor, top))
    mouth = chamfered(part, flank, way * part.chamfer_mm)
    return WallRings((flank, flank, mouth), (floor, top - part.chamfer_mm, top))


def chamfered(part: MadePart, ring: Ring, by_mm: float) -> Ring:
    """Return an edge of the face beside its chamfer, outward from the edge if by_mm is positive.

    Raises SolidError where no such edge is left.
    """
    try:
        return moved(ring, by_mm)
    except ValueError as error:
        raise SolidError(f"{part.code}: no chamfer of {abs(by_mm):g} mm: {error}") from error


def mark_shape(strokes: Iterable[Polyline], width_mm: float) -> Any:
    """Return the area that a tool of `width_mm` with a round end covers along the strokes."""
    from manifold3d import CrossSection, FillRule  # kept off the start-up path

    slots = [slot for stroke in strokes for slot in _slots(stroke, width_mm / 2)]
    return CrossSection(slots, FillRule.NonZero).simplify(MARK_MM)


def _slots(stroke: Polyline, radius: float) -> list[Ring]:
    """Return a round-ended slot for each straight piece of a stroke."""
    half_turn = np.exp(1j * np.pi * np.linspace(-0.5, 0.5, ROUND_END + 1)) * radius
    slots = []
    for start, end in pairwise(stroke):
        unit = (end - start) / abs(end - start)
        outline = np.concatenate([end + unit * half_turn, start - unit * half_turn])
        slots.append(np.column_stack([outline.real, outline.imag]))
    return slots
