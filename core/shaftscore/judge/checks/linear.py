"""Angles of intervals that slide: sums in u, the degrees that a block has slid.

All ends of intervals are linear in u (`SlidingAngle`), so what a rule asks of them (`shaftscore.rules`) is a
set of inequalities in u; intervals on the circle are compared over whole turns. Answers are stretches
(from, to) of u within -reach to reach.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.rules.times import LinearSpan

Floats = npt.NDArray[np.float64]
Stretch = tuple[float, float]
TURNS = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]) * TURN
"""Whole turns by which two intervals may be apart before they are compared, (turns,)."""


@dataclass(frozen=True, eq=False)
class SlidingAngle:
    """Angles at u = 0, unrolled degrees, and how each goes by u: (n, turns) both, or numbers."""

    at_0: Floats
    rate: Floats

    def __add__(self, other: SlidingAngle | float) -> SlidingAngle:
        """Return the sum."""
        if isinstance(other, SlidingAngle):
            return SlidingAngle(self.at_0 + other.at_0, self.rate + other.rate)
        return SlidingAngle(self.at_0 + other, self.rate)

    def __sub__(self, other: SlidingAngle | float) -> SlidingAngle:
        """Return the difference."""
        if isinstance(other, SlidingAngle):
            return SlidingAngle(self.at_0 - other.at_0, self.rate - other.rate)
        return SlidingAngle(self.at_0 - other, self.rate)


class Ends(NamedTuple):
    """Ends of n intervals at u = 0, unrolled degrees, and how each goes by u; all (n,)."""

    start: Floats
    start_rate: Floats
    end: Floats
    end_rate: Floats

    def each(self) -> Iterator[LinearSpan[SlidingAngle]]:
        """Yield the intervals one by one."""
        for start, start_rate, end, end_rate in zip(*self, strict=True):
            yield LinearSpan(SlidingAngle(start, start_rate), SlidingAngle(end, end_rate))

    @property
    def turned(self) -> LinearSpan[SlidingAngle]:
        """All intervals at all whole turns, (n, turns)."""
        return LinearSpan(_turned(self.start, self.start_rate), _turned(self.end, self.end_rate))


def _turned(angle: Floats, rate: Floats) -> SlidingAngle:
    at_0 = angle[:, None] + TURNS
    return SlidingAngle(at_0, np.broadcast_to(rate[:, None], at_0.shape))


def all_negative(reach: float, rooms: Iterable[SlidingAngle]) -> tuple[Floats, Floats]:
    """Return from and to of the u at which all rooms are negative, (n, turns); from > to where none is.

    What does not depend on u must be negative by more than rounding.
    """
    return _solved(reach, rooms, -ANGLE_DEG)


def none_negative(reach: float, rooms: Iterable[SlidingAngle]) -> tuple[Floats, Floats]:
    """Return from and to of the u at which no room is negative, (n, turns); from > to where one always is.

    What does not depend on u may be negative by rounding.
    """
    nothing = SlidingAngle(np.asarray(0.0), np.asarray(0.0))
    return _solved(reach, [nothing - room for room in rooms], ANGLE_DEG)


def _solved(reach: float, rooms: Iterable[SlidingAngle], slack: float) -> tuple[Floats, Floats]:
    """Return from and to of the u at which all rooms are at most 0; slack: for those that do not slide."""
    low, high = np.array(-reach), np.array(reach)
    for room in rooms:
        rate = room.rate
        edge = -room.at_0 / np.where(rate == 0, 1.0, rate)
        low = np.where(rate < 0, np.maximum(low, edge), low)
        high = np.where(rate > 0, np.minimum(high, edge), high)
        high = np.where((rate == 0) & (room.at_0 > slack), -np.inf, high)
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
