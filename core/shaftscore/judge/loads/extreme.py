"""The greatest value of a figure over the turn, finer than the places where it was sampled.

A figure is sampled on the nodes of the motion's smooth pieces, both ends of each included. Every node that
its neighbours in its own piece do not exceed has the greatest value near it, at an end of a piece as well
as within one. The stretch between such a node's neighbours is divided again and again, each time between
the neighbours of its best place: what is found is a value of the figure itself, and what is still missing
of a smooth maximum is below 1e-9 of the bend between two nodes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import PieceNodes

FINER = 64
"""Parts into which a stretch about a maximum is divided in each round."""

ROUNDS = 3
"""How often it is divided: each round leaves a 32nd of the stretch before. A call of the figure costs more
than what it calculates, so few rounds with many parts are quicker than the contrary."""

NEAR = 0.05
"""Local maxima within this share of the figure's range below the greatest are looked at again."""

MOST = 64
"""So many local maxima are looked at again, the greatest first: tables of points have thousands."""


@dataclass(frozen=True)
class Extreme:
    """A greatest (or least) value and where it is, degrees of the lane's stack."""

    value: float
    theta_deg: float


def greatest(nodes: PieceNodes, values: Reals, figure: Callable[[Reals], Reals]) -> Extreme | None:
    """Find the greatest value over all pieces; None where the figure has no finite value.

    values: (m,) the figure at the nodes, nan where it does not apply. figure: the same at any angles.
    """
    usable = _usable(values)
    if not np.any(np.isfinite(usable)):
        return None
    best = int(np.argmax(usable))
    found = Extreme(float(usable[best]), float(nodes.theta_deg[best]))
    low, high = _neighbourhoods(nodes, usable)
    for _ in range(ROUNDS if len(low) else 0):
        theta = np.linspace(low, high, FINER + 1, axis=1)
        finer = _usable(figure(theta.ravel())).reshape(theta.shape)
        row, at = np.unravel_index(int(np.argmax(finer)), finer.shape)
        if finer[row, at] > found.value:
            found = Extreme(float(finer[row, at]), float(theta[row, at]))
        low, high = _about_best(theta, finer)
    return found


def least(nodes: PieceNodes, values: Reals, figure: Callable[[Reals], Reals]) -> Extreme | None:
    """Find the least value over all pieces, as `greatest`; values: (m,) at the nodes."""
    found = greatest(nodes, -values, lambda theta: -figure(theta))
    return None if found is None else Extreme(-found.value, found.theta_deg)


def _usable(values: Reals) -> Reals:
    """Return values (m,) with -inf where they are not finite."""
    return np.where(np.isfinite(values), values, -np.inf)


def _neighbourhoods(nodes: PieceNodes, values: Reals) -> tuple[Reals, Reals]:
    """Return the neighbours, in their own piece, of the nodes that could have the greatest value near them.

    values: (m,). Returns the angles of the neighbours before and after, (k,) degrees each; a node at an end
    of its piece is its own neighbour there, read a hair inside the piece.
    """
    finite = values[np.isfinite(values)]
    floor = finite.max() - NEAR * (finite.max() - finite.min())
    along = nodes.piece[1:] == nodes.piece[:-1]
    joined_before, joined_after = np.r_[False, along], np.r_[along, False]
    before = np.where(joined_before, np.r_[-np.inf, values[:-1]], values)
    after = np.where(joined_after, np.r_[values[1:], -np.inf], values)
    top = (values >= floor) & (values >= before) & (values >= after)
    (at,) = np.nonzero(top & ~((before == values) & (after == values)))
    at = at[np.argsort(-values[at], kind="stable")][:MOST]
    place = nodes.inside_deg
    return place[at - joined_before[at]], place[at + joined_after[at]]


def _about_best(theta: Reals, values: Reals) -> tuple[Reals, Reals]:
    """Return the places before and after the best one of each row (k, n), degrees, (k,) each."""
    rows, best = np.arange(len(theta)), np.argmax(values, axis=1)
    return theta[rows, np.maximum(best - 1, 0)], theta[rows, np.minimum(best + 1, FINER)]
