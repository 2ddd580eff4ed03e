"""Drops: the edge falls away under the follower, which comes down in its own time.

The *edge* is what the disc prescribes: off the dwell over a crest fillet, down a straight flank (constant
velocity), into the next dwell over a foot. It takes the whole gap between the blocks, but is never
steeper than fillets allow: at the crest the limits' crest radius, at the foot a hollow that the
roller still finds. The *output* rests on the edge while the spring can hold it there, then falls
freely under spring, external force and friction, and lands where it meets the edge again: on the
flank, or late, on the dwell that follows. Lifts are of the roller, mm; phi is radians of own angle
from the end of the dwell.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import pi, sqrt
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.angles import wrap
from core.model import Lane, Load, SwingingRoller, TranslatingFlat, TranslatingRoller
from core.motion.crest import Crest, flat_crest, path_of, roller_crest
from core.motion.curve import Curve, Floats, Piece, quintic
from core.motion.lane_motion import Drop, LaneMotion
from core.motion.law import Law, law_of
from core.motion.moves import DROP, in_order
from core.motion.no_motion import NoMotion
from core.motion.segments import Dwell, Move, Segment
from core.motion.surroundings import Surroundings
from core.tolerance import ANGLE_DEG

LEAST_FILLET_MM = 0.1
"""Fillets are at least this large, also where a limit says 0: no printer or cutter makes a corner."""

FILLET_MARGIN = 1.05
"""The crest's fillet is that much larger than the limit, which polynomials and the flank bend a little."""

BASE_ROLLERS = 3.0
"""While an automatic base radius is not known yet, the crest is laid out for three roller radii.

A disc's base does not depend on its drops' edges, so it can be found with these, and the edges are
then laid out anew for it. Common practice, no source: least pitch radii of two to three roller radii
are usual.
"""

ARC_PIECES = 24
"""Polynomials that stand for the crest; they meet the arc's value, slope and curvature at their ends."""


@dataclass(frozen=True)
class Edge:
    """The edge of one drop.

    pieces: (length in rad, coefficients in mm and rad) of the lift less the lift at the top, from the
    end of the dwell. height_mm: of the fall at the roller. crest_rad: length of the crest's part.
    """

    pieces: tuple[Piece, ...]
    height_mm: float
    crest_rad: float

    @cached_property
    def length_rad(self) -> float:
        """Angle that the fall takes."""
        return _length(self.pieces)

    @cached_property
    def law(self) -> Law:
        """The edge as a law: 0 at the top to 1 at the foot."""
        return _law(self.pieces, self.height_mm)

    def at(self, phi: Floats) -> Floats:
        """Give lift above the foot, and its two derivatives: (3, n); beyond its end it rests there."""
        values = self.law.at(np.minimum(phi / self.length_rad, 1.0), orders=3) * -self.height_mm
        values[0] += self.height_mm
        values[1] /= self.length_rad
        values[2] /= self.length_rad**2
        values[:, phi >= self.length_rad] = 0.0
        return values


Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Free:
    """A free fall: m z'' = -(pull + rate z), brought to radians of own angle.

    drive_mm: pull / m / omega^2; rate: k / m / omega^2; z is the lift above the level it falls to.
    """

    drive_mm: float
    rate: float

    def acceleration(self, z_mm: float | Floats) -> float | Floats:
        """Give z'' (mm/rad^2) at a height."""
        return -(self.drive_mm + self.rate * z_mm)

    def piece(self, z_mm: float, velocity: float, length: float) -> Piece:
        """Give the fall from z_mm with a velocity (mm/rad) for `length` rad."""
        if self.rate == 0:
            return Piece(length, (z_mm, velocity, -self.drive_mm / 2))
        omega, rest = sqrt(self.rate), self.drive_mm / self.rate
        waves = ((z_mm + rest, omega, pi / 2), (velocity / omega, omega, 0.0))
        return Piece(length, (-rest,), waves)


class Fall(NamedTuple):
    """One drop worked out: laws and lengths (rad) of the edge and of the output."""

    edge: Law
    edge_rad: float
    output: Law
    output_rad: float


def with_drops(lane: Lane, segments: Sequence[Segment], around: Surroundings | None) -> LaneMotion | NoMotion:
    """Replace the moves that are drops in a cyclic list dwell, move, dwell, move, ...

    The result's `edge` is the motion of the edge. Gives a NoMotion that says why where a drop cannot be
    worked out.
    """
    ways: dict[int, Fall] = {}
    for index, segment in enumerate(segments):
        if isinstance(segment, Move) and _is_drop(lane, segment):
            fall = _fall(lane, segment, around)
            if isinstance(fall, str):
                return NoMotion("law", what=f"the law drop {fall}")
            ways[index] = fall
    output = _put_in(segments, {index: (fall.output, fall.output_rad) for index, fall in ways.items()})
    edge = _put_in(segments, {index: (fall.edge, fall.edge_rad) for index, fall in ways.items()})
    if output is None or edge is None:
        return NoMotion("law", what="the law drop where the follower does not land before the block ends")
    drops = tuple(_record(segments[index], fall) for index, fall in ways.items())
    return LaneMotion(in_order(output), drops=drops, edge_motion=LaneMotion(in_order(edge)))


def _is_drop(lane: Lane, move: Move) -> bool:
    return move.rise_mm != 0 and (lane.blocks[move.block].law or lane.law) == DROP


def _record(segment: Segment, fall: Fall) -> Drop:
    assert isinstance(segment, Move)
    edge, landed = np.degrees(fall.edge_rad), np.degrees(fall.output_rad)
    late = max(0.0, float(landed) - segment.length_deg)
    late = late if late > ANGLE_DEG else 0.0
    return Drop(segment.block, segment.start_deg, float(edge), float(landed), late)


def _put_in(segments: Sequence[Segment], ways: dict[int, tuple[Law, float]]) -> list[Segment] | None:
    """Put drops in and let the dwells after them begin where they end; None if one leaves no dwell."""
    result = list(segments)
    for index, (law, length_rad) in ways.items():
        move, after = result[index], (index + 1) % len(result)
        dwell = result[after]
        assert isinstance(move, Move)
        assert isinstance(dwell, Dwell)
        late = float(np.degrees(length_rad)) - move.length_deg
        late = late if late > ANGLE_DEG else 0.0
        if late > dwell.length_deg:
            return None
        result[index] = replace(move, law=law, length_deg=move.length_deg + late, mirrored=False)
        start = wrap(dwell.start_deg + late)
        result[after] = replace(dwell, start_deg=start, length_deg=dwell.length_deg - late)
    return result


def _fall(lane: Lane, move: Move, around: Surroundings | None) -> Fall | str:
    """Work one drop out, or say why that cannot be done."""
    why_not = _why_not(lane, move, around)
    if why_not or around is None or lane.load is None:
        return why_not
    ratio = _output_per_roller(lane)
    lifts = move.from_mm / ratio, move.to_mm / ratio
    edge = _edge(lane, around, lifts, float(np.radians(move.length_deg)))
    if isinstance(edge, str):
        return edge
    free = _free(lane.load, ratio, lifts[1], around.speed_rpm)
    if isinstance(free, str):
        return free
    pieces = list(edge.pieces) if free is None else _output(edge, free)
    return Fall(edge.law, edge.length_rad, _law(pieces, edge.height_mm), _length(pieces))


def _why_not(lane: Lane, move: Move, around: Surroundings | None) -> str:
    if around is None:
        return "away from its project, whose speed and limits it needs"
    if move.rise_mm > 0:
        return f"on a rise (to {move.to_level}): only falls can drop"
    if lane.follower.closure != "spring":
        return "in a groove, which holds the follower"
    if lane.load is None:
        return "without a load, which pulls the follower down"
    if lane.follower.link is not None:
        return "through a linkage's table"
    return ""


def _output_per_roller(lane: Lane) -> float:
    follower = lane.follower
    if isinstance(follower, SwingingRoller):
        return (follower.output_arm_mm or follower.arm_mm) / follower.arm_mm
    return follower.output_ratio


def _free(load: Load, ratio: float, foot_mm: float, speed_rpm: float) -> Free | str | None:
    """Bring the load to the roller and to radians; None without mass: then nothing lags behind."""
    force = ratio if load.at == "output" else 1.0
    rate = load.spring_rate_n_per_mm * force**2
    pull = (load.spring_preload_n + load.external_n - load.friction_n) * force + rate * foot_mm
    if pull <= 0:
        return f"against a load that does not pull the follower down ({pull!r} N at the foot)"
    if load.moving_mass_g == 0:
        return None
    # N / g = 1e6 mm/s^2; omega in rad/s.
    per_mass = 1e6 / (load.moving_mass_g * force**2) / (speed_rpm * 2 * pi / 60) ** 2
    return Free(pull * per_mass, rate * per_mass)


def _edge(lane: Lane, around: Surroundings, lifts: tuple[float, float], gap_rad: float) -> Edge | str:
    """Shape the edge so that it takes the gap, or as little more as the fillets allow."""
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
    return shape_edge(crest, low + low**2 / hollow, lifts, gap_rad)


def _crest(lane: Lane, around: Surroundings, base_mm: float, top_mm: float) -> Crest | None:
    """Give the follower's way over the crest's fillet; None where there is no room for it."""
    follower = lane.follower
    fillet = max(FILLET_MARGIN * around.limits.crest_radius_mm, LEAST_FILLET_MM)
    if isinstance(follower, TranslatingFlat):
        return flat_crest(base_mm + top_mm, fillet)
    given = follower.offset_mm if isinstance(follower, TranslatingRoller) else 0.0
    path = path_of(follower, base_mm, around.offset_mm if given == "auto" else given)
    if path is None:
        return None
    return roller_crest(path, top_mm, fillet + follower.roller_radius_mm, around.sense)


def shape_edge(crest: Crest, braking: float, lifts: tuple[float, float], gap_rad: float) -> Edge:
    """Join crest, flank and foot so that they fall from lifts[0] to lifts[1] in gap_rad, or a little more.

    braking: acceleration of the foot, mm/rad^2. The steeper the flank, the longer it follows the crest
    and the shorter the whole fall takes; the steepest has no straight part left.
    """
    height = lifts[0] - lifts[1]

    def left(phi: float) -> float:
        fallen, slope, _ = crest.fall(phi)
        return height + fallen - slope**2 / (2 * braking)

    def taken(phi: float) -> float:
        slope = -crest.fall(phi)[1]
        return phi + left(phi) / slope + slope / braking

    steepest = _bisect(lambda phi: left(phi) < 0, 0.0, crest.limit_rad)
    steepest = steepest if left(steepest) >= 0 else steepest * (1 - 1e-12)
    least = 1e-9 * steepest
    end = (
        _bisect(lambda phi: taken(phi) < gap_rad, least, steepest) if taken(steepest) < gap_rad else steepest
    )
    return _edge_of(crest, end, max(left(end), 0.0), braking, height)


def _edge_of(crest: Crest, end: float, straight: float, braking: float, height: float) -> Edge:
    fallen, slope, _ = crest.fall(end)
    pieces = _crest_pieces(crest, end)
    if straight > 0:
        pieces.append(Piece(straight / -slope, (fallen, slope)))
    foot = -slope / braking
    pieces.append(Piece(foot, (fallen - straight, slope, (height + fallen - straight) / foot**2)))
    return Edge(tuple(pieces), height, end)


def _crest_pieces(crest: Crest, end: float) -> list[Piece]:
    """Stand quintics for the crest, closer together where it grows steep."""
    share = np.linspace(0, pi / 2, ARC_PIECES + 1)
    places = [float(place) for place in end * np.sin(share)]
    pieces = []
    for start, stop in pairwise(places):
        length = stop - start
        scale = np.array([1.0, length, length**2])
        ends = [tuple(float(v) for v in np.array(crest.fall(phi)) * scale) for phi in (start, stop)]
        normal = quintic((ends[0][0], ends[0][1], ends[0][2]), (ends[1][0], ends[1][1], ends[1][2]))
        pieces.append(Piece(length, tuple(c / length**power for power, c in enumerate(normal))))
    return pieces


def _output(edge: Edge, free: Free) -> list[Piece]:
    """Follow the edge while the spring can, fall freely, and follow the edge again from the landing."""
    off = _leaves_at(edge, free)
    if off is None:
        return list(edge.pieces)
    above, velocity, _ = (float(value) for value in edge.at(np.array([off]))[:, 0])
    landing = _lands_after(edge, free, off, free.piece(above, velocity, 1.0))
    falling = free.piece(above, velocity, landing)
    falling = falling._replace(poly=(falling.poly[0] - edge.height_mm, *falling.poly[1:]))
    return [*_part(edge, 0.0, off), falling, *_part(edge, off + landing, edge.length_rad)]


def _leaves_at(edge: Edge, free: Free) -> float | None:
    """Find where the edge first falls faster than the follower can; only the crest does."""

    def outruns(phi: Floats) -> Flags:
        above, _, acceleration = edge.at(phi)
        return np.asarray(acceleration < free.acceleration(above))

    return _first(outruns, 0.0, edge.crest_rad * (1 - 1e-12), 513)


def _lands_after(edge: Edge, free: Free, off: float, falling: Piece) -> float:
    """Find how long (rad) after leaving the edge the follower, `falling`, meets it again."""
    path = Curve.of([falling])
    above, velocity = (float(value) for value in path.at(np.zeros(1))[:2, 0])
    # A fall under its least force takes longer than the true one, and so does a quarter of a swing.
    longest = (sqrt(velocity**2 + 2 * free.drive_mm * above) + velocity) / free.drive_mm
    longest = min(longest, pi / 2 / sqrt(free.rate)) if free.rate else longest

    def through(after: Floats) -> Flags:
        return np.asarray((after > 0) & (path.at(after, orders=1)[0] <= edge.at(off + after)[0]))

    # A little more, so that rounding cannot hide the landing.
    return _first(through, 0.0, longest * (1 + 1e-9), 2049) or 0.0


def _first(true: Callable[[Floats], Flags], low: float, high: float, count: int) -> float | None:
    """Find the first place of low..high where `true` holds, among `count` and then to rounding."""
    if true(np.array([low]))[0]:
        return low
    for zoom in (count, *[33] * 12):
        places = np.linspace(low, high, zoom)
        holds = np.flatnonzero(true(places))
        if not len(holds):
            return None
        low, high = float(places[max(holds[0] - 1, 0)]), float(places[holds[0]])
    return high


def _bisect(after: Callable[[float], bool], low: float, high: float) -> float:
    """Find the place in low..high from which on `after` is true, to rounding (just beyond it)."""
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (low, middle) if after(middle) else (middle, high)
    return high


def _part(edge: Edge, begin: float, end: float) -> list[Piece]:
    """Cut the edge's pieces from begin to end."""
    parts, start = [], 0.0
    for piece in edge.pieces:
        low, high = max(begin, start), min(end, start + piece.length)
        if high - low > 1e-15:
            shifted = np.polynomial.Polynomial(piece.poly)(np.polynomial.Polynomial([low - start, 1.0]))
            parts.append(Piece(high - low, tuple(float(c) for c in shifted.coef)))
        start += piece.length
    return parts


def _length(pieces: Sequence[Piece]) -> float:
    return sum(piece.length for piece in pieces)


def _law(pieces: Sequence[Piece], height: float) -> Law:
    """Make a law of pieces in rad and mm below the top."""
    total = _length(pieces)
    normal = [
        Piece(
            piece.length / total,
            tuple(-c * total**power / height for power, c in enumerate(piece.poly)),
            tuple((-amp / height, rate * total, phase) for amp, rate, phase in piece.waves),
        )
        for piece in pieces
    ]
    return law_of(DROP, "drop", normal, symmetric=False)
