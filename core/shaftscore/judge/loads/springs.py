"""The spring that holds contact up to a wanted speed.

The driving force at a place is F = (preload + rate s + other) ratio + inertia ω². Contact holds where
F >= 0, so the missing force over all places gives the least preload at the present rate, and the least
rate at the present preload. A *margin* m on the speed asks for contact up to m times the wanted speed,
which is m² on the inertia.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.loads.lane import LaneLoads

MARGIN = 1.2
"""Usual margin on the speed at which contact is lost; common practice, no source."""


@dataclass(frozen=True)
class SpringAdvice:
    """What would hold contact.

    up_to_rpm: the speed of the master shaft, margin included. preload_n: least preload with the present
    rate, N. rate_n_per_mm: least rate with the present preload, N/mm; None where no rate helps, since
    contact is lost where the spring is not drawn out.
    """

    up_to_rpm: float
    preload_n: float
    rate_n_per_mm: float | None


def spring_for(loads: LaneLoads, speed_rpm: float, margin: float = MARGIN) -> SpringAdvice | None:
    """Return the least spring for a speed of the master shaft; None for a groove, which needs none.

    margin: the factor on the speed up to which it holds. Raises ValueError if the speed is not positive or
    the margin is below 1.
    """
    if speed_rpm <= 0 or margin < 1:
        raise ValueError(f"needs a speed over 0 and a margin of at least 1, got {speed_rpm} and {margin}")
    if loads.is_groove:
        return None
    forces, judged = loads.at_nodes(speed_rpm * margin), loads.profile.nodes.judged
    with np.errstate(invalid="ignore"):  # no preload is felt where a linkage stands still at its roller
        lacking = -(forces.driving_n / forces.steady_n_per_preload)
    judged = judged & np.isfinite(lacking)
    missing = lacking[judged]
    drawn = forces.carried_mm[judged]
    spring = loads.load.spring_force
    preload = max(0.0, spring.preload_n + float(np.max(missing)))
    idle = drawn <= LIMIT
    rate = None
    if not np.any(missing[idle] > LIMIT * max(1.0, spring.preload_n)):
        more = float(np.max(missing[~idle] / drawn[~idle], initial=-np.inf))
        rate = max(0.0, spring.rate_n_per_mm + more)
    return SpringAdvice(speed_rpm * margin, preload, rate)
