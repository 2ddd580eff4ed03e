"""Lags of discs, play of the train and of the links, from what was measured on the built machine.

An *edge* is the beginning or the end of a stretch in which a lane is AT a level. A row of `measured` says at
which angle of the lane's own stack, read on the driving side, an edge was found, and in which sense the
machine was turned to it. The row belongs to the edge of that kind and level which is nearest.

The model, all in degrees of the lane's own stack:

    angle read - angle of the program = lag of the lane
                                        - play of the stack, turned backward
                                        + half its slack where its output falls, - half where it rises
                                        + scatter

The *lag* is how much later than the program a lane comes when the machine is turned forward, as it runs.
The *play* is that of the train between the stack and the motor: turned backward, the driving side reads
less by all of it, so play is the forward reading less the backward one of one edge. The *slack* is by how
much falls come later than rises: play of the link, or a spring that sticks. It is estimated where rows tell
it apart from the rest, else taken as none. What is left after that, beyond the scatter of repeated rows, is
the *profile*: the disc has another shape. Rows of one stack are solved together by least squares, all rows of
equal weight; different stacks share nothing (`fitting`). A lag that all lanes share may as well be a dial
that is set wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.errors import EditError
from shaftscore.base.wording import listed
from shaftscore.make.asbuilt.fitting import LinearFit, Reals, fitted, lack_of_fit
from shaftscore.make.asbuilt.reading import EdgeReading, edges_of, readings_of
from shaftscore.model.project import Measured, Project
from shaftscore.model.shaft import Stack
from shaftscore.solution import Solution

__all__ = ["AsBuilt", "LaneLag", "MeasuredStack", "ShapeDoubt", "StackPlay", "edges_of", "estimate"]

LIKELY = 0.05
"""A profile is doubted where its rows would come about with less chance than this if it were right."""


@dataclass(frozen=True)
class ShapeDoubt:
    """The edges of a lane differ among themselves more than repeated rows of one edge do.

    level, edge: the one that is farthest off; late_deg: by how much, degrees of the stack, after lag, play
    and slack. chance: that a disc of the right shape would show as much.
    """

    level: str
    edge: str
    late_deg: float
    chance: float


@dataclass(frozen=True)
class LaneLag:
    """How much later than the program a lane comes, degrees of its own stack.

    u_deg: standard uncertainty, half_deg: half the interval that holds the lag with 95 %; None without rows
    to spare. rows: how many say so. slack_deg: by how much falls come later than rises, None where the rows
    do not tell; slack_half_deg: half its interval. shape: what speaks against the disc's profile, None where
    nothing does or no edge was measured twice.
    """

    lane_id: str
    lag_deg: float
    u_deg: float | None
    rows: int
    half_deg: float | None = None
    slack_deg: float | None = None
    slack_half_deg: float | None = None
    shape: ShapeDoubt | None = None


@dataclass(frozen=True)
class StackPlay:
    """Play between a stack and the motor, degrees of the stack.

    play_deg: None where no edge was measured in both senses. u_deg: standard uncertainty of it, half_deg:
    half the interval that holds it with 95 %, and scatter_deg: standard deviation of one row; None without
    rows to spare.
    """

    stack_id: str
    play_deg: float | None
    u_deg: float | None
    scatter_deg: float | None
    half_deg: float | None = None


@dataclass(frozen=True, eq=False)
class MeasuredStack:
    """The system of one stack: its rows, what each unknown is, and its solution.

    unknowns: ("lag", lane id), ("slack", lane id) or ("play", ""), a column of the design each.
    """

    stack_id: str
    rows: tuple[EdgeReading, ...]
    unknowns: tuple[tuple[str, str], ...]
    fit: LinearFit

    def of(self, kind: str, lane_id: str = "") -> int | None:
        """Return the column of an unknown; None where it is not estimated."""
        key = (kind, lane_id)
        return self.unknowns.index(key) if key in self.unknowns else None


@dataclass(frozen=True)
class AsBuilt:
    """What the rows say: a lag for each lane measured, in file order, and the play of their stacks.

    fits: the systems that were solved, a stack each.
    """

    lanes: tuple[LaneLag, ...]
    stacks: tuple[StackPlay, ...]
    fits: tuple[MeasuredStack, ...] = ()


def estimate(solution: Solution, measured: Sequence[Measured], more: Sequence[EdgeReading] = ()) -> AsBuilt:
    """Estimate lags, play and slack from rows; more: readings from elsewhere, such as a bring-up sheet.

    Raises EditError with all bad rows (counted from 1), or where rows turned backward cannot tell lag
    from play.
    """
    readings = [*readings_of(solution, measured), *more]
    if not readings:
        raise EditError("nothing was measured yet: a row needs lane, level, edge, angle and sense")
    project = solution.project
    fits = [_of_stack(project, stack, readings) for stack in project.stacks]
    found = tuple(fit for fit in fits if fit is not None)
    lags = tuple(lag for fit in found for lag in _lags(fit))
    return AsBuilt(lags, tuple(_play(fit) for fit in found), found)


def _of_stack(project: Project, stack: Stack, readings: Sequence[EdgeReading]) -> MeasuredStack | None:
    """Solve one stack; None where nothing was measured on it."""
    lanes = [lane for lane in project.lanes if project.stack_of(lane) is stack]
    own = [lane.id for lane in lanes if any(reading.lane_id == lane.id for reading in readings)]
    rows = tuple(reading for reading in readings if reading.lane_id in own)
    if not rows:
        return None
    play = [("play", "")] if _has_play(project, stack, rows) else []
    unknowns = [*(("lag", lane_id) for lane_id in own), *play]
    every = [*unknowns, *(("slack", lane_id) for lane_id in own)]
    design = design_of(rows, every)
    kept = _that_rows_tell(design, len(unknowns))
    fit = fitted(design[:, kept], np.array([row.late_deg for row in rows]))
    return MeasuredStack(stack.id, rows, tuple(every[column] for column in kept), fit)


def _that_rows_tell(design: Reals, needed: int) -> list[int]:
    """Return the columns that can be estimated together: those needed, and of the others each that adds."""
    products = design.T @ design
    kept = list(range(needed))
    for column in range(needed, design.shape[1]):
        tried = [*kept, column]
        ranks = np.linalg.matrix_rank(products[np.ix_(tried, tried)], hermitian=True)
        if len(tried) < len(design) and ranks == len(tried):
            kept = tried
    return kept


def design_of(rows: Sequence[EdgeReading], unknowns: Sequence[tuple[str, str]]) -> Reals:
    """Return the design of rows: (rows, unknowns)."""
    lanes = np.array([row.lane_id for row in rows])
    backward = np.array([float(row.backward) for row in rows])
    half = np.array([0.5 if row.falling else -0.5 for row in rows])
    columns = {"lag": np.ones(len(rows)), "slack": half}
    made = [
        -backward if kind == "play" else np.where(lanes == lane_id, columns[kind], 0.0)
        for kind, lane_id in unknowns
    ]
    return np.column_stack(made)


def _has_play(project: Project, stack: Stack, rows: Sequence[EdgeReading]) -> bool:
    """Return whether the play can be known; raises EditError where a lag cannot be separated from it."""
    senses: dict[str, set[bool]] = {}
    for row in rows:
        senses.setdefault(row.lane_id, set()).add(row.backward)
    if any(len(several) == 2 for several in senses.values()):
        return True
    backward = [lane.label for lane in project.lanes if senses.get(lane.id) == {True}]
    if backward:
        raise EditError(
            f"{listed(backward)} on {stack.label}: turned backward only, so lag and play cannot be "
            "separated; measure one edge forward too"
        )
    return False


def _play(fit: MeasuredStack) -> StackPlay:
    column, solved = fit.of("play"), fit.fit
    if column is None:
        return StackPlay(fit.stack_id, None, None, solved.scatter)
    value = float(solved.values[column])
    u, half = solved.uncertainties()[column], solved.half_widths()[column]
    return StackPlay(fit.stack_id, value, u, solved.scatter, half)


def _lags(fit: MeasuredStack) -> list[LaneLag]:
    values, spread, half = fit.fit.values.tolist(), fit.fit.uncertainties(), fit.fit.half_widths()
    found = []
    for column, (kind, lane_id) in enumerate(fit.unknowns):
        if kind != "lag":
            continue
        slack = fit.of("slack", lane_id)
        found.append(
            LaneLag(
                lane_id,
                values[column],
                spread[column],
                sum(row.lane_id == lane_id for row in fit.rows),
                half[column],
                None if slack is None else values[slack],
                None if slack is None else half[slack],
                _shape(fit, lane_id, 1 + (slack is not None)),
            )
        )
    return found


def _shape(fit: MeasuredStack, lane_id: str, unknowns: int) -> ShapeDoubt | None:
    """Return what speaks against the profile of a lane: its edges differ more than repeated rows do."""
    places = [place for place, row in enumerate(fit.rows) if row.lane_id == lane_id]
    groups = [fit.rows[place].group for place in places]
    found = lack_of_fit(groups, fit.fit.residuals[places], unknowns)
    if found is None or found.chance >= LIKELY:
        return None
    place = places[groups.index(found.worst)]
    row = fit.rows[place]
    return ShapeDoubt(row.level, row.edge, found.worst_by, found.chance)
