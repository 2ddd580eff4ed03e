"""Counts of machines by their smallest slack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.spread.draws import Floats

BINS = 40
"""Columns of the histogram."""


@dataclass(frozen=True)
class Histogram:
    """Counts of machines by their smallest slack: edges (b + 1,) degrees, rising; counts (b,).

    Machines in which something does not happen at all have no slack and are not in it. Where machines stand
    on both sides of 0, it is an edge.
    """

    edges_deg: tuple[float, ...]
    counts: tuple[int, ...]


def histogram(slack: Floats) -> Histogram:
    """Count the finite smallest slacks, (n,) degrees; those far under the rest in the first column."""
    finite = slack[np.isfinite(slack)]
    if not len(finite):
        return Histogram((), ())
    low = max(reached(finite, 0.001), float(finite.max()) - 180.0)
    if bool(np.any(finite < -LIMIT)):  # however few and far they are, they stand in a column under 0
        low = min(low, -float(finite.max()) / BINS, -LIMIT)
    width = max(float(finite.max()) - low, LIMIT) / BINS
    first, last = int(np.floor(low / width)), int(np.ceil(float(finite.max()) / width))
    edges = np.arange(first, max(last, first + 1) + 1) * width
    counts, _ = np.histogram(np.clip(finite, edges[0], edges[-1]), bins=edges)
    return Histogram(tuple(edges.tolist()), tuple(int(count) for count in counts))


def reached(values: Floats, share: float) -> float:
    """Return the value that a share of values (n,) does not pass, read linearly between the two beside it.

    The same as `np.percentile`, which loads numpy's masked arrays first.
    """
    place = share * (len(values) - 1)
    low, high = np.sort(values)[[int(place), int(np.ceil(place))]].tolist()
    part = place - int(place)
    # Read from the nearer end, so that the ends are met exactly.
    return float(low + (high - low) * part if part < 0.5 else high - (high - low) * (1.0 - part))
