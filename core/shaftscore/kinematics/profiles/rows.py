"""Where a lane's moves pass the rows of its linkage's table, at which the lift's second derivative steps.

Each row is passed by each move, so many moves over a long table would make a million pieces. Their number is
bounded: where there are more, the rows that a move passes are put into groups of neighbours, and of each
group the two rows count at which the step bends the lift most and least.

    (1) s'' = f2 v^2 + f1 a: a row's part is f2 v^2; v^2 of a move that starts and ends at rest is about
        y (1 - y) of its largest, with y the share of its travel
"""

from __future__ import annotations

from itertools import pairwise
from typing import Protocol

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.followers import Reals

MOST_CUTS = 4_000
"""Rows that count on one turn of a lane: more are thinned out, down to 2 LEAST_GROUPS a move."""

LEAST_GROUPS = 4
"""Groups of rows on a move, at least."""

SAME_MM = 1e-9
"""A row this near to the end of a run is its end."""

Indices = npt.NDArray[np.intp]
"""Numbers of rows or runs, (k,)."""


class RunSource(Protocol):
    """What is read of a motion (`shaftscore.kinematics.motion.lane_motion.LaneMotion`)."""

    @property
    def run_ends_mm(self) -> Reals:
        """Outputs at both ends of the runs, within which the output goes one way: (2, r)."""
        ...

    def reached(self, run: Indices, output_mm: Reals) -> tuple[Indices, Reals]:
        """Return where runs pass outputs: segments and shares of their lengths, (m,) of (m,)."""
        ...


def row_cuts(motion: RunSource, steps: Reals) -> dict[int, list[float]]:
    """Return by segment where it passes rows of a table, as shares of its length, in any order.

    steps: (3, k) the rows' outputs, mm, ascending, and the second derivatives before and behind them.
    """
    if not steps.shape[1]:
        return {}
    low, high = np.sort(motion.run_ends_mm, axis=0)
    first = np.searchsorted(steps[0], low + SAME_MM, "right")
    stop = np.maximum(np.searchsorted(steps[0], high - SAME_MM, "left"), first)
    groups = _groups(stop - first)
    kept: dict[tuple[int, int], Indices] = {}
    for way in zip(first.tolist(), stop.tolist(), strict=True):
        if way not in kept:
            kept[way] = _chosen(steps, *way, groups)
    rows = [kept[way] for way in zip(first.tolist(), stop.tolist(), strict=True)]
    run = np.repeat(np.arange(len(rows)), [len(of_run) for of_run in rows])
    segment, share = motion.reached(run, steps[0, np.concatenate(rows)])
    cuts: dict[int, list[float]] = {}
    for number, at in zip(segment.tolist(), share.tolist(), strict=True):
        cuts.setdefault(number, []).append(at)
    return cuts


def _groups(passed: Indices) -> int:
    """Return into how many groups the rows that one run passes are put; `passed`: their number, by run."""
    if int(passed.sum()) <= MOST_CUTS:
        return int(passed.max())
    return max(LEAST_GROUPS, MOST_CUTS // (2 * int(np.count_nonzero(passed))))


def _chosen(steps: Reals, first: int, stop: int, groups: int) -> Indices:
    """Return the rows that count among those from `first` to before `stop`."""
    if stop - first <= 2 * groups:
        return np.arange(first, stop)
    y = np.linspace(0.0, 1.0, stop - first + 2)[1:-1]
    bends = np.sort(steps[1:, first:stop] * y * (1 - y), axis=0)  # (1)
    edges = np.linspace(0, stop - first, groups + 1).astype(int).tolist()
    found = set()
    for start, end in pairwise(edges):
        found |= {start + int(np.argmax(bends[1, start:end])), start + int(np.argmin(bends[0, start:end]))}
    return first + np.array(sorted(found))
