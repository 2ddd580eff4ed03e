"""The body of a part drawn by its own surface: walls around it and its openings, faces between them.

Most parts are a plate with openings that keep apart: holes through it, pockets in its bottom face, pegs on
its top one, a groove and marks sunk in there. Their surface is walls and flat faces, and needs no cutting,
which takes several times as long. An opening that meets the outline or a hole is left to be cut out; so is
all of a part with raised bodies, or whose walls meet otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.solids.layers import (
    WallRings,
    flank_wall,
    mark_shape,
    opening_wall,
    outline_wall,
    peg_wall,
)
from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.prism import PartPrism
from shaftscore.make.solids.rings import Faces, Ring, ring_area, wall

Corners = npt.NDArray[np.float64]
"""Corners of a body, (n, 3) mm."""

FLAT_MM2 = 1e-6
"""Twice the area of a triangle: one that is turned over by more shows that a face has no such rings."""


@dataclass(frozen=True)
class _Edge:
    """A line between a wall and a face: corners (n, 2), what it bounds on their left, and their numbers."""

    ring: Ring
    numbers: npt.NDArray[np.int64]

    @property
    def turned(self) -> _Edge:
        """The same line as the bound of what is on its other side."""
        return _Edge(self.ring[::-1], self.numbers[::-1])


@dataclass(frozen=True)
class _Openings:
    """What is cut out of a part: through it, into its bottom face, and into its top face.

    above: for each floor the walls about it, and those about islands in it. left: what is left to be cut.
    """

    through: list[WallRings] = field(default_factory=list)
    below: list[WallRings] = field(default_factory=list)
    above: list[tuple[list[WallRings], list[WallRings]]] = field(default_factory=list)
    left: list[PartPrism] = field(default_factory=list)

    def keep_apart(self, part: MadePart) -> bool:
        """Whether no opening of a face reaches one of the other face, or a chamfer there or its own."""
        above = [wall for walls, islands in self.above for wall in (*walls, *islands)]
        if not all(wall.ascends for wall in (*self.through, *self.below, *above)):
            return False
        ceiling = max((wall.heights_mm[-1] for wall in self.below), default=0.0)
        floors = [wall.heights_mm[0] for wall in above]
        floor = min(floors, default=part.thickness_mm)
        foot = max(part.bottom_chamfer_mm, part.foot_mm)
        straight = part.thickness_mm - part.chamfer_mm
        return max(ceiling, foot) < floor and ceiling < straight and foot < straight


@dataclass(frozen=True)
class Surface:
    """A closed surface: corners (n, 3), mm, and triangles (m, 3). left: what is still to be cut out."""

    corners: Corners
    faces: Faces
    left: tuple[PartPrism, ...]


class _Making:
    """Corners and triangles, growing wall by wall and face by face."""

    def __init__(self) -> None:
        self.corners: list[Corners] = []
        self.faces: list[Faces] = []
        self._count = 0

    def add_wall(self, around: WallRings, *, void: bool = False) -> tuple[_Edge, _Edge]:
        """Add a wall; void: it is around what is cut out. Returns its lowest and highest edge."""
        own = {id(ring): _turned(ring, left=not void) for ring in around.rings}
        edges = []
        for ring, height in zip(around.rings, around.heights_mm, strict=True):
            turned = own[id(ring)]
            edges.append(_Edge(turned, np.arange(self._count, self._count + len(turned))))
            self.corners.append(np.column_stack([turned, np.full(len(turned), height)]))
            self._count += len(turned)
        for lower, upper in pairwise(edges):
            self.faces.append(wall(lower.ring, upper.ring, int(lower.numbers[0])))
        return edges[0], edges[-1]

    def add_face(self, edges: Sequence[_Edge], *, up: bool) -> bool:
        """Add a flat face between edges; False where these meet or are not within one another."""
        from manifold3d import triangulate  # kept off the start-up path

        rings = [edge.ring for edge in edges]
        if not _rings_keep_apart(rings):
            return False
        triangles = np.asarray(triangulate(rings), dtype=np.int64)
        a, b, c = np.moveaxis(np.concatenate(rings)[triangles], 1, 0)
        (ux, uy), (vx, vy) = (b - a).T, (c - a).T
        if np.min(ux * vy - uy * vx, initial=0.0) < -FLAT_MM2:
            return False
        numbers = np.concatenate([edge.numbers for edge in edges])
        self.faces.append(numbers[triangles if up else triangles[:, ::-1]])
        return True


def part_surface(part: MadePart) -> Surface | None:
    """Draw the surface of a part; None where all of it has to be cut.

    Raises SolidError where no chamfer can be made.
    """
    if part.raised:
        return None
    outline = outline_wall(part)
    openings = _openings(part, outline)
    if not openings.keep_apart(part):
        return None
    made = _Making()
    outer = made.add_wall(outline)
    holes = [made.add_wall(around, void=True) for around in openings.through]
    bottom, top = ([ends[end] for ends in (outer, *holes)] for end in (0, 1))
    whole = True
    for around in openings.below:
        mouth, ceiling = made.add_wall(around, void=True)
        bottom.append(mouth)
        whole = whole and made.add_face([ceiling.turned], up=False)
    for walls, islands in openings.above:
        ends = [made.add_wall(one, void=True) for one in walls] + [made.add_wall(one) for one in islands]
        top += [mouth for _, mouth in ends]
        whole = whole and made.add_face([floor.turned for floor, _ in ends], up=True)
    for peg in part.dogs.pegs if part.dogs else ():
        foot, tip = made.add_wall(peg_wall(part, peg.flattened(CHORD_MM)))
        top.append(foot.turned)
        whole = whole and made.add_face([tip], up=True)
    if not (whole and made.add_face(bottom, up=False) and made.add_face(top, up=True)):
        return None
    return Surface(np.concatenate(made.corners), np.concatenate(made.faces), tuple(openings.left))


def _openings(part: MadePart, outline: WallRings) -> _Openings:
    """Sort the openings of a part by where they open."""
    found, top = _Openings(), part.thickness_mm
    holes = [hole.flattened(CHORD_MM) for hole in part.holes]
    found.through.extend(opening_wall(part, hole, 0.0, top) for hole in holes)
    for cut in part.sunk:
        ring = cut.path.flattened(CHORD_MM)
        if not _is_clear(ring, outline, holes) or (cut.bottom_mm > 0 and cut.top_mm < top):
            found.left.append(cut)
        elif cut.bottom_mm > 0:
            found.above.append(([WallRings((ring, ring), (cut.bottom_mm, top))], []))
        elif cut.top_mm < top:
            found.below.append(opening_wall(part, ring, 0.0, cut.top_mm))
        else:
            found.through.append(opening_wall(part, ring, 0.0, top))
    if part.dogs is not None:
        pockets, depth = part.dogs.pockets, part.dogs.depth_mm
        found.below.extend(opening_wall(part, one.flattened(CHORD_MM), 0.0, depth) for one in pockets)
    if part.groove is not None:
        flanks = flank_wall(part, part.groove.outer, 1), flank_wall(part, part.groove.inner, -1)
        found.above.append(([flanks[0]], [flanks[1]]))
    if part.marks.strokes:
        found.above.append(_mark_walls(part))
    return found


def _is_clear(ring: Ring, outline: WallRings, holes: Sequence[Ring]) -> bool:
    """Whether an opening keeps clear of the outline, at both faces, and of the holes."""
    from shapely import Polygon  # kept off the start-up path

    own = Polygon(ring)
    within = all(Polygon(edge).contains_properly(own) for edge in (outline.rings[0], outline.rings[-1]))
    return within and not any(Polygon(hole).intersects(own) for hole in holes)


def _mark_walls(part: MadePart) -> tuple[list[WallRings], list[WallRings]]:
    """Return the walls about the marks, and those about the islands in them."""
    rings = [np.asarray(ring) for ring in mark_shape(part.marks.strokes, part.marks.width_mm).to_polygons()]
    top = part.thickness_mm
    ends = (top - part.marks.depth_mm, top)
    walls = [WallRings((ring, ring), ends) for ring in rings if ring_area(ring) > 0]
    return walls, [WallRings((ring, ring), ends) for ring in rings if ring_area(ring) <= 0]


def _turned(ring: Ring, *, left: bool) -> Ring:
    """Return a ring that has what is within it on its left, or on its right."""
    return ring if (ring_area(ring) > 0) == left else ring[::-1]


def _rings_keep_apart(rings: Sequence[Ring]) -> bool:
    """Whether no ring meets another one or itself."""
    from shapely import LinearRing, MultiLineString  # kept off the start-up path

    return bool(MultiLineString([LinearRing(ring) for ring in rings]).is_simple)
