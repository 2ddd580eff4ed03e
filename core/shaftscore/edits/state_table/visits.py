"""Cells that hold more than one level: "amber, then release" visits a level and goes on within its step.

A *step visit* is written as its levels with "then" between them; the last is where the lane is when the step
ends. Where a visit starts, how long it holds and how long its moves last is taken from the lane unless it has
lengths of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

THEN = ", then "
"""What stands between the levels of a cell."""

_THEN = re.compile(r"\s*(?:,\s*then\b|\bthen\b|[,;>→·])\s*", re.IGNORECASE)


@dataclass(frozen=True)
class VisitDwell:
    """A level that is visited within a step.

    start_deg: from the start of the step. hold_deg: how long it is held. to_deg: length of the move to it.
    Degrees; None as the lane's.
    """

    level: str
    start_deg: float | None = None
    hold_deg: float | None = None
    to_deg: float | None = None


@dataclass(frozen=True)
class StepVisit:
    """Levels visited within one step, and the level at which it ends.

    away_deg: length of the move to that one, degrees; None as the lane's.
    """

    dwells: tuple[VisitDwell, ...]
    then: str
    away_deg: float | None = None

    @property
    def levels(self) -> tuple[str, ...]:
        """The levels, in order."""
        return (*(dwell.level for dwell in self.dwells), self.then)

    @property
    def text(self) -> str:
        """The cell as it is shown and typed."""
        return THEN.join(self.levels)


StepCell = str | StepVisit | None
"""What a lane does in a step: one level, a visit, or (None) as the step before it ended."""


def levels_of(cell: StepCell) -> tuple[str, ...]:
    """Return the levels that a cell names, in order."""
    if cell is None:
        return ()
    return cell.levels if isinstance(cell, StepVisit) else (cell,)


def ending(cell: StepCell) -> str | None:
    """Return the level at which a step ends; None where its cell gives none."""
    return cell.then if isinstance(cell, StepVisit) else cell


def visits_in(column: Sequence[StepCell]) -> list[StepVisit]:
    """Return the visits of a column."""
    return [cell for cell in column if isinstance(cell, StepVisit)]


def shown_text(cell: StepCell) -> str:
    """Return a cell's text."""
    return cell.text if isinstance(cell, StepVisit) else cell or ""


def renamed_cell(cell: StepCell, names: Mapping[str, str]) -> StepCell:
    """Return a cell with the levels' new names; None where one of them has none."""
    if not set(levels_of(cell)) <= names.keys() or cell is None:
        return None
    if not isinstance(cell, StepVisit):
        return names[cell]
    dwells = tuple(replace(dwell, level=names[dwell.level]) for dwell in cell.dwells)
    return replace(cell, dwells=dwells, then=names[cell.then])


def parts_of(text: str) -> list[str]:
    """Return the parts of a typed cell: one a level, the last one empty where it goes back."""
    return _THEN.split(text.strip())


def with_known_lengths(cell: StepCell, old: StepCell, column: Sequence[StepCell]) -> StepCell:
    """Return a cell with known lengths: those that it had, else those of a like visit of the lane."""
    if not isinstance(cell, StepVisit) or any(dwell.start_deg is not None for dwell in cell.dwells):
        return cell
    if isinstance(old, StepVisit) and old.levels == cell.levels:
        return old
    like = next((one for one in (old, *column) if _is_like(one, cell)), None)
    return cell if not isinstance(like, StepVisit) else _timed(cell, like)


def _is_like(one: StepCell, cell: StepVisit) -> bool:
    return isinstance(one, StepVisit) and len(one.dwells) == len(cell.dwells)


def _timed(cell: StepVisit, like: StepVisit) -> StepVisit:
    dwells = tuple(replace(new, level=own.level) for own, new in zip(cell.dwells, like.dwells, strict=True))
    return replace(like, dwells=dwells, then=cell.then)


def without_holds(column: Sequence[StepCell]) -> tuple[StepCell, ...]:
    """Return a column whose visits hold as long as the lane's dwell is."""
    return tuple(
        replace(cell, dwells=tuple(replace(dwell, hold_deg=None) for dwell in cell.dwells))
        if isinstance(cell, StepVisit)
        else cell
        for cell in column
    )


def laid_dwells(
    visit: StepVisit, size: float, dwell_deg: float | None, move_deg: float
) -> Iterator[tuple[float, float, float]]:
    """Yield start in the step, hold and length of the move to it of each dwell, degrees.

    size: of the step. dwell_deg, move_deg: the lane's. A dwell that has no start follows its move, which
    begins at the start of the step or where the one before ends; without a length of the lane each hold is
    as long as what is left for the level after the last one.
    """
    count, move = len(visit.dwells), _usual_move(visit, size, dwell_deg, move_deg)
    room = _room(size, move_deg)
    hold = max(0.0, (room - (count + 1) * move) / (count + 1)) if dwell_deg is None else dwell_deg
    at = 0.0
    for dwell in visit.dwells:
        to = move if dwell.to_deg is None else dwell.to_deg
        start = at + to if dwell.start_deg is None else dwell.start_deg
        held = hold if dwell.hold_deg is None else dwell.hold_deg
        yield start, held, to
        at = start + held


def away_of(visit: StepVisit, size: float, dwell_deg: float | None, move_deg: float) -> float:
    """Return the length of the move to the level at which the step ends, degrees.

    size: of the step. dwell_deg, move_deg: the lane's.
    """
    return _usual_move(visit, size, dwell_deg, move_deg) if visit.away_deg is None else visit.away_deg


def _usual_move(visit: StepVisit, size: float, dwell_deg: float | None, move_deg: float) -> float:
    """Return the length of its moves: the lane's, but short enough for a visit that has no place yet."""
    count = len(visit.dwells)
    room = _room(size, move_deg)
    fits = dwell_deg is not None and (count + 1) * move_deg + count * dwell_deg <= room
    if fits or any(dwell.start_deg is not None for dwell in visit.dwells):
        return move_deg
    return min(move_deg, room / (2 * count + 1))


def _room(size: float, move_deg: float) -> float:
    """Return what a step has for a visit, degrees; the next step may begin with half a move before it."""
    return size - min(move_deg / 2, size / 2)
