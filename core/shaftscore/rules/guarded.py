"""pass-through: whoever comes to a guarded level of a lane must have a block that asks for it.

A sweep through it is broken by as long as it lasts; where the lane stays away, nothing limits it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.model import LevelState
from shaftscore.rules.times import MachineTimes, RulePlace


def places(times: MachineTimes, lane_id: str, level: str) -> Iterator[RulePlace]:
    """Judge each interval of a guarded level."""
    for held in times.held(LevelState(lane=lane_id, level=level)):
        passing = held.present & ~held.meant
        yield RulePlace((lane_id,), np.where(passing, -held.length, np.inf))
