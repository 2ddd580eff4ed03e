"""What the parts of followers share: holes on a line with walls about them, and engraved codes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from shaftscore.base.wording import millimetres
from shaftscore.layout.followers import WALL_MM
from shaftscore.make.solids.marks import LEAST_STROKES, Marks, no_marks, stroke_width
from shaftscore.make.solids.revision import ANY_REVISION
from shaftscore.make.solids.strokes import GRID_HEIGHT, TextPlace, text_width
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project
from shaftscore.stack import BulgePath, mark_depth
from shaftscore.stack.followers import TURNING_MM
from shaftscore.stack.paths import circle

HOOK_MM = 2.0
"""Diameter of the hole that a spring hooks into, mm."""

LEAST_WALL_MM = 1.2
"""Least material about a hole, mm (common practice: three lines of a 0.4 mm nozzle)."""

LETTER_MM = 6.0
"""Largest height of an engraved code, mm."""

Room = tuple[complex, float, float]
"""Where a text may be: its middle, and how long and high it may be, mm; it reads along +x."""


@dataclass(frozen=True)
class BarHole:
    """A hole of a bar: what it is for, its place along the bar and its radius, mm."""

    name: str
    at_mm: float
    radius_mm: float

    @property
    def path(self) -> BulgePath:
        """Its outline."""
        return circle(self.radius_mm, complex(self.at_mm))

    @property
    def boss(self) -> tuple[float, float]:
        """Place and radius of the material about it, mm."""
        return self.at_mm, self.radius_mm + WALL_MM


def turning_hole(name: str, at_mm: float, rod_mm: float) -> BarHole:
    """Return the hole in which a rod or screw of a diameter, mm, turns; at_mm: along the bar."""
    return BarHole(name, at_mm, rod_mm / 2 + TURNING_MM)


def refuse_thin(code: str, holes: Sequence[BarHole], half_mm: float) -> None:
    """Raise SolidError where holes leave too little material between them or beside them.

    half_mm: half the width of the bar.
    """
    for hole in holes:
        if half_mm - hole.radius_mm < LEAST_WALL_MM:
            told = f"{code}: the bar is {millimetres(2 * half_mm)} wide at its {hole.name}"
            least = millimetres(2 * (hole.radius_mm + LEAST_WALL_MM))
            raise SolidError(f"{told}; at least {least} required (body width)")
    for one, other in pairwise(sorted(holes, key=lambda hole: hole.at_mm)):
        wall = other.at_mm - one.at_mm - one.radius_mm - other.radius_mm
        if wall < LEAST_WALL_MM:
            told = f"{code}: {one.name} and {other.name} leave {millimetres(wall)} of material"
            raise SolidError(f"{told}; at least {millimetres(LEAST_WALL_MM)} required")


def rooms_between(holes: Sequence[BarHole], half_mm: float, stroke_mm: float) -> list[Room]:
    """Return the rooms for texts between the holes of a bar, longest first.

    half_mm: half the width of the bar. stroke_mm: width of a text's strokes.
    """
    placed = sorted(holes, key=lambda hole: hole.at_mm)
    rooms = []
    for one, other in pairwise(placed):
        start, end = one.at_mm + one.radius_mm + stroke_mm, other.at_mm - other.radius_mm - stroke_mm
        rooms.append((complex((start + end) / 2), end - start, 2 * (half_mm - stroke_mm)))
    return sorted(rooms, key=lambda room: -room[1])


def code_marks(
    project: Project, code: str, rooms: Sequence[Room], thickness_mm: float
) -> tuple[Marks, TextPlace | None]:
    """Return a part's code, engraved in the first room, and where in the second one its revision goes.

    None where there is no second room. thickness_mm: of the part.
    """
    width = stroke_width(project.print.nozzle_mm)
    found = [_fitted(text, room, width) for text, room in zip((code, ANY_REVISION), rooms, strict=False)]
    code_at, revision_at = (*found, None, None)[:2]
    if code_at is None and revision_at is None:
        return no_marks(), None
    groups = {"code": () if code_at is None else code_at.strokes(code)}
    return Marks(MappingProxyType(groups), width, mark_depth(thickness_mm)), revision_at


def _fitted(text: str, room: Room, stroke_mm: float) -> TextPlace | None:
    """Return the place of a text as large as its room lets it be; None where it could not be read."""
    middle, long, high = room
    height = min(LETTER_MM, high - stroke_mm, (long - stroke_mm) * GRID_HEIGHT / text_width(text))
    return None if height < LEAST_STROKES * stroke_mm else TextPlace(middle, height)


def no_code_note(code: str, marks: Marks) -> tuple[str, ...]:
    """Return the note that a part has no room for its code, if it has none."""
    return () if marks.groups.get("code") else (f"{code}: no room on the face for its code",)
