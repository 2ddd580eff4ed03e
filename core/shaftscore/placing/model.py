"""From a project to its arranging problem, and from values back to a project."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.edits.base import spanned
from shaftscore.judge.spread.slacks import RuleSlack
from shaftscore.model import Block, Lane, LevelState, Project, replaced
from shaftscore.placing.affine import STEP_DEG, STEPS, Affine, var
from shaftscore.placing.changes import MayChange
from shaftscore.placing.complete import margin_of
from shaftscore.placing.gates import add_gates
from shaftscore.placing.lanes import Lanes, MovableLane
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.rules import IMPOSSIBLE, add_rules
from shaftscore.placing.search import MARGIN_PARTS
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.weights import MarginWeights
from shaftscore.solution import Solution

MOST_MARGIN = 10_000 * MARGIN_PARTS
"""Largest margin that is looked for, in parts of a step: a normalised one of 1000."""


ROUNDED = 1e-3
"""Share of a margin by which whole coefficients may miss it."""


@dataclass(frozen=True)
class Arranging:
    """The problem of a project.

    margin: number of the variable that is the smallest margin, in parts of a step. has_margin: whether
    any rule limits it. change: the sum of all changes. narrowed: whether lanes were taken to serve one
    outlet each.
    """

    project: Project
    problem: Problem
    lanes: Lanes
    margin: int
    has_margin: bool
    change: Affine
    narrowed: bool

    def with_figures(self, values: Sequence[int], problem: Problem) -> tuple[int, ...]:
        """Return values with margin and changes as the parts are placed; problem: whose margins count."""
        full = list(values)
        margin = margin_of(problem, full)
        # Coefficients are rounded to hold exactly: a hair less, so that the values stay a whole answer.
        parts = 0 if margin is None else int(margin * MARGIN_PARTS * (1 - ROUNDED)) - 1
        full[self.margin] = max(0, min(MOST_MARGIN, parts))
        for (number, drawn), change in zip(self.drawn_positions().items(), self.change.terms, strict=True):
            full[change] = abs(full[number] - drawn)
        return tuple(full)

    def as_drawn(self) -> tuple[Affine, ...]:
        """Return what is at least 0 while each lane keeps its lengths and turns as a whole."""
        drawn, kept = self.drawn_positions(), []
        for moving in self.lanes.moving.values():
            starts = moving.own_starts
            for number in starts[1:]:
                turned = var(number) - var(starts[0]) - float(drawn[number] - drawn[starts[0]])
                kept += [turned, turned * -1.0]
            for number in moving.own_lengths:
                kept += [var(number) - float(drawn[number]), var(number) * -1.0 + float(drawn[number])]
        return tuple(kept)

    def arranged(self, values: Sequence[int]) -> Project:
        """Return the project with its blocks where the values put them."""
        lanes = [self._lane(lane, values) for lane in self.project.lanes]
        return replaced(self.project, lanes=tuple(lanes))

    def drawn_positions(self) -> dict[int, int]:
        """Return, for each variable that places a part, the value nearest to what was drawn."""
        return _drawn(tuple(self.lanes.moving.values()))

    def lane(self, lane_id: str, values: Sequence[int]) -> Lane:
        """Return one lane with its blocks where the values put them."""
        return self._lane(self.project.lane(lane_id), values)

    def _lane(self, lane: Lane, values: Sequence[int]) -> Lane:
        blocks = self.blocks(lane.id, values)
        same = all(one is other for one, other in zip(blocks, lane.blocks, strict=True))
        return lane if same else replaced(lane, blocks=blocks)

    def blocks(self, lane_id: str, values: Sequence[int]) -> tuple[Block, ...]:
        """Return a lane's blocks where the values put them, in the order of those drawn."""
        lane, moving = self.project.lane(lane_id), self.lanes.moving.get(lane_id)
        if moving is None or len(moving.parts) == 1:
            return lane.blocks
        blocks = list(lane.blocks)
        for part, start, length in zip(moving.parts, moving.starts, moving.lengths, strict=True):
            by = start.at(values) * STEP_DEG - part.start_deg
            for index in part.blocks:
                block = lane.blocks[index]
                long = length.at(values) * STEP_DEG if len(part.blocks) == 1 else block.length_deg
                blocks[index] = spanned(block, block.start_deg + by, long)
        return tuple(blocks)


def arranging(
    solution: Solution,
    shortest: Shortest,
    *,
    wide: bool = False,
    may: MayChange | None = None,
    errors: Sequence[RuleSlack] = (),
    lengths_stay: bool = False,
) -> Arranging:
    """Put a project's lanes, rules and flow into a problem. Raises ArrangeError where that cannot be.

    wide: look at all outlets for the items of each lane, also where one suits it alone. may: what may change.
    errors: places of rules with the error that each must survive; without them all must survive the same.
    lengths_stay: lanes will only turn as a whole, so that the shortest moves need not be found.
    """
    problem = Problem()
    margin = problem.new("margin", 0, MOST_MARGIN)
    lanes = Lanes(solution, problem, shortest, may, lengths_stay=lengths_stay)
    weights = MarginWeights(errors)
    add_rules(problem, lanes, weights)
    narrowed = add_gates(problem, lanes, weights, wide=wide)
    _guarded(problem, lanes)
    has_margin = any(inequality.margin for inequality in problem.inequalities)
    change = _change(problem, tuple(lanes.moving.values()))
    return Arranging(solution.project, problem, lanes, margin, has_margin, change, narrowed)


def _guarded(problem: Problem, lanes: Lanes) -> None:
    """Refuse sweeps through guarded levels: they come from the order of levels, wherever the blocks stand."""
    for lane in lanes.project.lanes:
        for level in lane.guarded if lane.blocks else ():
            held = lanes.held(LevelState(lane=lane.id, level=level))
            if any(interval.passing for interval in held):
                problem.at_least_0(IMPOSSIBLE, Reason("guarded", lane.id))


def _change(problem: Problem, lanes: Sequence[MovableLane]) -> Affine:
    """Add by how much each part is changed, its start and its length; give the sum, steps."""
    total = Affine()
    for number, drawn in _drawn(lanes).items():
        by = problem.new("change", 0, int(2 * STEPS), 0)
        problem.at_least_0(var(by) + var(number) - drawn)
        problem.at_least_0(var(by) - var(number) + drawn)
        total = total + var(by)
    return total


def _drawn(lanes: Sequence[MovableLane]) -> dict[int, int]:
    """Return, for each variable that places a part, the value nearest to what was drawn."""
    found: dict[int, int] = {}
    for moving in lanes:
        for part, start, length in zip(moving.parts, moving.starts, moving.lengths, strict=True):
            for expression, drawn in ((start, part.start_deg), (length, part.length_deg)):
                for number in expression.terms:
                    found.setdefault(number, round(drawn / STEP_DEG))
    return found
