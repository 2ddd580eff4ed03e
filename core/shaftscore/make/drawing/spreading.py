"""Rows beside a drawing that keep clear of one another, each as near to its own height as can be."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def spread(wanted: Sequence[float], highs: Sequence[float], bottom: float, top: float) -> list[float]:
    """Return middles near those wanted (mm, rising) without overlaps, in the same order.

    Each keeps half its own height and half its neighbour's; where the room from bottom to top is too small,
    the distances shrink evenly.
    """
    if not wanted:
        return []
    gaps = [(a + b) / 2 for a, b in pairwise(highs)]
    room = top - bottom - (highs[0] + highs[-1]) / 2
    shrink = min(1.0, room / sum(gaps)) if gaps else 1.0
    places = [max(wanted[0], bottom + highs[0] / 2)]
    for z, gap in zip(wanted[1:], gaps, strict=True):
        places.append(max(z, places[-1] + gap * shrink))
    # What was pushed out at the top pushes back down.
    ceiling = top - highs[-1] / 2
    for index in range(len(places) - 1, -1, -1):
        places[index] = min(places[index], ceiling)
        ceiling = places[index] - (gaps[index - 1] * shrink if index else 0.0)
    return places
