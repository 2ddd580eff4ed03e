"""Whether a lane sticks or floats in built machines, whose friction and spring differ from the drawing's.

At one angle all forces are linear in the friction and in the spring, so a lane works where a number of
linear margins are all above 0. Those that are above another one for every machine that may be built say
nothing; what is left of thousands of angles is a few.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from shaftscore.judge.loads.cases import CONTACT, LoadCase
from shaftscore.judge.loads.reserve import SpringReserve
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import Flags, PieceNodes

FINER = 4
"""Angles looked at between two nodes of the motion."""

LEAST_FRICTION, MOST_FRICTION, STRONGEST = LoadCase(0.0, 0.0), LoadCase(1.0, 1.0), LoadCase(0.0, 0.0, 1.0)

MOST_DRAW = 3.0
"""Spring draws beyond this count as this: nine standard deviations."""


@dataclass(frozen=True, eq=False)
class ForceLimits:
    """Margins that must all be above 0: base + friction x share + spring x draw, N; (k,) each.

    share: friction from the least (0) to the most (1). draw: the spring's deviation, a unit draw that is
    1 at its plus-minus limit.
    """

    base_n: Reals
    friction_n: Reals
    spring_n: Reals

    def fails(self, friction_share: Reals, spring_draw: Reals) -> Flags:
        """Return which machines stick or float: shares (n,) 0 to 1 and unit draws (n,) of their springs."""
        draw = np.clip(spring_draw, -MOST_DRAW, MOST_DRAW)
        failed = np.zeros(np.broadcast(friction_share, draw).shape, dtype=bool)
        for base, friction, spring in zip(self.base_n, self.friction_n, self.spring_n, strict=True):
            failed |= base + friction * friction_share + spring * draw <= 0
        return failed


def force_limits(reserve: SpringReserve) -> ForceLimits:
    """Gather the margins of a lane whose follower a spring holds: none sticks on a fall, none floats."""
    theta = _finer(reserve.profile.nodes)
    forces, free = reserve.inside(theta, CONTACT), reserve.free_at(theta)
    returns, judged = reserve.returns_at(theta, forces.direction), ~free

    def margins(case: LoadCase) -> Reals:
        held = replace(forces, case=case)
        back, ratio = held.returning(free), held.steady_n_per_preload
        with np.errstate(invalid="ignore"):  # no force is felt where a linkage stands still at its roller
            pressed = [held.driving_n / ratio, held.steady_n / ratio]
        spare = back.available_n - back.required_n
        return np.concatenate([spare[returns], *(force[judged] for force in pressed)])

    none, most, strong = (margins(case) for case in (LEAST_FRICTION, MOST_FRICTION, STRONGEST))
    rows = np.column_stack([none, most - none, strong - none])
    return ForceLimits(*_least_rows(rows[np.all(np.isfinite(rows), axis=1)]).T)


def _finer(nodes: PieceNodes) -> Reals:
    """Return the nodes and places between those of one piece, degrees, (k,)."""
    inside, step = nodes.inside_deg, np.arange(FINER) / FINER
    (first,) = np.nonzero(nodes.piece[1:] == nodes.piece[:-1])
    between = inside[first, None] + (inside[first + 1] - inside[first])[:, None] * step
    return np.concatenate([between.ravel(), inside[np.append(nodes.piece[1:] != nodes.piece[:-1], True)]])


def _least_rows(rows: Reals) -> Reals:
    """Keep the margins (k, 3) that no other one is below in every machine: (m, 3)."""
    shares, draws = np.array([0.0, 1.0, 0.0, 1.0]), MOST_DRAW * np.array([-1.0, -1.0, 1.0, 1.0])
    corners = rows[:, :1] + rows[:, 1:2] * shares + rows[:, 2:] * draws  # linear: its ends say it all
    order = np.argsort(corners.sum(axis=1), kind="stable")  # none that comes later can be below one before
    kept = []
    while len(order):
        kept.append(order[0])
        order = order[~np.all(corners[order] >= corners[order[0]], axis=1)]
    return rows[kept]
