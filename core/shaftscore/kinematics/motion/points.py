"""Lanes whose motion is a table: a periodic spline through its points.

The spline is cubic or quintic, whichever passes nearer by the points left out when it is laid through
every second point only; that distance is the stated fit error. Both have continuous acceleration;
a quintic also has continuous jerk.

Whoever wants the other degree gets it by its points: `written_for` samples the wanted spline so densely
that the spline laid through the samples follows it within a stated distance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from shaftscore.base.angles import TURN, ahead, wrap
from shaftscore.base.tolerance import ANGLE_DEG, LIMIT
from shaftscore.kinematics.motion.curve import Curve, Floats
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.no_motion import NoMotion
from shaftscore.kinematics.motion.segments import TurnSpline
from shaftscore.model import Lane, MotionPoint

LEAST = {3: 3, 5: 6}
"""Fewest points through which a periodic spline of each degree is laid."""

FOLLOWS_MM = 0.001
"""Points written for a spline of another degree follow it at least so closely: half of what an exported
disc may be off."""

DENSER = (2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64)
"""Into so many parts stretches between points are divided, one after the other."""

MOST_SAMPLES = 5000
"""So many points are written at most."""


def points_motion(lane: Lane) -> LaneMotion | NoMotion:
    """Make the motion of a lane of kind points."""
    if not lane.points:
        return NoMotion("empty")
    points = lane.points  # the record has them rising
    ends = [*points[1:], points[0]]
    close = [p for p, q in zip(points, ends, strict=True) if ahead(p.theta_deg, q.theta_deg) <= ANGLE_DEG]
    if close:
        return NoMotion("kind", what=f"a table with two points at {close[0].theta_deg!r} degrees")
    return LaneMotion((spline_through(points),))


def spline_through(points: Sequence[MotionPoint], degree: int | None = None) -> TurnSpline:
    """Lay a periodic spline through points of rising angle; its degree is chosen if None.

    Raises ValueError for fewer points than the degree needs (3 for a cubic, 6 for a quintic).
    """
    start = points[0].theta_deg
    x = np.array([(point.theta_deg - start) / TURN for point in points])
    y = np.array([point.output_mm for point in points])
    errors = {d: left_out_error(x, y, d) for d in LEAST if len(x) >= LEAST[d] and degree in (None, d)}
    if not errors:
        needed = LEAST[degree or 3]
        raise ValueError(f"a spline of degree {degree or 3} needs {needed} points, got {len(x)}")
    best, error = min(
        errors.items(), key=lambda item: (np.inf if item[1] is None else item[1].most_mm, item[0])
    )
    stated = (None, None) if error is None else error
    return TurnSpline(start, periodic_curve(x, y, best), best, *stated)


class FitError(NamedTuple):
    """How far a spline passes by the points left out, mm: at most, and in the root mean square."""

    most_mm: float
    rms_mm: float


def left_out_error(x: Floats, y: Floats, degree: int) -> FitError | None:
    """Return the distances of the points left out from the spline through every second point.

    x, y: (n,) share of the turn and mm. None where half of the points are too few for a spline.
    """
    kept = np.arange(len(x)) % 2 == 0
    if len(x) % 2:
        kept[-1] = False
    if np.sum(kept) < LEAST[degree]:
        return None
    curve = periodic_curve(x[kept], y[kept], degree)
    away = np.abs(curve.at(x, orders=1)[0] - y)[~kept]
    return FitError(float(np.max(away)), float(np.sqrt(np.mean(away**2))))


@dataclass(frozen=True, eq=False)
class Written:
    """Points to write for a wanted spline.

    wanted: the spline. follows_mm: how far the motion through the points is from it at most; 0 where that is
    the wanted spline itself.
    """

    points: tuple[MotionPoint, ...]
    wanted: TurnSpline
    follows_mm: float


def written_for(points: Sequence[MotionPoint], degree: int) -> Written:
    """Return the points whose motion is the spline of a degree through `points`, or follows it closely.

    Raises ValueError, with the values, for fewer points than the degree needs, if the spline dips below 0
    where it must be sampled, or if `MOST_SAMPLES` do not follow it within `FOLLOWS_MM`.
    """
    wanted = spline_through(points, degree)
    if spline_through(points).degree == degree:
        return Written(tuple(points), wanted, 0.0)
    error = np.inf
    for between in DENSER:
        if between * len(points) > MOST_SAMPLES:
            break
        samples = _sampled(points, wanted, between)
        error = _apart(wanted, spline_through(samples), between * len(points))
        if error <= FOLLOWS_MM:
            return Written(samples, wanted, error)
    raise ValueError(
        f"points of a curve of degree {degree} are followed to {error:.3g} mm only, "
        f"{FOLLOWS_MM:g} mm is wanted, with up to {MOST_SAMPLES} points"
    )


def _sampled(points: Sequence[MotionPoint], spline: TurnSpline, between: int) -> tuple[MotionPoint, ...]:
    """Keep the points and lay further ones between them, each stretch divided into `between` parts."""
    ends = [*points[1:], points[0]]
    found: dict[float, float] = {}
    for point, following in zip(points, ends, strict=True):
        way = ahead(point.theta_deg, following.theta_deg)
        inner = [wrap(point.theta_deg + way * n / between) for n in range(1, between)]
        found[point.theta_deg] = point.output_mm
        found |= dict(zip(inner, spline.at(np.array(inner))[0].tolist(), strict=True))
    lowest = min(found, key=lambda theta: found[theta])
    if found[lowest] < -LIMIT:
        raise ValueError(f"the curve dips below 0, to {found[lowest]:.3g} mm at {lowest:.1f} degrees")
    return tuple(MotionPoint(theta_deg=theta, output_mm=max(0.0, found[theta])) for theta in sorted(found))


def _apart(one: TurnSpline, other: TurnSpline, count: int) -> float:
    """Return the largest distance of two splines, mm, seen at eight places between `count` points."""
    theta = np.linspace(0.0, TURN, 8 * count + 1)
    return float(np.max(np.abs(one.at(theta)[0] - other.at(theta)[0])))


def periodic_curve(x: Floats, y: Floats, degree: int) -> Curve:
    """Lay the periodic spline through (x, y), x rising from 0 and below 1, as a curve in mm."""
    # scipy costs most of a second at start-up, and only lanes of points need it.
    from scipy.interpolate import PPoly, make_interp_spline

    knots, heights = np.append(x, 1.0), np.append(y, y[0])
    spline = make_interp_spline(knots, heights, k=degree, bc_type="periodic")
    pieces = PPoly.from_spline((spline.t, spline.c, spline.k))
    within = (pieces.x[:-1] >= 0) & (pieces.x[:-1] < 1) & (np.diff(pieces.x) > 0)
    poly = np.ascontiguousarray(pieces.c[::-1, within].T, dtype=float)
    return Curve(np.asarray(pieces.x[:-1][within], dtype=float), poly, np.zeros((3, 0, len(poly))))
