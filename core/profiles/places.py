"""The worst places of a profile: extremes of pressure angle and curvature, found on smooth pieces.

Each extreme is first seen on the nodes, then refined: the derivative is known in closed form, so a
change of its sign between two nodes is a bracket, closed by the false position method with halved
weights (the "Illinois" rule, Dowell and Jarratt, BIT 11, 1971), all brackets at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.angles import wrap
from core.followers import Reals, lift_of
from core.model.lanes import Follower
from core.profiles.pieces import Flags, Indices, MotionSource, PieceNodes
from core.profiles.trace import Kinematics
from core.tolerance import ANGLE_DEG

STEPS = 60
"""Most steps of the root finder; it usually needs under 10."""


Flank = Literal["inner", "outer"]
"""A side of a groove; the profile of a spring-closed disc is "inner"."""


@dataclass(frozen=True)
class Place:
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
) -> list[Place]:
    """Give the largest `value` of each judged segment among the `chosen` nodes: (m,) each."""
    chosen = chosen & nodes.judged
    segment = np.array([piece.segment for piece in nodes.pieces])[nodes.piece]
    places = []
    for number in np.unique(segment[chosen]):
        (at,) = np.nonzero(chosen & (segment == number))
        best = at[np.argmax(value[at])]
        angle = wrap(float(nodes.theta_deg[best]))
        places.append(Place(angle, float(value[best]), limit, int(number), int(nodes.rise[best]), flank))
    return places


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

    trace: gives the kinematics of angles (k,) and lift (4, k). close_deg: how exact the places are.
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
    low, high = nodes.theta_deg[both], nodes.theta_deg[both + 1]
    at_low = np.concatenate([at.steepness_slope[steep], at.curvature_slope[bend]])
    at_high = np.concatenate([at.steepness_slope[steep + 1], at.curvature_slope[bend + 1]])
    angles = roots(slope, low, high, at_low, at_high, close_deg=close_deg)
    return nodes.with_places(both, angles, lift_of(follower, motion.at(wrap(angles))))


def brackets(nodes: PieceNodes, slope: Reals, among: Flags | None = None) -> Indices:
    """Give the nodes after which a derivative (m,) changes its sign within its piece."""
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

    The values at both ends differ in sign.
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
    """Give where the chord from (a, fa) to (b, fb) is 0; the middle where it is level."""
    level = fa == fb
    crossing = (a * fb - b * fa) / np.where(level, 1.0, fb - fa)
    return np.where(level, (a + b) / 2, np.clip(crossing, a, b))
