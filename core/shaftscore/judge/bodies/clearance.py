"""The clearance of two parts over a turn: exact at angles, and bounded between them.

Between two angles at which a lift only rises or falls, a follower stays within its way between its two
places, and a disc within the ripple of its rim (or the way of its farthest point, where that is less).
From the clearances at both ends and these ways follows a bound that no clearance between them is under.
Angles are halved until the bound decides, so no angle is left out. Clearances are known to `tol_mm`,
that of an exported edge where a disc turns, next to nothing otherwise; a least clearance errs on the
safe side.

Formulas, with c the clearance at the ends of a stretch of angles from t to t', and w the way of a part:

    (1) w = lift x factor: how far a follower has moved its farthest point; |dw| bounds what any of its
        points moves on a stretch on which the lift only rises or only falls
    (2) c(x) >= (c(t) + c(t') - |dw1| - |dw2|) / 2 for x between t and t': c changes by no more than the parts
        move, so from the left it is at least c(t) - a, from the right c(t') - b, with a + b the whole way
    (3) as (2) with the way R |t' - t| of the disc's farthest point, R its largest radius
    (4) c(x) >= max(c(t), c(t')) - |dw1| - ripple: the rim seen from the follower changes by its ripple only
    (5) beyond the angle SEEN_DEG about the follower the rim is at least near sin(SEEN_DEG) away: the
        distance of a point at radius `near` from a ray that leaves the axis at that angle

(2) and (3) are the bound of a function whose slope is bounded (Piyavskii and Shubert's method of global
search rests on it; from memory); (4) and (5) are plain geometry.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import radians, sin

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import Arcs, distinct
from shaftscore.base.tolerance import CHORD_MM, LIMIT
from shaftscore.judge.bodies.follower import Still
from shaftscore.judge.bodies.parts import STANDING, TURNING, Body, BodyPart, Turning
from shaftscore.judge.bodies.rim import SEEN_DEG
from shaftscore.judge.bodies.shapes import Circle, Shape, StraightStrip, distance
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Stack

Flags = npt.NDArray[np.bool_]

ROUNDS = 40
"""Most halvings of a stretch; the tolerance is met long before."""

CLOSE_MM = 0.01
"""How close the bound under a disc's clearance, or an overlap, comes to it: people read tenths of a mm."""

EDGE_DEG = 0.01
"""Ends of a stretch that is too near are placed to this."""

MOST = 60_000
"""Angles looked at at most; the bound stays true, only less close."""

_FIRST_LOOK = 12
"""Of the angles to begin with, every so many-th is enough for a first look."""

AT_ONCE = 512
"""Angles looked at together, to bound the memory."""


@dataclass(frozen=True, eq=False)
class BodyPair:
    """Two parts that could meet; the first is no disc."""

    first: BodyPart
    second: BodyPart

    @property
    def tol_mm(self) -> float:
        """How exactly it is decided whether a limit is kept, mm."""
        return CHORD_MM if isinstance(self.second.body, Turning) else LIMIT

    @property
    def close_mm(self) -> float:
        """How exactly the least clearance is found where a limit is not kept, mm."""
        return CLOSE_MM if isinstance(self.second.body, Turning) else LIMIT

    def at(self, theta_deg: Reals) -> Reals:
        """Return the clearance at angles of the stack, negative where the parts overlap: (n,) mm."""
        pieces = [theta_deg[at : at + AT_ONCE] for at in range(0, len(theta_deg), AT_ONCE)]
        return np.concatenate([self._at(piece) for piece in pieces])

    def _at(self, theta: Reals) -> Reals:
        assert not isinstance(self.first.body, Turning)
        own = [_spread(shape, len(theta)) for shape in self.first.body.at(theta)]
        other = self.second.body
        if isinstance(other, Turning):
            return np.asarray(np.min([other.rim.distance(shape, theta) for shape in own], axis=0))
        apart = [distance(one, two) for one in own for two in other.at(theta)]
        return np.asarray(np.min(apart, axis=0))

    def looks_apart(self, clearance_mm: float) -> bool:
        """Return whether the parts keep a clearance at a few angles: False is certain, True is not."""
        if self.is_far(clearance_mm):
            return True
        return bool(np.all(self.at(self.start_deg[::_FIRST_LOOK]) >= clearance_mm - self.tol_mm))

    @property
    def looked_mm(self) -> float:
        """How near the parts look at a few angles; of a disc, what the clearance is never under."""
        other = self.second.body
        if isinstance(other, Turning):
            return self.first.near_mm - other.radius_mm
        return float(np.min(self.at(self.start_deg[::_FIRST_LOOK])))

    def is_far(self, clearance_mm: float) -> bool:
        """Return whether the parts plainly stay farther apart than a clearance, whatever the angle."""
        first, second = self.first.body, self.second.body
        assert not isinstance(first, Turning)
        if isinstance(second, Turning):
            return self.first.near_mm - second.radius_mm > clearance_mm
        apart = [distance(one, two) for one in first.envelope for two in second.envelope]
        return float(np.min(apart)) > clearance_mm or self._clears(clearance_mm)

    def _clears(self, clearance_mm: float) -> bool:
        """Return whether a part that moves keeps farther from one that stands still at all lifts that it has.

        Over its lifts instead of its angles, (2) says so whatever the timing.
        """
        first, second = self.first.body, self.second.body
        moving, still = (second, first) if isinstance(first, Still) else (first, second)
        if not isinstance(still, Still) or isinstance(moving, Still | Turning):
            return False
        apart = [distance(one, two) for one in moving.poses for two in still.poses]
        clearance = np.min(apart, axis=0)
        moved = np.diff(moving.lifts_mm) * moving.factor
        return bool(np.min(clearance[:-1] + clearance[1:] - moved) / 2 > clearance_mm)

    @cached_property
    def start_deg(self) -> Reals:
        """Angles to begin with, (n,) degrees."""
        return distinct(np.concatenate([self.first.samples_deg, self.second.samples_deg]))

    def ways(self, theta_deg: Reals) -> Reals:
        """Return lift of both parts times how far that moves them: (2, n) mm; 0 for a disc."""
        return np.array([_way(part.body, theta_deg) for part in (self.first, self.second)])

    def bounds(self, theta_deg: Reals, clearance: Reals, ways: Reals) -> Reals:
        """Return what the clearance is never under between successive angles: (n,), (2, n) -> (n - 1,) mm."""
        moved = np.sum(np.abs(np.diff(ways, axis=1)), axis=0)  # (1)
        turn = np.diff(theta_deg)
        low, high = clearance[:-1], clearance[1:]
        if not isinstance(self.second.body, Turning):
            return np.asarray((low + high - moved) / 2)  # (2)
        swept = moved + np.radians(turn) * self.second.body.radius_mm  # (3)
        rippled = self._rippled(theta_deg, np.maximum(low, high) - moved)  # (4)
        return np.asarray(np.maximum((low + high - swept) / 2, rippled))

    def _rippled(self, theta_deg: Reals, before: Reals) -> Reals:
        """Take the rim's ripple off, near the first part; elsewhere the rim is far from it."""
        assert isinstance(self.second.body, Turning)
        middle = (theta_deg[1:] + theta_deg[:-1]) / 2
        ripple = self.second.body.rim.ripple_mm(np.diff(theta_deg), *self.first.sight, middle)
        return np.minimum(before - ripple, self.first.near_mm * sin(radians(SEEN_DEG)))  # (5)


def _way(body: Body, theta_deg: Reals) -> Reals:
    if isinstance(body, Turning):
        return np.zeros(len(theta_deg))
    return body.lift_mm(theta_deg) * body.factor  # (1)


def _spread(shape: Shape, count: int) -> Shape:
    """Let a shape that stands still have its place at every angle."""
    if isinstance(shape, Circle):
        return Circle(np.broadcast_to(shape.centre, count), shape.radius_mm)
    start, along = np.broadcast_to(shape.start, count), np.broadcast_to(shape.along, count)
    return StraightStrip(start, along, shape.length_mm, shape.half_mm)


@dataclass(frozen=True)
class Clearance:
    """The least clearance of two parts.

    least_mm: negative where they overlap. at_deg: where that is. too_near: where the clearance is under the
    required one. Angles of the stack's own turn.
    """

    least_mm: float
    at_deg: float
    too_near: Arcs


@dataclass(eq=False)
class _Search:
    """Angles looked at so far over one turn, with clearances and ways at them."""

    pair: BodyPair
    theta_deg: Reals
    clearance: Reals
    ways: Reals

    @classmethod
    def begun(cls, pair: BodyPair) -> _Search:
        theta = pair.start_deg
        return cls(pair, theta, pair.at(theta), pair.ways(theta))

    @property
    def bounds(self) -> Reals:
        """What the clearance is never under in each stretch, (n - 1,) mm."""
        return self.pair.bounds(self.theta_deg, self.clearance, self.ways)

    def halve(self, stretches: npt.NDArray[np.bool_]) -> None:
        """Look at the middles of stretches."""
        (at,) = np.nonzero(stretches)
        middle = (self.theta_deg[at] + self.theta_deg[at + 1]) / 2
        self.theta_deg = np.insert(self.theta_deg, at + 1, middle)
        self.clearance = np.insert(self.clearance, at + 1, self.pair.at(middle))
        self.ways = np.insert(self.ways, at + 1, self.pair.ways(middle), axis=1)

    def settle(self, limit_mm: float) -> bool:
        """Halve until each stretch is above the limit or known to the tolerance; return if all are."""
        for _ in range(ROUNDS):
            bounds = self.bounds
            ends = np.minimum(self.clearance[:-1], self.clearance[1:])
            if np.any(ends < limit_mm - self.pair.tol_mm):
                return False
            open_ = bounds < limit_mm - self.pair.tol_mm
            if not open_.any():
                return True
            self.halve(open_)
        return False

    def place_edges(self, limit_mm: float) -> None:
        """Halve the stretches in which the limit is passed, until they are short."""
        for _ in range(ROUNDS):
            below = self.clearance < limit_mm
            ends = (below[1:] != below[:-1]) & (np.diff(self.theta_deg) > EDGE_DEG)
            if not ends.any():
                return
            self.halve(ends)

    def sink(self) -> None:
        """Halve until no stretch may be lower than the lowest place by more than the tolerance."""
        for _ in range(ROUNDS):
            lowest = float(np.min(self.clearance))
            close = self.pair.close_mm if lowest > 0 else CLOSE_MM
            lower = self.bounds < lowest - close
            if not lower.any() or len(self.theta_deg) > MOST:
                return
            self.halve(lower)

    def result(self, limit_mm: float) -> Clearance:
        """Return what was found: a clearance to the safe side, an overlap as it was seen."""
        at = int(np.argmin(self.clearance))
        lowest = float(self.clearance[at])
        least = min(float(np.min(self.bounds)), lowest) if lowest > 0 else lowest
        return Clearance(least, float(self.theta_deg[at]), self._under(limit_mm))

    def _under(self, limit_mm: float) -> Arcs:
        """Return the stretches whose two ends are under the limit."""
        below = self.clearance < limit_mm
        near = np.concatenate([[False], below[:-1] & below[1:], [False]])
        changes = np.flatnonzero(np.diff(near))
        starts, ends = self.theta_deg[changes[::2]], self.theta_deg[changes[1::2]]
        return Arcs.of((float(start), float(end - start)) for start, end in zip(starts, ends, strict=True))


def too_near(pair: BodyPair, limit_mm: float) -> Clearance | None:
    """Return the clearance of two parts that come nearer than a limit, None where they never do."""
    if pair.is_far(limit_mm):
        return None
    search = _Search.begun(pair)
    if search.settle(limit_mm):
        return None
    search.sink()
    search.place_edges(limit_mm)
    return search.result(limit_mm)


def keeps_apart(pair: BodyPair, limit_mm: float) -> bool:
    """Return whether two parts stay at least as far apart as a limit all round."""
    return pair.is_far(limit_mm) or _Search.begun(pair).settle(limit_mm)


def least_clearance(pair: BodyPair, limit_mm: float) -> Clearance:
    """Return the least clearance of two parts, however far they stay apart."""
    search = _Search.begun(pair)
    search.sink()
    search.place_edges(limit_mm)
    return search.result(limit_mm)


@dataclass(frozen=True)
class Nearest:
    """The two parts of a stack that come nearest to one another, and their clearance."""

    pair: BodyPair
    clearance: Clearance


def nearest_of(parts: tuple[BodyPart, ...], stack: Stack) -> Nearest | None:
    """Return the two parts that come nearest; None where no heights let any two meet.

    Begins with the pair that looks nearest, so that nearly all others are only shown to stay farther apart.
    """
    pairs = list(pairs_of(parts, stack))
    pairs.sort(key=lambda pair: pair.looked_mm)
    nearest: Nearest | None = None
    for pair in pairs:
        if nearest is None or not keeps_apart(pair, nearest.clearance.least_mm):
            found = least_clearance(pair, stack.body_clearance_mm)
            if nearest is None or found.least_mm < nearest.clearance.least_mm:
                nearest = Nearest(pair, found)
    return nearest


def pairs_of(
    parts: tuple[BodyPart, ...], stack: Stack, lane_id: str | None = None, near_mm: float | None = None
) -> Iterator[BodyPair]:
    """Yield the pairs of a stack's parts whose heights let them meet; of one lane's parts with all, if named.

    Left out: what turns with the shaft among itself, wheels that mesh, a follower (roller and axle, where its
    lever is a part of its own) and its own disc, and what belongs to one follower, guide and rod included;
    but its links are held against what they are not joined to. near_mm: where given, also what circles about
    the parts already show to stay farther apart.
    """
    moving = [part for part in parts if part.kind not in TURNING]
    still = [part for part in parts if part.kind in TURNING]
    others = (*moving, *still)
    meet = _meet_in_height(moving, others, stack)
    if near_mm is not None:
        meet &= ~_far_apart(moving, others, near_mm)
    for first, second in np.argwhere(meet).tolist():
        own = lane_id is None or lane_id in (moving[first].lane, others[second].lane)
        if own and not _belong(moving[first], others[second]):
            yield BodyPair(moving[first], others[second])


def _belong(first: BodyPart, second: BodyPart) -> bool:
    if "pinion" in (first.kind, second.kind):  # it meshes with the wheel of the hub, and with the next one
        return second.kind in ("pinion", "wheel")
    if second.kind == "disc":
        # A roller's axle is no wider than the roller, which never cuts its own disc.
        return first.kind in ("follower", "roller", "screw") and first.host == second.lane
    if (first.kind, second.kind) == ("pinion", "wheel"):
        return first.number == 0  # that of the last stage, which meshes with it
    if second.kind in TURNING:
        return False
    if first.lane == second.lane:
        return frozenset((first.kind, second.kind)) not in APART
    return on_one_rod(first, second)


_OF_LEVER = ("lever", "second lever", "roller", "screw", "rod", "post", "foot")
_OF_GUIDE = ("guide link", "guide post", "guide foot", "guide rod")

APART = frozenset(
    (
        *(frozenset(pair) for pair in product(_OF_LEVER, _OF_GUIDE)),
        *(frozenset(("coupler", kind)) for kind in (*_OF_LEVER[2:], *_OF_GUIDE[1:])),
    )
)
"""Kinds of parts of one straight-line lever that are not joined, and so may meet."""


def on_one_rod(first: BodyPart, second: BodyPart) -> bool:
    """Return whether a rod is that on which both parts turn or stand: several levers may share it."""
    is_rod = bool({first.kind, second.kind} & {*STANDING})
    return is_rod and first.axle is not None and first.axle.is_one_with(second.axle)


def _meet_in_height(moving: Sequence[BodyPart], others: Sequence[BodyPart], stack: Stack) -> Flags:
    """Return which parts come closer in height than the required clearance, or than any spacer allows.

    others begin with `moving`. Returns (moving, others), each pair once.
    """
    low, high = np.array([[part.bottom_mm, part.top_mm] for part in others]).reshape(-1, 2).T
    count = len(moving)
    gap = np.maximum(low[None, :] - high[:count, None], low[:count, None] - high[None, :])
    spacer = np.array([part.kind in TURNING and part.kind != "disc" for part in others], bool)
    room = np.where(spacer, 0.0, min(stack.body_clearance_mm, stack.spacer_mm))
    return np.triu(gap < room - LIMIT, 1)


def _far_apart(moving: Sequence[BodyPart], others: Sequence[BodyPart], near_mm: float) -> Flags:
    """Return which parts are farther apart than a distance by the circles about them: (moving, others).

    others begin with `moving`.
    """
    rounds = [part.round_about for part in others]
    middle, radius = np.array([at for at, _ in rounds]), np.array([by for _, by in rounds])
    own = slice(len(moving))
    apart = np.abs(middle[own, None] - middle[None, :]) - radius[own, None] - radius[None, :]
    return np.asarray(apart > near_mm)
