"""What a disc is made from: everything that its files need, in plan view and mm.

The frame is the disc's own: axis at the origin, zero mark at +x, z to the top of the stack, bottom face
at z = 0. Shapes are nominal; `printed` gives the part with the corrections that were measured on a
printer, for files that a printer reads.

The *running edge* is what the follower touches: the contour of a disc with a spring, the two flanks of
a groove, which lies in the top face.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.model import Lane, Project, Stack
from core.profiles import Profile
from core.solids.marks import MARGIN_MM, Face, Marks, face_marks, stroke_width
from core.solids.rings import Ring, moved, ring_area
from core.stack import Path, bore_path, turn_sign

CHAMFER_SHARE = 0.4
"""A chamfer takes at most this share of the thickness on each face."""


class SolidError(ValueError):
    """A body that cannot be made; says which part and why."""


@dataclass(frozen=True)
class Groove:
    """A groove in the top face: rings of its flanks, and its depth."""

    inner: Ring
    outer: Ring
    depth_mm: float


@dataclass(frozen=True)
class DiscPart:
    """One disc.

    direction: +1 if its stack turns counterclockwise seen from the top, else -1. outline: contour,
    within the chord error of the profile. bore: hole with the fit clearance. printer_bore, contour_mm:
    the hole, and how far the running edges move away from the material, in files for a printer.
    notes: what could not be made as asked.
    """

    lane_id: str
    code: str
    label: str
    stack_id: str
    direction: int
    thickness_mm: float
    chamfer_mm: float
    outline: Ring
    groove: Groove | None
    bore: Path
    printer_bore: Path
    marks: Marks
    contour_mm: float
    notes: tuple[str, ...]

    @property
    def running_mm(self) -> tuple[float, float]:
        """Heights between which the running edge stands upright."""
        if self.groove is not None:
            return self.thickness_mm - self.groove.depth_mm, self.thickness_mm
        return self.chamfer_mm, self.thickness_mm - self.chamfer_mm


def disc_part(project: Project, lane: Lane, profile: Profile, chord_mm: float) -> DiscPart:
    """Gather a lane's disc; `chord_mm` bounds the distance of the outline from the profile.

    Raises SolidError if its bore, its groove or its contour cannot be made, or it has no code.
    """
    if lane.code is None:
        raise SolidError(f"lane {lane.id} has no code to mark its disc with")
    stack = project.stack_of(lane)
    groove = _groove(lane, profile, chord_mm)
    running = counterclockwise(profile.outline(chord_mm))
    outline = running if groove is None else moved(groove.outer, lane.disc.rim_mm)
    chamfer = 0.0 if groove else min(lane.disc.edge_chamfer_mm, CHAMFER_SHARE * lane.disc.thickness_mm)
    bore, printer_bore = _bores(project, stack, lane)
    face = Face(
        inner_mm=bore.largest_radius + MARGIN_MM,
        edge=groove.inner if groove else outline,
        margin_mm=chamfer + MARGIN_MM,
        width_mm=stroke_width(project.print.nozzle_mm),
    )
    marks = face_marks(lane.code, turn_sign(project, stack), face, lane.disc.thickness_mm)
    return DiscPart(
        lane_id=lane.id,
        code=lane.code,
        label=lane.label,
        stack_id=stack.id,
        direction=turn_sign(project, stack),
        thickness_mm=lane.disc.thickness_mm,
        chamfer_mm=chamfer,
        outline=outline,
        groove=groove,
        bore=bore,
        printer_bore=printer_bore,
        marks=marks,
        contour_mm=project.print.contour_mm,
        notes=_notes(lane, chamfer, marks) if groove is None else _notes(lane, None, marks),
    )


def printed(part: DiscPart) -> DiscPart:
    """Give the part as a printer's file holds it: contour, groove and bore corrected.

    Raises SolidError if nothing is left of a ring that is moved.
    """
    by = part.contour_mm
    groove = part.groove
    if groove is not None:
        groove = Groove(moved(groove.inner, by), moved(groove.outer, -by), groove.depth_mm)
    try:
        return replace(part, outline=moved(part.outline, by), groove=groove, bore=part.printer_bore)
    except ValueError as error:
        raise SolidError(f"{part.code}: the contour cannot be corrected by {by:g} mm: {error}") from error


def counterclockwise(ring: Ring) -> Ring:
    """Give a ring that runs counterclockwise and does not repeat its first point."""
    if len(ring) > 1 and bool((ring[0] == ring[-1]).all()):
        ring = ring[:-1]
    return ring if ring_area(ring) > 0 else ring[::-1]


def _groove(lane: Lane, profile: Profile, chord_mm: float) -> Groove | None:
    if "outer" not in profile.flanks:
        return None
    depth = lane.disc.groove_depth_mm
    if depth >= lane.disc.thickness_mm:
        raise SolidError(
            f"{lane.code}: a groove {depth:g} mm deep leaves no floor in a disc "
            f"{lane.disc.thickness_mm:g} mm thick: make the disc thicker"
        )
    inner, outer = (counterclockwise(profile.outline(chord_mm, flank)) for flank in profile.flanks)
    return Groove(inner, outer, depth)


def _bores(project: Project, stack: Stack, lane: Lane) -> tuple[Path, Path]:
    """Give the hole as drawn and as a printer's file holds it."""
    try:
        clearance = stack.fit_clearance_mm
        return bore_path(stack.bore, clearance), bore_path(stack.bore, clearance + project.print.hole_mm)
    except ValueError as error:
        raise SolidError(f"{lane.code}: {error}") from error


def _notes(lane: Lane, chamfer: float | None, marks: Marks) -> tuple[str, ...]:
    notes = [f"{lane.code}: no room on the face for its {name}" for name in marks.missing]
    if chamfer is not None and chamfer < lane.disc.edge_chamfer_mm:
        notes.append(
            f"{lane.code}: edge chamfer made {chamfer:g} mm, not {lane.disc.edge_chamfer_mm:g} mm: "
            f"the disc is {lane.disc.thickness_mm:g} mm thick"
        )
    return tuple(notes)
