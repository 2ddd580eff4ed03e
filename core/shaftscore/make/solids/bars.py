"""Flat bars as parts, and engraved codes: what the parts of followers share."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from types import MappingProxyType

from shaftscore.layout.bars import BarHole, FlatBar, bar_faults
from shaftscore.make.solids.marks import LEAST_STROKES, Marks, no_marks, stroke_width
from shaftscore.make.solids.part import Kind, MadePart, PlainPart, plain_part
from shaftscore.make.solids.revision import ANY_REVISION
from shaftscore.make.solids.strokes import GRID_HEIGHT, TextPlace, text_width
from shaftscore.model import Project
from shaftscore.stack import BulgePath, mark_depth

LETTER_MM = 6.0
"""Largest height of an engraved code, mm."""

Room = tuple[complex, float, float]
"""Where a text may be: its middle, and how long and high it may be, mm; it reads along +x."""


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


def bar_part(project: Project, bar: FlatBar, kind: Kind, contour: BulgePath, stack_id: str) -> MadePart:
    """Make a flat bar with holes, its code between them.

    Raises FollowerLayoutError where its holes leave too little material, SolidError where nothing is left.
    """
    for fault in bar_faults(project.print, bar):
        raise fault
    rooms = rooms_between(bar.holes, bar.half_mm, stroke_width(project.print.nozzle_mm))
    marks, revision_at = code_marks(project, bar.code, rooms, bar.thickness_mm)
    return plain_part(
        project,
        PlainPart(
            kind=kind,
            code=bar.code,
            label=bar.label,
            thickness_mm=bar.thickness_mm,
            contour=contour,
            holes=tuple(hole.path for hole in bar.holes),
            marks=marks,
            revision_at=revision_at,
            count=bar.count,
            stack_id=stack_id,
            notes=no_code_note(bar.code, marks),
        ),
    )
