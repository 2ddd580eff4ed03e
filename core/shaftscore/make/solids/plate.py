"""The two end plates of the frame: outline, holes, seats of the bearings, and the names of the holes.

Own frame: that of the machine in plan view, seen from the top, z = 0 the lower face. Seats open towards the
stack: into the upper face of the bottom plate, into the lower face of the top one. BOTTOM or TOP,
the revision and every hole's name are engraved in the upper face where there is room.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from shaftscore.layout.frame_plan import FrameHole, FramePlan, PlateSide, plate_code
from shaftscore.make.solids.marks import LEAST_STROKES, Marks, stroke_width
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.make.solids.revision import ANY_REVISION
from shaftscore.make.solids.strokes import GRID_HEIGHT, Polyline, TextPlace, text_width
from shaftscore.model import Project
from shaftscore.stack import BulgePath, mark_depth
from shaftscore.stack.paths import circle, polygon

LETTER_MM = 5.0
"""Largest height of engraved names."""

GAP_MM = 1.5
"""Distance of a name from holes, edges and other names."""

ROUNDING_MM = 1e-9
"""Far over the rounding of places, far under what is made."""

LABELS = {"bottom": "bottom plate", "top": "top plate"}
"""Names of the plates for people."""

Box = tuple[float, float, float, float]
"""Left, lower, right and upper end, mm."""


def plate_part(project: Project, plan: FramePlan, side: PlateSide) -> MadePart:
    """Make a plate; raises SolidError if it cannot be made."""
    thick, code = plan.frame.plate_mm, plate_code(side)
    holes = plan.of_plate(side)
    contour = plate_outline(plan)
    through = tuple(circle(_through_mm(hole) / 2, hole.at) for hole in holes)
    sunk = tuple(_seats(holes, side, thick))
    marks, revision_at = _marks(project, plan, holes, side.upper())
    return plain_part(
        project,
        PlainPart(
            kind="plate",
            code=code,
            label=LABELS[side],
            thickness_mm=thick,
            contour=contour,
            holes=through,
            sunk=sunk,
            marks=marks,
            revision_at=revision_at,
        ),
    )


def plate_outline(plan: FramePlan) -> BulgePath:
    """Return the contour of both plates."""
    low, high = plan.low, plan.high
    return polygon((low, complex(high.real, low.imag), high, complex(low.real, high.imag)))


def _through_mm(hole: FrameHole) -> float:
    """Return the diameter that goes through the whole plate, mm."""
    return hole.across_mm if hole.seat is None else hole.seat.through_mm


def _seats(
    holes: Sequence[FrameHole], side: PlateSide, thick_mm: float
) -> Iterator[tuple[str, BulgePath, tuple[float, float]]]:
    for hole in holes:
        if hole.seat is not None:
            depth = hole.seat.depth_mm
            heights = (thick_mm - depth, thick_mm) if side == "bottom" else (0.0, depth)
            yield f"seat {hole.name}", circle(hole.across_mm / 2, hole.at), heights


# Names


@dataclass
class _Names:
    """Finds room for texts beside holes; taken: boxes of the texts that are placed."""

    plan: FramePlan
    holes: Sequence[FrameHole]
    letter_mm: float
    stroke_mm: float
    taken: list[Box]

    def beside(self, hole: FrameHole) -> tuple[Polyline, ...]:
        """Return the strokes of a hole's name beside it; empty where there is no room."""
        wide, high = _size(hole.name, self.letter_mm)
        for turn in (45, 135, 225, 315, 0, 90, 180, 270):
            way = cmath.rect(1.0, math.radians(turn))
            reach = hole.reach_mm + GAP_MM + math.hypot(wide * way.real, high * way.imag) / 2 + self.stroke_mm
            place = self.at(hole.name, hole.at + reach * way)
            if place is not None:
                return place.strokes(hole.name)
        return ()

    def at(self, text: str, middle: complex) -> TextPlace | None:
        """Return the place of a text about a point, which then is taken; None where there is no room."""
        wide, high = _size(text, self.letter_mm)
        half = complex(wide, high) / 2
        low, upper = middle - half, middle + half
        box = (low.real, low.imag, upper.real, upper.imag)
        if not self._is_free(box):
            return None
        self.taken.append(box)
        return TextPlace(middle, self.letter_mm)

    def _is_free(self, box: Box) -> bool:
        """Return whether a box keeps the gap to edges, holes and other texts."""
        left, lower, right, upper = box
        edge = GAP_MM + self.stroke_mm
        low, high = self.plan.low, self.plan.high
        inside = left - edge >= low.real and right + edge <= high.real
        inside = inside and lower - edge >= low.imag and upper + edge <= high.imag
        least = edge - ROUNDING_MM  # a name beside its own hole is just so far from it
        apart = all(_distance(box, hole.at) >= hole.reach_mm + least for hole in self.holes)
        return inside and apart and not any(_overlap(box, other, edge) for other in self.taken)


def _size(text: str, letter_mm: float) -> tuple[float, float]:
    return text_width(text) * letter_mm / GRID_HEIGHT, letter_mm


def _distance(box: Box, at: complex) -> float:
    aside = max(box[0] - at.real, at.real - box[2], 0.0)
    return math.hypot(aside, max(box[1] - at.imag, at.imag - box[3], 0.0))


def _overlap(one: Box, other: Box, gap_mm: float) -> bool:
    across = one[0] < other[2] + gap_mm and other[0] < one[2] + gap_mm
    return across and one[1] < other[3] + gap_mm and other[1] < one[3] + gap_mm


def _marks(
    project: Project, plan: FramePlan, holes: Sequence[FrameHole], code: str
) -> tuple[Marks, TextPlace | None]:
    """Return the names of the holes, a code along the lower edge, and the place of the revision beside it."""
    width = stroke_width(project.print.nozzle_mm)
    names = _Names(plan, holes, max(LETTER_MM, LEAST_STROKES * width), width, [])
    groups = {f"name of {hole.name}": names.beside(hole) for hole in holes}
    code_at, revision_at = (_first_room(names, text) for text in (code, ANY_REVISION))
    groups[code] = () if code_at is None else code_at.strokes(code)
    return Marks(MappingProxyType(groups), width, mark_depth(plan.frame.plate_mm)), revision_at


def _first_room(names: _Names, text: str) -> TextPlace | None:
    """Return the place of a text along the lower edge, from the middle outward; None without room."""
    low, high = names.plan.low, names.plan.high
    y = low.imag + GAP_MM + names.stroke_mm + names.letter_mm
    middle = (low.real + high.real) / 2
    for step in range(int((high.real - low.real) / 2)):
        for way in (1, -1):
            place = names.at(text, complex(middle + way * step, y))
            if place is not None:
                return place
    return None
