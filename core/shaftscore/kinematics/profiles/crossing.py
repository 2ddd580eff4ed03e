"""Whether an offset curve cuts itself, and where: undercut between distant parts of the whole curve.

A roller that touches the profile at K while its centre is at z leaves K there only if no other centre
z' of the turn comes nearer to K than the roller's radius. Most profiles are *star-shaped* (their polar
angle about the axis never turns back): those cannot cut themselves, and that is tested first. Else the
places where distant parts come nearest are seen on the nodes and refined: there the line from z' to K is
square to both curves, which Newton's method closes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Number, wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles.boxes import RUN, Runs, boxes_of, near_runs, runs_of
from shaftscore.kinematics.profiles.pieces import Flags, Indices
from shaftscore.kinematics.profiles.trace import Kinematics

PAIRS = 2048
"""Pairs of runs compared at a time, to bound the memory: 10 MB."""

MOST_CUTS = 2000
"""Looking ends where so many places of one flank are cut."""

PASS_MM = 0.1
"""Parts that pass each other by so little are found too, mm."""

FIRST_LOOK = 64
"""Nodes that are looked at first on a way that should lead away."""

HUMP_MM = 1e-6
"""Two parts are distant where the distance grows by more than this on the way from one to the other."""

STEP_DEG = 1e-4
"""Step of the differences that give the slopes of Newton's method, degrees."""

STEPS = 30
"""Most steps of Newton's method; it usually needs under 6."""

HALF_TURN = 180.0


@dataclass(frozen=True)
class NearPass:
    """Where a distant part comes nearest to a place, among the nodes: index of the place and of z'."""

    at: int
    by: int


@dataclass(frozen=True, eq=False)
class OpenSpans:
    """Where cuts of distant parts are looked for: where no undercut that is known already explains them.

    angle_deg: (n,) of the nodes, wrapped. is_open: (n,) whether a node may cut or be cut. known_deg: angles
    of known undercuts, sorted; each explains a cut between two parts on its two sides, the shorter way,
    and `slack_deg` beside them.
    """

    angle_deg: Reals
    is_open: Flags
    known_deg: Reals
    slack_deg: float

    @cached_property
    def gap(self) -> Indices:
        """The stretch between known undercuts in which each node lies, (n,)."""
        return np.searchsorted(self.known_deg, self.angle_deg) % max(1, len(self.known_deg))

    def among(self, kept: Indices) -> OpenSpans:
        """Return the same for some of the nodes, (k,) indices."""
        return OpenSpans(self.angle_deg[kept], self.is_open[kept], self.known_deg, self.slack_deg)

    def explained(self, at: Indices, by: Indices) -> Flags:
        """Return whether a known undercut lies between two nodes, the shorter way, or just beside: (k,)."""
        one, other = self.angle_deg[at], self.angle_deg[by]
        way = wrap(other - one)
        start = wrap(np.where(way > HALF_TURN, other, one) - self.slack_deg)
        end = start + np.minimum(way, TURN - way) + 2 * self.slack_deg
        until = [np.searchsorted(self.known_deg, end - turn, "right") for turn in (0.0, TURN)]
        return np.asarray(until[0] - np.searchsorted(self.known_deg, start) + until[1] > 0)


@dataclass(frozen=True)
class Cut:
    """The deepest place of one stretch that is cut away, exactly.

    near: the nodes beside it. theta_deg, other_deg: the place and the cutting centre z'. depth_mm: how far
    the roller reaches into it; negative where it passes by.
    """

    near: NearPass
    theta_deg: float
    other_deg: float
    depth_mm: float


def following(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """Return the value after each one of a closed row, (n,) of (n,): the first again after the last."""
    return np.concatenate((values[1:], values[:1]))


def is_star_shaped(curve: Points, direction: int) -> bool:
    """Return whether a closed curve (n,) goes once round the axis without ever turning back.

    direction: d of the stack; the curve runs against it. Steps between points must be under 180 degrees.
    """
    step = np.angle(following(curve) * np.conj(curve)) * -direction
    return bool(np.all(step > -1e-9) and abs(np.sum(step) - 2 * np.pi) < 1.0)


def nearest_parts(pitch: Points, curve: Points, radius_mm: float, spans: OpenSpans) -> list[NearPass]:
    """Find where distant parts of the turn come nearest: (n,) centres and the offset curve at nodes.

    Only where a centre is nearer than the roller's radius and the way between two nodes, and where `spans`
    leaves it open. At most `MOST_CUTS` that cut, the first along the turn.
    """
    chosen = np.flatnonzero(spans.is_open)
    if not len(chosen):
        return []
    runs = runs_of(chosen, spans.gap[chosen])
    rooms = _steps(curve) + PASS_MM, _steps(pitch)
    rows, columns = near_runs(boxes_of(curve, rooms[0], runs), boxes_of(pitch, rooms[1], runs), radius_mm)
    found: list[NearPass] = []
    cuts = 0
    for start in range(0, len(rows), PAIRS):
        pairs = runs, rows[start : start + PAIRS], columns[start : start + PAIRS]
        at_by = _lowest(pitch, curve, radius_mm, rooms, pairs)
        at_by = at_by[:, ~spans.explained(*at_by)]
        for at, by in at_by.T.tolist():
            if _is_distant(complex(curve[at]), pitch, at, by):
                found.append(NearPass(at, by))
                cuts += bool(abs(curve[at] - pitch[by]) < radius_mm)
        if cuts >= MOST_CUTS:
            break
    return sorted(found, key=lambda near: (near.at, near.by))


def _steps(curve: Points) -> Reals:
    """Return the longer way from each node of a closed curve to its neighbours, (n,) mm."""
    ahead = np.abs(np.roll(curve, -1) - curve)
    return np.asarray(np.maximum(ahead, np.roll(ahead, 1)))


def _lowest(
    pitch: Points,
    curve: Points,
    radius_mm: float,
    rooms_mm: tuple[Reals, Reals],
    pairs: tuple[Runs, Indices, Indices],
) -> Indices:
    """Find the nodes of pairs of runs whose distance is the least among their eight neighbours.

    Returns the indices of places and of centres, (2, k); a place and its own centre are left out.
    """
    runs, rows, columns = pairs
    places, centres = (runs.windows[one] % len(pitch) for one in (rows, columns))
    apart = np.abs(curve[places][:, :, None] - pitch[centres][:, None, :])
    inside = apart[:, 1:-1, 1:-1]
    reach = radius_mm + rooms_mm[0][places[:, 1:-1, None]] + rooms_mm[1][centres[:, None, 1:-1]]
    lowest = inside <= reach
    lowest &= np.arange(RUN)[:, None] < runs.count[rows][:, None, None]
    lowest &= np.arange(RUN)[None, :] < runs.count[columns][:, None, None]
    for row in range(3):
        for column in range(3):
            if (row, column) != (1, 1):
                lowest &= inside <= apart[:, row : row + RUN, column : column + RUN]
    pair, at, by = np.nonzero(lowest)
    at, by = runs.first[rows[pair]] + at, runs.first[columns[pair]] + by
    return np.array([at, by])[:, at != by]


def _is_distant(place: complex, pitch: Points, at: int, by: int) -> bool:
    """Return whether the roller leaves a place before it comes back to it: both ways, its distance grows."""
    low, high = sorted((at, by))
    least = max(abs(place - pitch[at]), abs(place - pitch[by])) + HUMP_MM
    around = (pitch[high:], pitch[: low + 1])
    return _grows(place, pitch[low : high + 1], least) and any(_grows(place, part, least) for part in around)


def _grows(place: complex, way: Points, least_mm: float) -> bool:
    """Return whether a way leads farther from a place than a distance; most do soon."""
    start, length = 0, FIRST_LOOK
    while start < len(way):
        if np.max(np.abs(way[start : start + length] - place)) > least_mm:
            return True
        start, length = start + length, 2 * length
    return False


def refined(
    nears: Sequence[NearPass],
    trace: Callable[[Reals], Kinematics],
    theta_deg: Reals,
    distance_mm: float,
    radius_mm: float,
) -> list[Cut]:
    """Return the exact places where distant parts come nearest.

    trace: returns the kinematics at angles. theta_deg: (n,) of the nodes. distance_mm: of the offset curve
    from the pitch curve. Each is sought between the neighbours of both nodes; where Newton's method leaves
    these (a corner of the motion) the nodes themselves stand.
    """
    if not nears:
        return []
    nodes = np.array([(near.at, near.by) for near in nears])
    start = theta_deg[nodes]
    reach = np.max(_spacings(theta_deg)[nodes], axis=1)
    place, moving = start.copy(), np.arange(len(nodes))
    for _ in range(STEPS):
        step = _newton(trace, place[moving], distance_mm)
        place[moving] -= step
        left = np.max(np.abs(place[moving] - start[moving]), axis=1) > reach[moving]
        place[moving[left]] = start[moving[left]]
        moving = moving[~left & (np.max(np.abs(step), axis=1) >= ANGLE_DEG / 10)]
        if not len(moving):
            break
    there = [_depths(trace, one, distance_mm, radius_mm) for one in (start, place)]
    better = np.where((there[1] > there[0])[:, None], place, start)
    depths = np.maximum(*there)
    return [
        Cut(near, float(theta), float(other), float(depth))
        for near, (theta, other), depth in zip(nears, better, depths, strict=True)
    ]


def _spacings(theta_deg: Reals) -> Reals:
    """Return the way from each node to its farther neighbour, (n,) degrees."""
    ways = np.abs(np.roll(theta_deg, -1) - theta_deg)
    ways = np.where(ways < HALF_TURN, ways, ANGLE_DEG)
    return np.asarray(np.maximum(np.maximum(ways, np.roll(ways, 1)), ANGLE_DEG))


def _newton(trace: Callable[[Reals], Kinematics], places: Reals, distance_mm: float) -> Reals:
    """Return one step of Newton's method for places and centres, (k, 2) degrees; inf where it has none."""
    theta, other = places[:, 0], places[:, 1]
    at = trace(np.concatenate([theta, theta + STEP_DEG, other, other + STEP_DEG]))
    touch, centre = (points.reshape(4, -1) for points in (at.offset(distance_mm), at.pitch))
    along = 1j * at.normal.reshape(4, -1)

    def square(one: int, two: int) -> Reals:
        gap = np.conj(touch[one] - centre[two])
        return np.array([(gap * along[one]).real, (gap * along[two]).real])

    here = square(0, 2)
    by_theta, by_other = (square(1, 2) - here) / STEP_DEG, (square(0, 3) - here) / STEP_DEG
    area = by_theta[0] * by_other[1] - by_other[0] * by_theta[1]
    flat = area == 0
    solved = [here[0] * by_other[1] - by_other[0] * here[1], by_theta[0] * here[1] - here[0] * by_theta[1]]
    steps = np.stack(solved, axis=1) / np.where(flat, 1.0, area)[:, None]
    return np.asarray(np.where(flat[:, None], np.inf, steps))


def _depths(
    trace: Callable[[Reals], Kinematics], places: Reals, distance_mm: float, radius_mm: float
) -> Reals:
    """Return how deep the roller at the second angle reaches into the first: (k, 2) degrees -> (k,) mm."""
    at = trace(places.ravel())
    return np.asarray(radius_mm - np.abs(at.offset(distance_mm)[::2] - at.pitch[1::2]))
