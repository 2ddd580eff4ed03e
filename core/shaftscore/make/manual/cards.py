"""The test cards: at which angles which lanes must be at which levels, a group at a time.

A group is looked at where no lane of it moves, so that a hand finds the place and can let go: in the middle
of every stretch in which all of its lanes dwell. A level that a lane has only while another lane of its
group moves is looked at by itself, lane by lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.bringup.angles import alone_angles, card_lanes, rest_angles
from shaftscore.bringup.stops import ExpectedLevel, expected
from shaftscore.judge.loads.long_round import LongCamshaft
from shaftscore.judge.report import Report
from shaftscore.model import Lane, Project
from shaftscore.solution import LaneSolution


@dataclass(frozen=True)
class CardRow:
    """A line of a card: the master angle, degrees; what each lane shows; the greatest torque on the way here.

    torque_nm: of the lanes of the card at the master shaft, from the row before on; None where a lane of it
    has no described forces.
    """

    angle_deg: float
    cells: tuple[ExpectedLevel, ...]
    torque_nm: float | None


@dataclass(frozen=True)
class LevelCheck:
    """A level that is looked at by itself: of which lane, at which master angle, degrees."""

    lane: LaneSolution
    angle_deg: float
    cell: ExpectedLevel


@dataclass(frozen=True)
class GroupCard:
    """A table to crank through: the lanes it looks at, what each shall show at every angle, what is left."""

    title: str
    lanes: tuple[LaneSolution, ...]
    rows: tuple[CardRow, ...]
    alone: tuple[LevelCheck, ...]
    no_loads: tuple[Lane, ...]


def cards(report: Report) -> Iterator[GroupCard]:
    """Yield the cards of all groups in the order of their lanes; lanes without motion are left out."""
    for title, lanes in card_lanes(report.solution):
        yield _card(report, title, lanes)


def _card(report: Report, title: str, lanes: Sequence[LaneSolution]) -> GroupCard:
    project = report.project
    angles = rest_angles(project, lanes)
    loads = None if report.loads is None else report.loads.camshaft
    if isinstance(loads, LongCamshaft):  # a card shows one cycle, its torque is of another
        loads = None
    unknown = tuple(one.lane for one in lanes if loads is None or one.lane.id not in loads.lanes)
    on_grid = None
    if loads is not None and not unknown:
        on_grid = np.sum([loads.by_lane[one.lane.id] for one in lanes], axis=0)
    rows: list[CardRow] = []
    for place, angle in enumerate(angles):
        before = rows[-1].cells if rows else None
        cells = tuple(expected(project, one, angle) for one in lanes)
        torque = None if on_grid is None else _most_between(on_grid, angles[place - 1], angle)
        rows.append(CardRow(angle, _marked(cells, before), torque))
    return GroupCard(title, tuple(lanes), tuple(rows), tuple(_alone(project, lanes, angles)), unknown)


def _marked(
    cells: Sequence[ExpectedLevel], before: Sequence[ExpectedLevel] | None
) -> tuple[ExpectedLevel, ...]:
    """Return the cells, those that differ from the row above marked."""
    if before is None:
        return tuple(cells)
    return tuple(
        ExpectedLevel(now.level, now.output_mm, now.rank, now.share, now.level != then.level)
        for now, then in zip(cells, before, strict=True)
    )


def _most_between(on_grid: np.ndarray, start: float, end: float) -> float:
    """Return the greatest torque, N·m, from one master angle forward to another, degrees."""
    count = len(on_grid)
    first = round(start / TURN * count)
    steps = round((ahead(start, end) or TURN) / TURN * count)
    there = np.take(on_grid, np.arange(first, first + steps + 1), mode="wrap")
    return float(np.max(there))


def _alone(project: Project, lanes: Sequence[LaneSolution], angles: Sequence[float]) -> Iterator[LevelCheck]:
    """Yield the dwells that no row of the card looks at; of lanes without blocks the start of every step."""
    for one in lanes:
        for angle in alone_angles(project, one, angles):
            yield LevelCheck(one, angle, expected(project, one, angle))
