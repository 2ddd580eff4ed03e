"""Edges at which a lane can be measured, with the angles that the program has for them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shaftscore.base.angles import turn_to, wrap
from shaftscore.make.asbuilt.model import edges_of
from shaftscore.model.project import Measured
from shaftscore.solution import LaneSolution, Solution

EDGES: tuple[Literal["begin", "end"], ...] = ("begin", "end")


@dataclass(frozen=True)
class MeasurableEdge:
    """An edge of a lane's level, and what was measured there, if anything.

    expected_deg: where the program has it, degrees of the lane's own stack.
    """

    lane_id: str
    level: str
    edge: Literal["begin", "end"]
    expected_deg: float
    measured: Measured | None = None


def measurable_edges(solution: Solution) -> list[MeasurableEdge]:
    """Return every edge of every lane with a disc and a motion: stack by stack, as the shaft turns."""
    project = solution.project
    places = {stack.id: place for place, stack in enumerate(project.stacks)}
    found = [edge for solved in solution.lanes.values() for edge in _of_lane(solved)]
    return sorted(
        found, key=lambda one: (places[project.stack_of(project.lane(one.lane_id)).id], one.expected_deg)
    )


def _of_lane(solved: LaneSolution) -> Iterable[MeasurableEdge]:
    if not solved.lane.has_disc or solved.motion is None:
        return
    for level in solved.lane.levels:
        for edge in EDGES:
            for at in edges_of(solved, level, edge):
                yield MeasurableEdge(solved.lane.id, level, edge, wrap(at))


def with_measured(edges: Sequence[MeasurableEdge], measured: Sequence[Measured]) -> list[MeasurableEdge]:
    """Return edges with what was measured at them: each row at the nearest one like it, more below it.

    A row of which the program has no edge comes last, with its own angle as the expected one.
    """
    rows: list[list[MeasurableEdge]] = [[edge] for edge in edges]
    others: list[MeasurableEdge] = []
    for row in measured:
        like = [
            place
            for place, edge in enumerate(edges)
            if (edge.lane_id, edge.level, edge.edge) == (row.lane, row.level, row.edge)
        ]
        if not like:
            others.append(MeasurableEdge(row.lane, row.level, row.edge, row.angle_deg, row))
            continue
        near = min(like, key=lambda place: abs(turn_to(edges[place].expected_deg, row.angle_deg)))
        made = replace(edges[near], measured=row)
        rows[near] = [made] if rows[near][0].measured is None else [*rows[near], made]
    return [edge for own in rows for edge in own] + others
