"""Which further row would tell most: the unknown that is known worst, and the edge that narrows it most.

A row more changes (A' A)^-1 by a known amount whatever it says, so its use is known before it is measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import degrees
from shaftscore.make.asbuilt.expected import measurable_edges
from shaftscore.make.asbuilt.fitting import student, with_one_more
from shaftscore.make.asbuilt.model import AsBuilt, MeasuredStack, design_of
from shaftscore.make.asbuilt.reading import EdgeReading, falls_at
from shaftscore.solution import Solution

UNKNOWNS = {"lag": "where {lane} stands", "play": "the play of the train", "slack": "the slack of {lane}"}
"""What is told of each unknown."""


@dataclass(frozen=True)
class NextRow:
    """A row that would help.

    lane_id, level, edge, at_deg, sense: what to measure, at which angle of the lane's own stack the program
    has it. sentence: what to do and what it brings.
    """

    lane_id: str
    level: str
    edge: str
    at_deg: float
    sense: str
    sentence: str


def next_rows(solution: Solution, found: AsBuilt) -> list[NextRow]:
    """Return the row that helps most, a stack each; none where everything is known well enough.

    Known well enough is what the interval of 95 % leaves no wider than the tolerance of a disc's angle.
    """
    return [row for fit in found.fits for row in _of_stack(solution, fit)]


def _of_stack(solution: Solution, fit: MeasuredStack) -> Iterator[NextRow]:
    missing = _missing(solution, fit)
    if missing is not None:
        yield missing
        return
    goal = solution.project.tolerances.disc_angle_deg
    half = fit.fit.half_widths()
    if all(one is not None and one <= goal for one in half):
        return
    target = max(range(len(half)), key=lambda column: fit.fit.unscaled[column, column])
    best = _best(solution, fit, target)
    if best is not None:
        yield _told(solution, fit, target, best)


def _missing(solution: Solution, fit: MeasuredStack) -> NextRow | None:
    """Return the row without which something is not known at all: the play, or a lane's slack."""
    if fit.of("play") is None:
        candidate = next((one for one in _candidates(solution, fit) if one.backward), None)
        what = "then the play of the train is known too"
        return None if candidate is None else _row(solution, candidate, what)
    for kind, lane_id in fit.unknowns:
        if kind != "lag" or fit.of("slack", lane_id) is not None:
            continue
        seen = {row.falling for row in fit.rows if row.lane_id == lane_id and not row.backward}
        for candidate in _candidates(solution, fit):
            forward = not candidate.backward and candidate.lane_id == lane_id
            if forward and candidate.falling not in seen:
                way = "falls" if candidate.falling else "rises"
                return _row(solution, candidate, f"then it is known whether its {way} come later")
    return None


def _candidates(solution: Solution, fit: MeasuredStack) -> Iterator[EdgeReading]:
    """Yield every row that could be measured on the lanes of a stack that were measured."""
    lanes = {row.lane_id for row in fit.rows}
    for edge in measurable_edges(solution):
        if edge.lane_id not in lanes:
            continue
        falls = falls_at(solution.lanes[edge.lane_id], edge.expected_deg)
        for backward in (False, True):
            yield EdgeReading(
                edge.lane_id, edge.level, edge.edge, edge.expected_deg, 0.0, backward, falls != backward
            )


def _best(solution: Solution, fit: MeasuredStack, target: int) -> EdgeReading | None:
    """Return the row after which an unknown is known best."""
    candidates = list(_candidates(solution, fit))
    if not candidates:
        return None
    rows = design_of(candidates, fit.unknowns)
    after = [with_one_more(fit.fit.unscaled, row)[target, target] for row in rows]
    return candidates[int(np.argmin(after))]


def _told(solution: Solution, fit: MeasuredStack, target: int, row: EdgeReading) -> NextRow:
    kind, lane_id = fit.unknowns[target]
    lane = solution.project.lane(lane_id).label if lane_id else ""
    what = UNKNOWNS[kind].format(lane=lane)
    scatter, spare = fit.fit.scatter, fit.fit.spare
    if scatter is None:
        return _row(solution, row, f"then the uncertainty of {what} is known")
    after = with_one_more(fit.fit.unscaled, design_of([row], fit.unknowns)[0])[target, target]
    now = student(spare) * scatter * float(np.sqrt(fit.fit.unscaled[target, target]))
    then = student(spare + 1) * scatter * float(np.sqrt(after))
    return _row(solution, row, f"{what} is then known to about ±{degrees(then, 2)}, now ±{degrees(now, 2)}")


def _row(solution: Solution, row: EdgeReading, what: str) -> NextRow:
    lane = solution.project.lane(row.lane_id)
    sense = "backward" if row.backward else "forward"
    name = f"{lane.code} {lane.label}" if lane.code else lane.label
    where = f"{row.edge} of {row.level} at about {degrees(row.at_deg)}, turned {sense}"
    sentence = f"Measure next: {name}, {where}; {what}."
    return NextRow(row.lane_id, row.level, row.edge, row.at_deg, sense, sentence)
