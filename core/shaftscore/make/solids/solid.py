"""The body of a part as triangles: always closed, always the same for the same part.

The running edge is one ring of corners at every height, so that the flat part of the rim carries the
contour exactly; chamfers join it to a ring moved inward. Pegs are added; bore, pockets, groove (with its
own chamfer at its mouth) and marks are cut out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.rings import Faces, Ring, moved, wall
from shaftscore.make.solids.strokes import Polyline
from shaftscore.make.solids.trouble import SolidError

BEYOND_MM = 1.0
"""Cutting bodies reach this far past the faces, so that no two faces coincide."""

ROOT_MM = 0.2
"""Pegs begin this far inside the part they stand on."""

GRID_MM = 1e-5
"""Corners lie on this grid: 32-bit numbers and six decimals both keep its points apart."""

MARK_MM = 1e-3
"""Corners of marks nearer to a line than this are left out."""

ROUND_END = 8
"""Edges of a stroke's half-round end."""


@dataclass(frozen=True)
class Mesh:
    """A closed body: corners (n, 3) in mm and triangles (m, 3), counterclockwise from outside."""

    corners: npt.NDArray[np.float64]
    triangles: Faces

    @property
    def volume(self) -> float:
        """Enclosed volume, mm³, by the divergence theorem."""
        a, b, c = np.moveaxis(self.corners[self.triangles], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6


def part_mesh(part: MadePart) -> Mesh:
    """Make the body of a part.

    Raises SolidError if no closed body comes of it, for example where the bore reaches the rim.
    """
    body = _body(part)
    for peg in part.dogs.pegs if part.dogs else ():
        body = body + _peg(part, peg.flattened(CHORD_MM))
    for added in part.raised:
        body = body + _prism(added.path.flattened(CHORD_MM), rooted(part, added.bottom_mm), added.top_mm)
    for cut in _cuts(part):
        body = body - cut
    return _mesh(body, part.code)


def rooted(part: MadePart, bottom_mm: float) -> float:
    """Return where a raised body begins, mm: inside what it stands on, so that no two faces coincide."""
    return bottom_mm - min(ROOT_MM, part.thickness_mm / 2) if bottom_mm > 0 else bottom_mm


def beyond(part: MadePart, ends: tuple[float, float]) -> tuple[float, float]:
    """Return the heights of a cut, past the bottom and the top of the part where it reaches them."""
    bottom, top = ends
    return (
        bottom - BEYOND_MM if bottom <= 0 else bottom,
        top + BEYOND_MM if top >= part.top_mm else top,
    )


def _cuts(part: MadePart) -> Iterator[Any]:
    """Yield the bodies that are cut out: holes, pockets, groove, sunk bodies, marks."""
    for cut in part.sunk:
        foot = part.foot_mm if cut.bottom_mm <= 0 else 0.0
        yield _cut(part, cut.path.flattened(CHORD_MM), beyond(part, (cut.bottom_mm, cut.top_mm)), foot)
    top = part.thickness_mm + BEYOND_MM
    for hole in part.holes:
        yield _cut(part, hole.flattened(CHORD_MM), (-BEYOND_MM, part.top_mm + BEYOND_MM), part.foot_mm)
    for pocket in part.dogs.pockets if part.dogs else ():
        ends = (-BEYOND_MM, part.dogs.depth_mm if part.dogs else 0.0)
        yield _cut(part, pocket.flattened(CHORD_MM), ends, part.foot_mm)
    if part.groove is not None:
        floor = part.thickness_mm - part.groove.depth_mm
        yield _flared(part, part.groove.outer, 1, floor) - _flared(
            part, part.groove.inner, -1, floor - BEYOND_MM
        )
    if part.marks.strokes:
        shape = mark_shape(part.marks.strokes, part.marks.width_mm)
        bottom = part.thickness_mm - part.marks.depth_mm
        yield shape.extrude(top - bottom).translate((0.0, 0.0, bottom))


def _body(part: MadePart) -> Any:
    """Make the full disc with chamfered edges (Any: the solid library has no types)."""
    low, high, top = part.bottom_chamfer_mm, part.chamfer_mm, part.thickness_mm
    if low == 0:
        return _prism(part.outline, 0.0, top)
    rings, heights = [_chamfered(part, part.outline, -low), part.outline], [0.0, low]
    if high > 0:
        rings, heights = [*rings, part.outline], [*heights, top - high]
    rings.append(_chamfered(part, part.outline, -high))
    return _loft(tuple(rings), (*heights, top), part.code)


def _peg(part: MadePart, ring: Ring) -> Any:
    """Make a peg with its lead-in."""
    assert part.dogs is not None
    root, top = part.thickness_mm - ROOT_MM, part.thickness_mm + part.dogs.height_mm
    if part.tip_mm == 0:
        return _prism(ring, root, top)
    tip = _chamfered(part, ring, -part.tip_mm)
    return _loft((ring, ring, tip), (root, top - part.tip_mm, top), part.code)


def _cut(part: MadePart, ring: Ring, ends: tuple[float, float], foot_mm: float) -> Any:
    """Make what is cut out between two heights; foot_mm: chamfer at the bottom face."""
    if foot_mm == 0:
        return _prism(ring, *ends)
    mouth = _chamfered(part, ring, foot_mm)
    return _loft((mouth, mouth, ring, ring), (ends[0], 0.0, foot_mm, ends[1]), part.code)


def _flared(part: MadePart, flank: Ring, way: int, floor: float) -> Any:
    """Make what lies within a flank of a groove from a height on; its mouth goes `way` by the chamfer."""
    top = part.thickness_mm
    beyond = top + (1 - way / 2) * BEYOND_MM
    if part.chamfer_mm == 0:
        return _prism(flank, floor, beyond)
    mouth = _chamfered(part, flank, way * part.chamfer_mm)
    return _loft((flank, flank, mouth, mouth), (floor, top - part.chamfer_mm, top, beyond), part.code)


def _chamfered(part: MadePart, ring: Ring, by_mm: float) -> Ring:
    """Return an edge of the face beside its chamfer, outward from the edge if by_mm is positive."""
    try:
        return moved(ring, by_mm)
    except ValueError as error:
        raise SolidError(f"{part.code}: no chamfer of {abs(by_mm):g} mm: {error}") from error


def _loft(rings: tuple[Ring, ...], heights: tuple[float, ...], code: str) -> Any:
    """Make the body between rings at heights."""
    from manifold3d import Manifold, Mesh64  # kept off the start-up path

    corners, faces = _lofted(rings, heights)
    body = Manifold(Mesh64(corners, faces.astype(np.uint64)))
    if body.status().name != "NoError":
        raise SolidError(f"{code}: the chamfered body is not closed ({body.status().name})")
    return body


def _lofted(rings: tuple[Ring, ...], heights: tuple[float, ...]) -> tuple[npt.NDArray[np.float64], Faces]:
    """Stack rings at heights, join neighbours by walls, and close both ends."""
    from manifold3d import triangulate  # kept off the start-up path

    corners = [np.column_stack([ring, np.full(len(ring), z)]) for ring, z in zip(rings, heights, strict=True)]
    first = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    faces = [wall(rings[k], rings[k + 1], int(first[k])) for k in range(len(rings) - 1)]
    faces.append(np.asarray(triangulate([rings[0]]), dtype=np.int64)[:, ::-1])
    faces.append(np.asarray(triangulate([rings[-1]]), dtype=np.int64) + first[-2])
    return np.concatenate(corners), np.concatenate(faces)


def _prism(ring: Ring, bottom: float, top: float) -> Any:
    from manifold3d import CrossSection  # kept off the start-up path

    return CrossSection([ring]).extrude(top - bottom).translate((0.0, 0.0, bottom))


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


def _mesh(body: Any, code: str) -> Mesh:
    """Read a body back as triangles, in an order that depends on nothing but the body."""
    if body.status().name != "NoError" or body.is_empty():
        raise SolidError(f"{code}: no closed body can be made of it ({body.status().name})")
    pieces = len(body.decompose())
    if pieces != 1:
        raise SolidError(f"{code}: the part falls into {pieces} pieces: the bore or a mark reaches its rim")
    mesh = body.to_mesh64()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    return _single(corners, np.asarray(mesh.tri_verts, dtype=np.int64))


def _single(corners: npt.NDArray[np.float64], triangles: Faces) -> Mesh:
    """Round corners to what every file keeps apart, and make one of those that then are equal.

    A triangle of which two corners are one has two edges that lie on one another: without it the
    surface stays closed.
    """
    whole_steps = np.round(corners / GRID_MM)
    rounded, numbers = np.unique(whole_steps + 0.0, axis=0, return_inverse=True)
    faces = numbers.reshape(-1)[triangles]
    whole = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    return Mesh(rounded * GRID_MM, faces[whole])
