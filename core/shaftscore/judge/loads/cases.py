"""Which end of a load's ranges counts for which figure.

Friction lies between the least and the most of a load's cases, the spring within its tolerance. Every figure
is judged at the ends that are worst for it: contact is lost first with the least friction on rises and the
most on falls; torque is greatest with the most friction and the strongest spring; springs drive the shaft
hardest with the strongest spring and the least friction.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.kinematics.followers import Reals
from shaftscore.model import Load


@dataclass(frozen=True)
class LoadCase:
    """Friction and spring of one case.

    on_rises, on_falls: friction, a factor from the least (0) to the most (1). spring: its deviation, a
    factor, -1 the weakest within the tolerance, 0 as stated, 1 the strongest.
    """

    on_rises: float
    on_falls: float
    spring: float = 0.0

    def friction_n(self, load: Load, direction: Reals) -> Reals:
        """Compute the friction along the travel, (n,) N; direction: (n,) +1 rise, -1 fall, 0 dwell."""
        least, spread = load.friction_least_n, load.friction_most_n - load.friction_least_n
        up, down = least + spread * self.on_rises, least + spread * self.on_falls
        return direction * (up * (direction > 0) + down * (direction < 0))


CONTACT = LoadCase(0.0, 1.0)
"""Contact and float: the spring as stated."""

LEAST_CONTACT = LoadCase(0.0, 1.0, -1.0)
"""The least contact force that the ranges allow."""

TORQUE = LoadCase(1.0, 1.0, 1.0)
"""Torque, drive and self-locking."""

OVERRUN = LoadCase(0.0, 0.0, 1.0)
"""Springs that drive the shaft."""

MOST_CONTACT = LoadCase(1.0, 0.0, 1.0)
"""The greatest contact force, and stress, that the ranges allow where a spring closes."""
