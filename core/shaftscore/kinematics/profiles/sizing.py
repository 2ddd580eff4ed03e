"""The smallest base radius that meets all limits, and the offset that balances rise and return.

Radii are tried from small to large on a geometric scale until all demands are met; the root of the
worst demand between the last two is then closed by inverse interpolation, and the angle of the worst place is
refined and taken into the nodes until neither moves any more. The exact root is the answer (no
rounding up): the governing limit is just met. Where the edge of a drop would take longer than its gap the
radius grows on until it fits, and so it does while distant parts of the curve cut each other. If no
radius up to the largest disc meets all, the one that comes nearest is given, with `fits` False, and the
findings tell what is wrong.

Formulas, with R a base radius and e(R) the largest excess of all demands, as a share of each limit:

    (1) R_k = R_0 (R_n / R_0)^(k / n), k = 0 ... n: the radii tried first
    (2) chord: R = (a e(b) - b e(a)) / (e(b) - e(a)), the root of the straight line through two values
    (3) inverse interpolation: R = sum_i R_i prod_{j != i} (-e_j) / (e_i - e_j), Lagrange's polynomial for R
        as a function of e, read at e = 0
    (4) false position with the Illinois rule: (2) on a bracket; an end that is kept twice counts half
    (5) balance: max |alpha| over the rise = max |alpha| over the fall, alpha the pressure angle
    (6) else max alpha = -min alpha: the follower leans as far ahead as it leans back

(2) to (4) are in any text on numerical analysis (for the Illinois rule: Dowell and Jarratt, 1971; from
memory); (5) and (6) follow from alpha falling everywhere as the offset grows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import LIMIT
from shaftscore.kinematics.followers import Reals, SideBySide, base_range_mm, build_follower, lift_of
from shaftscore.kinematics.profiles.limits import Demand, LaneLimits, demands
from shaftscore.kinematics.profiles.pieces import MotionSource, PieceNodes, nodes_of
from shaftscore.kinematics.profiles.places import with_extremes
from shaftscore.kinematics.profiles.trace import DiscPlacement, Kinematics
from shaftscore.kinematics.profiles.undercut import corner_undercuts, deepest_pass, flanks_of
from shaftscore.model.base import replaced
from shaftscore.model.lanes import Follower, TranslatingFlat, TranslatingRoller

LEAST_BASE_MM = 0.5
"""Smallest base radius that is tried, mm."""

TRIES = 14
"""Radii on the geometric scale from the smallest to the largest."""

DROP_GAP = "drop-gap"
"""What governs a radius that the edge of a drop asks for."""

ROOT_MM = 1e-10
"""Radii and offsets are closed to this, mm."""

THIN = 4
"""One node in so many is looked at while the root is only being bracketed."""

WORTH = 0.02
"""Extremes are refined beside nodes whose relative excess is within this of the worst: nodes miss an
extreme by far less."""

SHARES = (3e-3, 2e-4, 2e-4, 2e-4, 2e-4, 2e-4)
"""How far apart radii about a guess are tried, as a share of it, round by round; two rounds are usual."""

CLOSE_DEG = (1e-3, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5)
"""How exactly extremes are placed in each round; values are exact to about the square of it, in radians."""

MOST_VALUES = 100_000
"""Radii are held against the limits so many values of a curve at a time, to bound the memory: 20 MB."""

ABOUT = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
"""Where radii about a guess are tried, in steps."""

CLOSED = 1e-11
"""A root is closed when the largest excess is under this, as a share of the limit."""

NEAR = 1e-4
"""Once the radius moves by less, as a share, its extremes need no new search: they act in second order."""

ROUNDS = 6
"""Most rounds of root finding and refining; two or three are usual."""

CUT_STEP_MM = 0.01
"""Radii that distant cuts ask for are bracketed to this, mm; the root is closed where parts just touch."""

OFFSET_SHARE = 0.9
"""An automatic offset stays within this share of the prime radius."""


Drops = Callable[[float, float], float]
"""By what share the edge of a drop is longer than its gap, by base radius and offset, mm: over 0 too long."""


@dataclass(frozen=True)
class Base:
    """A decided base radius: what governs it, the offset that goes with it, and whether all limits fit."""

    radius_mm: float
    governed_by: str
    offset_mm: float | None = None
    fits: bool = True


@dataclass(frozen=True, eq=False)
class Sizing:
    """One lane's sizing problem: everything but radius and offset.

    drops: how far the lane's drops overrun their gaps on a radius with an offset; None without drops.
    """

    follower: Follower
    placement: DiscPlacement
    motion: MotionSource
    limits: LaneLimits
    nodes: PieceNodes
    drops: Drops | None = None

    @property
    def offset_is_open(self) -> bool:
        """Whether the offset is "auto"."""
        return isinstance(self.follower, TranslatingRoller) and self.follower.offset_mm == "auto"

    def trace(self, radius_mm: float, offset_mm: float | None = None) -> Kinematics:
        """Return the kinematics at the nodes, with an offset where it is "auto"."""
        follower = self.follower if offset_mm is None else replaced(self.follower, offset_mm=offset_mm)
        model = build_follower(follower, radius_mm)
        return Kinematics(self.nodes.theta_deg, self.nodes.lift, model, self.placement)

    def decided(self, radius_mm: float) -> Kinematics:
        """Return the kinematics at the nodes, with the balancing offset where it is "auto"."""
        offset = balancing_offset(self, radius_mm) if self.offset_is_open else None
        return self.trace(radius_mm, offset)

    def demands(self, radius_mm: float) -> tuple[Demand, ...]:
        """Hold the disc of a radius against all limits at the nodes."""
        return demands(self.decided(radius_mm), self.nodes, self.limits)

    def worst(self, radius_mm: float) -> float:
        """Return the largest excess of all demands, no unit: positive where any limit is broken."""
        return max(float(demand.worst) for demand in self.demands(radius_mm))

    def worst_of(self, radii_mm: Reals, *, shape_only: bool = False) -> Reals:
        """Return the largest excess of each of several radii: (r,) -> (r,), in passes of a bounded size.

        shape_only: leave the room about the bore out.
        """
        size = max(1, MOST_VALUES // len(self.nodes.theta_deg))
        parts = [radii_mm[start : start + size] for start in range(0, len(radii_mm), size)]
        return np.concatenate([self._worst_at_once(part, shape_only=shape_only) for part in parts])

    def _worst_at_once(self, radii_mm: Reals, *, shape_only: bool) -> Reals:
        models = SideBySide(tuple(self.decided(float(radius)).model for radius in radii_mm))
        at = Kinematics(self.nodes.theta_deg, self.nodes.lift, models, self.placement)
        asked = demands(at, self.nodes, self.limits)
        worst = [demand.worst for demand in asked if not (shape_only and demand.name == self.limits.clear_by)]
        return np.asarray(np.max(worst, axis=0))

    def governing(self, radius_mm: float) -> str:
        """Return the name of the demand that is nearest to being broken, or most broken."""
        return max(self.demands(radius_mm), key=lambda demand: float(demand.worst)).name

    def overrun(self, radius_mm: float) -> float:
        """Return by what share a drop's edge is too long for its gap on a radius; -inf without drops."""
        if self.drops is None:
            return -np.inf
        offset = getattr(self.decided(radius_mm).model, "offset_mm", 0.0)
        return self.drops(radius_mm, float(offset))

    def cut_depth(self, radius_mm: float) -> float:
        """Return how deep distant parts of the curve cut each other, mm, corners set apart.

        Negative where they pass each other by, -inf where none are near.
        """
        at = self.decided(radius_mm)
        flanks = flanks_of(self.limits)
        corners = corner_undercuts(self.nodes, at, flanks)

        def trace(theta_deg: Reals) -> Kinematics:
            lift = lift_of(self.follower, self.motion.at(wrap(theta_deg)))
            return replace(at, theta_deg=theta_deg, lift=lift)

        return deepest_pass(self.nodes, at, trace, flanks, corners)

    def is_cut(self, radius_mm: float) -> bool:
        """Return whether distant parts of the curve cut each other."""
        return self.cut_depth(radius_mm) > LIMIT


def sizing_of(
    follower: Follower,
    placement: DiscPlacement,
    motion: MotionSource,
    limits: LaneLimits,
    drops: Drops | None = None,
    *,
    nodes: PieceNodes | None = None,
) -> Sizing:
    """Set a lane's sizing problem up; raises LinkRangeError if its link is too short.

    nodes: what `nodes_of` returns, where it is known already.
    """
    return Sizing(follower, placement, motion, limits, nodes or nodes_of(motion, follower), drops)


def given_base(sizing: Sizing, radius_mm: float, governed_by: str = "given") -> Base:
    """Decide what a given radius leaves open: the offset, where it is "auto"."""
    if not sizing.offset_is_open:
        return Base(radius_mm, governed_by)
    offset = 0.0
    for _ in range(ROUNDS):
        before, offset = offset, balancing_offset(sizing, radius_mm)
        sizing = with_extremes_at(sizing, radius_mm, CLOSE_DEG[-1])
        if abs(offset - before) < ROOT_MM:
            break
    return Base(radius_mm, governed_by, offset)


def smallest_base(sizing: Sizing) -> Base:
    """Find the smallest base radius that meets all limits; see the module's text."""
    tried, coarse = radii_to_try(sizing), replace(sizing, nodes=sizing.nodes.thinned(THIN))
    excess = coarse.worst_of(tried)
    if np.all(excess > 0):
        nearest = float(tried[np.argmin(excess)])
        return replace(given_base(sizing, nearest, sizing.governing(nearest)), fits=False)
    first = int(np.argmax(excess <= 0))
    if first == 0:
        base = given_base(sizing, float(tried[0]), "least")
    else:
        base = _settled(sizing, float(tried[first - 1]), float(tried[first]))
    return _uncut(_dropped(base, sizing, float(tried[-1])), sizing, float(tried[-1]))


def radii_to_try(sizing: Sizing) -> Reals:
    """Return base radii from the smallest to that of the largest disc, (k,) mm, on a geometric scale."""
    low, high = base_range_mm(sizing.follower)
    lift = float(np.max(sizing.nodes.lift[0]))
    low = max(low + 1e-6, LEAST_BASE_MM)
    edge = sizing.limits.rim_mm + (2 * roller_radius_mm(sizing.follower) if sizing.limits.groove else 0.0)
    most = max(low, min(high - 1e-6, sizing.limits.max_radius_mm - lift - edge))
    return np.geomspace(low, most, TRIES)  # (1)


def _settled(sizing: Sizing, bad: float, good: float) -> Base:
    """Close the root between a radius that does not fit and one that does."""
    tried = np.linspace(bad, good, TRIES)
    excess = sizing.worst_of(tried)
    first = max(1, int(np.argmax(excess <= 0)))
    guess = _secant(
        *(float(value) for value in (*tried[first - 1 : first + 1], *excess[first - 1 : first + 1]))
    )
    for share, close_deg in zip(SHARES, CLOSE_DEG, strict=True):
        exact = with_extremes_at(sizing, guess, close_deg)
        before, guess = guess, _closed(exact, guess, share)
        if abs(guess - before) < NEAR * guess:
            break
    return given_base(exact, guess, exact.governing(guess))


def _closed(sizing: Sizing, guess: float, share: float) -> float:
    """Close the root near a guess, where the largest excess falls as the radius grows.

    By inverse interpolation (J. H. Wilkinson's "inverse Lagrange", as in any text on numerical analysis)
    through radii about the guess, `share` of it apart, all in one pass; where the root does not lie among
    them, or another place governs on the way so that the excess has a kink, by false position.
    """
    radii = guess * (1 + share * ABOUT)
    excess = sizing.worst_of(radii)
    if excess[0] > 0 > excess[-1] and np.all(np.diff(excess) < 0):
        at = _interpolated(radii, excess)
        if abs(sizing.worst(at)) < CLOSED:
            return at
    return _by_steps(sizing.worst, guess)


def _interpolated(radii_mm: Reals, excess: Reals) -> float:
    """Return where the polynomial through (excess, radius) meets an excess of 0."""
    apart = excess[:, None] - excess[None, :]
    shares = np.where(
        np.eye(len(excess), dtype=bool), 1.0, -excess[None, :] / np.where(apart == 0, 1.0, apart)
    )
    return float(np.sum(radii_mm * np.prod(shares, axis=1)))  # (3)


def _by_steps(worst: Callable[[float], float], guess: float) -> float:
    """Close the root near a guess by false position, however the excess runs."""
    step = NEAR * guess
    low, high = guess, guess + step
    at_low, at_high = worst(low), worst(high)
    while at_high > 0:
        step *= 2
        low, at_low, high = high, at_high, high + step
        at_high = worst(high)
    while at_low <= 0 and low > step:
        step *= 2
        high, at_high, low = low, at_low, low - step
        at_low = worst(low)
    return low if at_low <= 0 else root(worst, low, high, at_low, at_high)


def _secant(low: float, high: float, at_low: float, at_high: float) -> float:
    """Return where the chord between two values is 0."""
    return (low * at_high - high * at_low) / (at_high - at_low)  # (2)


def with_extremes_at(sizing: Sizing, radius_mm: float, close_deg: float) -> Sizing:
    """Take the places of the worst pressure angles and curvatures into the nodes, exact to `close_deg`.

    With an open offset all extremes: it balances rise and fall, whatever the limits.
    """
    at = sizing.decided(radius_mm)

    def trace(theta_deg: Reals, lift: Reals) -> Kinematics:
        return replace(at, theta_deg=theta_deg, lift=lift)

    excess = np.max([demand.excess for demand in demands(at, sizing.nodes, sizing.limits)], axis=0)
    among = None if sizing.offset_is_open else excess > np.max(excess) - WORTH
    nodes = with_extremes(
        sizing.nodes, trace, sizing.motion, sizing.follower, close_deg=close_deg, among=among
    )
    return replace(sizing, nodes=nodes)


def _dropped(base: Base, sizing: Sizing, high: float) -> Base:
    """Grow a radius until every drop's edge takes no more than its gap: fillets turn by faster on it."""
    if sizing.overrun(base.radius_mm) <= LIMIT:
        return base
    tried = np.geomspace(base.radius_mm, max(high, base.radius_mm), TRIES)
    excess = [sizing.overrun(float(radius)) for radius in tried]
    first = next((n for n, over in enumerate(excess) if over <= 0), None)
    if first is None:
        return replace(base, governed_by=DROP_GAP, fits=False)
    low, at_low = float(tried[first - 1]), min(excess[first - 1], 1.0)
    radius = root(sizing.overrun, low, float(tried[first]), at_low, excess[first])
    return replace(given_base(sizing, radius, DROP_GAP), fits=base.fits and sizing.worst(radius) <= LIMIT)


def _uncut(base: Base, sizing: Sizing, high: float) -> Base:
    """Grow a radius until distant parts of the curve no longer cut each other."""
    if not sizing.is_cut(base.radius_mm):
        return base
    tried = np.geomspace(base.radius_mm, max(high, base.radius_mm), TRIES)
    free = next(
        (float(r) for r in tried if not sizing.is_cut(float(r)) and sizing.worst(float(r)) <= 0), None
    )
    if free is None:
        return replace(base, governed_by="undercut", fits=False)
    cut = float(tried[max(0, list(tried).index(free) - 1)])
    while free - cut > CUT_STEP_MM:
        middle = (cut + free) / 2
        cut, free = (middle, free) if sizing.is_cut(middle) else (cut, middle)
    at_cut, at_free = sizing.cut_depth(cut), sizing.cut_depth(free)
    if at_free > -np.inf:
        free = root(sizing.cut_depth, cut, free, at_cut, at_free)
    return given_base(sizing, free, "undercut")


def balancing_offset(sizing: Sizing, radius_mm: float) -> float:
    """Return the offset at which rise and fall are equally steep, mm.

    A positive d x offset makes the rise less steep and the fall steeper. Where no offset within reach
    balances them, or only one of them is judged, the offset at which the steeper one is the least steep:
    there the follower leans as far ahead as it leans back, since every angle falls as the offset grows. 0
    for a lane at rest.
    """
    rise, judged = sizing.nodes.rise, sizing.nodes.judged
    up, down = judged & (rise > 0), judged & (rise < 0)
    if not np.any(up | down):
        return 0.0

    def steeper_rise(offset_mm: float) -> float:
        angle = np.abs(sizing.trace(radius_mm, offset_mm).pressure_deg)
        return float(np.max(angle, where=up, initial=0.0) - np.max(angle, where=down, initial=0.0))  # (5)

    def farther_ahead(offset_mm: float) -> float:
        angle = sizing.trace(radius_mm, offset_mm).pressure_deg[up | down]
        return float(np.max(angle) + np.min(angle))  # (6)

    reach = OFFSET_SHARE * (radius_mm + roller_radius_mm(sizing.follower))
    balanced = _balanced(steeper_rise, reach) if np.any(up) and np.any(down) else None
    return balanced if balanced is not None else _balanced(farther_ahead, reach) or 0.0


def _balanced(lean: Callable[[float], float], reach_mm: float) -> float | None:
    """Return the offset at which a lean is 0; None where it leans one way over the whole reach."""
    at_low, at_high = lean(-reach_mm), lean(reach_mm)
    return root(lean, -reach_mm, reach_mm, at_low, at_high) if at_low * at_high < 0 else None


def root(function: Callable[[float], float], low: float, high: float, at_low: float, at_high: float) -> float:
    """Close a bracket, mm, by false position with halved weights (Illinois rule) to `ROOT_MM`.

    at_low, at_high: the values there, of different signs. Returns the last point.
    """
    at, kept = high, 0
    for _ in range(100):
        before, at = at, _secant(low, high, at_low, at_high)  # (4)
        value = function(at)
        if value == 0 or abs(at - before) < ROOT_MM:
            break
        if (value > 0) == (at_high > 0):
            at_low, high, at_high, kept = at_low / 2 if kept > 0 else at_low, at, value, 1
        else:
            at_high, low, at_low, kept = at_high / 2 if kept < 0 else at_high, at, value, -1
    return at


def roller_radius_mm(follower: Follower) -> float:
    """Return the radius of a follower's roller, mm; 0 for a flat face."""
    return 0.0 if isinstance(follower, TranslatingFlat) else follower.roller_radius_mm
