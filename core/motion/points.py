"""Lanes whose motion is a table: a periodic spline through its points.

The spline is cubic or quintic, whichever passes nearer by the points left out when it is laid through
every second point only; that distance is the stated fit error. Both have continuous acceleration;
a quintic has continuous jerk besides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from core.angles import TURN, ahead
from core.model import Lane, MotionPoint
from core.motion.curve import Curve, Floats
from core.motion.lane_motion import LaneMotion
from core.motion.no_motion import NoMotion
from core.motion.segments import Spline
from core.tolerance import ANGLE_DEG

LEAST = {3: 3, 5: 6}
"""Fewest points through which a periodic spline of each degree is laid."""


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


def spline_through(points: Sequence[MotionPoint], degree: int | None = None) -> Spline:
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
    best = min(errors, key=lambda d: (np.inf if errors[d] is None else errors[d], d))
    return Spline(start, periodic_curve(x, y, best), best, errors[best])


def left_out_error(x: Floats, y: Floats, degree: int) -> float | None:
    """Largest distance (mm) of the points left out from the spline through every second point.

    None where half of the points are too few for a spline.
    """
    kept = slice(0, len(x) - len(x) % 2, 2)
    if len(x[kept]) < LEAST[degree]:
        return None
    curve = periodic_curve(x[kept], y[kept], degree)
    return float(np.max(np.abs(curve.at(x, orders=1)[0] - y)))


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
