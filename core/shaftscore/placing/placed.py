"""Values that hold, made better level by level.

`improve` makes them better at one level for the first aim: the least normalised slack, raised by linear
programs in the order of events as it is and by CP-SAT in others, or the least change. `further` yields values
that serve the next aim, the torque, without loss of what was reached.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shaftscore.base.progress import Progress, Share
from shaftscore.placing.affine import STEP_DEG, Affine, var
from shaftscore.placing.changes import MayChange
from shaftscore.placing.complete import completed, holds, margin_of
from shaftscore.placing.lanes import ArrangeError
from shaftscore.placing.levels import Level, kept_at, problem_at
from shaftscore.placing.linear import raised
from shaftscore.placing.local import Aim, Local
from shaftscore.placing.model import Arranging
from shaftscore.placing.problem import Problem
from shaftscore.placing.search import MARGIN_PARTS, Goal, Search
from shaftscore.placing.standing import is_larger
from shaftscore.placing.torque import Torques
from shaftscore.solution import Solution

TURNED_S, FIRST_S = 10.0, 20.0
"""Deterministic time of searches for any answer: with lanes as drawn, and with blocks moved."""

BEGIN_S = 0.5
"""Deterministic time of the search for a beginning, with lanes turned as a whole."""

MARGIN_S: dict[Level, float] = {"groups": 0.4, "lanes": 0.4, "blocks": 0.8}
TIDY_S: dict[Level, float] = {"groups": 0.2, "lanes": 0.2, "blocks": 0.2}
CHANGE_S = 2.0
"""Deterministic time of the searches for margin, for the least change that keeps it, for the least change."""

SMALL = 300
"""A problem of fewer inequalities is always searched for another order of events: that takes no time."""

TRIES: dict[Aim, int] = {"margin": 150, "torque": 1200, "least-change": 0}
"""Tries of the local search for a lower torque, by the first aim."""

SURE = 1.5
"""A normalised slack that a lower torque may cost no further: many places at 1 would break too often."""

MOST_LOST = 0.005
"""So much of the normalised slack that was reached may be lost for a smaller change."""

SHIFTING: dict[Level, str] = {
    "groups": "Shifting whole groups",
    "lanes": "Shifting whole lanes",
    "blocks": "Moving single blocks",
}
"""What a level does, for the progress."""


@dataclass(frozen=True)
class ArrangeWishes:
    """What is asked for: the first aim, the seed, and what may change."""

    prefer: Aim
    seed: int
    may: MayChange


def first_answer(model: Arranging, search: Search, progress: Progress) -> tuple[int, ...] | None:
    """Return complete values that hold, or None if there are none.

    As drawn if that holds, else with each lane turned as a whole, else whatever the search finds. Raises
    ArrangeError if none was found in the time given.
    """
    drawn = completed(model.problem, [variable.hint for variable in model.problem.variables])
    if holds(model.problem, drawn):
        return tuple(drawn)
    what = "Looking for a first arrangement"
    turned = search.solve(
        None, TURNED_S, keep=model.as_drawn(), progress=Share(progress, 0.0, 0.3), what=what
    )
    if turned.found:
        return turned.values
    answer = search.solve(None, FIRST_S, progress=Share(progress, 0.3, 1.0), what=what)
    if answer.status == "unknown":
        raise ArrangeError("No arrangement was found in the time given, and none was shown to be impossible.")
    return answer.values if answer.found else None


class PlacedValues:
    """The best values so far of one model; None until some hold."""

    def __init__(
        self, model: Arranging, solution: Solution, wishes: ArrangeWishes, asked: float, *, wide: bool = False
    ) -> None:
        """Begin as drawn, where that holds.

        asked: normalised slack that is required. wide: whether all outlets are looked at for each lane.
        """
        self.wide = wide
        self.model, self._solution, self._wishes, self._asked = model, solution, wishes, asked
        drawn = completed(model.problem, [variable.hint for variable in model.problem.variables])
        self.values = tuple(drawn) if holds(model.problem, drawn) else None

    def with_blocks(self, model: Arranging, asked: float) -> PlacedValues:
        """Return values, steps, of a model in which blocks move alone; its variables are alike.

        asked: normalised slack that is required. For the largest margin they begin where whole lanes were
        turned to, if that holds; else as drawn.
        """
        made = PlacedValues(model, self._solution, self._wishes, asked, wide=self.wide)
        if self._wishes.prefer == "margin" and self.values is not None:
            made.values = made._held(self.values) or made.values
        return made

    def weigh(self, model: Arranging) -> None:
        """Take over the same problem with other errors; values that do not hold there are dropped."""
        self.model = model
        self.values = None if self.values is None else self._held(self.values)

    def _held(self, values: tuple[int, ...]) -> tuple[int, ...] | None:
        """Return values with the figures that they lose when they are raised; None unless they hold."""
        full = self._full("blocks", values)
        return full if holds(self.model.problem, full) else None

    def search(self, level: Level) -> Search:
        """Return the search at a level."""
        return Search(self._problem(level), self._wishes.seed, self.model.margin)

    def _problem(self, level: Level) -> Problem:
        return problem_at(self.model, level)

    def begin(self, level: Level, progress: Progress, so_far: str) -> None:
        """Find values that hold and raise their margins in the order of events that they have, both quickly.

        Raises Cancelled if progress does.
        """
        problem, what = self._problem(level), f"{SHIFTING[level]}; {so_far}"
        if self.values is None:
            found = self.search(level)
            answer = found.solve(None, BEGIN_S, keep=self._kept(level), progress=progress, what=what)
            self.values = answer.values if answer.found else None
        if self.values is not None and any(inequality.margin for inequality in problem.inequalities):
            progress.report(0.9, what)
            self._raise(level, problem)

    def improve(self, level: Level, progress: Progress, so_far: str, *, search: bool) -> None:
        """Make the values better at a level for the first aim. Raises Cancelled if progress does.

        search: look for another order of events too; else only in the order that the values have.
        """
        what = f"{SHIFTING[level]}; {so_far}"
        if self._wishes.prefer == "torque" and self.values is not None:
            return  # what holds is where the search for a lower torque begins
        if self._wishes.prefer == "least-change":
            self._least_change(self.search(level), progress, what)
            return
        problem = self._problem(level)
        limited = any(inequality.margin for inequality in problem.inequalities)
        if self.values is None and not limited:
            found = self.search(level)
            answer = found.solve(None, TURNED_S, keep=self._kept(level), progress=progress, what=what)
            self.values = answer.values if answer.found else None
        if limited and (self.values is None or search or len(problem.inequalities) < SMALL):
            self._margin(self.search(level), level, Share(progress, 0.0, 0.8), what)
        if limited and self.values is not None:
            progress.report(0.8, what)
            self._raise(level, problem)

    def keep_unless_larger(self, level: Level, before: tuple[int, ...]) -> None:
        """Go back to values that were judged already, unless the least normalised slack is now larger."""
        problem = self._problem(level)
        margins = [None if one is None else margin_of(problem, one) for one in (self.values, before)]
        now, then = (0.0 if margin is None else margin * STEP_DEG for margin in margins)
        if not is_larger(now, then):
            self.values = before

    def _raise(self, level: Level, problem: Problem) -> None:
        """Raise the margins in the order of events as it is."""
        assert self.values is not None, "there are values to begin with"
        drawn = self.model.drawn_positions()
        found = raised(problem, drawn, self.values, self._kept(level), self.model.change.terms)
        before = margin_of(problem, self.values)
        after = None if found is None else margin_of(problem, found)
        if before is not None and after is not None and after >= before * (1 - MOST_LOST):
            self.values = found

    def _kept(self, level: Level) -> tuple[Affine, ...]:
        return kept_at(self.model, level)

    def _margin(self, search: Search, level: Level, progress: Progress, what: str) -> None:
        """Search for the largest least normalised slack, then for the least change that keeps it."""
        kept = self._kept(level)
        goal = Goal(var(self.model.margin) * -1.0)
        hint = None if self.values is None else self._full(level, self.values)
        share = Share(progress, 0.0, 0.7)
        answer = search.solve(goal, MARGIN_S[level], keep=kept, hint=hint, progress=share, what=what)
        if not answer.found:
            return
        reached = answer.values[self.model.margin]
        self.values = answer.values
        keeping = (*kept, var(self.model.margin) - float(int(reached * (1 - MOST_LOST))))
        tidy = search.solve(
            Goal(self.model.change),
            TIDY_S[level],
            keep=keeping,
            hint=self._full(level, answer.values),
            progress=Share(progress, 0.7, 1.0),
            what=what,
        )
        if tidy.found:
            self.values = tidy.values

    def _full(self, level: Level, values: Sequence[int]) -> tuple[int, ...]:
        """Return values with margin and changes brought up to date at a level."""
        return self.model.with_figures(values, self._problem(level))

    def _least_change(self, search: Search, progress: Progress, what: str) -> None:
        """Search for the least change that keeps the slack which the real solver asked for."""
        asked = (var(self.model.margin) - float(round(self._asked / STEP_DEG * MARGIN_PARTS)),)
        keep = asked if self._asked and self.model.has_margin else ()
        hint = None if self.values is None else self._full("blocks", self.values)
        answer = search.solve(
            Goal(self.model.change), CHANGE_S, keep=keep, hint=hint, progress=progress, what=what
        )
        if answer.found:
            self.values = answer.values

    def further(self, level: Level, progress: Progress, so_far: str) -> Iterator[tuple[int, ...]]:
        """Yield values with a lower torque, where lanes carry loads; what was reached is kept."""
        tries = TRIES[self._wishes.prefer]
        if self.values is None or not tries or level == "groups":
            return
        torques = Torques(self._solution)
        if not torques.loaded:
            return
        local = Local(self.model, self.values, torques, self._wishes.seed, shift_only=level == "lanes")
        floor = min(local.margin, SURE) if self._wishes.prefer == "torque" else local.margin
        what = f"Lowering the peak torque; {so_far}"
        local.lower(floor, tries, progress, what)
        found = tuple(local.values)
        if found != self.values:
            if self._wishes.prefer == "torque":
                self.values = found
            yield found
