"""Which cycle a machine with slow or stepped stacks is in, after its place was lost.

The dial of the master shows an angle, not a cycle. At home each lane of a slow stack is at a level or between
two; the lanes together may tell the cycle, or several cycles look alike. The levels of every lane are read in
each cycle of its own round, and the round is counted through by whole numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.kinematics.course import StackCourse
from shaftscore.model.rounds import common_round
from shaftscore.solution import LaneSolution, Solution


@dataclass(frozen=True)
class CycleTelling:
    """What the levels at home tell of the cycle.

    cycles: of the round. like_first: the cycles, from 1, in which all levels are those of cycle 1, this one
    included. told: how many cycles have levels of their own. own_deg: angle of each slow stack's own turn at
    home in cycle 1, degrees, by its label.
    """

    cycles: int
    like_first: tuple[int, ...]
    told: int
    own_deg: Mapping[str, float]

    @property
    def is_told(self) -> bool:
        """Whether the levels tell every cycle from all others."""
        return self.told == self.cycles


def cycle_telling(solution: Solution, home_deg: float) -> CycleTelling | None:
    """Return what is told of the cycle at a home angle, degrees; None where every cycle is alike."""
    slow = {lane: one for lane, one in solution.lanes.items() if one.course.cycles > 1}
    if not slow:
        return None
    project = solution.project
    cycles = int(common_round([Fraction(1), *(project.rates[one.stack] for one in slow.values())]))
    every = np.arange(cycles)
    rows = []
    for one in slow.values():
        levels = _levels(one, home_deg)
        rows.append(levels[every % len(levels)])
    table = np.stack(rows)
    like = np.flatnonzero(np.all(table == table[:, :1], axis=0))
    _, counts = np.unique(table, axis=1, return_counts=True)
    labels = {stack.id: stack.label for stack in project.stacks}
    own = {labels[one.stack]: one.course.own_at(home_deg / float(one.course.cycles)) for one in slow.values()}
    return CycleTelling(cycles, tuple((like + 1).tolist()), int(np.sum(counts == 1)), own)


def _levels(solved: LaneSolution, home_deg: float) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Return by cycle of the lane's round the number of the level it is at, (cycles,); -1 between levels."""
    count = int(solved.course.cycles)
    own = own_at_home(solved.course, home_deg)
    found = np.full(count, -1, np.int64)
    for number, spans in enumerate(solved.own_states.values()):
        for interval in spans:
            start, length = interval.span.spans[0]
            found[wrap(own - start) <= length] = number
    return found


def own_at_home(course: StackCourse, home_deg: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return a stack's own angles at an angle of the master in each cycle of its round, (cycles,) degrees."""
    master = home_deg + TURN * np.arange(int(course.cycles), dtype=np.float64)
    found: np.ndarray[tuple[int], np.dtype[np.float64]] = np.asarray(
        wrap(course.own(master / float(course.cycles))[0])
    )
    return found
