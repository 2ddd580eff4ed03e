"""Lags of discs and play of the train, from edges measured on the built machine.

An *edge* is the beginning or the end of a stretch in which a lane is AT a level. A row of `measured` says at
which angle of the lane's own stack, read on the driving side, an edge was found, and in which sense the
machine was turned to it. The row belongs to the edge of that kind and level which is nearest.

The model, all in degrees of the lane's own stack:

    angle read - angle of the program = lag of the lane + scatter, turned forward
                                      = lag of the lane - play of the stack + scatter, turned backward

The *lag* is how much later than the program a lane comes when the machine is turned forward, as it runs.
The *play* is that of the train between the stack and the motor: turned backward, the driving side reads
less by all of it, so play is the forward reading less the backward one of one edge. Rows of one stack
are solved together by least squares, all rows of equal weight; different stacks share nothing. Standard
uncertainties are the roots of the diagonal of s² (A' A)^-1 with s² = residual sum of squares / (rows -
unknowns), as any text on linear regression gives them; without a row to spare there are none. A lag that
all lanes share may as well be a dial that is set wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import turn_to
from shaftscore.base.errors import EditError
from shaftscore.base.wording import listed
from shaftscore.kinematics.motion.states import level_intervals
from shaftscore.model.project import Measured, Project
from shaftscore.model.shaft import Stack
from shaftscore.solution import LaneSolution, Solution

MOST_FAULTS = 5
"""So many faults of rows are reported at once."""


@dataclass(frozen=True)
class LaneLag:
    """How much later than the program a lane comes, degrees of its own stack.

    u_deg: standard uncertainty, None without rows to spare. rows: how many say so.
    """

    lane_id: str
    lag_deg: float
    u_deg: float | None
    rows: int


@dataclass(frozen=True)
class StackPlay:
    """Play between a stack and the motor, degrees of the stack.

    play_deg: None where no edge was measured in both senses. u_deg: standard uncertainty of it, and
    scatter_deg: standard deviation of one row; None without rows to spare.
    """

    stack_id: str
    play_deg: float | None
    u_deg: float | None
    scatter_deg: float | None


@dataclass(frozen=True)
class AsBuilt:
    """What the rows say: a lag for each lane measured, in file order, and the play of their stacks."""

    lanes: tuple[LaneLag, ...]
    stacks: tuple[StackPlay, ...]


Edge = Literal["begin", "end"]

_EdgesOf = Callable[[LaneSolution, str, Edge], list[float]]


@dataclass(frozen=True)
class _Reading:
    """One row: of which lane, how much later than its edge in the program, and in which sense."""

    lane_id: str
    late_deg: float
    backward: bool


def estimate(solution: Solution, measured: Sequence[Measured]) -> AsBuilt:
    """Estimate lags and play from rows.

    Raises EditError with all bad rows (counted from 1), or where rows turned backward cannot tell lag
    from play.
    """
    if not measured:
        raise EditError("nothing was measured yet: a row needs lane, level, edge, angle and sense")
    readings, faults = [], []
    edges = cache(edges_of)  # many rows measure one and the same level
    for number, row in enumerate(measured, start=1):
        try:
            readings.append(_reading(solution, row, edges))
        except EditError as error:
            faults.append(f"row {number}: {error}")
    if faults:
        more = f"; and {len(faults) - MOST_FAULTS} more" if len(faults) > MOST_FAULTS else ""
        raise EditError("; ".join(faults[:MOST_FAULTS]) + more)
    project = solution.project
    found = [_of_stack(project, stack, readings) for stack in project.stacks]
    return AsBuilt(tuple(lag for lags, _ in found for lag in lags), tuple(p for _, p in found if p))


def _reading(solution: Solution, row: Measured, edges: _EdgesOf) -> _Reading:
    solved = _measurable(solution, row.lane)
    if row.level not in solved.lane.levels:
        levels = ", ".join(solved.lane.levels) or "none"
        raise EditError(f'{solved.lane.label} has no level "{row.level}" (it has {levels})')
    late = [turn_to(edge, row.angle_deg) for edge in edges(solved, row.level, row.edge)]
    if not late:
        raise EditError(f"{solved.lane.label} has no {row.edge} of {row.level} in the program")
    return _Reading(row.lane, min(late, key=abs), row.sense == "backward")


def _measurable(solution: Solution, lane_id: str) -> LaneSolution:
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


def _of_stack(
    project: Project, stack: Stack, readings: Sequence[_Reading]
) -> tuple[tuple[LaneLag, ...], StackPlay | None]:
    """Solve one stack; the play is None where nothing was measured on it."""
    lanes = [lane for lane in project.lanes if project.stack_of(lane) is stack]
    own = [lane.id for lane in lanes if any(reading.lane_id == lane.id for reading in readings)]
    rows = [reading for reading in readings if reading.lane_id in own]
    if not rows:
        return (), None
    has_play = _has_play(project, stack, rows)
    design = np.array([[float(row.lane_id == lane) for lane in own] for row in rows])
    if has_play:
        design = np.column_stack([design, [-float(row.backward) for row in rows]])
    values, spread, scatter = _least_squares(design, np.array([row.late_deg for row in rows]))
    lags = tuple(
        LaneLag(lane, value, u, sum(row.lane_id == lane for row in rows))
        for lane, value, u in zip(own, values, spread, strict=False)
    )
    play, u_play = (values[-1], spread[-1]) if has_play else (None, None)
    return lags, StackPlay(stack.id, play, u_play, scatter)


def _has_play(project: Project, stack: Stack, rows: Sequence[_Reading]) -> bool:
    """Return whether the play can be known; raises EditError where a lag cannot be separated from it."""
    senses = {
        lane: {row.backward for row in rows if row.lane_id == lane} for lane in {row.lane_id for row in rows}
    }
    if any(len(several) == 2 for several in senses.values()):
        return True
    backward = [lane.label for lane in project.lanes if senses.get(lane.id) == {True}]
    if backward:
        raise EditError(
            f"{listed(backward)} on {stack.label}: turned backward only, so lag and play cannot be "
            "separated; measure one edge forward too"
        )
    return False


def _least_squares(
    design: npt.NDArray[np.float64], late: npt.NDArray[np.float64]
) -> tuple[list[float], list[float | None], float | None]:
    """Solve (n, m) unknowns from n rows: values, standard uncertainties, standard deviation of a row."""
    found = np.linalg.lstsq(design, late, rcond=None)[0]
    rows, unknowns = design.shape
    if rows == unknowns:
        return found.tolist(), [None] * unknowns, None
    variance = float(np.sum((late - design @ found) ** 2)) / (rows - unknowns)
    spread = np.sqrt(variance * np.diag(np.linalg.inv(design.T @ design)))
    return found.tolist(), spread.tolist(), float(np.sqrt(variance))
