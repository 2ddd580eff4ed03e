"""A flank as a closed polygon that follows the exact curve within a given chord error.

The chord of an arc of length h and curvature k stands off by k h²/8. Points are therefore laid at equal
steps of the integral of sqrt(|k| / (8 error)) along the curve, piece by piece, so that each chord spends
the allowed error and no point is wasted; the error is then measured against the exact curve, and a piece
that exceeds it gets more points.

Corners: on the side where the offset curve opens, the roller turns about the corner and leaves an arc
of its own radius; a flat face leaves a straight line. On the other side the offset curve runs past
itself. There, and wherever else it cuts itself, the loops are trimmed: the polygon is the edge of the
region that the follower never enters, so that an exported disc is always a simple polygon.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles.crossing import is_star_shaped
from shaftscore.kinematics.profiles.pieces import INSIDE_DEG
from shaftscore.kinematics.profiles.trace import Kinematics
from shaftscore.kinematics.profiles.undercut import corner_turns

if TYPE_CHECKING:
    from shapely import Polygon

    from shaftscore.kinematics.profiles.places import Flank
    from shaftscore.kinematics.profiles.profile import Profile

INNER = np.arange(1, 10) / 10
"""Where between two points the error of their chord is measured."""

AT_ONCE = 20_000
"""Angles at which a flank is evaluated in one pass."""

ROUNDS = 12
"""Most rounds of measuring and adding points."""

MOST_CHORDS = 20_000
"""Most chords of one piece; a whole disc has some 2,000. A piece that would need more (2 m of lift within a
hundredth degree) stays coarser, and the proof of its file says so."""

SAME_MM = 1e-7
"""Points nearer than this are one point."""


def outline_of(profile: Profile, chord_mm: float, flank: Flank, grown_mm: float = 0.0) -> Reals:
    """Return a flank of a profile as a polygon, (n, 2) mm; see `Profile.outline`."""
    ring = _ring(profile, profile.distance_mm(flank, grown_mm), chord_mm)
    direction = profile.direction
    if not is_star_shaped(ring, direction):
        ring = _trimmed(ring[::-direction])[::-direction]
    ordered = ring[::-direction]
    return np.column_stack([ordered.real, ordered.imag])


def lost_mm(profile: Profile, flank: Flank, grown_mm: float) -> float:
    """Return how far the follower at most is off a moved flank, where its parts cut into one another, mm.

    grown_mm: how far the flank is moved away from its material. Raises ValueError if nothing is left.
    """
    distance, at, direction = profile.distance_mm(flank, grown_mm), profile.at_nodes, profile.direction
    if profile.least_radius_mm(flank, grown_mm) > 0 and is_star_shaped(at.offset(distance), direction):
        return 0.0
    left = _trimmed(_ring(profile, distance, CHORD_MM / 5)[::-direction])
    return float(np.abs(_gaps(at, distance, left)).max())


def _gaps(at: Kinematics, distance_mm: float, ring: Points) -> Reals:
    """Measure the gaps between a ring (m,) and a follower moved by what its flank is: (n,) mm."""
    if at.model.is_flat:
        reach = np.array([(np.conj(way) * ring).real.max() for way in at.normal])
        return np.asarray((np.conj(at.normal) * at.offset(distance_mm)).real - reach)
    import shapely  # start-up time: few discs need it

    edge = shapely.LinearRing(np.column_stack([ring.real, ring.imag]))
    apart = shapely.distance(shapely.points(at.pitch.real, at.pitch.imag), edge)
    return np.asarray(apart - abs(distance_mm))


def _ring(profile: Profile, distance_mm: float, chord_mm: float) -> Points:
    """Return the raw offset curve in the order of theta, with arcs where corners open."""
    stretches = _stretches(profile, distance_mm, chord_mm)
    turns = corner_turns(profile.nodes, profile.at_nodes)
    ends = np.append(np.nonzero(np.diff(profile.nodes.piece))[0], len(turns) - 1)
    parts: list[Points] = []
    for stretch, end in zip(stretches, ends, strict=True):
        parts.append(stretch)
        if turns[end] * distance_mm > 0 and not profile.model.is_flat:
            centre = complex(profile.at_nodes.pitch[end])
            parts.append(_arc(centre, complex(stretch[-1]), -profile.direction * float(turns[end]), chord_mm))
    ring = np.concatenate(parts)
    return np.asarray(ring[np.abs(ring - np.roll(ring, 1)) > SAME_MM])


def _arc(centre: complex, start: complex, turn_rad: float, chord_mm: float) -> Points:
    """Return the points of an arc about `centre` from `start` on, its start left out."""
    radius = abs(start - centre)
    count = max(1, int(np.ceil(abs(turn_rad) / _step(radius, chord_mm))))
    angles = turn_rad * np.arange(1, count + 1) / count
    return np.asarray(centre + (start - centre) * np.exp(1j * angles))


def _step(radius_mm: float, chord_mm: float) -> float:
    """Return the largest angle of a chord that stands off an arc by at most `chord_mm`, radian."""
    return 2 * float(np.arccos(1 - min(1.0, chord_mm / radius_mm)))


def _stretches(profile: Profile, distance_mm: float, chord_mm: float) -> list[Points]:
    """Return the points of each piece, both ends included, with the chord error kept."""
    budgets = _budgets(profile, distance_mm, chord_mm)
    counts = np.array([max(1, int(np.ceil(min(budget[1][-1], MOST_CHORDS) - 1e-9))) for budget in budgets])
    for _ in range(ROUNDS):
        theta = [
            np.interp(np.linspace(0, s[-1], n + 1), s, t) for (t, s), n in zip(budgets, counts, strict=True)
        ]
        points = _read(profile, distance_mm, theta)
        errors = _errors(profile, distance_mm, theta, points)
        if np.all((errors <= chord_mm) | (counts >= MOST_CHORDS)):
            break
        more = np.ceil(counts * np.minimum(np.sqrt(errors / chord_mm), 2.0))
        counts = np.where(errors > chord_mm, np.maximum(counts + 1, more.astype(int)), counts)
        counts = np.minimum(counts, MOST_CHORDS)
    return points


def _budgets(profile: Profile, distance_mm: float, chord_mm: float) -> list[tuple[Reals, Reals]]:
    """Return nodes and the running count of chords at them, for each piece."""
    at, nodes = profile.at_nodes, profile.nodes
    turning = np.ones_like(at.speed_mm) if at.model.is_flat else np.abs(at.pitch_curvature) * at.speed_mm
    speed = at.speed_mm if at.model.is_flat else at.speed_mm * np.abs(1 + distance_mm * at.pitch_curvature)
    density = np.sqrt(turning * speed / (8 * chord_mm))
    budgets = []
    for number in range(len(nodes.table.segment)):
        (own,) = np.nonzero(nodes.piece == number)
        theta, height = nodes.theta_deg[own], density[own]
        steps = np.radians(np.diff(theta)) * (height[1:] + height[:-1]) / 2
        budgets.append((theta, np.concatenate([[0.0], np.cumsum(steps)])))
    return budgets


def _read(profile: Profile, distance_mm: float, theta_deg: list[Reals]) -> list[Points]:
    """Evaluate the flank at angles of each piece, its two ends a hair inside it."""
    ends = np.cumsum([len(stretch) for stretch in theta_deg])
    angles = np.concatenate(theta_deg)
    first = np.concatenate([[0], ends[:-1]])
    angles[first] += INSIDE_DEG
    angles[ends - 1] -= INSIDE_DEG
    return np.split(_flank_at(profile, distance_mm, angles), ends[:-1])


def _flank_at(profile: Profile, distance_mm: float, theta_deg: Reals) -> Points:
    """Evaluate the flank at angles, (n,) degrees, a block at a time: what leads to it takes more memory."""
    blocks = np.split(theta_deg, np.arange(AT_ONCE, len(theta_deg), AT_ONCE))
    return np.concatenate([profile.at(block).offset(distance_mm) for block in blocks])


def _errors(profile: Profile, distance_mm: float, theta_deg: list[Reals], points: list[Points]) -> Reals:
    """Measure the largest distance of the exact curve from the chords of each piece: (pieces,) mm."""
    inside = [(t[:-1, None] + np.diff(t)[:, None] * INNER).ravel() for t in theta_deg]
    exact = _flank_at(profile, distance_mm, np.concatenate(inside))
    starts = np.concatenate([stretch[:-1] for stretch in points])
    chords = np.concatenate([np.diff(stretch) for stretch in points])
    first = np.cumsum([0, *(len(stretch) - 1 for stretch in points[:-1])])
    return np.asarray(np.maximum.reduceat(_standoffs(exact, starts, chords), first))


def _standoffs(exact: Points, starts: Points, chords: Points) -> Reals:
    """Return how far the curve is off each chord: (chords,) mm; exact: the places measured, chord by chord.

    The largest stands between the measured places where the curvature changes along the chord: it is that of
    the parabola through the farthest place and its two neighbours.
    """
    seen = exact.reshape(-1, len(INNER)) - starts[:, None]
    length = np.maximum(np.abs(chords), SAME_MM)
    along = np.clip((seen * np.conj(chords)[:, None]).real / length[:, None] ** 2, 0, 1)
    apart = np.zeros((len(chords), len(INNER) + 2))  # nothing at the chord's ends
    apart[:, 1:-1] = np.abs(seen - along * chords[:, None])
    rows, farthest = np.arange(len(apart)), np.clip(np.argmax(apart, axis=1), 1, len(INNER))
    before, top, after = (apart[rows, farthest + step] for step in (-1, 0, 1))
    bend = np.maximum(2 * top - before - after, SAME_MM**2)
    return np.asarray(top + np.minimum((after - before) ** 2 / (8 * bend), top))


def _trimmed(ring: Points) -> Points:
    """Cut the loops off a counterclockwise offset curve; see the module's text.

    A face of the curve's arrangement belongs to the disc where the curve winds round it positively.
    """
    from shapely import Polygon, polygonize, unary_union  # start-up time: few discs need it
    from shapely.geometry import LinearRing, Point

    lines = unary_union(LinearRing(np.column_stack([ring.real, ring.imag])))
    edges = RingEdges.of(ring)
    faces = [face for face in polygonize([lines]).geoms if _wound(edges, face)]
    whole = unary_union(faces)
    parts = [part for part in getattr(whole, "geoms", [whole]) if isinstance(part, Polygon)]
    if not parts or whole.is_empty:
        raise ValueError("nothing of the disc is left: its follower reaches everywhere")
    best = max(parts, key=lambda part: (part.contains(Point(0, 0)), part.area))
    corners = np.asarray(best.exterior.coords)[:-1]
    cut = corners[:, 0] + 1j * corners[:, 1]
    return cut if best.exterior.is_ccw else cut[::-1]


@dataclass(frozen=True, eq=False)
class RingEdges:
    """Edges of a closed curve in the order of their lower ends: starts, ways and lower ends, (n,) mm."""

    starts: Points
    ways: Points
    lower: Reals
    tallest_mm: float

    @classmethod
    def of(cls, ring: Points) -> RingEdges:
        """Return the edges of a closed curve (n,)."""
        ways = np.roll(ring, -1) - ring
        lower = np.minimum(ring.imag, np.roll(ring, -1).imag)
        order = np.argsort(lower)
        return cls(ring[order], ways[order], lower[order], float(np.max(np.abs(ways.imag))))

    def wind_about(self, x: float, y: float) -> bool:
        """Return whether the curve goes counterclockwise round a point, mm.

        Counted on a ray to the right: edges that cross it upward, less those that cross it downward.
        """
        near = slice(*np.searchsorted(self.lower, [y - self.tallest_mm, y]))
        starts, ways = self.starts[near], self.ways[near]
        above, upward = starts.imag > y, ways.imag > 0
        crossing = above != ((starts + ways).imag > y)
        is_right = ((np.conj(ways) * (starts - complex(x, y))).imag < 0) == upward
        return bool(np.sum(np.where(upward, 1, -1)[crossing & is_right]) > 0)


def _wound(edges: RingEdges, face: Polygon) -> bool:
    """Return whether a closed curve goes counterclockwise round a face."""
    inside = face.representative_point()
    return edges.wind_about(inside.x, inside.y)
