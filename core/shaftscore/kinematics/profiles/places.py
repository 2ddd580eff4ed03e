"""The worst places of a profile: extremes of pressure angle and curvature, found on smooth pieces.

Each extreme is first seen on the nodes, then refined: the derivative is known in closed form, so a
change of its sign between two nodes is a bracket. The cubic through the four nodes about it gives a first
guess, and secants that are held within the bracket close it, all brackets at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.followers import Reals, lift_of
from shaftscore.kinematics.profiles.pieces import Flags, Indices, MotionSource, PieceNodes
from shaftscore.kinematics.profiles.trace import Kinematics
from shaftscore.model.lanes import Follower

LEAST = -np.finfo(np.float64).max
"""What is chosen is never less than this, so that it is distinct from what is not, also where it is -inf."""

STEPS = 60
"""Most steps of a root finder; it usually needs under 5."""

NEAR_BEST = 5e-3
"""A node whose figure is lower than the largest by less than this share may have the largest beside it."""

MOST_SOUGHT = 16
"""Most nodes, the largest ones, that are searched about."""

LEVEL = 1e-11
"""A figure that differs by less than this share from node to node is level there, but for rounding."""

CLOSER, LOOKS = 32, 3
"""Places to a stretch in a pass, and passes: few passes with many places are quicker than many with few."""

GUESS_STEPS = 3
"""Steps of Newton's method on the cubic that gives a first guess."""

ROUGH_DEG = 1e-3
"""The first guess is good enough where no more than this is asked for: it is off by far less, since it errs
with the fourth power of the way between nodes."""


Flank = Literal["inner", "outer"]
"""A side of a groove; the profile of a spring-closed disc is "inner"."""


@dataclass(frozen=True)
class ProfilePlace:
    """One place of a profile: the angle of the stack, the value there, the segment it lies in.

    limit: what the value is held against. rise: +1 on a rise, -1 on a fall, 0 in a dwell.
    """

    theta_deg: float
    value: float
    limit: float
    segment: int
    rise: int
    flank: Flank = "inner"


@dataclass(frozen=True)
class Undercut:
    """A place that the roller cannot touch.

    kind: "curve" (too sharp), "corner" (the motion has one) or "distant" (another part of the turn cuts
    it away, at other_deg). radius_mm: the convex profile radius there, 0 or less; minus the depth for
    distant parts; -inf for a flat face's corner.
    """

    kind: Literal["curve", "corner", "distant"]
    theta_deg: float
    segment: int
    radius_mm: float
    other_deg: float | None = None
    flank: Flank = "inner"


def worst_by_segment(
    nodes: PieceNodes, value: Reals, chosen: Flags, limit: float, flank: Flank = "inner"
) -> list[ProfilePlace]:
    """Return the largest `value` (any unit) of each judged segment among the `chosen` nodes: (m,) each."""
    chosen = chosen & nodes.judged
    shown = np.where(chosen, np.maximum(value, LEAST), -np.inf)
    places = []
    for number, start, stop in nodes.segments:
        best = start + int(np.argmax(shown[start:stop]))
        if not chosen[best]:
            continue  # none is chosen
        angle = wrap(float(nodes.theta_deg[best]))
        places.append(ProfilePlace(angle, float(value[best]), limit, number, int(nodes.rise[best]), flank))
    return places


def surely_under(nodes: PieceNodes, values: Reals, limit: float) -> bool:
    """Return whether a figure plainly stays under a limit, between the nodes as well.

    values: (m,) the figure at the nodes, nan where it does not apply. limit: a number in its unit. See
    `surely_between`; steps from or to an infinite value do not count as changes.
    """
    known = values[~np.isnan(values)]
    with np.errstate(invalid="ignore"):
        change = np.abs(values[1:] - values[:-1])
    change = change[nodes.joined & np.isfinite(change)]
    return not len(known) or bool(np.max(known) + np.max(change, initial=0.0) < limit)


def surely_between(nodes: PieceNodes, values: Reals, where: Flags, limits: tuple[float, float]) -> bool:
    """Return whether a figure plainly stays between two limits, between the nodes as well.

    values: (m,) the figure at the nodes. where: (m,) whether it applies there. It does where the least and
    the greatest keep the limits by more than the figure changes from any node to the next one of its piece:
    between two nodes a smooth figure goes beyond both by a fraction of that. False says nothing.
    """
    known = values[where]
    if not len(known):
        return True
    change = np.abs(values[1:] - values[:-1])[nodes.joined & where[1:] & where[:-1]]
    most = float(np.max(change, initial=0.0))
    return bool(known.min() - most > limits[0] and known.max() + most < limits[1])


def farthest(nodes: PieceNodes, value: Reals, figure: Callable[[Reals], Reals]) -> float:
    """Return the largest value of a smooth figure of the turn, also between the nodes.

    value: (m,) at the nodes. figure: returns it at angles (n,) degrees of the stack. Sought about the nodes
    that are nearly as large as the largest, within their pieces; each look divides the way between two nodes
    by CLOSER. Where the figure is level about a node, nothing larger lies there.
    """
    best = float(np.max(value))
    room = NEAR_BEST * max(abs(best), 1.0)
    places = np.arange(len(value))
    joined = nodes.piece[1:] == nodes.piece[:-1]
    before, after = places - np.append(False, joined), places + np.append(joined, False)
    uneven = np.maximum(np.abs(value - value[before]), np.abs(value - value[after]))
    among = np.flatnonzero((value >= best - room) & (uneven > LEVEL * max(abs(best), 1.0)))
    among = among[np.argsort(-value[among], kind="stable")][:MOST_SOUGHT]
    low, high = nodes.inside_deg[before[among]], nodes.inside_deg[after[among]]
    for _ in range(LOOKS if len(among) else 0):
        step = (high - low) / CLOSER
        angles = low[:, None] + step[:, None] * np.arange(CLOSER + 1)
        found = figure(wrap(angles.ravel())).reshape(angles.shape)
        at = low + step * np.argmax(found, axis=1)
        low, high = np.maximum(at - step, low), np.minimum(at + step, high)
        best = max(best, float(np.max(found)))
    return best


def with_extremes(
    nodes: PieceNodes,
    trace: Callable[[Reals, Reals], Kinematics],
    motion: MotionSource,
    follower: Follower,
    *,
    close_deg: float = ANGLE_DEG / 10,
    among: Flags | None = None,
) -> PieceNodes:
    """Take the exact places of all extremes of pressure angle and curvature into the nodes.

    trace: returns the kinematics of angles (k,) and lift (4, k). close_deg: how exact the places are.
    among: (m,) only next to these nodes.
    """
    at = trace(nodes.theta_deg, nodes.lift)
    steep = brackets(nodes, at.steepness_slope, among)
    bend = brackets(nodes, at.curvature_slope, among)
    if not len(steep) + len(bend):
        return nodes

    def slope(theta_deg: Reals) -> Reals:
        there = trace(theta_deg, lift_of(follower, motion.at(wrap(theta_deg))))
        return np.concatenate([there.steepness_slope[: len(steep)], there.curvature_slope[len(steep) :]])

    both = np.concatenate([steep, bend])
    around = _around(nodes, both)
    values = np.concatenate(
        [at.steepness_slope[around[: len(steep)]], at.curvature_slope[around[len(steep) :]]]
    )
    ends = np.concatenate(
        [at.steepness_slope[steep[:, None] + [0, 1]], at.curvature_slope[bend[:, None] + [0, 1]]]
    )
    low, high = nodes.theta_deg[both], nodes.theta_deg[both + 1]
    angles, rate = _guessed(nodes.theta_deg[around], values, low, high)
    if close_deg < ROUGH_DEG:
        angles = _improved(slope, (low, high), ends[:, 1] > 0, (angles, rate), close_deg)
    return nodes.with_places(both, angles, lift_of(follower, motion.at(wrap(angles))))


def _around(nodes: PieceNodes, after: Indices) -> Indices:
    """Return the four nodes about each bracket within its piece, or as many as that has: (k, 4)."""
    first = np.searchsorted(nodes.piece, nodes.piece[after], "left")
    last = np.searchsorted(nodes.piece, nodes.piece[after], "right") - 1
    start = np.maximum(np.minimum(after - 1, last - 3), first)
    return np.asarray(np.minimum(start[:, None] + np.arange(4), last[:, None]))


def _guessed(theta_deg: Reals, slopes: Reals, low: Reals, high: Reals) -> tuple[Reals, Reals]:
    """Return where the cubic through four nodes is 0 within each bracket, and its rate there: (k,) each.

    theta_deg, slopes: (k, 4). A node that stands there twice counts once.
    """
    scale = high - low
    u = (theta_deg - low[:, None]) / scale[:, None]
    table = slopes.copy()
    coefficients = [table[:, 0]]
    for order in (1, 2, 3):  # Newton's divided differences
        apart = u[:, order:] - u[:, :-order]
        rise = table[:, 1:] - table[:, :-1]
        table = np.divide(rise, apart, out=np.zeros_like(rise), where=apart != 0)
        coefficients.append(table[:, 0])
    at = np.full(len(low), 0.5)
    for _ in range(GUESS_STEPS):
        value, rate = coefficients[3], np.zeros(len(low))
        for order in (2, 1, 0):
            rate = value + (at - u[:, order]) * rate
            value = coefficients[order] + (at - u[:, order]) * value
        step = np.divide(value, rate, out=np.zeros_like(value), where=rate != 0)
        at = np.clip(at - step, 0.0, 1.0)
    return low + at * scale, rate / scale


def _improved(
    function: Callable[[Reals], Reals],
    bracket: tuple[Reals, Reals],
    rises: Flags,
    guess: tuple[Reals, Reals],
    close_deg: float,
) -> Reals:
    """Close guesses within their brackets to `close_deg` by secants, held in by halving: (k,) each.

    rises: whether the function rises over its bracket. guess: places, and the function's rates there.
    """
    (low, high), (at, rate) = bracket, guess
    before, value_before = at, np.zeros_like(at)
    for number in range(STEPS):
        value = function(at)
        if number:
            rate = np.divide(value - value_before, at - before, out=rate.copy(), where=at != before)
        after = (value > 0) == rises
        low, high = np.where(after, low, at), np.where(after, at, high)
        moved = at - np.divide(value, rate, out=np.full_like(value, np.inf), where=rate != 0)
        moved = np.where((moved >= low) & (moved <= high), moved, (low + high) / 2)
        before, value_before, at = at, value, moved
        if np.max(np.abs(at - before)) < close_deg:
            break
    return at


def brackets(nodes: PieceNodes, slope: Reals, among: Flags | None = None) -> Indices:
    """Return the nodes after which a derivative (m,) changes its sign within its piece."""
    turns = (nodes.piece[1:] == nodes.piece[:-1]) & (slope[1:] * slope[:-1] < 0)
    return np.flatnonzero(turns if among is None else turns & (among[1:] | among[:-1]))


def roots(
    function: Callable[[Reals], Reals],
    low: Reals,
    high: Reals,
    at_low: Reals,
    at_high: Reals,
    *,
    close_deg: float = ANGLE_DEG / 10,
) -> Reals:
    """Close all brackets low..high, degrees, to `close_deg`: (k,) each.

    The values at both ends differ in sign. By false position with halved weights (the "Illinois" rule,
    Dowell and Jarratt, BIT 11, 1971).
    """
    a, b, fa, fb = low.copy(), high.copy(), at_low.copy(), at_high.copy()
    kept, at = np.zeros(len(a)), _secant(a, b, fa, fb)
    for _ in range(STEPS):
        f = function(at)
        right = np.sign(f) == np.sign(fb)
        fa = np.where(right, np.where(kept > 0, fa / 2, fa), f)
        fb = np.where(right, f, np.where(kept < 0, fb / 2, fb))
        a, b, kept = np.where(right, a, at), np.where(right, at, b), np.where(right, 1.0, -1.0)
        before, at = at, _secant(a, b, fa, fb)
        if np.max(np.abs(at - before)) < close_deg:
            break
    return at


def _secant(a: Reals, b: Reals, fa: Reals, fb: Reals) -> Reals:
    """Return where the chord from (a, fa) to (b, fb) is 0; the middle where it is level."""
    level = fa == fb
    crossing = (a * fb - b * fa) / np.where(level, 1.0, fb - fa)
    return np.where(level, (a + b) / 2, np.clip(crossing, a, b))
