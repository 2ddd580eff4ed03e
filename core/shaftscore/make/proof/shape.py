"""What a part should be: its outlines in plan view and the heights between which they reach.

A shape comes from the plan features of a part (`shape_of`), as a printer's file, a drawing or an exact
solid should hold it; or from the manifest of an export, which keeps it in short form (`recorded_shape`,
`read_shape`). Frame as in `shaftscore.make.solids.part`: zero mark at +x, bottom face at z = 0, mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from shaftscore.base.errors import ExportError
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.exact import FEET, ON_RIM, left_out
from shaftscore.make.solids.prism import PartPrism
from shaftscore.make.solids.rim import RIM_MARKS
from shaftscore.make.solids.rings import Ring
from shaftscore.stack import BulgePath

Made = Literal["printed", "drawn", "exact"]
"""How a file holds a part: corrected for a printer, as a drawing, or as an exact solid without marks."""

PATH_MM = 2e-4
"""Chord error with which true arcs of bores, dogs and spacers become rings."""

RECORDED_MM = 0.02
"""A recorded ring leaves the part's edge by at most this much."""

ROUNDED_MM = 0.0005
"""Rounding of recorded coordinates to three decimals."""

MOST_POINTS = 100_000
"""Most points of one recorded ring that are read."""


@dataclass(frozen=True)
class ShapeBody:
    """A body that stands on a part or is cut out of it: its name, outline (n, 2), and heights, mm."""

    name: str
    ring: Ring
    bottom_mm: float
    top_mm: float


@dataclass(frozen=True)
class PartShape:
    """Outlines of a part and their heights, mm; rings (n, 2) are counterclockwise.

    groove: inner and outer flank. strokes: middle lines (n, 2) of the marks. peg_mm: height of pegs over
    the top face; pocket_mm, groove_mm, mark_mm: depths. slack_mm: by how much rings may leave the edges
    that they stand for.
    """

    thickness_mm: float
    chamfer_mm: float
    contour: Ring
    holes: tuple[Ring, ...]
    pegs: tuple[Ring, ...] = ()
    peg_mm: float = 0.0
    pockets: tuple[Ring, ...] = ()
    pocket_mm: float = 0.0
    groove: tuple[Ring, Ring] | None = None
    groove_mm: float = 0.0
    strokes: tuple[Ring, ...] = ()
    stroke_mm: float = 0.0
    mark_mm: float = 0.0
    slack_mm: float = 0.0
    raised: tuple[ShapeBody, ...] = ()
    sunk: tuple[ShapeBody, ...] = ()
    foot_mm: float = 0.0
    tip_mm: float = 0.0

    @property
    def top_mm(self) -> float:
        """Height of the part with its pegs and all that stands on it."""
        return max([self.thickness_mm + self.peg_mm, *(body.top_mm for body in self.raised)])


def shape_of(part: MadePart, made: Made) -> PartShape:
    """Return the shape that a file of this kind should hold, from the plan features of the part."""
    by = part.contour_mm if made == "printed" else 0.0
    without = left_out(part) if made == "exact" else ()
    dogs = part.dogs.printed() if part.dogs and made == "printed" else part.dogs
    groove = part.groove
    marked = "its marks" not in without
    shape = PartShape(
        thickness_mm=part.thickness_mm,
        chamfer_mm=0.0 if "its chamfers" in without else part.chamfer_mm,
        contour=_grown(part.fine, by, sharp=part.kind == "coupon"),
        holes=_rings(part.printer_holes if made == "printed" else part.holes),
        pegs=_rings(dogs.pegs) if dogs else (),
        peg_mm=dogs.height_mm if dogs else 0.0,
        pockets=_rings(dogs.pockets) if dogs else (),
        pocket_mm=dogs.depth_mm if dogs else 0.0,
        groove=(_grown(groove.fine_inner, by), _grown(groove.fine_outer, -by)) if groove else None,
        groove_mm=groove.depth_mm if groove else 0.0,
        strokes=tuple(np.column_stack([s.real, s.imag]) for s in part.marks.strokes) if marked else (),
        stroke_mm=part.marks.width_mm,
        mark_mm=part.marks.depth_mm,
        raised=_bodies(part.raised, made),
        sunk=without_rim(_bodies(part.sunk, made), without),
        foot_mm=0.0 if FEET in without else part.foot_mm,
        tip_mm=0.0 if FEET in without else part.tip_mm,
    )
    return shape if made != "printed" or part.scale == 1 else _scaled(shape, part.scale)


def without_rim(bodies: tuple[ShapeBody, ...], without: Sequence[str]) -> tuple[ShapeBody, ...]:
    """Return bodies less the marks on the rim, if those are among what a file leaves out."""
    return tuple(body for body in bodies if body.name not in RIM_MARKS) if ON_RIM in without else bodies


def _scaled(shape: PartShape, factor: float) -> PartShape:
    """Return a shape enlarged in plan by a factor."""
    groove = shape.groove
    return replace(
        shape,
        contour=shape.contour * factor,
        holes=tuple(ring * factor for ring in shape.holes),
        pegs=tuple(ring * factor for ring in shape.pegs),
        pockets=tuple(ring * factor for ring in shape.pockets),
        groove=(groove[0] * factor, groove[1] * factor) if groove else None,
        strokes=tuple(stroke * factor for stroke in shape.strokes),
        raised=tuple(replace(body, ring=body.ring * factor) for body in shape.raised),
        sunk=tuple(replace(body, ring=body.ring * factor) for body in shape.sunk),
    )


def _bodies(bodies: Sequence[PartPrism], made: Made) -> tuple[ShapeBody, ...]:
    """Return raised or sunk bodies as a file of a kind should hold them."""
    return tuple(
        ShapeBody(
            body.name,
            (body.printer_path if made == "printed" else body.path).flattened(PATH_MM),
            body.bottom_mm,
            body.top_mm,
        )
        for body in bodies
    )


def _rings(paths: Sequence[BulgePath]) -> tuple[Ring, ...]:
    return tuple(path.flattened(PATH_MM) for path in paths)


def _grown(ring: Ring, by_mm: float, *, sharp: bool = False) -> Ring:
    """Move a ring outward; a ring that vanishes stays as it is, and its file then differs from it.

    sharp: its corners stay corners; else they are rounded within PATH_MM.
    """
    if by_mm == 0:
        return ring
    from shapely import Polygon  # kept off the start-up path

    quarter = math.ceil(math.pi / 4 / math.acos(1 - min(1.0, PATH_MM / abs(by_mm))))
    style: Literal["mitre", "round"] = "mitre" if sharp else "round"
    moved = Polygon(ring).buffer(by_mm, quad_segs=quarter, join_style=style)
    return np.asarray(moved.exterior.coords)[:-1] if moved.geom_type == "Polygon" and moved.area else ring


def recorded_shape(shape: PartShape) -> dict[str, object]:
    """Return a shape in short form for the manifest: rings as texts "x,y x,y", within RECORDED_MM."""
    from shapely import LinearRing  # kept off the start-up path

    reach = np.hypot(*np.asarray(LinearRing(shape.contour).coords).T)
    groove = shape.groove or ()
    return {
        "thickness_mm": round(shape.thickness_mm, 6),
        "height_mm": round(shape.top_mm, 6),
        **({"peg_height_mm": round(shape.peg_mm, 6)} if shape.raised else {}),
        "chamfer_mm": round(shape.chamfer_mm, 6),
        "foot_mm": round(shape.foot_mm, 6),
        "tip_mm": round(shape.tip_mm, 6),
        "rim_radius_mm": [round(float(reach.min()), 4), round(float(reach.max()), 4)],
        "contour": _written(shape.contour),
        "holes": [_written(ring) for ring in shape.holes],
        "pegs": [_written(ring) for ring in shape.pegs],
        "pocket_depth_mm": round(shape.pocket_mm, 6),
        "pockets": [_written(ring) for ring in shape.pockets],
        "groove_depth_mm": round(shape.groove_mm, 6),
        "groove": [_written(ring) for ring in groove],
        "mark_depth_mm": round(shape.mark_mm, 6),
        "mark_width_mm": round(shape.stroke_mm, 6),
        "marks": [_written(stroke, closed=False) for stroke in shape.strokes],
        **{key: [_recorded_body(body) for body in bodies] for key, bodies in _stepped(shape).items()},
    }


def _stepped(shape: PartShape) -> dict[str, tuple[ShapeBody, ...]]:
    """Return raised and sunk bodies by key, of a shape that has any."""
    return {key: bodies for key, bodies in (("raised", shape.raised), ("sunk", shape.sunk)) if bodies}


def _recorded_body(body: ShapeBody) -> dict[str, object]:
    heights = [round(body.bottom_mm, 6), round(body.top_mm, 6)]
    return {"name": body.name, "heights_mm": heights, "outline": _written(body.ring)}


def _read_bodies(record: Any) -> tuple[ShapeBody, ...]:
    if not isinstance(record, list):
        raise ValueError(f"{record!r} is no list")
    return tuple(
        ShapeBody(str(body["name"])[:200], _read(body["outline"]), *map(_length, body["heights_mm"][:2]))
        for body in record
    )


def _written(ring: Ring, *, closed: bool = True) -> str:
    from shapely import LinearRing, LineString  # kept off the start-up path

    line = (LinearRing if closed else LineString)(ring).simplify(RECORDED_MM)
    points = np.round(np.asarray(line.coords)[: -1 if closed else None], 3) + 0.0
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def read_shape(record: Mapping[str, Any], where: str) -> PartShape:
    """Read a shape from a manifest; raises ExportError, with `where` in it, for anything else."""
    try:
        flanks = _all_read(record["groove"])
        thick = _length(record["thickness_mm"])
        return PartShape(
            thickness_mm=thick,
            chamfer_mm=_length(record["chamfer_mm"]),
            contour=_read(record["contour"]),
            holes=_all_read(record["holes"]),
            pegs=_all_read(record["pegs"]),
            peg_mm=_length(record.get("peg_height_mm", _length(record["height_mm"]) - thick)),
            pockets=_all_read(record["pockets"]),
            pocket_mm=_length(record["pocket_depth_mm"]),
            groove=(flanks[0], flanks[1]) if flanks else None,
            groove_mm=_length(record["groove_depth_mm"]),
            strokes=_all_read(record["marks"], 2),
            stroke_mm=_length(record["mark_width_mm"]),
            mark_mm=_length(record["mark_depth_mm"]),
            slack_mm=RECORDED_MM + ROUNDED_MM,
            raised=_read_bodies(record.get("raised", [])),
            sunk=_read_bodies(record.get("sunk", [])),
            foot_mm=_length(record.get("foot_mm", 0.0)),
            tip_mm=_length(record.get("tip_mm", 0.0)),
        )
    except (KeyError, IndexError, TypeError, ValueError, AttributeError, OverflowError) as error:
        raise ExportError(f"{where}: the recorded shape cannot be read: {error!r}") from error


def _length(value: Any) -> float:
    found = float(value)
    if not 0 <= found <= 1e5:
        raise ValueError(f"{value!r} is no length")
    return found


def _all_read(rings: Any, least: int = 3) -> tuple[Ring, ...]:
    if not isinstance(rings, list):
        raise ValueError(f"{rings!r} is no list")
    return tuple(_read(ring, least) for ring in rings)


def _read(text: str, least: int = 3) -> Ring:
    pairs = text.split(" ", MOST_POINTS)
    ring: Ring = np.array([[float(number) for number in pair.split(",")] for pair in pairs])
    if ring.shape[1:] != (2,) or len(ring) < least or not np.isfinite(ring).all():
        raise ValueError(f"{text[:40]!r} is no ring")
    return ring
