"""supply: it yields what each magazine on it needs, faster machines more.

Of magazines whose content `shaftscore.rules.stock` does not judge in time. No degrees: it does or does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.model import Supply, Tolerances
from shaftscore.rules.times import LOST, MachineTimes, RulePlace


def rate_in_reserve(needed_per_min: float, tolerances: Tolerances) -> float:
    """Return the rate, per minute, that yields what is needed in every machine within the tolerances.

    needed_per_min: what the nominal machine needs. The fastest machine needs it with the slowest supply:

        (1) rate = needed (1 + speed) / (1 - rate error), both as shares
    """
    speed, rate = tolerances.speed_percent / 100, tolerances.rate_percent / 100
    return needed_per_min * (1.0 + speed) / max(1.0 - rate, 0.01)


def places(
    times: MachineTimes, supply: Supply, needed: Mapping[str, float], judged: Collection[str]
) -> Iterator[RulePlace]:
    """Judge whether a supply yields what each magazine on it needs, faster machines more.

    needed: rates by magazine that it alone fills, per minute. judged: magazines whose content is judged in
    time.
    """
    rate = supply.rate_per_min
    if rate is None:
        return
    for magazine, least in needed.items():
        if magazine not in judged:
            enough = rate * times.rate(supply.id) >= least * times.speed * (1 - LIMIT)
            yield RulePlace((), np.where(enough, np.inf, LOST))
