"""What a column of the state table says, and where its blocks lie.

A *column* gives the level of a lane in each step of its own stack's turn; a step that gives none is as the
step before it, round the turn. Successive steps of one level make a *run*, which becomes one block; a run
of a single step is a *single*. A step may also visit levels and go on within itself (`visits`).

Timing of a lane: every move lasts `move_deg`. A single that has a dwell of its own lasts `dwell_deg`, in the
middle of its step; the moves beside it come before and after, and the longer run next to it takes the
rest. Wherever two singles meet, or two longer runs, or no dwell is given, the move lies across the start of
the step, half of it before and half after. What is visited within a step keeps its place there, and the
levels beside it take the rest. A column of one level alone is one block of a whole turn.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from shaftscore.base.angles import TURN, ahead, turn_to, wrap
from shaftscore.edits.state_table.visits import (
    StepCell,
    StepVisit,
    away_of,
    ending,
    laid_dwells,
    levels_of,
)

Column = tuple[StepCell, ...]
"""What the lane does in each step; None is as the step before it ended."""

Span = tuple[str, float, float]
"""A dwell: level, start (any angle), length in degrees (negative where there is no time for it)."""

MOVE_DEG = 30.0
"""Length of a move where nothing else is said, degrees; two thirds of the shortest step at most."""


@dataclass(frozen=True)
class Timing:
    """How long a visit dwells (None: what the moves leave of the step) and a move lasts, degrees."""

    dwell_deg: float | None
    move_deg: float


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


def completed(column: Column) -> tuple[str | StepVisit, ...]:
    """Return the cell of every step, none left open; empty where the column gives none at all."""
    last = next((ending(cell) for cell in reversed(column) if cell is not None), None)
    if last is None:
        return ()
    cells: list[str | StepVisit] = []
    for cell in column:
        cells.append(last if cell is None else cell)
        last = ending(cells[-1]) or last
    return tuple(cells)


def filled(column: Column) -> tuple[str, ...]:
    """Return the level of every step, the first one where it visits; empty where the column gives none."""
    return tuple(levels_of(cell)[0] for cell in completed(column))


@dataclass(frozen=True)
class _Piece:
    """A level for a part of a step, unrolled degrees.

    start_deg: of the piece, or of the step whose start its first move crosses. length_deg: of what is
    visited, or of the step. to_deg, away_deg: moves beside what is visited, None where it is not visited.
    whole: all of its step.
    """

    level: str
    start_deg: float
    length_deg: float
    to_deg: float | None = None
    away_deg: float = 0.0
    whole: bool = False

    @property
    def is_visited(self) -> bool:
        """Whether it has its place within its step."""
        return self.to_deg is not None

    def later(self) -> _Piece:
        """Return the piece a turn later."""
        return _Piece(
            self.level, self.start_deg + TURN, self.length_deg, self.to_deg, self.away_deg, self.whole
        )


def spans_of(column: Column, timing: Timing, starts_deg: Sequence[float]) -> list[Span]:
    """Return the dwells that a column makes, in the order of its steps."""
    pieces = _pieces(column, timing, starts_deg)
    changes = [index for index in range(len(pieces)) if pieces[index].level != pieces[index - 1].level]
    if not changes:
        given = next((step for step, cell in enumerate(column) if cell is not None), None)
        return [] if given is None else [(pieces[0].level, starts_deg[given], TURN)]
    first = changes[0]
    turned = [*pieces[first:], *(piece.later() for piece in pieces[:first])]
    runs = [list(run) for _, run in groupby(turned, key=lambda piece: piece.level)]
    around = [*runs, [piece.later() for piece in runs[0]]]
    edges = [_edge(before, after, timing) for before, after in zip([around[-2], *runs], around, strict=True)]
    edges[0] = (edges[-1][0] - TURN, edges[-1][1] - TURN)
    return [
        (run[0].level, begun[1], ended[0] - begun[1])
        for run, begun, ended in zip(runs, edges, edges[1:], strict=False)
    ]


def _pieces(column: Column, timing: Timing, starts_deg: Sequence[float]) -> list[_Piece]:
    """Return the pieces of all steps, in order."""
    pieces: list[_Piece] = []
    for cell, start, size in zip(completed(column), starts_deg, sizes(starts_deg), strict=False):
        if isinstance(cell, StepVisit):
            pieces += _visited(cell, start, size, timing)
        else:
            pieces.append(_Piece(cell, start, size, whole=True))
    return pieces


def _visited(cell: StepVisit, start: float, size: float, timing: Timing) -> list[_Piece]:
    laid = list(laid_dwells(cell, size, timing.dwell_deg, timing.move_deg))
    moves = [*(to for _, _, to in laid), away_of(cell, size, timing.dwell_deg, timing.move_deg)]
    pieces = [
        _Piece(dwell.level, start + at, held, to, away)
        for dwell, (at, held, to), away in zip(cell.dwells, laid, moves[1:], strict=True)
    ]
    return [*pieces, _Piece(cell.then, start, size)]


def _edge(before: Sequence[_Piece], after: Sequence[_Piece], timing: Timing) -> tuple[float, float]:
    """Return where a run ends and the next one starts, unrolled degrees."""
    last, first = before[-1], after[0]
    if first.to_deg is not None:
        return first.start_deg - first.to_deg, first.start_deg
    if last.is_visited:
        end = last.start_deg + last.length_deg
        return end, end + last.away_deg
    start = first.start_deg
    return start - _inset(before, after, timing), start + _inset(after, before, timing)


def _inset(run: Sequence[_Piece], other: Sequence[_Piece], timing: Timing) -> float:
    """Return how far from its end, on the side of `other`, a run's dwell begins, degrees."""
    if timing.dwell_deg is None or _is_single(run) == _is_single(other):
        return timing.move_deg / 2
    if _is_single(run):
        return (run[0].length_deg - timing.dwell_deg) / 2
    return timing.dwell_deg / 2 + timing.move_deg - other[0].length_deg / 2


def _is_single(run: Sequence[_Piece]) -> bool:
    """Whether a run is one whole step."""
    return len(run) == 1 and run[0].whole
