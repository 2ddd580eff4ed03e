"""The output of a lane as a line of the diagram: its corners, its seen copies, its stretches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, Angles, Arcs, wrap
from shaftscore.make.drawing.thinning import thinned
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.strips import Strip
from shaftscore.solution import LaneSolution


@dataclass(frozen=True)
class LaneCurve:
    """The true displacement over one turn of the master: angles, which never fall, and outputs, (n,) each.

    The last angle is one turn after the first.
    """

    theta_deg: Angles
    output_mm: Angles


def curve_of(solution: LaneSolution | None) -> LaneCurve | None:
    """Return the curve of a lane; None without motion."""
    if solution is None or solution.motion is None:
        return None
    nodes, turns = solution.motion.usual_nodes, solution.turns
    copies = [(nodes.theta_deg + TURN * copy) / turns for copy in range(turns)]
    return LaneCurve(np.concatenate(copies), np.tile(nodes.values[0], turns))


def are_alike(first: LaneCurve | None, second: LaneCurve | None) -> bool:
    """Return whether two curves run alike; most edits of a lane leave its motion as it is."""
    if first is None or second is None:
        return first is second
    same_angles = np.array_equal(first.theta_deg, second.theta_deg)
    return same_angles and np.array_equal(first.output_mm, second.output_mm)


def curve_line(axis: Axis, strip: Strip, curve: LaneCurve) -> tuple[Angles, Angles]:
    """Return x and y of the corners of the curve of one turn, (n,) px each; x from its own begin."""
    theta, output = curve.theta_deg, curve.output_mm
    x = (theta - theta[0]) * axis.px_per_deg
    y = strip.y(0.0) - output * travel_of(strip)
    return thinned(x, y)


def travel_of(strip: Strip) -> float:
    """Return how far the curve rises for 1 mm of output, px."""
    return strip.y(0.0) - strip.y(1.0)


def turns_seen(axis: Axis, first_deg: float) -> list[float]:
    """Return the places at which a seen copy of a curve begins, px; may lie outside the view."""
    return [piece.begin for piece in axis.pieces(first_deg, TURN)]


def highest(curve: LaneCurve, begin_deg: float, end_deg: float) -> float:
    """Return the greatest output of a curve between two unwrapped angles, mm."""
    nodes = wrap(curve.theta_deg - begin_deg)
    inside = curve.output_mm[nodes <= end_deg - begin_deg]
    ends = np.interp([wrap(begin_deg), wrap(end_deg)], curve.theta_deg, curve.output_mm, period=TURN)
    return float(max(inside.max(initial=0.0), ends.max()))


def stretch_points(
    axis: Axis, strip: Strip, curve: LaneCurve, spans: Arcs
) -> Iterator[tuple[Angles, Angles]]:
    """Yield x and y, (n,) px each, of the curve over stretches of master angles, for each seen copy."""
    theta, output = curve.theta_deg, curve.output_mm
    inner = np.concatenate([theta - TURN, theta, theta + TURN])
    values = np.tile(output, 3)
    foot, travel = strip.y(0.0), travel_of(strip)
    for start, length in spans.spans:
        pieces = list(axis.pieces(start, length))
        if not pieces:
            continue
        first, last = np.searchsorted(inner, start, "right"), np.searchsorted(inner, start + length, "left")
        near = slice(max(0, min(first, last) - 1), max(first, last) + 1)
        ends = np.interp([start, start + length], inner[near], values[near])
        angles = np.concatenate([[start], inner[first:last], [start + length]])
        ys = foot - np.concatenate([ends[:1], values[first:last], ends[1:]]) * travel
        for piece in pieces:
            yield piece.begin + (angles - start) * axis.px_per_deg, ys
