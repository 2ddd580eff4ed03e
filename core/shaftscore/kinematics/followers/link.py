"""From output to lift: a constant ratio, an arm's two lengths, or a linkage's table.

*Output* is what the lane's levels and ranges speak of; *lift* is the travel of the roller's centre.
A table of (roller, output) is read by a monotone piecewise cubic (Fritsch and Carlson, "Monotone
piecewise cubic interpolation", SIAM J. Numer. Anal. 17, 1980, with the weighted harmonic mean of
Fritsch and Butland for the slopes): it never overshoots, and its second derivative steps at the rows.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import LIMIT
from shaftscore.kinematics.followers.model import Reals
from shaftscore.model.lanes import Follower, Link, SwingingRoller


class LinkRangeError(ValueError):
    """A lane's output that its linkage's table does not reach."""


def lift_of(follower: Follower, values: Reals) -> Reals:
    """Turn output and its first three derivatives into lift and its derivatives: (4, n) -> (4, n), mm.

    Raises LinkRangeError if the follower has a table and the output leaves it.
    """
    if follower.link is not None:
        return _through(follower.link, values)
    if isinstance(follower, SwingingRoller):
        return values * (follower.arm_mm / (follower.output_arm_mm or follower.arm_mm))
    return values / follower.output_ratio


def lift_alone(follower: Follower, output_mm: Reals) -> Reals:
    """Turn outputs into lifts, mm, without derivatives: (n,), or an array of any shape, of the same.

    Outputs beyond a link's table count as its ends.
    """
    if follower.link is None:
        return np.asarray(output_mm * lift_of(follower, np.ones((4, 1)))[0, 0])
    x, y, slopes = _table(follower.link)
    output = np.clip(output_mm, x[0], x[-1])
    row, t, c2, c3 = _cubic(x, y, slopes, output)
    return np.asarray(y[row] + t * (slopes[row] + t * (c2 + t * c3)))


def link_steps(follower: Follower) -> Reals:
    """Return where the lift's second derivative by the output steps: the rows inside a link's table.

    (3, k): the outputs, mm, ascending, and the second derivative before and behind them, 1/mm. (3, 0) without
    a table.
    """
    if follower.link is None or len(follower.link) < 3:
        return np.zeros((3, 0))
    x, y, slopes = _table(follower.link)
    width = np.diff(x)
    chord = np.diff(y) / width
    at_start = 2 * (3 * chord - 2 * slopes[:-1] - slopes[1:]) / width
    at_end = 2 * (slopes[:-1] + 2 * slopes[1:] - 3 * chord) / width
    return np.stack([x[1:-1], at_end[:-1], at_start[1:]])


def _through(link: Link, values: Reals) -> Reals:
    """Apply roller = f(output) and the chain rule up to the third derivative."""
    first, last = link[0].output_mm, link[-1].output_mm
    low, high = float(values[0].min()), float(values[0].max())
    if low < first - LIMIT or high > last + LIMIT:
        raise LinkRangeError(
            f"the link's table reaches from {first:g} to {last:g} mm of output, the lane needs "
            f"{low:g} to {high:g}: add rows to the table"
        )
    f0, f1, f2, f3 = _curve(link, np.clip(values[0], first, last))
    _, v, a, j = values
    return np.stack([f0, f1 * v, f2 * v**2 + f1 * a, f3 * v**3 + 3 * f2 * v * a + f1 * j])


def _curve(link: Link, output: Reals) -> tuple[Reals, Reals, Reals, Reals]:
    """Return the monotone cubic and its derivatives at `output`, inside the table."""
    x, y, slopes = _table(link)
    row, t, c2, c3 = _cubic(x, y, slopes, output)
    value = y[row] + t * (slopes[row] + t * (c2 + t * c3))
    return value, slopes[row] + t * (2 * c2 + 3 * t * c3), 2 * c2 + 6 * t * c3, 6 * c3


def _cubic(
    x: Reals, y: Reals, slopes: Reals, output: Reals
) -> tuple[npt.NDArray[np.intp], Reals, Reals, Reals]:
    """Return the row before each output, how far it is beyond it, and the cubic's higher coefficients."""
    row = np.clip(np.searchsorted(x, output, side="right") - 1, 0, len(x) - 2)
    width, t = (x[1:] - x[:-1])[row], output - x[row]
    chord = (y[row + 1] - y[row]) / width
    c2 = (3 * chord - 2 * slopes[row] - slopes[row + 1]) / width
    c3 = (slopes[row] + slopes[row + 1] - 2 * chord) / width**2
    return row, t, c2, c3


@lru_cache(maxsize=64)
def _table(link: Link) -> tuple[Reals, Reals, Reals]:
    """Return outputs, roller travels and slopes at the rows."""
    x = np.array([row.output_mm for row in link])
    y = np.array([row.roller_mm for row in link])
    return x, y, _slopes(np.diff(x), np.diff(y) / np.diff(x))


def _slopes(width: Reals, chord: Reals) -> Reals:
    """Return monotone slopes: weighted harmonic means inside, one-sided parabolas at the ends."""
    if len(chord) == 1:
        return np.array([chord[0], chord[0]])
    before, after = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    inner = (before + after) / (before / chord[:-1] + after / chord[1:])
    first = _end_slope(width[0], width[1], chord[0], chord[1])
    last = _end_slope(width[-1], width[-2], chord[-1], chord[-2])
    return np.concatenate([[first], inner, [last]])


def _end_slope(near: float, far: float, chord: float, next_chord: float) -> float:
    """Return the slope of the parabola through three rows, kept between 0 and 3 chords."""
    slope = ((2 * near + far) * chord - near * next_chord) / (near + far)
    return float(np.clip(slope, 0.0, 3 * chord))
