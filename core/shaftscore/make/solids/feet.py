"""Small chamfers that printed parts need.

*Foot chamfers* are at the bottom edges of the contour and of all that is open there (bore, pin holes,
pockets, sunk bodies), against what the first layer squeezes out. *Lead-ins* are at the tips of pegs, so that
they find their pockets. Both are as large as the project's printer wants them, less where there is no room:
of every wall at the bottom face at least half stays, of heights and pegs what the shares below leave.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations
from typing import Any

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.base.wording import millimetres
from shaftscore.make.solids.part import MadePart, printed
from shaftscore.make.solids.rings import Ring, can_move
from shaftscore.stack.thickness import CHAMFER_SHARE as HIGH_SHARE

WIDE_SHARE = 0.25
"""A chamfer takes at most this share of a wall from either side, and of a peg's width."""

LEAST_MM = 0.05
"""A smaller chamfer is none."""

STEP_MM = 0.01
"""Chamfers are whole multiples of this."""


def with_feet(part: MadePart, wanted_mm: float) -> MadePart:
    """Return a part with the chamfers that it has room for, and a note where they are less than wanted."""
    if wanted_mm == 0:
        return part
    file = printed(part)
    foot = _possible(_foot_room(file), wanted_mm, _moves(file))
    tip = _possible(_tip_room(file), wanted_mm, _tip_moves(file)) if part.dogs else wanted_mm
    names = (("foot chamfers", foot), ("lead-in of the pegs", tip))
    notes = tuple(
        f"{part.code}: {name} made {millimetres(size, 2)}, not {millimetres(wanted_mm, 2)}: there is no room "
        "for more"
        for name, size in names
        if size < wanted_mm
    )
    return replace(part, foot_mm=foot, tip_mm=tip if part.dogs else 0.0, notes=(*part.notes, *notes))


def _possible(room_mm: float, wanted_mm: float, edges: Iterable[tuple[Ring, int]]) -> float:
    """Return the largest chamfer for which there is room, 0 if there is none.

    edges: rings, and the way in which a chamfer moves each: with it none may fall apart.
    """
    size = min(wanted_mm, math.floor(room_mm / STEP_MM + 1e-6) * STEP_MM)
    rings = list(edges)
    while size >= LEAST_MM and not all(can_move(ring, way * size) for ring, way in rings):
        size = math.floor(size / 2 / STEP_MM + 1e-6) * STEP_MM
    return round(size, 6) if size >= LEAST_MM else 0.0


def openings(part: MadePart) -> Iterator[tuple[Ring, float]]:
    """Yield what is open in the bottom face of a part: outline (n, 2) and height, mm."""
    for hole in part.holes:
        yield hole.flattened(CHORD_MM), part.thickness_mm
    for pocket in part.dogs.pockets if part.dogs else ():
        yield pocket.flattened(CHORD_MM), part.dogs.depth_mm if part.dogs else 0.0
    for body in part.sunk:
        if body.bottom_mm <= 0:
            yield body.path.flattened(CHORD_MM), body.top_mm


def _moves(part: MadePart) -> Iterator[tuple[Ring, int]]:
    yield part.outline, -1
    yield from ((ring, 1) for ring, _ in openings(part))


def _tip_moves(part: MadePart) -> Iterator[tuple[Ring, int]]:
    yield from ((peg.flattened(CHORD_MM), -1) for peg in (part.dogs.pegs if part.dogs else ()))


def _foot_room(part: MadePart) -> float:
    """Return how large the foot chamfers of a part may be, mm."""
    heights = [part.thickness_mm, *(high for _, high in openings(part))]
    return min(HIGH_SHARE * min(heights), WIDE_SHARE * _least_wall_mm(part))


def _least_wall_mm(part: MadePart) -> float:
    """Return the thinnest wall in the bottom face of a part, mm; inf if there is none."""
    from shapely import Polygon, union_all  # kept off the start-up path

    standing = [body.path.flattened(CHORD_MM) for body in part.raised if body.bottom_mm <= 0]
    body = union_all([Polygon(ring) for ring in (part.outline, *standing)])
    open_ = [Polygon(ring) for ring, _ in openings(part)]
    edge = body.boundary
    walls = [one.distance(edge) for one in open_ if body.contains(one)]
    walls += [one.distance(other) for one, other in combinations(open_, 2) if not one.intersects(other)]
    return float(min(walls, default=math.inf))


def _tip_room(part: MadePart) -> float:
    """Return how large the lead-ins of a part's pegs may be, mm."""
    assert part.dogs is not None
    widths = [_width_mm(peg.flattened(CHORD_MM)) for peg in part.dogs.pegs]
    return min(HIGH_SHARE * part.dogs.height_mm, WIDE_SHARE * min(widths))


def _width_mm(ring: Ring) -> float:
    """Return the width of the narrowest rectangle about a ring, mm."""
    from shapely import Polygon  # kept off the start-up path

    box: Any = Polygon(ring).minimum_rotated_rectangle
    x, y = box.exterior.coords.xy
    return min(math.hypot(x[1] - x[0], y[1] - y[0]), math.hypot(x[2] - x[1], y[2] - y[1]))
