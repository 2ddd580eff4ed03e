"""Whether an offset curve cuts itself, and where: undercut between distant parts of the whole curve.

A roller that touches the profile at K while its centre is at z leaves K there only if no other centre
z' of the turn comes nearer to K than the roller's radius. Most profiles are *star-shaped* (their polar
angle about the axis never turns back): those cannot cut themselves, and that is tested first. Else the
places where distant parts come nearest are seen on the nodes and refined: there the line from z' to K is
square to both curves, which Newton's method closes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles.trace import Kinematics

ROWS = 256
"""Points compared with all others at a time, to bound the memory."""

HUMP_MM = 1e-6
"""Two parts are distant where the distance grows by more than this on the way from one to the other."""

STEP_DEG = 1e-4
"""Step of the differences that give the slopes of Newton's method, degrees."""

STEPS = 30
"""Most steps of Newton's method; it usually needs under 6."""

HALF_TURN = 180.0


@dataclass(frozen=True)
class Near:
    """Where a distant part comes nearest to a place, among the nodes: index of the place and of z'."""

    at: int
    by: int


@dataclass(frozen=True)
class Cut:
    """The deepest place of one stretch that is cut away, exactly.

    near: the nodes beside it. theta_deg, other_deg: the place and the cutting centre z'. depth_mm: how far
    the roller reaches into it; negative where it passes by.
    """

    near: Near
    theta_deg: float
    other_deg: float
    depth_mm: float


def is_star_shaped(curve: Points, direction: int) -> bool:
    """Return whether a closed curve (n,) goes once round the axis without ever turning back.

    direction: d of the stack; the curve runs against it. Steps between points must be under 180 degrees.
    """
    step = np.angle(np.roll(curve, -1) * np.conj(curve)) * -direction
    return bool(np.all(step > -1e-9) and abs(np.sum(step) - 2 * np.pi) < 1.0)


def nearest_parts(pitch: Points, curve: Points, radius_mm: float) -> list[Near]:
    """Find where distant parts of the turn come nearest: (n,) centres and the offset curve at nodes.

    Only where a centre is nearer than the roller's radius and the way between two nodes.
    """
    apart = _distances(pitch, curve)
    reach = radius_mm + float(np.max(np.abs(np.diff(pitch, append=pitch[:1]))))
    lowest = apart <= reach
    for rows in (-1, 0, 1):
        for columns in (-1, 0, 1):
            if (rows, columns) != (0, 0):
                lowest &= apart <= np.roll(apart, (rows, columns), (0, 1))
    return [
        Near(int(at), int(by)) for at, by in np.argwhere(lowest) if _is_distant(apart[at], int(at), int(by))
    ]


def _distances(pitch: Points, curve: Points) -> Reals:
    """Return the distance of every place from every centre, (n, n) mm."""
    apart = np.empty((len(curve), len(pitch)))
    for start in range(0, len(curve), ROWS):
        apart[start : start + ROWS] = np.abs(curve[start : start + ROWS, None] - pitch[None, :])
    return apart


def _is_distant(apart: Reals, at: int, by: int) -> bool:
    """Return whether the roller leaves a place before it comes back to it: both ways, its distance grows."""
    low, high = sorted((at, by))
    inner, outer = apart[low : high + 1], np.concatenate([apart[high:], apart[: low + 1]])
    least = max(apart[at], apart[by]) + HUMP_MM
    return bool(min(np.max(inner), np.max(outer)) > least)


def refined(
    near: Near, trace: Callable[[Reals], Kinematics], theta_deg: Reals, distance_mm: float, radius_mm: float
) -> Cut:
    """Return the exact place where a distant part comes nearest.

    trace: returns the kinematics at angles. theta_deg: (n,) of the nodes. distance_mm: of the offset curve
    from the pitch curve. It is sought between the neighbours of both nodes; where Newton's method leaves
    these (a corner of the motion) the nodes themselves stand.
    """
    start = np.array([theta_deg[near.at], theta_deg[near.by]])
    reach = max(_spacing(theta_deg, near.at), _spacing(theta_deg, near.by))
    place = start
    for _ in range(STEPS):
        step = _newton(trace, place, distance_mm)
        place = place - step
        if np.max(np.abs(place - start)) > reach:
            place = start
            break
        if np.max(np.abs(step)) < ANGLE_DEG / 10:
            break
    return max(
        (_cut(near, trace, there, distance_mm, radius_mm) for there in (start, place)),
        key=lambda cut: cut.depth_mm,
    )


def _spacing(theta_deg: Reals, node: int) -> float:
    """Return the way to the farther neighbour of a node, degrees."""
    beside = np.take(theta_deg, [node - 1, node, node + 1], mode="wrap")
    ways = np.abs(np.diff(beside))
    return float(np.max(ways[ways < HALF_TURN], initial=ANGLE_DEG))


def _newton(trace: Callable[[Reals], Kinematics], place: Reals, distance_mm: float) -> Reals:
    """Return one step of Newton's method for the place and the centre, degrees."""
    theta, other = place
    at = trace(np.array([theta, theta + STEP_DEG, other, other + STEP_DEG]))
    touch, centre = at.offset(distance_mm), at.pitch
    along = 1j * at.normal

    def square(one: int, two: int) -> Reals:
        gap = np.conj(touch[one] - centre[two])
        return np.array([(gap * along[one]).real, (gap * along[two]).real])

    here = square(0, 2)
    slopes = np.column_stack([square(1, 2) - here, square(0, 3) - here]) / STEP_DEG
    if abs(np.linalg.det(slopes)) == 0:
        return np.full(2, np.inf)
    return np.asarray(np.linalg.solve(slopes, here))


def _cut(
    near: Near, trace: Callable[[Reals], Kinematics], place: Reals, distance_mm: float, radius_mm: float
) -> Cut:
    at = trace(place)
    depth = radius_mm - float(abs(at.offset(distance_mm)[0] - at.pitch[1]))
    return Cut(near, float(place[0]), float(place[1]), depth)
