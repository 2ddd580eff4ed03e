"""Which runs of two curves come near one another: trees of boxes over runs of successive nodes.

Runs that lie far apart are set aside many at a time: the box about a whole branch is compared first, and
its halves only where it is near. So the work grows with what is near, not with the square of the nodes.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles.pieces import Indices

RUN = 16
"""Most nodes in a run."""


@dataclass(frozen=True, eq=False)
class Runs:
    """Stretches of successive nodes of a closed curve, in their order.

    first, count: (k,) index of the first node and number of nodes, 1 to `RUN`. gap: (k,) a mark; only
    runs of one mark are compared.
    """

    first: Indices
    count: Indices
    gap: Indices

    @property
    def windows(self) -> Indices:
        """Indices of the nodes of each run and of one more on either side, not wrapped: (k, RUN + 2)."""
        return np.asarray(self.first[:, None] + np.arange(-1, RUN + 1))


def runs_of(chosen: Indices, gap: Indices) -> Runs:
    """Return the runs that hold the chosen nodes: (c,) indices, ascending; gap: (c,) the mark of each."""
    breaks = np.flatnonzero((np.diff(chosen) != 1) | (np.diff(gap) != 0)) + 1
    starts = np.concatenate([[0], breaks]).astype(np.intp)
    lengths = np.diff(np.append(starts, len(chosen)))
    parts = -(-lengths // RUN)
    before = np.arange(np.sum(parts)) - np.repeat(np.cumsum(parts) - parts, parts)
    at = np.repeat(starts, parts) + before * RUN
    count = np.minimum(RUN, np.repeat(starts + lengths, parts) - at)
    return Runs(chosen[at], count, gap[at])


@dataclass(frozen=True, eq=False)
class BoxRow:
    """Boxes of one level of a tree, (k,) each: corners and room about them in mm, least and greatest mark."""

    left: Reals
    right: Reals
    bottom: Reals
    top: Reals
    room: Reals
    least_gap: Indices
    greatest_gap: Indices

    def __len__(self) -> int:
        """Return the number of boxes."""
        return len(self.left)

    def halved(self) -> BoxRow:
        """Return the boxes about every two neighbours; a last one without a neighbour stays alone."""
        least = {"left", "bottom", "least_gap"}
        merged = [
            (np.minimum if field.name in least else np.maximum).reduceat(
                getattr(self, field.name), np.arange(0, len(self), 2)
            )
            for field in fields(self)
        ]
        return BoxRow(*merged)


def boxes_of(curve: Points, room_mm: Reals, runs: Runs) -> BoxRow:
    """Return the box about each run of a closed curve (n,); room_mm: (n,) the room about each node."""
    inside = np.minimum(np.arange(RUN), runs.count[:, None] - 1)
    at = runs.first[:, None] + inside
    x, y = curve.real[at], curve.imag[at]
    room = np.max(room_mm[at], axis=1)
    return BoxRow(x.min(1), x.max(1), y.min(1), y.max(1), room, runs.gap, runs.gap)


def near_runs(first: BoxRow, second: BoxRow, reach_mm: float) -> tuple[Indices, Indices]:
    """Return which boxes of two rows of one length come within reach: (p,) indices of each, in their order.

    The reach grows by the room of both.
    """
    levels = [(first, second)]
    while len(levels[-1][0]) > 1:
        levels.append((levels[-1][0].halved(), levels[-1][1].halved()))
    one = other = np.zeros(1, np.intp)
    for number, (row, column) in enumerate(reversed(levels)):
        if number:
            one, other = _children(one, other, len(row))
        near = _is_near(row, column, one, other, reach_mm)
        one, other = one[near], other[near]
    order = np.lexsort((other, one))
    return one[order], other[order]


def _children(one: Indices, other: Indices, count: int) -> tuple[Indices, Indices]:
    """Return the pairs of halves of pairs of boxes, of which there are `count` in a row."""
    rows = np.concatenate([2 * one, 2 * one, 2 * one + 1, 2 * one + 1])
    columns = np.concatenate([2 * other, 2 * other + 1, 2 * other, 2 * other + 1])
    there = (rows < count) & (columns < count)
    return rows[there], columns[there]


def _is_near(row: BoxRow, column: BoxRow, one: Indices, other: Indices, reach_mm: float) -> Indices:
    across = np.maximum(row.left[one] - column.right[other], column.left[other] - row.right[one])
    along = np.maximum(row.bottom[one] - column.top[other], column.bottom[other] - row.top[one])
    apart = np.hypot(np.maximum(across, 0.0), np.maximum(along, 0.0))
    reach = reach_mm + row.room[one] + column.room[other]
    same = (row.least_gap[one] <= column.greatest_gap[other]) & (
        column.least_gap[other] <= row.greatest_gap[one]
    )
    return np.flatnonzero(same & (apart <= reach))
