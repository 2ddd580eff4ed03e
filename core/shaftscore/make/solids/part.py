"""What a part is made from: everything that its files need, in plan view and mm.

The frame is the part's own: axis at the origin, zero mark at +x, z to the top of the stack, bottom face
at z = 0. Shapes are nominal; `printed` gives the part with the corrections that were measured on a
printer, for files that a printer reads.

The *running edge* is what the follower touches: the contour of a disc with a spring, the two flanks of
a groove, which lies in the top face. *Pegs* stand on the top face, *pockets* in the bottom one take the
pegs of the part below.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import chain
from types import MappingProxyType
from typing import Literal

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.base.wording import millimetres
from shaftscore.kinematics.profiles import Flank, Profile
from shaftscore.layout.stacks import own_code
from shaftscore.make.solids.arcs import fit_arcs
from shaftscore.make.solids.dogged import DogShapes, dog_shapes
from shaftscore.make.solids.face import Face
from shaftscore.make.solids.marks import Marks, Wording, face_marks, no_marks, stroke_width
from shaftscore.make.solids.prism import PartPrism, grown, prism
from shaftscore.make.solids.revision import bodies_hash, disc_hash, revision_of, spacer_hash
from shaftscore.make.solids.rim import TICK, chamfer_tick, free_tick, rim_code
from shaftscore.make.solids.rings import Ring, can_move, moved, rounded
from shaftscore.make.solids.strokes import TextPlace
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Lane, Print, Project, Stack
from shaftscore.stack import BulgePath, bore_path, pin_paths, turn_sign
from shaftscore.stack.paths import circle
from shaftscore.stack.thickness import edge_chamfer_mm
from shaftscore.stack.walls import (
    PartWall,
    counterclockwise,
    disc_walls,
    first_gone,
    shared_walls,
    spacer_walls,
)

FINE_MM = CHORD_MM / 5
"""Chord error of the polygon that arcs are fitted to."""


Kind = Literal[
    "disc", "spacer", "coupon", "hub", "pinion", "driver", "geneva", "stepped", "lever", "slide", "bracket",
    "plate", "pillar", "knob",
]  # fmt: skip
"""What a part is."""

WITH_FITS: tuple[Kind, ...] = ("disc", "spacer", "coupon")
"""Parts whose play on the rod, the dogs and the pins is proved."""


@dataclass(frozen=True)
class Groove:
    """A groove in the top face: its depth; its flanks as rings, for a printer too, as arcs and finely."""

    inner: Ring
    outer: Ring
    printer_inner: Ring
    printer_outer: Ring
    inner_path: BulgePath
    outer_path: BulgePath
    fine_inner: Ring
    fine_outer: Ring
    depth_mm: float


@dataclass(frozen=True)
class MadePart:
    """One part of a machine, `count` alike: a disc (of lane_id), spacers, a fit coupon, and what holds them.

    The main body is the outline, thickness_mm high; `raised` bodies stand on it or about it, `sunk` ones
    are cut out of all of them.

    code: the short mark. label: its name for people. direction: +1 if the stack turns counterclockwise
    seen from the top, else -1. outline: contour, within the chord error of the profile. fine: the same,
    finely, for formats with curves. holes: through the part, with their clearance (of all parts but a
    coupon the bore first, then those of the pins). printer_outline, printer_holes, contour_mm: contour and
    holes, and how far walls move away from the material, in files for a printer. hash: of all inputs of the
    geometry. notes: what could not be made. scale: by which such files are then larger in plan.
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
    printer_outline: Ring
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
    scale: float = 1.0
    raised: tuple[PartPrism, ...] = ()
    sunk: tuple[PartPrism, ...] = ()
    foot_mm: float = 0.0
    tip_mm: float = 0.0

    @property
    def bottom_chamfer_mm(self) -> float:
        """Chamfer at the bottom edge of the contour, in files for a printer."""
        return max(self.chamfer_mm, self.foot_mm)

    @property
    def is_on_stack(self) -> bool:
        """Whether the part is one of the layers of a stack."""
        return self.kind in ("disc", "spacer")

    @property
    def revision(self) -> str:
        """Short form of the hash, as it is engraved on the part."""
        return revision_of(self.hash)

    @property
    def running_mm(self) -> tuple[float, float]:
        """Heights between which the running edge is upright."""
        if self.groove is not None:
            return self.thickness_mm - self.groove.depth_mm, self.thickness_mm - self.chamfer_mm
        return self.bottom_chamfer_mm, self.thickness_mm - self.chamfer_mm

    @property
    def top_mm(self) -> float:
        """Height of the part with its pegs and all that stands on it."""
        pegs = self.thickness_mm + (self.dogs.height_mm if self.dogs else 0.0)
        return max([pegs, *(body.top_mm for body in self.raised)])


def disc_part(project: Project, lane: Lane, profile: Profile, chord_mm: float = CHORD_MM) -> MadePart:
    """Gather a lane's disc; `chord_mm` bounds the distance of the outline from the profile.

    Raises SolidError if its bore, its groove, its dogs or its contour cannot be made, or it has no code.
    """
    if lane.code is None:
        raise SolidError(f"lane {lane.id} has no code to mark its disc with")
    stack = project.stack_of(lane)
    own = disc_walls(project.print, stack, lane, profile)
    _refuse_gone(lane.code, chain(shared_walls(project.print, stack), own))
    try:
        return _disc_part(project, lane, stack, profile, chord_mm)
    except SolidError:
        raise
    except ValueError as error:
        raise SolidError(f"{lane.code}: {error}") from error


def _disc_part(project: Project, lane: Lane, stack: Stack, profile: Profile, chord_mm: float) -> MadePart:
    """Gather a disc of which every wall is there; raises ValueError where a ring cannot be made."""
    assert lane.code is not None
    direction, by = turn_sign(project, stack), project.print.contour_mm
    groove = _groove(lane, profile, chord_mm, by)
    outline, printer_outline, fine = _outlines(lane, profile, groove, chord_mm, by)
    chamfer = _chamfer(lane, groove, (outline, printer_outline))
    holes, printer_holes = _holes(project, stack, lane.code)
    dogs = dog_shapes(project, stack, lane.code)
    width = stroke_width(project.print.nozzle_mm)
    edge = groove.inner if groove else outline
    made_from = disc_hash(project, lane, profile)
    faces = Face.choices(holes, dogs, edge, chamfer, width)
    wording = Wording(lane.code, revision_of(made_from), direction)
    marks = face_marks(wording, faces, lane.disc.thickness_mm)
    on_rim = _disc_rim(project.print, lane, groove, outline, chamfer)
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
        printer_outline=printer_outline,
        fine=fine,
        contour=fit_arcs(fine),
        groove=groove,
        holes=holes,
        printer_holes=printer_holes,
        dogs=dogs,
        marks=marks,
        contour_mm=by,
        hash=made_from,
        notes=(*_notes(lane, chamfer, marks), *_rim_notes(lane.code, on_rim)),
        scale=scale_of(project.print.shrinkage_percent),
        sunk=on_rim,
    )


def _disc_rim(
    printer: Print, lane: Lane, groove: Groove | None, outline: Ring, chamfer_mm: float
) -> tuple[PartPrism, ...]:
    """Return the marks on a disc's rim: of a groove's free rim tick and code, else a tick in the chamfer."""
    thick = lane.disc.thickness_mm
    if groove is None:
        return chamfer_tick(outline, thick, chamfer_mm, printer)
    wall = lane.disc.rim_mm + 2 * min(printer.contour_mm, 0.0)
    upright = (max(chamfer_mm, printer.foot_chamfer_mm), thick - chamfer_mm)
    tick = free_tick(outline, thick, wall, printer)
    return (*tick, *rim_code(lane.code or "", outline, upright, wall, printer))


def _rim_notes(code: str, on_rim: tuple[PartPrism, ...]) -> tuple[str, ...]:
    return () if on_rim else (f"{code}: no room on the rim for its {TICK}",)


def spacer_part(project: Project, stack: Stack, count: int) -> MadePart:
    """Gather the spacers of a stack, `count` of them.

    Raises SolidError if the bore or the dogs cannot be made in it.
    """
    name = f"spacer of {stack.label}"
    walls = [*spacer_walls(project.print, stack)]
    _refuse_gone(name, chain(shared_walls(project.print, stack), walls))
    holes, printer_holes = _holes(project, stack, name)
    dogs = dog_shapes(project, stack, name)
    radius, by = stack.spacer_radius_mm, project.print.contour_mm
    code, outline = own_code("SPACER", project, stack), circle(radius).flattened(CHORD_MM)
    on_rim = free_tick(outline, stack.spacer_mm, walls[0].least_mm, project.print)
    return MadePart(
        kind="spacer",
        lane_id=None,
        code=code,
        label=name,
        stack_id=stack.id,
        count=count,
        direction=turn_sign(project, stack),
        thickness_mm=stack.spacer_mm,
        chamfer_mm=0.0,
        outline=outline,
        printer_outline=circle(radius + by).flattened(CHORD_MM),
        fine=circle(radius).flattened(FINE_MM),
        contour=circle(radius),
        groove=None,
        holes=holes,
        printer_holes=printer_holes,
        dogs=dogs,
        marks=no_marks(),
        contour_mm=by,
        hash=spacer_hash(project, stack),
        notes=_rim_notes(code, on_rim),
        scale=scale_of(project.print.shrinkage_percent),
        sunk=on_rim,
    )


@dataclass(frozen=True)
class PlainPart:
    """What a part that no follower runs on is made from, as drawn; the printer's corrections come later.

    contour: of the main body, thickness_mm high. holes: through everything. raised, sunk: (name, outline,
    (bottom, top)) of bodies that stand on it, and of those cut out. marks: engraved in the top face of the
    main body, but for the revision, which follows from all else: revision_at is its place, if it has one.
    """

    kind: Kind
    code: str
    label: str
    thickness_mm: float
    contour: BulgePath
    holes: tuple[BulgePath, ...] = ()
    raised: tuple[tuple[str, BulgePath, tuple[float, float]], ...] = ()
    sunk: tuple[tuple[str, BulgePath, tuple[float, float]], ...] = ()
    marks: Marks | None = None
    revision_at: TextPlace | None = None
    count: int = 1
    stack_id: str = ""
    direction: int = 1
    notes: tuple[str, ...] = ()


def plain_part(project: Project, plain: PlainPart) -> MadePart:
    """Make a part that no follower runs on, with the corrections of the project's printer.

    Raises SolidError if nothing is left of one of its outlines.
    """
    by, hole = project.print.contour_mm, project.print.hole_mm
    made_from = _plain_hash(project.print, plain)
    try:
        return MadePart(
            kind=plain.kind,
            lane_id=None,
            code=plain.code,
            label=plain.label,
            stack_id=plain.stack_id,
            count=plain.count,
            direction=plain.direction,
            thickness_mm=plain.thickness_mm,
            chamfer_mm=0.0,
            outline=plain.contour.flattened(CHORD_MM),
            printer_outline=grown(plain.contour, by).flattened(CHORD_MM),
            fine=plain.contour.flattened(FINE_MM),
            contour=plain.contour,
            groove=None,
            holes=plain.holes,
            printer_holes=tuple(grown(path, hole) for path in plain.holes),
            dogs=None,
            marks=_with_revision(plain, made_from),
            contour_mm=by,
            hash=made_from,
            notes=plain.notes,
            scale=scale_of(project.print.shrinkage_percent),
            raised=tuple(prism(name, path, ends, by) for name, path, ends in plain.raised),
            sunk=tuple(
                prism(name, path, ends, -by if _is_open(plain, path, ends) else hole)
                for name, path, ends in plain.sunk
            ),
        )
    except ValueError as error:
        raise SolidError(f"{plain.code}: {error}") from error


def _is_open(plain: PlainPart, path: BulgePath, ends: tuple[float, float]) -> bool:
    """Return whether what is cut out is open at a side: its walls are printed as contours, not as holes.

    ends: between which heights it is cut out, mm.
    """
    from shapely import Polygon, union_all  # kept off the start-up path

    bodies = [(plain.contour, (0.0, plain.thickness_mm)), *((one, at) for _, one, at in plain.raised)]
    beside = [one for one, (low, high) in bodies if low < ends[1] and ends[0] < high]
    body = union_all([Polygon(one.flattened(FINE_MM)) for one in beside])
    return not body.covers(Polygon(path.flattened(FINE_MM)))


def _plain_hash(printer: Print, plain: PlainPart) -> str:
    """Hash a part as drawn, its marks but for the revision, and the printer's corrections."""
    words = f"{plain.kind} {plain.code} {len(plain.holes)} {len(plain.raised)} {len(plain.sunk)}"
    whole = (0.0, plain.thickness_mm)
    bodies = [(path, whole) for path in (plain.contour, *plain.holes)]
    bodies += [(path, ends) for _, path, ends in (*plain.raised, *plain.sunk)]
    marks = plain.marks or no_marks()
    strokes = [(stroke, marks.width_mm, marks.depth_mm) for stroke in marks.strokes]
    return bodies_hash(printer, words, bodies, strokes)


def _with_revision(plain: PlainPart, made_from: str) -> Marks:
    """Return the marks of a part with its revision; made_from: its hash."""
    marks = plain.marks or no_marks()
    if plain.revision_at is None:
        return marks
    groups = {**marks.groups, "revision": plain.revision_at.strokes(revision_of(made_from))}
    return replace(marks, groups=MappingProxyType(groups))


def printed(part: MadePart) -> MadePart:
    """Return the part as a printer's file holds it: contour, groove, holes, pegs and pockets corrected.

    It is then enlarged in plan by what it shrinks.
    """
    groove = part.groove
    if groove is not None:
        groove = replace(groove, inner=groove.printer_inner, outer=groove.printer_outer)
    dogs = part.dogs.printed() if part.dogs else None
    corrected = replace(
        part,
        outline=part.printer_outline,
        groove=groove,
        holes=part.printer_holes,
        dogs=dogs,
        raised=tuple(body.printed() for body in part.raised),
        sunk=tuple(body.printed() for body in part.sunk),
    )
    return corrected if part.scale == 1 else _scaled(corrected, part.scale)


def scale_of(shrinkage_percent: float) -> float:
    """Return the factor by which a part is made larger in plan, so that it is right when it has shrunk."""
    return 1 / (1 - shrinkage_percent / 100)


def _scaled(part: MadePart, factor: float) -> MadePart:
    """Return a corrected part whose outlines, openings, pegs and marks are larger by a factor."""
    groove, dogs, marks = part.groove, part.dogs, part.marks
    strokes = {name: tuple(stroke * factor for stroke in strokes) for name, strokes in marks.groups.items()}
    return replace(
        part,
        outline=part.outline * factor,
        groove=replace(groove, inner=groove.inner * factor, outer=groove.outer * factor) if groove else None,
        holes=tuple(path.scaled(factor) for path in part.holes),
        dogs=dogs.scaled(factor) if dogs else None,
        marks=replace(marks, groups=MappingProxyType(strokes)),
        raised=tuple(body.scaled(factor) for body in part.raised),
        sunk=tuple(body.scaled(factor) for body in part.sunk),
    )


def _groove(lane: Lane, profile: Profile, chord_mm: float, by_mm: float) -> Groove | None:
    """Make a disc's groove, None if it has none; by_mm: by which a printer's file moves its flanks."""
    if "outer" not in profile.flanks:
        return None
    inner, outer, printer_inner, printer_outer = (
        counterclockwise(profile.outline(chord_mm, flank, by))
        for by in (0.0, by_mm)
        for flank in profile.flanks
    )
    fine_inner, fine_outer = (_fine(profile, flank) for flank in profile.flanks)
    return Groove(
        inner=inner,
        outer=outer,
        printer_inner=printer_inner,
        printer_outer=printer_outer,
        inner_path=fit_arcs(fine_inner),
        outer_path=fit_arcs(fine_outer),
        fine_inner=fine_inner,
        fine_outer=fine_outer,
        depth_mm=lane.disc.groove_depth_mm,
    )


def _outlines(
    lane: Lane, profile: Profile, groove: Groove | None, chord_mm: float, by_mm: float
) -> tuple[Ring, Ring, Ring]:
    """Return the contour of a disc, that of a printer's file, which is moved by_mm outward, and the fine one.

    A profile is moved exactly, by its own offset curve; the rim about a groove has none.
    """
    if groove is None:
        rings = [counterclockwise(profile.outline(chord_mm, grown_mm=by)) for by in (0.0, by_mm)]
        return rings[0], rings[1], _fine(profile, "inner")
    outline = moved(groove.outer, lane.disc.rim_mm)
    return outline, rounded(outline, by_mm, FINE_MM), moved(groove.fine_outer, lane.disc.rim_mm)


def _chamfer(lane: Lane, groove: Groove | None, outlines: tuple[Ring, Ring]) -> float:
    """Return the chamfer of contour and groove that the disc has room for; less where an edge is too sharp.

    outlines: as drawn, and in a printer's file.
    """
    wanted = edge_chamfer_mm(lane)
    edges = [(ring, -1) for ring in outlines]
    if groove is not None:
        edges += [(ring, -1) for ring in (groove.inner, groove.printer_inner)]
        edges += [(ring, 1) for ring in (groove.outer, groove.printer_outer)]
    for chamfer in (wanted, wanted / 2, wanted / 4):
        if all(can_move(ring, way * chamfer) for ring, way in edges):
            return chamfer
    return 0.0


def _refuse_gone(name: str, walls: Iterable[PartWall]) -> None:
    """Raise SolidError where a wall, floor or opening of a part is missing."""
    gone = first_gone(walls)
    if gone is not None:
        raise SolidError(f"{name}: {gone.part} is {millimetres(gone.least_mm)}; the part cannot be made")


def _fine(profile: Profile, flank: Flank) -> Ring:
    """Return a flank finely enough that arcs through its corners keep the chord error."""
    return counterclockwise(profile.outline(FINE_MM, flank))


def _holes(project: Project, stack: Stack, name: str) -> tuple[tuple[BulgePath, ...], tuple[BulgePath, ...]]:
    """Return the holes of bore and pins as drawn, and as a printer's file holds them."""
    try:
        return _holes_grown(stack, 0.0), _holes_grown(stack, project.print.hole_mm)
    except ValueError as error:
        raise SolidError(f"{name}: {error}") from error


def _holes_grown(stack: Stack, grow_mm: float) -> tuple[BulgePath, ...]:
    bore = bore_path(stack.bore, stack.fit_clearance_mm + grow_mm)
    pins = stack.pins
    return (bore, *(pin_paths(pins, pins.clearance_mm + grow_mm) if pins is not None else ()))


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
