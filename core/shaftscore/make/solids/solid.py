"""The body of a part as triangles: always closed, always the same for the same part.

The running edge is one ring of corners at every height, so that the flat part of the rim carries the
contour exactly; chamfers join it to a ring moved inward. Pegs are added; bore, pockets, groove (with its
own chamfer at its mouth) and marks are cut out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.solids.layers import (
    WallRings,
    chamfered,
    flank_wall,
    mark_shape,
    outline_wall,
    peg_wall,
)
from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.prism import PartPrism
from shaftscore.make.solids.rings import Faces, Ring, wall
from shaftscore.make.solids.surface import Corners, part_surface
from shaftscore.make.solids.trouble import SolidError

BEYOND_MM = 1.0
"""Cutting bodies reach this far past the faces, so that no two faces coincide."""

ROOT_MM = 0.2
"""Pegs begin this far inside the part they stand on."""

GRID_MM = 1e-5
"""Corners lie on this grid: 32-bit numbers and six decimals both keep its points apart."""


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
    """Make the body of a part, by its surface if that can be drawn, else by adding and cutting bodies.

    Raises SolidError if no closed body comes of it, for example where the bore reaches the rim.
    """
    surface = part_surface(part)
    if surface is None:
        return cut_mesh(part)
    body = _closed(surface.corners, surface.faces, part.code)
    if not surface.left:
        return _single(surface.corners, surface.faces)
    for cut in _sunk(part, surface.left):
        body = body - cut
    return _mesh(body, part.code)


def cut_mesh(part: MadePart) -> Mesh:
    """Make the body of a part by adding and cutting bodies; raises SolidError as `part_mesh` does."""
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
    yield from _sunk(part, part.sunk)
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


def _sunk(part: MadePart, bodies: Iterable[PartPrism]) -> Iterator[Any]:
    """Yield bodies that are cut out of a part."""
    for cut in bodies:
        foot = part.foot_mm if cut.bottom_mm <= 0 else 0.0
        yield _cut(part, cut.path.flattened(CHORD_MM), beyond(part, (cut.bottom_mm, cut.top_mm)), foot)


def _body(part: MadePart) -> Any:
    """Make the full disc with chamfered edges (Any: the solid library has no types)."""
    if part.bottom_chamfer_mm == 0:
        return _prism(part.outline, 0.0, part.thickness_mm)
    return _loft(outline_wall(part), part.code)


def _peg(part: MadePart, ring: Ring) -> Any:
    """Make a peg with its lead-in."""
    around = peg_wall(part, ring)
    heights = (part.thickness_mm - ROOT_MM, *around.heights_mm[1:])
    if part.tip_mm == 0:
        return _prism(ring, heights[0], heights[1])
    return _loft(WallRings(around.rings, heights), part.code)


def _cut(part: MadePart, ring: Ring, ends: tuple[float, float], foot_mm: float) -> Any:
    """Make what is cut out between two heights; foot_mm: chamfer at the bottom face."""
    if foot_mm == 0:
        return _prism(ring, *ends)
    mouth = chamfered(part, ring, foot_mm)
    return _loft(WallRings((mouth, mouth, ring, ring), (ends[0], 0.0, foot_mm, ends[1])), part.code)


def _flared(part: MadePart, flank: Ring, way: int, floor: float) -> Any:
    """Make what lies within a flank of a groove from a height on; its mouth goes `way` by the chamfer."""
    beyond = part.thickness_mm + (1 - way / 2) * BEYOND_MM
    if part.chamfer_mm == 0:
        return _prism(flank, floor, beyond)
    around = flank_wall(part, flank, way)
    rings, heights = (*around.rings, around.rings[-1]), (floor, *around.heights_mm[1:], beyond)
    return _loft(WallRings(rings, heights), part.code)


def _loft(around: WallRings, code: str) -> Any:
    """Make the body within a wall."""
    corners, faces = _lofted(around)
    return _closed(corners, faces, code)


def _closed(corners: Corners, faces: Faces, code: str) -> Any:
    """Make a body of its surface, which the solid library finds to be closed."""
    from manifold3d import Manifold, Mesh64  # kept off the start-up path

    body = Manifold(Mesh64(corners, faces.astype(np.uint64)))
    if body.status().name != "NoError":
        raise SolidError(f"{code}: the body is not closed ({body.status().name})")
    return body


def _lofted(around: WallRings) -> tuple[Corners, Faces]:
    """Join the rings of a wall, and close both ends."""
    from manifold3d import triangulate  # kept off the start-up path

    rings, heights = around.rings, around.heights_mm
    corners = [np.column_stack([ring, np.full(len(ring), z)]) for ring, z in zip(rings, heights, strict=True)]
    first = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    faces = [wall(rings[k], rings[k + 1], int(first[k])) for k in range(len(rings) - 1)]
    faces.append(np.asarray(triangulate([rings[0]]), dtype=np.int64)[:, ::-1])
    faces.append(np.asarray(triangulate([rings[-1]]), dtype=np.int64) + first[-2])
    return np.concatenate(corners), np.concatenate(faces)


def _prism(ring: Ring, bottom: float, top: float) -> Any:
    from manifold3d import CrossSection  # kept off the start-up path

    return CrossSection([ring]).extrude(top - bottom).translate((0.0, 0.0, bottom))


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
