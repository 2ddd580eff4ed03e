"""What a column of the state table says, and where its blocks lie.

A *column* gives the level of a lane in each step of its own stack's turn; a step that gives none is as the
step before it, round the turn. Successive steps of one level make a *run*, which becomes one block; a run
of a single step is a *visit*.

Timing of a lane: every move lasts `move_deg`. A visit that has a dwell of its own lasts `dwell_deg`, in the
middle of its step; the moves beside it come before and after, and the longer run next to it takes the
rest. Wherever two visits meet, or two longer runs, or no dwell is given, the move lies across the start of
the step, half of it before and half after. A column of one level alone is one block of a whole turn.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN, ahead, turn_to, wrap

Column = tuple[str | None, ...]
"""The level of each step; None is as the step before."""

Span = tuple[str, float, float]
"""A dwell: level, start (any angle), length in degrees (negative where there is no time for it)."""

MOVE_DEG = 30.0
"""Length of a move where nothing else is said, degrees; two thirds of the shortest step at most."""


@dataclass(frozen=True)
class Timing:
    """How long a visit dwells (None: what the moves leave of the step) and a move lasts, degrees."""

    dwell_deg: float | None
    move_deg: float


@dataclass(frozen=True)
class LevelRun:
    """Steps of one level from step `first` on: from `start` for `size` degrees; visit: a single step."""

    level: str
    first: int
    start: float
    size: float
    visit: bool

    @property
    def middle(self) -> float:
        """Way from the start to the middle, degrees."""
        return self.size / 2


def usual_timing(starts_deg: Sequence[float]) -> Timing:
    """Return the timing of a lane that has none to go by."""
    return Timing(None, min(MOVE_DEG, round(min(sizes(starts_deg)) * 2 / 3, 3)))


def sizes(starts_deg: Sequence[float]) -> list[float]:
    """Return the length of each step, degrees."""
    following = [*starts_deg[1:], starts_deg[0]]
    return [ahead(start, after) or TURN for start, after in zip(starts_deg, following, strict=True)]


def step_at(starts_deg: Sequence[float], deg: float) -> int:
    """Return the step (counted from 0) in which an angle lies."""
    at = bisect_right(starts_deg, wrap(deg)) - 1
    return at if at >= 0 else len(starts_deg) - 1


def nearest_step(starts_deg: Sequence[float], deg: float) -> int:
    """Return the step whose start is nearest to an angle, degrees."""
    step = step_at(starts_deg, deg)
    after = step + 1 if step + 1 < len(starts_deg) else 0
    return min((step, after), key=lambda one: abs(turn_to(starts_deg[one], deg)))


def filled(column: Column) -> tuple[str, ...]:
    """Return the level of every step; empty where the column gives none at all."""
    given = [level for level in column if level is not None]
    if not given:
        return ()
    levels, last = [], given[-1]
    for level in column:
        last = last if level is None else level
        levels.append(last)
    return tuple(levels)


def runs_of(column: Column, starts_deg: Sequence[float]) -> list[LevelRun]:
    """Return the runs of a column, in order; a lane of one level is one run from its first given step."""
    levels, lengths = filled(column), sizes(starts_deg)
    if not levels:
        return []
    count = len(levels)
    firsts = [step for step in range(count) if levels[step] != levels[step - 1]]
    if not firsts:
        first = next(step for step, level in enumerate(column) if level is not None)
        return [LevelRun(levels[0], first, starts_deg[first], TURN, visit=False)]
    runs = []
    for first, after in zip(firsts, [*firsts[1:], firsts[0] + count], strict=True):
        size = sum(lengths[step % count] for step in range(first, after))
        runs.append(LevelRun(levels[first], first, starts_deg[first], size, visit=after - first == 1))
    return runs


def spans_of(column: Column, timing: Timing, starts_deg: Sequence[float]) -> list[Span]:
    """Return the dwells that a column makes, in the order of its runs."""
    runs = runs_of(column, starts_deg)
    if len(runs) == 1:
        return [(runs[0].level, runs[0].start, TURN)]
    spans = []
    for index, run in enumerate(runs):
        before, after = runs[index - 1], runs[(index + 1) % len(runs)]
        start = _inset(run, before, timing)
        spans.append((run.level, run.start + start, run.size - start - _inset(run, after, timing)))
    return spans


def _inset(run: LevelRun, other: LevelRun, timing: Timing) -> float:
    """Return how far from its end, on the side of `other`, a run's dwell begins, degrees."""
    if timing.dwell_deg is None or run.visit == other.visit:
        return timing.move_deg / 2
    if run.visit:
        return run.middle - timing.dwell_deg / 2
    return timing.dwell_deg / 2 + timing.move_deg - other.middle
