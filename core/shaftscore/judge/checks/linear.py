"""Linear inequalities of intervals that slide: in u, the degrees that a block has slid.

All ends of intervals are linear in u, and intervals on the circle are compared over whole turns, so each
question is a set of conditions constant + rate u <= 0. Answers are stretches (from, to) of u within
-reach to reach.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN
from shaftscore.base.tolerance import ANGLE_DEG

Floats = npt.NDArray[np.float64]
Stretch = tuple[float, float]
Condition = tuple[Floats, Floats]
"""(constant, rate), both (n, turns)."""

TURNS = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]) * TURN
"""Whole turns by which two intervals may be apart before they are compared, (turns,)."""


class Ends(NamedTuple):
    """Ends of n intervals at u = 0, unrolled degrees, and how each goes by u; all (n,)."""

    start: Floats
    start_rate: Floats
    end: Floats
    end_rate: Floats

    def rows(self) -> Iterator[tuple[float, float, float, float]]:
        """Yield the intervals one by one."""
        return zip(*(map(float, column) for column in self), strict=True)


def before(one: float, one_rate: float, other: Floats, other_rate: Floats) -> Condition:
    """Return the condition that `one` comes before `other` (n,), over all turns."""
    constant = one - other[:, None] - TURNS
    return constant, np.broadcast_to((one_rate - other_rate)[:, None], constant.shape)


def after(one: float, one_rate: float, other: Floats, other_rate: Floats) -> Condition:
    """Return the condition that `one` comes after `other` (n,), over all turns."""
    constant, rate = before(one, one_rate, other, other_rate)
    return -constant, -rate


def solved(reach: float, conditions: Iterable[Condition], *, strict: bool) -> tuple[Floats, Floats]:
    """Return from and to of the u that meets all conditions, (n, turns) each; from > to where none does.

    strict: what does not depend on u must be met by more than rounding (an overlap), otherwise it may be
    missed by rounding (a fit).
    """
    slack = -ANGLE_DEG if strict else ANGLE_DEG
    low, high = np.array(-reach), np.array(reach)
    for constant, rate in conditions:
        edge = -constant / np.where(rate == 0, 1.0, rate)
        low = np.where(rate < 0, np.maximum(low, edge), low)
        high = np.where(rate > 0, np.minimum(high, edge), high)
        high = np.where((rate == 0) & (constant > slack), -np.inf, high)
    return low, high


def stretches(low: Floats, high: Floats, least: float) -> list[Stretch]:
    """List the answers that are at least `least` degrees long; low, high: (n, m) or (n,)."""
    rows = np.nonzero(high - low >= least)
    return [(float(a), float(b)) for a, b in zip(low[rows], high[rows], strict=True)]


def complement(reach: float, good: Iterable[Stretch]) -> list[Stretch]:
    """List what lies between stretches, within -reach to reach degrees."""
    left: list[Stretch] = []
    reached = -reach
    for begin, end in sorted(good):
        if begin > reached + ANGLE_DEG:
            left.append((reached, begin))
        reached = max(reached, end)
    return [*left, (reached, reach)] if reach > reached + ANGLE_DEG else left
