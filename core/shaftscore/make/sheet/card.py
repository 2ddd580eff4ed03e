"""The test card: at which angles which lanes must stand at which levels, a group at a time.

The middles of the blocks are looked at: there a lane stands still, so that a hand finds the place. What
the other lanes of the group do at that angle is read from their state intervals and their motion.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.wording import degrees, millimetres
from shaftscore.judge.report import Report
from shaftscore.make.sheet.timing import dwells
from shaftscore.model import Project
from shaftscore.solution import LaneSolution

LANES_A_CARD = 6
"""Lanes beside one another on a card; a larger group has several cards."""

SAME_DEG = 0.05
"""Angles that would be written alike are one."""


@dataclass(frozen=True)
class Card:
    """A table to crank through: the lanes it looks at, and what each shall show at every angle."""

    title: str
    lanes: tuple[LaneSolution, ...]
    rows: tuple[tuple[str, ...], ...]


def cards(report: Report) -> Iterator[Card]:
    """Yield the cards of all groups in the order of their lanes; lanes without motion are left out."""
    project = report.project
    groups: dict[str, list[LaneSolution]] = {}
    for lane in project.lanes:
        solved = report.solution.lanes[lane.id]
        if solved.motion is not None:
            groups.setdefault(lane.group, []).append(solved)
    for group, lanes in groups.items():
        pieces = [lanes[first : first + LANES_A_CARD] for first in range(0, len(lanes), LANES_A_CARD)]
        for number, piece in enumerate(pieces, start=1):
            name = group or "lanes without a group"
            title = f"{name} ({number} of {len(pieces)})" if len(pieces) > 1 else name
            yield Card(title, tuple(piece), tuple(_rows(project, piece)))


def _rows(project: Project, lanes: Sequence[LaneSolution]) -> Iterator[tuple[str, ...]]:
    for angle in angles(project, lanes):
        yield (degrees(angle), *(shown(project, solved, angle) for solved in lanes), "")


def angles(project: Project, lanes: Sequence[LaneSolution]) -> list[float]:
    """Return the middles of all blocks of the lanes, master angles, ascending, each once."""
    found = sorted(wrap(span.middle) for solved in lanes for _, span in dwells(project, solved))
    kept: list[float] = []
    for angle in found:
        if not kept or angle - kept[-1] > SAME_DEG:
            kept.append(angle)
    return kept


def shown(project: Project, solved: LaneSolution, angle: float) -> str:
    """Describe where a lane stands at a master angle, degrees: its level, else that it moves; and its output.

    Raises ValueError for a lane without motion.
    """
    if solved.motion is None:
        raise ValueError(f"lane {solved.lane.id} has no motion to look at")
    output = float(solved.motion.at(np.array([wrap(angle * solved.turns)]))[0, 0])
    at = [
        level
        for level, intervals in solved.states.items()
        if any(interval.span.contains(angle) for interval in intervals)
    ]
    near = min(at, key=lambda level: abs(project.levels_of(solved.lane)[level] - output), default="moving")
    return f"{near} ({millimetres(output)})"
