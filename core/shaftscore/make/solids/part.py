"""What a part is made from: everything that its files need, in plan view and mm.

The frame is the part's own: axis at the origin, zero mark at +x, z to the top of the stack, bottom face
at z = 0. Shapes are nominal; `printed` gives the part with the corrections that were measured on a
printer, for files that a printer reads.

The *running edge* is what the follower touches: the contour of a disc with a spring, the two flanks of
a groove, which lies in the top face. *Pegs* stand on the top face, *pockets* in the bottom one take the
pegs of the part below.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.profiles import Flank, Profile
from shaftscore.make.solids.arcs import fit_arcs
from shaftscore.make.solids.dogged import DogShapes, dog_shapes
from shaftscore.make.solids.face import Face
from shaftscore.make.solids.marks import Marks, Wording, face_marks, no_marks, stroke_width
from shaftscore.make.solids.revision import disc_hash, revision_of, spacer_hash
from shaftscore.make.solids.rings import Ring, moved, ring_area
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Lane, Project, Stack
from shaftscore.stack import BulgePath, bore_path, turn_sign
from shaftscore.stack.paths import circle

FINE_MM = CHORD_MM / 5
"""Chord error of the polygon that arcs are fitted to."""

CHAMFER_SHARE = 0.4
"""A chamfer takes at most this share of the thickness on each face, and of a groove's depth and rim."""


Kind = Literal["disc", "spacer", "coupon"]
"""What a part is."""


@dataclass(frozen=True)
class Groove:
    """A groove in the top face: rings of its flanks, the same as arcs and finely, and its depth."""

    inner: Ring
    outer: Ring
    inner_path: BulgePath
    outer_path: BulgePath
    fine_inner: Ring
    fine_outer: Ring
    depth_mm: float


@dataclass(frozen=True)
class MadePart:
    """One part of a stack: a disc (of lane_id), its spacers, or its fit coupon, `count` alike.

    code: the short mark. label: its name for people. direction: +1 if the stack turns counterclockwise
    seen from the top, else -1. outline: contour, within the chord error of the profile. fine: the same,
    finely, for formats with curves. holes: through the part, with their clearance (of all parts but a
    coupon just the bore). printer_holes, contour_mm: the holes, and how far walls move away from the
    material, in files for a printer. hash: of all inputs of
    the geometry. notes: what could not be made as asked.
    """

    kind: Kind
    lane_id: str | None
    code: str
    label: str
    stack_id: str
    count: int
    direction: int
    thickness_mm: float
    chamfer_mm: float
    outline: Ring
    fine: Ring
    contour: BulgePath
    groove: Groove | None
    holes: tuple[BulgePath, ...]
    printer_holes: tuple[BulgePath, ...]
    dogs: DogShapes | None
    marks: Marks
    contour_mm: float
    hash: str
    notes: tuple[str, ...]

    @property
    def revision(self) -> str:
        """Short form of the hash, as it stands on the part."""
        return revision_of(self.hash)

    @property
    def running_mm(self) -> tuple[float, float]:
        """Heights between which the running edge stands upright."""
        if self.groove is not None:
            return self.thickness_mm - self.groove.depth_mm, self.thickness_mm - self.chamfer_mm
        return self.chamfer_mm, self.thickness_mm - self.chamfer_mm

    @property
    def top_mm(self) -> float:
        """Height of the part with its pegs."""
        return self.thickness_mm + (self.dogs.height_mm if self.dogs else 0.0)


def disc_part(project: Project, lane: Lane, profile: Profile, chord_mm: float = CHORD_MM) -> MadePart:
    """Gather a lane's disc; `chord_mm` bounds the distance of the outline from the profile.

    Raises SolidError if its bore, its groove, its dogs or its contour cannot be made, or it has no code.
    """
    if lane.code is None:
        raise SolidError(f"lane {lane.id} has no code to mark its disc with")
    stack = project.stack_of(lane)
    direction = turn_sign(project, stack)
    groove = _groove(lane, profile, chord_mm)
    running = counterclockwise(profile.outline(chord_mm))
    outline = running if groove is None else moved(groove.outer, lane.disc.rim_mm)
    fine = _fine(profile, "inner") if groove is None else moved(groove.fine_outer, lane.disc.rim_mm)
    chamfer = _chamfer(lane, groove)
    bore, printer_bore = _bores(project, stack, lane.code)
    dogs = dog_shapes(project, stack, lane.disc.thickness_mm, lane.code)
    width = stroke_width(project.print.nozzle_mm)
    edge = groove.inner if groove else outline
    made_from = disc_hash(project, lane, profile)
    faces = Face.choices(bore, dogs, edge, chamfer, width)
    wording = Wording(lane.code, revision_of(made_from), direction)
    marks = face_marks(wording, faces, lane.disc.thickness_mm)
    return MadePart(
        kind="disc",
        lane_id=lane.id,
        code=lane.code,
        label=lane.label,
        stack_id=stack.id,
        count=1,
        direction=direction,
        thickness_mm=lane.disc.thickness_mm,
        chamfer_mm=chamfer,
        outline=outline,
        fine=fine,
        contour=fit_arcs(fine),
        groove=groove,
        holes=(bore,),
        printer_holes=(printer_bore,),
        dogs=dogs,
        marks=marks,
        contour_mm=project.print.contour_mm,
        hash=made_from,
        notes=_notes(lane, chamfer, marks),
    )


def spacer_part(project: Project, stack: Stack, count: int) -> MadePart:
    """Gather the spacers of a stack, `count` of them.

    Raises SolidError if the bore or the dogs cannot be made in it.
    """
    name = f"spacer of {stack.label}"
    bore, printer_bore = _bores(project, stack, name)
    dogs = dog_shapes(project, stack, stack.spacer_mm, name)
    if dogs is not None and dogs.outer_mm >= stack.spacer_radius_mm:
        raise SolidError(
            f"{name}: its dogs reach to {dogs.outer_mm:.2f} mm, beyond its radius of "
            f"{stack.spacer_radius_mm:g} mm: make the spacer larger"
        )
    return MadePart(
        kind="spacer",
        lane_id=None,
        code=stack_code("SPACER", project, stack),
        label=name,
        stack_id=stack.id,
        count=count,
        direction=turn_sign(project, stack),
        thickness_mm=stack.spacer_mm,
        chamfer_mm=0.0,
        outline=circle(stack.spacer_radius_mm).flattened(CHORD_MM),
        fine=circle(stack.spacer_radius_mm).flattened(FINE_MM),
        contour=circle(stack.spacer_radius_mm),
        groove=None,
        holes=(bore,),
        printer_holes=(printer_bore,),
        dogs=dogs,
        marks=no_marks(),
        contour_mm=project.print.contour_mm,
        hash=spacer_hash(project, stack),
        notes=(),
    )


def stack_code(word: str, project: Project, stack: Stack) -> str:
    """Return the code of a stack's own part: the word, and the stack's number if there are several."""
    return word if len(project.stacks) == 1 else f"{word}{1 + project.stacks.index(stack)}"


def printed(part: MadePart) -> MadePart:
    """Return the part as a printer's file holds it: contour, groove, bore, pegs and pockets corrected.

    Raises SolidError if nothing is left of a ring that is moved.
    """
    by = part.contour_mm
    try:
        groove = part.groove
        if groove is not None:
            groove = replace(groove, inner=moved(groove.inner, by), outer=moved(groove.outer, -by))
        dogs = part.dogs.printed() if part.dogs else None
        return replace(
            part, outline=moved(part.outline, by), groove=groove, holes=part.printer_holes, dogs=dogs
        )
    except ValueError as error:
        raise SolidError(f"{part.code}: the contour cannot be corrected by {by:g} mm: {error}") from error


def counterclockwise(ring: Ring) -> Ring:
    """Return a ring that runs counterclockwise and does not repeat its first point."""
    if len(ring) > 1 and bool((ring[0] == ring[-1]).all()):
        ring = ring[:-1]
    return ring if ring_area(ring) > 0 else ring[::-1]


def _groove(lane: Lane, profile: Profile, chord_mm: float) -> Groove | None:
    if "outer" not in profile.flanks:
        return None
    inner, outer = (counterclockwise(profile.outline(chord_mm, flank)) for flank in profile.flanks)
    fine_inner, fine_outer = (_fine(profile, flank) for flank in profile.flanks)
    arcs = fit_arcs(fine_inner), fit_arcs(fine_outer)
    return Groove(inner, outer, *arcs, fine_inner, fine_outer, lane.disc.groove_depth_mm)


def _chamfer(lane: Lane, groove: Groove | None) -> float:
    """Return the chamfer of contour and groove that the disc has room for."""
    disc = lane.disc
    room = [disc.thickness_mm] if groove is None else [disc.thickness_mm, disc.groove_depth_mm, disc.rim_mm]
    return min(disc.edge_chamfer_mm, CHAMFER_SHARE * min(room))


def _fine(profile: Profile, flank: Flank) -> Ring:
    """Return a flank finely enough that arcs through its corners keep the chord error."""
    return counterclockwise(profile.outline(FINE_MM, flank))


def _bores(project: Project, stack: Stack, name: str) -> tuple[BulgePath, BulgePath]:
    """Return the hole as drawn and as a printer's file holds it."""
    try:
        clearance = stack.fit_clearance_mm
        return bore_path(stack.bore, clearance), bore_path(stack.bore, clearance + project.print.hole_mm)
    except ValueError as error:
        raise SolidError(f"{name}: {error}") from error


def _notes(lane: Lane, chamfer: float, marks: Marks) -> tuple[str, ...]:
    notes = []
    if marks.missing:
        notes.append(f"{lane.code}: no room on the face for its {', '.join(marks.missing)}")
    if chamfer < lane.disc.edge_chamfer_mm:
        notes.append(
            f"{lane.code}: edge chamfer made {chamfer:g} mm, not {lane.disc.edge_chamfer_mm:g} mm: there is "
            "no room for more"
        )
    return tuple(notes)
