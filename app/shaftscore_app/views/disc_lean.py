"""The limit of the pressure angle as the Disc view draws it: pure, without Qt.

At the roller it is a wedge about the line of travel in which the contact normal may lie; on the disc it is
passed on stretches of the profile.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import ahead, wrap
from shaftscore.base.tolerance import LIMIT, over
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles import Kinematics, Profile
from shaftscore.kinematics.profiles.pieces import STILL_SHARE

Points = npt.NDArray[np.complex128]

STRETCH_POINTS = 33
"""Points that draw one stretch."""


@dataclass(frozen=True)
class LeanLimit:
    """How far the contact normal may lean from the travel at one angle, degrees.

    clockwise, counterclockwise: where the follower moves both are the limit of that move; at rest each is
    that of the move in which it leans so. limit_deg: the one on the side on which it leans. is_over:
    whether it leans farther; at rest it never does, since no limit is for a rest.
    """

    clockwise: float
    counterclockwise: float
    limit_deg: float
    is_over: bool


def lean_limit(profile: Profile, at: Kinematics) -> LeanLimit | None:
    """Return the limit at one angle of the stack; None for a flat face and on the edge of a drop.

    at: the kinematics at that angle alone.
    """
    rise = _moving(profile, wrap(float(at.theta_deg[0])), float(at.lift[1, 0]))
    if rise is None:
        return None
    # Positive pressure angles lean with the turn of the disc, as on a rise.
    ahead_deg, back_deg = (_limit(profile, rise or side) for side in (1, -1))
    angle = float(at.pressure_deg[0])
    limit = ahead_deg if angle >= 0 else back_deg
    sides = (back_deg, ahead_deg) if profile.direction > 0 else (ahead_deg, back_deg)
    return LeanLimit(*sides, limit, rise != 0 and over(abs(angle), limit))


def _moving(profile: Profile, theta_deg: float, velocity_mm: float) -> int | None:
    """Return whether the follower rises (+1), falls (-1) or rests (0); None where no limit is for it.

    velocity_mm: of the lift, by radian.
    """
    pieces = profile.nodes.pieces
    here = next((p for p in pieces if ahead(p.start_deg, theta_deg) <= p.length_deg), pieces[-1])
    if profile.model.is_flat or not here.judged:
        return None
    still = STILL_SHARE * float(np.max(np.abs(profile.nodes.lift[1])))
    return int(np.sign(velocity_mm)) if abs(velocity_mm) > still else 0


def _limit(profile: Profile, rise: int) -> float:
    return profile.limits.rise_deg if rise > 0 else profile.limits.fall_deg


def steep_stretches(profile: Profile) -> tuple[Points, ...]:
    """Return the stretches of the profile beyond the limit of the pressure angle, disc frame, mm.

    Their ends are laid between two nodes of the motion by a straight line, far under a pixel off.
    """
    if profile.model.is_flat:
        return ()
    nodes = profile.nodes
    limit = np.where(nodes.rise > 0, profile.limits.rise_deg, profile.limits.fall_deg)
    judged = nodes.judged & (nodes.rise != 0)
    excess = np.where(judged, np.abs(profile.at_nodes.pressure_deg) - limit, -1.0)
    found: list[tuple[float, float]] = []
    segment = np.array([piece.segment for piece in nodes.pieces])[nodes.piece]
    for number in sorted(set(segment.tolist())):
        own = segment == number
        found += over_zero(nodes.theta_deg[own], excess[own])
    ends = np.array(found).reshape(-1, 2)
    theta = ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * np.linspace(0.0, 1.0, STRETCH_POINTS)
    if not found:
        return ()
    return tuple(np.asarray(profile.at(wrap(theta.ravel())).profile).reshape(theta.shape))


def over_zero(theta_deg: Reals, excess: Reals) -> list[tuple[float, float]]:
    """Return where a sampled curve (n,) is over 0 by more than the tolerance: ends of each stretch."""
    above = np.concatenate([[False], excess > LIMIT, [False]])
    starts, stops = np.flatnonzero(above[1:] & ~above[:-1]), np.flatnonzero(above[:-1] & ~above[1:]) - 1
    return [
        (_end(theta_deg, excess, int(start), -1), _end(theta_deg, excess, int(stop), 1))
        for start, stop in zip(starts, stops, strict=True)
    ]


def _end(theta_deg: Reals, excess: Reals, node: int, way: int) -> float:
    """Return where the curve meets 0 between a node above it and the next one on a way."""
    other = node + way
    if not 0 <= other < len(theta_deg):
        return float(theta_deg[node])
    share = excess[node] / (excess[node] - min(float(excess[other]), 0.0))
    return float(theta_deg[node] + share * (theta_deg[other] - theta_deg[node]))
