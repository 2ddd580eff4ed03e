"""Stretches of the turn in which a figure is over its limit, beside its worst place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import Arcs, wrap
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import PieceNodes
from shaftscore.kinematics.profiles.places import roots

MOST = 1e30
"""What is infinitely over or under its limit counts as this much."""


@dataclass(frozen=True)
class OverLimit:
    """The stretch about the worst place, degrees of the lane's stack, and how many others there are."""

    worst: Arcs
    others: int


def over_limit(
    nodes: PieceNodes, excess: Reals, figure: Callable[[Reals], Reals], worst_deg: float
) -> OverLimit:
    """Find where a figure is at or over its limit.

    excess: (m,) at the nodes, 0 or more where it is over, nan where it does not apply. figure: the same at
    any angles (n,) inside the pieces, degrees counted as the nodes' are. worst_deg: a place that is over,
    also between two nodes.
    """
    found = stretches_over(nodes, excess, figure, worst_deg)
    at = wrap(worst_deg)
    about = [Arcs.span(start, length) for start, length in found.spans]
    if found.is_full or not about:
        return OverLimit(found if found.is_full else Arcs.span(at, 0.0), 0)
    worst = min(about, key=lambda span: span.gap(Arcs.span(at, 0.0)))
    return OverLimit(worst, len(about) - 1)


def stretches_over(
    nodes: PieceNodes, excess: Reals, figure: Callable[[Reals], Reals], worst_deg: float
) -> Arcs:
    """Find all stretches in which a figure is at or over its limit, as `over_limit` reads them.

    excess: (m,). worst_deg: degrees.
    """
    return Arcs.of(_stretches(nodes, excess, figure, worst_deg))


def _stretches(
    nodes: PieceNodes, excess: Reals, figure: Callable[[Reals], Reals], worst_deg: float
) -> Iterator[tuple[float, float]]:
    """Yield (start, length) in degrees between successive places of one piece where a figure is over."""
    theta, piece, values = _with_worst(nodes, excess, figure, worst_deg)
    values = np.clip(np.where(np.isnan(values), -1.0, values), -MOST, MOST)
    over = values >= 0
    (first,) = np.nonzero(piece[1:] == piece[:-1])
    low, high = theta[first], theta[first + 1]
    turns = over[first] != over[first + 1]
    cut = low.copy()
    if turns.any():
        ends = values[first][turns], values[first + 1][turns]
        cut[turns] = roots(figure, low[turns], high[turns], *ends)
    starts = np.where(over[first], low, cut)
    stops = np.where(over[first + 1], high, cut)
    for start, stop, any_over in zip(starts, stops, over[first] | over[first + 1], strict=True):
        if any_over and stop > start:
            yield float(start), float(stop - start)


def _with_worst(
    nodes: PieceNodes, excess: Reals, figure: Callable[[Reals], Reals], worst_deg: float
) -> tuple[Reals, Reals, Reals]:
    """Return angles, pieces and excesses of the nodes, the worst place among them: (m + 1,) each."""
    place, inside = nodes.theta_deg, nodes.inside_deg
    at = place[0] + wrap(worst_deg - place[0])
    after = int(np.clip(np.searchsorted(place, at), 1, len(place) - 1))
    read = np.clip([at], inside[after - 1], inside[after])
    return (
        np.insert(place, after, at),
        np.insert(nodes.piece, after, nodes.piece[after - 1]),
        np.insert(excess, after, figure(read)[0]),
    )
