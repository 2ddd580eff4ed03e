"""The edge of a drop: off the dwell over a crest fillet, down a straight flank, into the next dwell.

The edge takes the whole gap between the blocks, but is never steeper than fillets allow: at the crest the
limits' crest radius, at the foot a hollow that the roller still finds. Lifts are of the roller, mm; phi is
radians of own angle from the end of the dwell.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import pi

import numpy as np

from shaftscore.kinematics.motion.crest import Crest, flat_crest, path_of, roller_crest
from shaftscore.kinematics.motion.curve import CurvePiece, Floats, quintic
from shaftscore.kinematics.motion.law import Law, law_of
from shaftscore.kinematics.motion.moves import DROP
from shaftscore.kinematics.motion.surroundings import Surroundings
from shaftscore.model import Lane, TranslatingFlat, TranslatingRoller

LEAST_FILLET_MM = 0.1
"""Fillets are at least this large, also where a limit says 0: no printer or cutter makes a corner."""

FILLET_MARGIN = 1.05
"""The crest's fillet is that much larger than the limit, which polynomials and the flank bend a little."""

BASE_ROLLERS = 3.0
"""While an automatic base radius is not known yet, the crest is laid out for three roller radii.

What a drop asks of a disc's base does not depend on these edges (`motion.drop.overrun`), so the base
can be found with them, and the edges are then laid out again for it. Common practice, no source: least
pitch radii of two to three roller radii are usual.
"""

ARC_PIECES = 24
"""Polynomials that stand for the crest; they meet the arc's value, slope and curvature at their ends."""


@dataclass(frozen=True)
class DropEdge:
    """The edge of one drop.

    pieces: (length in rad, coefficients in mm and rad) of the lift less the lift at the top, from the
    end of the dwell. height_mm: of the fall at the roller. crest_rad: length of the crest's part.
    """

    pieces: tuple[CurvePiece, ...]
    height_mm: float
    crest_rad: float

    @cached_property
    def length_rad(self) -> float:
        """Angle that the fall takes."""
        return length_of(self.pieces)

    @cached_property
    def law(self) -> Law:
        """The edge as a law: 0 at the top to 1 at the foot."""
        return fall_law(self.pieces, self.height_mm)

    def at(self, phi: Floats) -> Floats:
        """Return lift above the foot, and its two derivatives: (3, n); beyond its end it rests there."""
        values = self.law.at(np.minimum(phi / self.length_rad, 1.0), orders=3) * -self.height_mm
        values[0] += self.height_mm
        values[1] /= self.length_rad
        values[2] /= self.length_rad**2
        values[:, phi >= self.length_rad] = 0.0
        return values


def lane_edge(lane: Lane, around: Surroundings, lifts: tuple[float, float], gap_rad: float) -> DropEdge | str:
    """Shape the edge so that it takes the gap, or as little more as the fillets allow."""
    fall = _fall(lane, around, lifts)
    return fall if isinstance(fall, str) else shape_edge(*fall, lifts, gap_rad)


def shortest_fall_rad(lane: Lane, around: Surroundings, lifts: tuple[float, float]) -> float | str:
    """Return the least angle in which the fillets let the edge fall, on the base radius of `around`."""
    fall = _fall(lane, around, lifts)
    return fall if isinstance(fall, str) else _Flanks(*fall, lifts[0] - lifts[1]).shortest_rad


def _fall(lane: Lane, around: Surroundings, lifts: tuple[float, float]) -> tuple[Crest, float] | str:
    """Return crest and braking of a lane's edge, or say why there is no room for them."""
    roller = 0.0 if isinstance(lane.follower, TranslatingFlat) else lane.follower.roller_radius_mm
    given = lane.disc.base_radius_mm
    known = around.base_radius_mm or max(BASE_ROLLERS * roller, lifts[0])
    base = known if given == "auto" else given
    crest = _crest(lane, around, base, lifts[0])
    if crest is None:
        return (
            f"on a base radius of {base:.6g} mm: too small for its follower or for a crest radius of "
            f"{around.limits.crest_radius_mm:.6g} mm"
        )
    hollow = max(around.limits.hollow_margin_mm, around.limits.crest_radius_mm, LEAST_FILLET_MM)
    low = base + roller + lifts[1]
    return crest, low + low**2 / hollow


def _crest(lane: Lane, around: Surroundings, base_mm: float, top_mm: float) -> Crest | None:
    """Return the follower's way over the crest's fillet; None where there is no room for it."""
    follower = lane.follower
    fillet = max(FILLET_MARGIN * around.limits.crest_radius_mm, LEAST_FILLET_MM)
    if isinstance(follower, TranslatingFlat):
        return flat_crest(base_mm + top_mm, fillet)
    given = follower.offset_mm if isinstance(follower, TranslatingRoller) else 0.0
    path = path_of(follower, base_mm, around.offset_mm if given == "auto" else given)
    if path is None:
        return None
    return roller_crest(path, top_mm, fillet + follower.roller_radius_mm, around.sense)


def shape_edge(crest: Crest, braking: float, lifts: tuple[float, float], gap_rad: float) -> DropEdge:
    """Join crest, flank and foot so that they fall from lifts[0] to lifts[1] in gap_rad, or a little more.

    braking: acceleration of the foot, mm/rad^2.
    """
    flanks = _Flanks(crest, braking, lifts[0] - lifts[1])
    end = flanks.steepest_rad
    if flanks.shortest_rad < gap_rad:
        end = _bisect(lambda phi: flanks.taken(phi) < gap_rad, 1e-9 * end, end)
    return _edge_of(crest, end, max(flanks.left(end), 0.0), braking, flanks.height_mm)


@dataclass(frozen=True)
class _Flanks:
    """Straight flanks between one crest and one foot, by phi, where they leave the crest.

    The steeper the flank, the longer it follows the crest and the shorter the whole fall takes; the
    steepest has no straight part left.
    """

    crest: Crest
    braking: float
    height_mm: float

    def left(self, phi: float) -> float:
        """Return the height of the straight part, mm."""
        fallen, slope, _ = self.crest.fall(phi)
        return self.height_mm + fallen - slope**2 / (2 * self.braking)

    def taken(self, phi: float) -> float:
        """Return the angle that the whole fall takes, rad."""
        slope = -self.crest.fall(phi)[1]
        return phi + self.left(phi) / slope + slope / self.braking

    @cached_property
    def steepest_rad(self) -> float:
        """Where the steepest flank leaves the crest."""
        steepest = _bisect(lambda phi: self.left(phi) < 0, 0.0, self.crest.limit_rad)
        return steepest if self.left(steepest) >= 0 else steepest * (1 - 1e-12)

    @cached_property
    def shortest_rad(self) -> float:
        """The least angle that a fall takes."""
        return self.taken(self.steepest_rad)


def _edge_of(crest: Crest, end: float, straight: float, braking: float, height: float) -> DropEdge:
    fallen, slope, _ = crest.fall(end)
    pieces = _crest_pieces(crest, end)
    if straight > 0:
        pieces.append(CurvePiece(straight / -slope, (fallen, slope)))
    foot = -slope / braking
    pieces.append(CurvePiece(foot, (fallen - straight, slope, (height + fallen - straight) / foot**2)))
    return DropEdge(tuple(pieces), height, end)


def _crest_pieces(crest: Crest, end: float) -> list[CurvePiece]:
    """Stand quintics for the crest, closer together where it grows steep."""
    share = np.linspace(0, pi / 2, ARC_PIECES + 1)
    places = [float(place) for place in end * np.sin(share)]
    pieces = []
    for start, stop in pairwise(places):
        length = stop - start
        scale = np.array([1.0, length, length**2])
        ends = [tuple(float(v) for v in np.array(crest.fall(phi)) * scale) for phi in (start, stop)]
        normal = quintic((ends[0][0], ends[0][1], ends[0][2]), (ends[1][0], ends[1][1], ends[1][2]))
        pieces.append(CurvePiece(length, tuple(c / length**power for power, c in enumerate(normal))))
    return pieces


def _bisect(after: Callable[[float], bool], low: float, high: float) -> float:
    """Find the place in low..high from which on `after` is true, to rounding (just beyond it)."""
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (low, middle) if after(middle) else (middle, high)
    return high


def fall_law(pieces: Sequence[CurvePiece], height_mm: float) -> Law:
    """Make a law of pieces in rad and in mm of lift less the lift at the top, falling by height_mm."""
    total = length_of(pieces)
    normal = [piece.scaled(1 / total, -1 / height_mm) for piece in pieces]
    return law_of(DROP, "drop", normal, symmetric=False)


def length_of(pieces: Sequence[CurvePiece]) -> float:
    """Add up the lengths of pieces, shares of a move."""
    return sum(piece.length for piece in pieces)
