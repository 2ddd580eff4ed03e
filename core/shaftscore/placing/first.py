"""A first answer without a search: lanes are shifted as wholes, the order of events staying as it is.

A slack between two lanes a and b then changes by the difference of their shifts x, steps of the master shaft:

    (1) slack_r + x_a - x_b >= error_r t, that is x_b <= x_a + (slack_r - error_r t)

For a margin t these are the edges of a graph. Such shifts exist where no cycle of it has a negative length,
and lengths of shortest paths, from a node before all others, are some (Bellman and Ford; "difference
constraints" in Cormen et al., Introduction to Algorithms). The largest t is found by bisection. A lane stays
where it is unless a path pushes it; what cannot move is one more node, from which all shifts are counted.
Whole groups come first, as one node each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.edits import BlockRef
from shaftscore.edits.base import spanned
from shaftscore.model import Block, Project, replaced
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.complete import completed, holds
from shaftscore.placing.figures import Moved
from shaftscore.placing.levels import Level, groups_of
from shaftscore.placing.model import Arranging
from shaftscore.placing.problem import Inequality
from shaftscore.placing.standing import BETTER, LEAST_BETTER

Floats = npt.NDArray[np.float64]

Ints = npt.NDArray[np.int64]

ENOUGH = 20.5
"""A margin, steps for a degree of error (a normalised slack of a little over 2), that needs no raising."""

HALVINGS = 10
"""Halvings in the search for the largest margin."""

SAME = 1e-6
"""Coefficients, and steps, that differ by no more than this are the same."""


@dataclass(frozen=True)
class ShiftedLanes:
    """A project with some lanes shifted as wholes; moved: their blocks. level: groups or lanes."""

    project: Project
    moved: tuple[Moved, ...]
    level: Level


def shifted_lanes(model: Arranging, level: Level) -> ShiftedLanes | None:
    """Shift whole groups, or lanes, for the largest margin up to `ENOUGH`; None where none is gained.

    None too where the model does not hold as drawn, and where a rule is between more than two of them.
    """
    drawn = completed(model.problem, [variable.hint for variable in model.problem.variables])
    if not model.has_margin or not holds(model.problem, drawn):
        return None
    graph = _Graph.of(model, drawn, _nodes(model, level))
    shifts = None if graph is None else graph.best_shifts()
    if shifts is None:
        return None
    by = {lane: int(shifts[node]) for lane, node in _nodes(model, level).items() if shifts[node]}
    return _shifted(model, by, level) if by else None


def _nodes(model: Arranging, level: Level) -> dict[str, int]:
    """Return the number of each lane's node, from 1 on; what is not in it cannot move."""
    groups = groups_of(model)
    if level == "groups":
        return {one.lane.id: number for number, group in enumerate(groups, 1) for one in group}
    return {one.lane.id: number for number, one in enumerate((o for group in groups for o in group), 1)}


def _shifted(model: Arranging, by: Mapping[str, int], level: Level) -> ShiftedLanes:
    """Shift lanes, each by steps of the master shaft."""
    lanes, moved = [], list[Moved]()
    for lane in model.project.lanes:
        steps = by.get(lane.id)
        if steps is None:
            lanes.append(lane)
            continue
        own = steps * STEP_DEG * model.lanes.moving[lane.id].turns
        blocks = tuple(spanned(block, block.start_deg + own, block.length_deg) for block in lane.blocks)
        lanes.append(replaced(lane, blocks=blocks))
        pairs = enumerate(zip(lane.blocks, blocks, strict=True))
        moved += [Moved(BlockRef(lane.id, i), old.level, _ends(old), _ends(new)) for i, (old, new) in pairs]
    return ShiftedLanes(replaced(model.project, lanes=tuple(lanes)), tuple(moved), level)


def _ends(block: Block) -> tuple[float, float]:
    return block.start_deg, block.end_deg


@dataclass(frozen=True, eq=False)
class _Graph:
    """The edges (1), (m,) each: from node a to node b, slack in steps, error in degrees (0: has to hold).

    count: nodes; node 0 does not move. least: the tightest margin as drawn, steps for a degree. most: the
    tightest of the rules that no shift changes.
    """

    a: Ints
    b: Ints
    slack: Floats
    error: Floats
    count: int
    least: float
    most: float

    @staticmethod
    def of(model: Arranging, drawn: Sequence[int], nodes: Mapping[str, int]) -> _Graph | None:
        """Gather the edges of the rows that are in force as drawn; None where a row is no such edge."""
        exact, steps, counted = _exactly_drawn(model, drawn), dict[int, tuple[int, int]](), model.change.terms
        for lane_id, node in nodes.items():
            moving = model.lanes.moving[lane_id]
            steps |= dict.fromkeys(moving.own_starts, (node, moving.turns))
        edges, least, most = list[tuple[int, int, float, float]](), np.inf, np.inf
        for row in model.problem.inequalities:
            if not all(drawn[n] for n in row.literals) or not counted.keys().isdisjoint(row.expression.terms):
                continue
            ends = _ends_of(row, steps)
            if ends is None:
                return None
            a, b, by = ends
            slack = row.expression.constant + sum(f * exact[n] for n, f in row.expression.terms.items())
            if row.margin:
                least = min(least, slack / row.margin)
            if a != b:
                edges.append((a, b, slack / by, row.margin / by))
            elif row.margin:
                most = min(most, slack / row.margin)
        if not edges:
            return None
        table = np.array(edges)
        sides = table[:, :2].astype(np.int64)
        count = max(nodes.values(), default=0) + 1
        return _Graph(sides[:, 0], sides[:, 1], table[:, 2], table[:, 3], count, least, most)

    def best_shifts(self) -> Ints | None:
        """Return the shifts, (count,) steps, with about the largest margin; None where they gain nothing."""
        low = self.least + max(LEAST_BETTER / STEP_DEG, BETTER * abs(self.least))
        high = min(ENOUGH, self.most)
        found = self._shifts(low) if low <= high else None
        if found is None:
            return None
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            shifts = self._shifts(middle)
            if shifts is None:
                high = middle
            else:
                low, found = middle, shifts
        return found

    def _shifts(self, margin: float) -> Ints | None:
        """Return shifts with a margin, those of the fewest lanes of two; None where there are none."""
        kept = np.maximum(self.slack, np.where(self.error > 0, -np.inf, 0.0))  # what is drawn may stay
        length = np.floor(kept - self.error * margin + SAME).astype(np.int64)
        back = self._pushed(self.a, self.b, length)
        if back is None:
            return None
        on = self._pushed(self.b, self.a, length)
        found = [back] if on is None else [back, -on]
        fewest: Ints = min((one - one[0] for one in found), key=np.count_nonzero)
        return fewest

    def _pushed(self, a: Ints, b: Ints, length: Ints) -> Ints | None:
        """Return the lengths of the shortest paths to each node, (count,), 0 or less; None for a cycle."""
        x = np.zeros(self.count, dtype=np.int64)
        for _ in range(self.count + 1):
            before = x.copy()
            np.minimum.at(x, b, before[a] + length)
            if np.array_equal(x, before):
                return x
        return None


def _ends_of(row: Inequality, steps: Mapping[int, tuple[int, int]]) -> tuple[int, int, float] | None:
    """Return the nodes a and b of a row, twice the same where it does not change, and its factor.

    None where it is no difference of two shifts.
    """
    by: dict[int, float] = {}
    for number, factor in row.expression.terms.items():
        if number in steps:
            node, turns = steps[number]
            by[node] = by.get(node, 0.0) + factor * turns
    moved = {node: factor for node, factor in by.items() if abs(factor) > SAME}
    more = [node for node, factor in moved.items() if factor > 0]
    less = [node for node, factor in moved.items() if factor < 0]
    sizes = [abs(factor) for factor in moved.values()]
    if len(more) > 1 or len(less) > 1 or (len(sizes) > 1 and abs(sizes[0] - sizes[1]) > SAME):
        return None
    return (more or [0])[0], (less or [0])[0], sizes[0] if sizes else 1.0


def _exactly_drawn(model: Arranging, drawn: Sequence[int]) -> list[float]:
    """Return the values at which all parts are where they are drawn, also off the grid."""
    exact = [float(value) for value in drawn]
    for moving in model.lanes.moving.values():
        own = (*moving.own_starts, *moving.own_lengths)
        for part, start, length in zip(moving.parts, moving.starts, moving.lengths, strict=True):
            for expression, at_deg in ((start, part.start_deg), (length, part.length_deg)):
                number = next((n for n in expression.terms if n in own), None)
                if number is not None:
                    exact[number] = drawn[number] + at_deg / STEP_DEG - expression.at(drawn)
    return exact
