"""Magazines as inequalities: each item has arrived before it is asked for (`shaftscore.rules.stock`).

With C places, an item is sent when the one C before it left, or later: k intervals of the supply after such
an item was sent. So the item C + k after one that leaves is asked for no sooner than k intervals and the
travel after it; and the item s + k of the run, with s at the start, no sooner than k + 1 intervals and the
travel after the start. Which items these are depends on the order in which items leave:

    (1) with n items a turn, item r + q n after one that leaves is q turns later than the r-th after it
    (2) the r-th after it is later than a bound if no more than r - 1 of the others are sooner

so (2) asks for n - r of the others to be late enough; likewise of all items from the start of a turn on. A
place that is far from breaking, whatever the order, has no inequality.

Magazines that other magazines' gates fill have no inequality: which item comes before which one is asked for
depends on the order of both trains and on the turn in which each arrives, so that a place would need a
literal for each pair of items. That makes no answer worse, since nothing is taken from the problem alone.
Every answer is examined (`placing.standing`): the run of its items finds such a magazine empty or full, which
is an error, and `rule_slacks` measures its places by the exact rule (`rules.stock`), so that they count in
the least normalised slack and in the chance. An answer with more errors, a smaller least slack or a lower
chance than the machine as drawn is not taken (`Standing.is_better_than`), and one to which the run objects is
searched for again with more margin. What is given up is that the search aims at the slack of these places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.model import Magazine
from shaftscore.placing.affine import STEP_DEG, STEPS, Affine
from shaftscore.placing.leavings import Leaving
from shaftscore.placing.linear import ENOUGH
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.rules import IMPOSSIBLE
from shaftscore.placing.weights import MarginWeights
from shaftscore.rules import stock

HAIR = 0.01
"""An item leaves so many steps before the end of a turn at the latest: at its end it is at the next start."""


@dataclass(frozen=True)
class Wait:
    """The requirement that an item has been sent, and has arrived, before it is asked for.

    first: the item that leaves at the moment, by its place in the list; None for the start of a turn. number:
    of the item that is asked for, counted from the first, or from 0. sent: when, steps after the moment.
    """

    first: int | None
    number: int
    sent: float


@dataclass
class Stocked:
    """Adds what one magazine requires; items: those that leave it in a turn. travel: to it, steps."""

    problem: Problem
    weights: MarginWeights
    reason: Reason
    items: Sequence[Leaving]
    travel: float
    _after: dict[tuple[int | None, int], Affine] = field(default_factory=dict)

    def waits(self, magazine: Magazine, apart: float) -> Iterator[Wait]:
        """Yield all waits of a magazine; apart: from one item of its supply to the next, steps."""
        count = len(self.items)
        for more in range(count):
            yield Wait(None, magazine.start_count + more, stock.sent_after(0.0, more + 1, apart))
            for first in range(count):
                yield Wait(first, magazine.capacity + more, stock.sent_after(0.0, more, apart))

    @cached_property
    def _drawn(self) -> list[float]:
        """When the items leave as drawn, steps of the turn."""
        hints = [variable.hint or 0 for variable in self.problem.variables]
        moments = [item.at.start.at(hints) for item in self.items]
        return [moment - STEPS * (moment // STEPS) for moment in moments]

    def as_drawn(self, wait: Wait) -> bool:
        """Return whether an item has arrived in time in the machine as drawn."""
        moment = 0.0 if wait.first is None else self._drawn[wait.first]
        later = sorted(one - moment if one >= moment else one - moment + STEPS for one in self._drawn)
        turns, place = wait.number // len(later), wait.number % len(later)
        return stock.room(later[place] + turns * STEPS, wait.sent, self.travel) >= -HAIR

    def add(self, wait: Wait) -> None:
        """Add the inequalities of a wait."""
        turns, place = wait.number // len(self.items), wait.number % len(self.items)
        spare = stock.room(turns * STEPS, wait.sent, self.travel)  # (1)
        if place == 0 and wait.first is not None:
            if spare < 0:  # always whole turns after it
                self.problem.at_least_0(IMPOSSIBLE, self.reason)
            return
        others = [number for number in range(len(self.items)) if number != wait.first]
        rooms = [(number, self._factor(wait.first, number)) for number in others]
        if spare * STEP_DEG >= ENOUGH * max((factor for _, factor in rooms), default=0.0):
            return
        left = [(self._later(wait.first, number) + spare, factor) for number, factor in rooms]
        self.problem.enough_late(left, len(self.items) - place, self.reason)  # (2)

    def _factor(self, first: int | None, other: int) -> float:
        """Return the error, degrees, that the wait of an item after another must survive."""
        lanes = [self.items[one].at.lane for one in (first, other) if one is not None]
        return self.weights.factor("stock", str(self.reason.of), lanes)

    def _later(self, first: int | None, other: int) -> Affine:
        """Return how long after a moment an item leaves, steps, 0 to a turn."""
        key = (first, other)
        if key not in self._after:
            at = self.items[other].at
            from_at = None if first is None else self.items[first].at
            later = at.start if from_at is None else at.start - from_at.start
            known = from_at is not None and from_at.lane == at.lane and min(from_at.place, at.place) >= 0
            if from_at is not None and known and from_at.place != at.place:
                self._after[key] = later + (STEPS if at.place < from_at.place else 0.0)
            else:
                self._after[key] = self._in_turn(later)
        return self._after[key]

    def _in_turn(self, later: Affine) -> Affine:
        if not later.terms:
            return Affine({}, later.constant - STEPS * (later.constant // STEPS))
        later = later + self.problem.turns("turns", later, STEPS, STEPS)
        self.problem.at_least_0(later)
        self.problem.at_least_0(later * -1.0 + (STEPS - HAIR))
        return later
