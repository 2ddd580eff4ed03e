"""The body of a part as exact surfaces: for the modelling kernel of the optional extra `step`.

Shapes are nominal. Running edges and contours are splines (`make.solids.splines`), bore, dogs and spacers
true lines and arcs. Marks are left out: a mill engraves them along the lines of the drawing. The kernel
is loaded only where a body is made; its types are Any here, it has none of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.util import find_spec
from typing import Any

import numpy as np

from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.rim import RIM_MARKS
from shaftscore.make.solids.rings import Ring, mitred
from shaftscore.make.solids.solid import BEYOND_MM, ROOT_MM, beyond, rooted
from shaftscore.make.solids.splines import RingSpline, fit_splines
from shaftscore.make.solids.trouble import SolidError
from shaftscore.stack import BulgePath

KERNEL = "OCP"
"""The modelling kernel's module."""

FEET = "its foot chamfers and lead-ins"
"""What only printed parts need: a mill breaks edges by itself."""

ON_RIM = "its marks on the rim"
"""What is cut into the fitted curves of a rim: many small cuts of which the kernel makes no sound body."""

SOUND_MM = 1e-4
"""Largest gap between the edges of a body."""


def has_kernel() -> bool:
    """Return whether the kernel is installed."""
    return find_spec(KERNEL) is not None


def exact_body(part: MadePart) -> Any:
    """Make the body of a part as a solid of the kernel.

    Raises SolidError if the kernel makes no sound single body of it.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse  # optional, and 0.6 s to load

    try:
        body = _disc(part)
        for peg in part.dogs.pegs if part.dogs else ():
            body = BRepAlgoAPI_Fuse(
                body, _prism(_wire(peg), part.thickness_mm - ROOT_MM, part.top_mm)
            ).Shape()
        for added in part.raised:
            bottom = rooted(part, added.bottom_mm)
            body = BRepAlgoAPI_Fuse(body, _prism(_wire(added.path), bottom, added.top_mm)).Shape()
        for cut in _cuts(part):
            body = BRepAlgoAPI_Cut(body, cut).Shape()
    except RuntimeError as error:
        raise SolidError(f"{part.code}: the kernel cannot make its exact body: {error}") from error
    return _single(body, part.code)


def left_out(part: MadePart) -> tuple[str, ...]:
    """Describe what an exact body of a part does not have that its other files do."""
    out = ["its marks"] if part.marks.strokes else []
    if part.chamfer_mm > 0 and _sides(part) is None:
        out.append("its chamfers")
    if part.foot_mm > 0 or part.tip_mm > 0:
        out.append(FEET)
    if any(body.name in RIM_MARKS for body in part.sunk):
        out.append(ON_RIM)
    return tuple(out)


def _sides(part: MadePart) -> tuple[Ring, ...] | None:
    """Return contour and groove inside and beside their chamfers, or None where an edge would vanish."""
    edges = [(part.fine, -1)]
    if part.groove is not None:
        edges += [(part.groove.fine_outer, 1), (part.groove.fine_inner, -1)]
    moved = [mitred(ring, way * part.chamfer_mm) for ring, way in edges]
    return None if any(ring is None for ring in moved) else tuple(ring for ring in moved if ring is not None)


def _disc(part: MadePart) -> Any:
    """Make the full disc with chamfered edges."""
    if part.kind != "disc":
        return _prism(_wire(part.contour), 0.0, part.thickness_mm)
    sides, thick = _sides(part), part.thickness_mm
    if part.chamfer_mm == 0 or sides is None:
        return _prism(_spline_wire(fit_splines([part.fine]), 0), 0.0, thick)
    curves = fit_splines([part.fine, sides[0]])
    c = part.chamfer_mm
    return _loft(curves, ((1, 0.0), (0, c), (0, thick - c), (1, thick)))


def _cuts(part: MadePart) -> Iterator[Any]:
    """Yield the bodies that are cut out: holes, pockets, groove, sunk bodies."""
    for sunk in part.sunk:
        if sunk.name in RIM_MARKS:
            continue
        yield _prism(_wire(sunk.path), *beyond(part, (sunk.bottom_mm, sunk.top_mm)))
    for hole in part.holes:
        yield _prism(_wire(hole), -BEYOND_MM, part.top_mm + BEYOND_MM)
    for pocket in part.dogs.pockets if part.dogs else ():
        yield _prism(_wire(pocket), -BEYOND_MM, part.dogs.depth_mm if part.dogs else 0.0)
    if part.groove is not None:
        yield _groove(part)


def _groove(part: MadePart) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut  # optional, and 0.6 s to load

    assert part.groove is not None
    sides = _sides(part)
    outer_side, inner_side = (None, None) if sides is None else (sides[1], sides[2])
    floor = part.thickness_mm - part.groove.depth_mm
    outer = _flared(part, part.groove.fine_outer, outer_side, (floor, part.thickness_mm + BEYOND_MM / 2))
    inner = _flared(
        part, part.groove.fine_inner, inner_side, (floor - BEYOND_MM, part.thickness_mm + BEYOND_MM)
    )
    return BRepAlgoAPI_Cut(outer, inner).Shape()


def _flared(part: MadePart, flank: Ring, mouth: Ring | None, ends: tuple[float, float]) -> Any:
    """Make what lies within a flank of a groove between two heights, its mouth chamfered."""
    if mouth is None or part.chamfer_mm == 0:
        return _prism(_spline_wire(fit_splines([flank]), 0), *ends)
    heights = (ends[0], part.thickness_mm - part.chamfer_mm, part.thickness_mm, ends[1])
    return _loft(fit_splines([flank, mouth]), tuple(zip((0, 0, 1, 1), heights, strict=True)))


def _loft(curves: Sequence[RingSpline], levels: Sequence[tuple[int, float]]) -> Any:
    """Make the body between rings of the curves, (number of the ring, height) from the bottom up."""
    from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections  # optional, and 0.6 s to load

    maker = BRepOffsetAPI_ThruSections(True, True, SOUND_MM)
    maker.CheckCompatibility(False)
    for ring, z in levels:
        maker.AddWire(_spline_wire(curves, ring, z))
    maker.Build()
    return maker.Shape()


def _prism(wire: Any, bottom: float, top: float) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_Transform  # optional
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Trsf, gp_Vec

    face = BRepBuilderAPI_MakeFace(wire, True).Face()
    lifted = gp_Trsf()
    lifted.SetTranslation(gp_Vec(0.0, 0.0, bottom))
    placed = BRepBuilderAPI_Transform(face, lifted, True).Shape()
    return BRepPrimAPI_MakePrism(placed, gp_Vec(0.0, 0.0, top - bottom)).Shape()


def _wire(path: BulgePath) -> Any:
    """Return a path of lines and arcs at z = 0."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire  # optional
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Pnt

    wire = BRepBuilderAPI_MakeWire()
    for start, end, bulge in path.edges():
        first, last = gp_Pnt(start.real, start.imag, 0.0), gp_Pnt(end.real, end.imag, 0.0)
        if bulge == 0:
            wire.Add(BRepBuilderAPI_MakeEdge(first, last).Edge())
            continue
        top = (start + end) / 2 - 1j * (end - start) * bulge / 2  # sagitta: bulge times half the chord
        arc = GC_MakeArcOfCircle(first, gp_Pnt(top.real, top.imag, 0.0), last).Value()
        wire.Add(BRepBuilderAPI_MakeEdge(arc).Edge())
    return wire.Wire()


def _spline_wire(curves: Sequence[RingSpline], ring: int, z: float = 0.0) -> Any:
    """Return one ring of fitted curves at a height."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire  # optional

    wire = BRepBuilderAPI_MakeWire()
    for curve in curves:
        wire.Add(BRepBuilderAPI_MakeEdge(_curve(curve, ring, z)).Edge())
    return wire.Wire()


def _curve(spline: RingSpline, ring: int, z: float) -> Any:
    from OCP.collections import Array1_double, Array1_gp_Pnt, Array1_int  # optional
    from OCP.Geom import Geom_BSplineCurve
    from OCP.gp import gp_Pnt

    knots, counts = np.unique(spline.knots, return_counts=True)
    poles = Array1_gp_Pnt(1, len(spline.poles))
    for number, pole in enumerate(spline.poles[:, ring], start=1):
        poles.SetValue(number, gp_Pnt(pole.real, pole.imag, z))
    places, multiples = Array1_double(1, len(knots)), Array1_int(1, len(knots))
    for number, (knot, count) in enumerate(zip(knots, counts, strict=True), start=1):
        places.SetValue(number, float(knot))
        multiples.SetValue(number, int(count))
    return Geom_BSplineCurve(poles, places, multiples, spline.degree)


def _single(body: Any, code: str) -> Any:
    """Return the one solid of a body, checked."""
    from OCP.BRepCheck import BRepCheck_Analyzer  # optional
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    found = []
    walk = TopExp_Explorer(body, TopAbs_SOLID)
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    if len(found) != 1:
        raise SolidError(f"{code}: its exact body falls into {len(found)} pieces")
    if not BRepCheck_Analyzer(found[0]).IsValid():
        raise SolidError(f"{code}: its exact body is not sound")
    return found[0]
