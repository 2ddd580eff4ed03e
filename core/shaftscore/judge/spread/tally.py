"""Counting machines until Wilson's interval decides whether enough of them work.

The question is on which side of each limit the chance lies. It is asked at the numbers of machines in
`LOOKS`, and drawing ends where the interval (`shaftscore.judge.spread.wilson`) has no limit within it. Each
look is another occasion to be wrong, so every one uses a wider interval than the one of 95 % that is
reported: all looks together decide wrongly in at most 5 of 100 projects, by the inequality of Bonferroni.
The chance is a figure that people read, too: drawing goes on while the reported interval is over WIDEST.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.judging import CountedPlace, JudgedRule, holding, smallest
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.rules.project import Key

LOOKS = (2_000, 6_000, 10_000, 20_000, 50_000, 100_000)
"""Numbers of machines after which the question is asked, whole blocks; the last one ends it."""

Z_LOOK = 2.638257273476751
"""Standard deviations on either side that hold 1 - 0.05 / 6 of a normal law: one of six looks."""

MOST_MACHINES = LOOKS[-1]
"""Machines after which the share decides, however near to a limit it is."""


WIDEST = 0.02
"""Width of the reported interval at most: about that of 10,000 machines of which half work."""


def is_decided(held: int, drawn: int, limits: Collection[float]) -> bool:
    """Return whether a count says on which side of each limit (0 to 1) the chance lies, and its size."""
    least, most = wilson_interval(held, drawn)
    return most - least <= WIDEST and is_apart(held, drawn, limits)


def is_apart(held: int, drawn: int, limits: Collection[float]) -> bool:
    """Return whether a count says on which side of each limit (0 to 1) the chance lies, by one look."""
    low, high = wilson_interval(held, drawn, Z_LOOK)
    return all(low >= limit or high < limit for limit in limits)


@dataclass
class MachineTally:
    """What is counted of the machines so far.

    rules: with the slacks of the first block alone, and their places of all blocks. broken: machines in which
    a rule does not hold, by its key. slacks: of each block the smallest slack of each machine, (n + 1,)
    degrees, row 0 the nominal machine.
    """

    rules: dict[Key, JudgedRule] = field(default_factory=dict)
    broken: Counter[Key] = field(default_factory=Counter)
    slacks: list[Floats] = field(default_factory=list)

    def add(self, judged: Sequence[JudgedRule], count: int) -> None:
        """Add a block, in which so many machines (the nominal one among them) were judged."""
        for one in judged:
            self.broken[one.key] += count - 1 - holding(one.slack_deg)
            self.rules[one.key] = self._joined(one)
        self.slacks.append(smallest(judged, count))

    def _joined(self, one: JudgedRule) -> JudgedRule:
        """Add the places of a later block to a rule."""
        if not self.slacks:
            return one
        known = self.rules.get(one.key)
        if known is None:  # nothing limited it before
            free = np.full(len(self.slacks[0]), np.inf)
            free[0] = one.slack_deg[0]
            return replace(one, slack_deg=free)
        places = Counter[tuple[tuple[str, ...], float]]()
        for place in (*known.places, *one.places):
            places[place.lanes, place.nominal_deg] += place.broken
        return replace(known, places=tuple(CountedPlace(*key, many) for key, many in places.items()))

    @property
    def drawn(self) -> int:
        """Machines so far, without the nominal one."""
        return sum(len(block) - 1 for block in self.slacks)

    @property
    def held(self) -> int:
        """Machines in which all rules hold."""
        return sum(map(holding, self.slacks))

    @property
    def nominal_holds(self) -> bool:
        """Whether all rules hold in the nominal machine."""
        return bool(self.slacks[0][0] >= -LIMIT)

    @property
    def is_unlimited(self) -> bool:
        """Whether nothing limits any machine."""
        return all(bool(np.isposinf(block).all()) for block in self.slacks)

    @property
    def slack_deg(self) -> Floats:
        """The smallest slack of each machine without the nominal one, (drawn,) degrees."""
        return np.concatenate([block[1:] for block in self.slacks])

    def share_of(self, key: Key) -> float:
        """Return the share of machines in which a rule holds."""
        return (self.drawn - self.broken[key]) / self.drawn
