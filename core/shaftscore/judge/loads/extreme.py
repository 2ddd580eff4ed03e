"""The greatest value of a figure over the turn, finer than the places where it was sampled.

A figure is sampled on the nodes of the motion's smooth pieces. Every local maximum that could be the
greatest is looked at again on a finer row of places between its neighbours, and closed by the parabola
through the best three: the error left is far below the tolerance for forces.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import PieceNodes

FINER = 16
"""Places into which the neighbourhood of a maximum is divided."""

NEAR = 0.05
"""Local maxima within this share of the figure's range below the greatest are looked at again."""


@dataclass(frozen=True)
class Extreme:
    """A greatest (or least) value and where it stands, degrees of the lane's stack."""

    value: float
    theta_deg: float


def greatest(nodes: PieceNodes, values: Reals, figure: Callable[[Reals], Reals]) -> Extreme | None:
    """Find the greatest value over all pieces; None where the figure has no finite value.

    values: (m,) the figure at the nodes, nan where it does not apply. figure: the same at any angles.
    """
    usable = np.where(np.isfinite(values), values, -np.inf)
    if not np.any(np.isfinite(values)):
        return None
    best = int(np.argmax(usable))
    found = Extreme(float(usable[best]), float(nodes.theta_deg[best]))
    for low, high in _neighbourhoods(nodes, usable):
        theta = np.linspace(low, high, FINER + 1)
        finer = _closed(theta, figure(theta))
        if finer is not None and finer.value > found.value:
            found = finer
    return found


def least(nodes: PieceNodes, values: Reals, figure: Callable[[Reals], Reals]) -> Extreme | None:
    """Find the least value over all pieces, as `greatest`; values: (m,) at the nodes."""
    found = greatest(nodes, -values, lambda theta: -figure(theta))
    return None if found is None else Extreme(-found.value, found.theta_deg)


def _neighbourhoods(nodes: PieceNodes, values: Reals) -> list[tuple[float, float]]:
    """Return the stretches about the local maxima that could hold the greatest value."""
    finite = values[np.isfinite(values)]
    floor = finite.max() - NEAR * (finite.max() - finite.min())
    inside = np.zeros(len(values), bool)
    inside[1:-1] = (nodes.piece[:-2] == nodes.piece[1:-1]) & (nodes.piece[2:] == nodes.piece[1:-1])
    inside[1:-1] &= (values[1:-1] >= values[:-2]) & (values[1:-1] >= values[2:])
    (at,) = np.nonzero(inside & (values >= floor))
    flat = values[at - 1] == values[at + 1] if len(at) else np.zeros(0, bool)
    return [(float(nodes.theta_deg[i - 1]), float(nodes.theta_deg[i + 1])) for i in at[~flat][:8]]


def _closed(theta: Reals, values: Reals) -> Extreme | None:
    """Close a maximum by the parabola through its best place and both neighbours."""
    usable = np.where(np.isfinite(values), values, -np.inf)
    at = int(np.argmax(usable))
    if not np.isfinite(usable[at]):
        return None
    if at in (0, len(theta) - 1) or not np.all(np.isfinite(usable[at - 1 : at + 2])):
        return Extreme(float(usable[at]), float(theta[at]))
    before, top, after = usable[at - 1 : at + 2]
    bend = before - 2 * top + after
    if bend >= 0:
        return Extreme(float(top), float(theta[at]))
    shift = 0.5 * (before - after) / bend
    value = top - 0.25 * (before - after) * shift
    return Extreme(float(value), float(theta[at] + shift * (theta[1] - theta[0])))
