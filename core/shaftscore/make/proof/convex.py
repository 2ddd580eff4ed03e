"""Contours as convex bodies and holes: exact ones of the program, and rings read from a file.

Files hold arcs as chords, or are read as chords. A chord of an arc differs from a straight side in what is
missing at its middle, which is never more than the chord error of its file: the arc's points are put back,
and the corrections that were made for a printer taken back, before anything is fitted. The limit has to be
that of the file: beside arcs with fine chords a short side turns by so little that a coarser limit would take
it for one of them.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.proof.rim import RimError, ring_area
from shaftscore.make.proof.turning import BodyArc, ConvexBody, ConvexHole, Points, Reals
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import arc_radius

TANGENT_DEG = 0.5
"""Angle between tangents to an arc of a hole: between them a circle of 5 mm is too large by 0.05 µm."""

ARC_SHARE = 1.5
"""A chord whose arc rises over it by more than the chord error times this is a straight side."""

LEVEL_MM = 3e-5
"""Points nearer than this to the line between their neighbours are on it, as where triangles are cut."""

HOLE_ROUNDS, BODY_ROUNDS = 3, 2
"""Times that an arc's chords are halved: each leaves a quarter of their error."""

ARC_STEP_DEG = 6.0
"""Sides that turn by more than this from one to the next, with all arcs put back, are no arc."""

ALIKE = 0.1
"""Chords of one arc differ in length by no more than this share."""

HOLLOW_MM = 0.003
"""A contour whose points lie deeper than this within its hull is not convex."""


def body_of(path: BulgePath) -> ConvexBody:
    """Return a convex path of the program as a body, exactly."""
    arcs = [_arc(start, end, bulge) for start, end, bulge in path.edges() if bulge]
    return ConvexBody(np.array(path.vertices), tuple(arcs))


def hole_of(path: BulgePath) -> ConvexHole:
    """Return a convex path of the program as a hole: its sides, and tangents to its arcs."""
    normals, distances = [], []
    for start, end, bulge in path.edges():
        if bulge:
            arc = _arc(start, end, bulge)
            count = max(2, math.ceil(np.degrees(2 * arc.half_rad) / TANGENT_DEG))
            found = arc.middle * np.exp(1j * np.linspace(-arc.half_rad, arc.half_rad, count))
            distances.append((np.conj(found) * arc.centre).real + arc.radius_mm)
        else:
            found = np.array([-1j * (end - start) / abs(end - start)])
            distances.append((np.conj(found) * start).real)
        normals.append(found)
    return ConvexHole(np.concatenate(normals), np.concatenate(distances))


def _arc(start: complex, end: complex, bulge: float) -> BodyArc:
    """Return an edge of a counterclockwise path as an arc."""
    along = end - start
    centre = (start + end) / 2 + 1j * along * (1 - bulge * bulge) / (4 * bulge)
    return BodyArc(centre, arc_radius(start, end, bulge), -1j * along / abs(along), 2 * math.atan(bulge))


def body_of_ring(ring: Points, inward_mm: float = 0.0, chord_mm: float = CHORD_MM) -> ConvexBody:
    """Return a ring (n,) read from a file as a body whose edge is moved inward.

    chord_mm: largest distance of its arcs from their chords. Raises RimError where the ring is not convex.
    """
    return ConvexBody(_hull(ring, BODY_ROUNDS, chord_mm), grown_mm=-inward_mm)


def hole_of_ring(ring: Points, inward_mm: float = 0.0, chord_mm: float = CHORD_MM) -> ConvexHole:
    """Return a ring (n,) read from a file as a hole whose walls are moved inward.

    chord_mm: largest distance of its arcs from their chords. Raises RimError where the ring is not convex.
    """
    start = _hull(ring, HOLE_ROUNDS, chord_mm)
    along = np.roll(start, -1) - start
    start, along = start[np.abs(along) > 0], along[np.abs(along) > 0]
    normals: Points = -1j * along / np.abs(along)
    distances = (np.conj(normals) * start).real
    found = [(normals, distances), *(_carried_on(start, way) for way in (1, -1) if inward_mm < 0)]
    normals, distances = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return ConvexHole(normals, distances - inward_mm)


def _carried_on(ring: Points, way: int) -> tuple[Points, Reals]:
    """Return tangents to the arcs that end at a corner of a hole, from there on to the next side.

    Where a hole is made larger, an arc beside a flat becomes longer: these tangents then limit it. The hole
    lies within them in any case. ring: its corners with all arcs put back. way: +1 for ends, -1 for starts of
    arcs. Returns directions and distances from the origin.
    """
    run = ring if way > 0 else np.conj(ring[::-1])  # mirrored, a start is an end
    along = np.roll(run, -1) - run
    turn = np.maximum(np.angle(along / np.roll(along, 1)), 1e-12)  # at the start of each side
    before, length = np.roll(turn, 1), np.abs(np.roll(along, 1))
    is_arc = (before <= np.radians(ARC_STEP_DEG)) & (np.abs(length / np.roll(length, 1) - 1) < ALIKE)
    directions, distances = [np.zeros(0, np.complex128)], [np.zeros(0)]
    for end in np.flatnonzero(is_arc & (turn > 2 * before)):
        last = run[end] - run[end - 1]
        outward = -1j * last / abs(last)
        radius = abs(last) / 2 / np.sin(before[end] / 2)
        centre = run[end] - last / 2 - outward * radius * np.cos(before[end] / 2)
        found = outward * np.exp(1j * np.arange(before[end], turn[end], np.radians(TANGENT_DEG)))
        directions.append(found)
        distances.append((np.conj(found) * centre).real + radius)
    normals = np.concatenate(directions)
    return (normals if way > 0 else np.conj(normals)), np.concatenate(distances)


def _hull(ring: Points, rounds: int, chord_mm: float) -> Points:
    """Return the corners of the hull of a ring with its arcs put back, counterclockwise."""
    import shapely  # kept off the start-up path

    points = _corners(ring)
    for halvings in range(rounds):
        points = _halved(points, ARC_SHARE * chord_mm / 4**halvings)
    hull = shapely.MultiPoint(np.column_stack([points.real, points.imag])).convex_hull
    if hull.geom_type != "Polygon":
        raise RimError("its contour encloses nothing")
    corners = _complex(np.asarray(hull.exterior.coords)[:-1])
    left = points[~np.isin(points, corners)]
    inside = float(shapely.distance(shapely.points(left.real, left.imag), hull.exterior).max(initial=0.0))
    if inside > HOLLOW_MM:
        raise RimError(f"its contour is hollow by {inside:.3f} mm where it should be convex")
    return corners if ring_area(corners) > 0 else corners[::-1]


def _corners(ring: Points) -> Points:
    """Return a ring counterclockwise, from its farthest corner on, without points that lie on a side."""
    import shapely  # kept off the start-up path

    turned = ring if ring_area(ring) > 0 else ring[::-1]
    turned = np.roll(turned, -int(np.abs(turned - turned.mean()).argmax()))
    line: Any = shapely.LinearRing(np.column_stack([turned.real, turned.imag])).simplify(LEVEL_MM)
    return _without_level(_complex(np.asarray(line.coords)[:-1]))


def _without_level(ring: Points) -> Points:
    """Drop points of a ring that lie on its sides: simplifying may keep one on each."""
    while len(ring) > 3:
        along = np.roll(ring, -1) - np.roll(ring, 1)
        off_mm = np.abs((np.conj(along) * (ring - np.roll(ring, 1))).imag) / np.abs(along)
        if off_mm.min() > LEVEL_MM:
            break
        ring = np.delete(ring, int(off_mm.argmin()))
    return ring


def _halved(ring: Points, most_mm: float) -> Points:
    """Put the middle of its arc into each chord of a counterclockwise ring; straight sides stay.

    most_mm: by so much an arc rises over its chord at most.
    """
    along = np.roll(ring, -1) - ring
    length = np.abs(along)
    turn = np.maximum(np.angle(along / np.roll(along, 1)), 0.0)  # at the start of each side
    both = np.stack([turn, np.roll(turn, -1)])
    rises = length / 2 * np.tan(both / 4)
    # An arc turns by half a step into a side that it touches, and by more into a corner.
    rise = np.where(rises.max(axis=0) <= most_mm, rises.max(axis=0), rises.min(axis=0))
    middle = ring + along / 2 - 1j * along / length * rise
    is_arc = rise <= most_mm
    pairs = np.column_stack([ring, middle])
    return np.asarray(pairs[np.column_stack([np.ones_like(is_arc), is_arc])])


def _complex(ring: Any) -> Points:
    """Return points (n, 2) as complex ones (n,)."""
    return np.asarray(ring @ np.array([1, 1j]), dtype=np.complex128)
