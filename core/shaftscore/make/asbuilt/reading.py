"""Rows of measurements as readings: how much later than its edge in the program each is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np

from shaftscore.base.angles import turn_to
from shaftscore.base.errors import EditError
from shaftscore.kinematics.motion.states import level_intervals
from shaftscore.model.project import Measured
from shaftscore.solution import LaneSolution, Solution

MOST_FAULTS = 5
"""So many faults of rows are reported at once."""

Edge = Literal["begin", "end"]

_EdgesOf = Callable[[LaneSolution, str, Edge], list[float]]


@dataclass(frozen=True)
class EdgeReading:
    """One reading: of which lane and edge, how much later than the program, degrees of the lane's own stack.

    at_deg: where the program has it. backward: turned to it backward. falling: the output then fell, as the
    machine was turned.
    """

    lane_id: str
    level: str
    edge: str
    at_deg: float
    late_deg: float
    backward: bool
    falling: bool

    @property
    def group(self) -> tuple[str, str, float, bool]:
        """What repeated readings of one edge share."""
        return self.level, self.edge, round(self.at_deg, 3), self.backward


def readings_of(solution: Solution, measured: Sequence[Measured]) -> list[EdgeReading]:
    """Return a reading a row. Raises EditError with all bad rows (counted from 1)."""
    readings, faults = [], []
    edges = cache(edges_of)  # many rows measure one and the same level
    falls = cache(falls_at)
    for number, row in enumerate(measured, start=1):
        try:
            readings.append(_reading(solution, row, edges, falls))
        except EditError as error:
            faults.append(f"row {number}: {error}")
    if faults:
        more = f"; and {len(faults) - MOST_FAULTS} more" if len(faults) > MOST_FAULTS else ""
        raise EditError("; ".join(faults[:MOST_FAULTS]) + more)
    return readings


def _reading(
    solution: Solution, row: Measured, edges: _EdgesOf, falls: Callable[[LaneSolution, float], bool]
) -> EdgeReading:
    solved = measurable(solution, row.lane)
    if row.level not in solved.lane.levels:
        levels = ", ".join(solved.lane.levels) or "none"
        raise EditError(f'{solved.lane.label} has no level "{row.level}" (it has {levels})')
    known = edges(solved, row.level, row.edge)
    if not known:
        raise EditError(f"{solved.lane.label} has no {row.edge} of {row.level} in the program")
    at = min(known, key=lambda edge: abs(turn_to(edge, row.angle_deg)))
    backward = row.sense == "backward"
    falling = falls(solved, at) != backward
    return EdgeReading(row.lane, row.level, row.edge, at, turn_to(at, row.angle_deg), backward, falling)


def measurable(solution: Solution, lane_id: str) -> LaneSolution:
    """Return a lane that has a disc and a motion; raises EditError for others."""
    solved = solution.lanes.get(lane_id)
    if solved is None:
        raise EditError(f'there is no lane "{lane_id}"')
    if not solved.lane.has_disc:
        raise EditError(f"{solved.lane.label} has no disc of its own to turn")
    if solved.motion is None:
        raise EditError(f"{solved.lane.label} has no motion, so it has no edges to compare with")
    return solved


def edges_of(solved: LaneSolution, level: str, edge: Edge) -> list[float]:
    """Return all edges of a kind of a level, degrees of the lane's own stack."""
    assert solved.motion is not None
    spans = [interval.span for interval in level_intervals(solved.lane, solved.motion, level)]
    return [span.start if edge == "begin" else span.end for span in spans if not span.is_full]


def falls_at(solved: LaneSolution, at_deg: float) -> bool:
    """Return whether the output falls at an angle of the lane's own stack, degrees, as the program runs."""
    assert solved.motion is not None
    return bool(solved.motion.at(np.array([at_deg]))[1, 0] < 0.0)
