"""Larger margins by linear programs: where every part may be, the order of events staying as it is.

With turns, ways and choices as they are, every rule is linear in starts and lengths, and the largest least
margin is a linear program, solved exactly in a fraction of what a search takes:

    (1) maximise t, with slack_r(x) >= error_r t for every rule r that is open, slack_r(x) >= error_r t_r for
        those that are closed, and slack_r(x) >= 0 for what has to hold and no more

Rules that (1) cannot bring above t (those with a price) are closed at that t_r, and the rest is raised
further, so that one tight place does not leave all others as tight: the lexicographic largest margins. Of all
x with these margins the one nearest to the machine as drawn is taken:

    (2) minimise sum_i |x_i - drawn_i|, with slack_r(x) >= error_r t_r (1 - a little) for every rule r

It is then rounded to the grid; so that rules hold after that as well, each keeps half a step for each of its
variables (times its coefficient). Lexicographic max-min by repeated linear programs is common practice of
fair allocation (from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

import numpy as np
import numpy.typing as npt

from shaftscore.placing.affine import STEP_DEG, Affine
from shaftscore.placing.complete import SLACK, holds
from shaftscore.placing.problem import Problem

Floats = npt.NDArray[np.float64]

Flags = npt.NDArray[np.bool_]

MOST = 1e5
"""Largest margin, steps: what nothing limits has no larger one."""

PASSES = 6
"""Most linear programs; each closes the rules that are tightest."""

ENOUGH = 5.0
"""A normalised margin that needs no raising."""

LOST = 0.002
"""Share of the margins that may be lost for a smaller change."""

PRICED = 1e-7
"""A rule is tight if raising it costs this."""


@dataclass(frozen=True, eq=False)
class _Rows:
    """What must hold: matrix @ x + constant >= margin * t, steps.

    matrix: (rows, columns). constant: (rows,), less half a step for rounding. margin: (rows,) errors,
    degrees, 0 for what has to hold and no more. bounds: of each column. drawn: (columns,).
    """

    matrix: Floats
    constant: Floats
    margin: Floats
    bounds: tuple[tuple[int, int], ...]
    drawn: Floats


def raised(
    problem: Problem,
    drawn: Mapping[int, int],
    values: Sequence[int],
    keep: Sequence[Affine],
    counted: Collection[int],
) -> tuple[int, ...] | None:
    """Return complete values with larger margins in the same order of events; None where there are none.

    drawn: numbers of the variables that may change, and their values as drawn. values: complete, and they
    hold. keep: what must be at least 0 besides. counted: variables that count changes; what names them limits
    nothing, and they stay.
    """
    apart = frozenset(counted)
    free = replace(
        problem,
        inequalities=[row for row in problem.inequalities if apart.isdisjoint(row.expression.terms)],
    )
    found = _highest(_rows(free, drawn, values, keep))
    if found is None:
        return None
    full = list(values)
    for number, value in zip(drawn, found, strict=True):
        full[number] = floor(value + 0.5)
    kept = all(expression.at(full) >= -SLACK for expression in keep)
    return tuple(full) if kept and holds(free, full) else None


def _rows(problem: Problem, drawn: Mapping[int, int], values: Sequence[int], keep: Sequence[Affine]) -> _Rows:
    """Gather what holds while literals, turns and places stay as they are."""
    place = {number: index for index, number in enumerate(drawn)}
    active = [row for row in problem.inequalities if all(values[literal] for literal in row.literals)]
    wanted = [(row.expression, row.margin) for row in active] + [(expression, 0.0) for expression in keep]
    wanted = [(e, m) for e, m in wanted if not place.keys().isdisjoint(e.terms)]
    matrix, constant = np.zeros((len(wanted), len(drawn))), np.zeros(len(wanted))
    for index, (expression, _) in enumerate(wanted):
        constant[index] = expression.constant
        for number, by in expression.terms.items():
            if number in place:
                matrix[index, place[number]] += by
            else:
                constant[index] += by * values[number]
    now = matrix @ np.array([values[number] for number in drawn], dtype=float) + constant
    kept = np.minimum(np.abs(matrix).sum(axis=1) / 2, np.maximum(now, 0.0))
    variables = [problem.variables[number] for number in drawn]
    return _Rows(
        matrix=matrix,
        constant=constant - kept,
        margin=np.array([m for _, m in wanted]),
        bounds=tuple((variable.least, variable.most) for variable in variables),
        drawn=np.array([*drawn.values()], dtype=float),
    )


def _highest(rows: _Rows) -> Floats | None:
    """Return the x, (columns,) steps, with the largest margins, nearest to what was drawn; None for none."""
    level = np.zeros(len(rows.constant))
    is_open = rows.margin > 0
    for number in range(PASSES):
        raised_to = _raise(rows, is_open, level)
        if raised_to is None and not number:
            return None
        if raised_to is None:
            break
        reached, tight = raised_to
        level = np.where(is_open, reached, level)
        is_open = is_open & ~tight
        if reached * STEP_DEG >= ENOUGH or not tight.any() or not is_open.any():
            break
    return _nearest(rows, level * (1 - LOST))


def _raise(rows: _Rows, is_open: Flags, level: Floats) -> tuple[float, Flags] | None:
    """Solve (1): the largest t of the open rules, steps, and which of them have a price, (rows,)."""
    from scipy.optimize import linprog  # takes a third of a second to load
    from scipy.sparse import csr_matrix, hstack

    columns = hstack([csr_matrix(-rows.matrix), csr_matrix(np.where(is_open, rows.margin, 0.0)[:, None])])
    limits = rows.constant - np.where(is_open, 0.0, rows.margin * level * (1 - 1e-9))
    goal = np.zeros(len(rows.bounds) + 1)
    goal[-1] = -1.0
    result = linprog(goal, columns, limits, bounds=[*rows.bounds, (0, MOST)], method="highs")
    if result.status != 0:
        return None
    return float(result.x[-1]), is_open & (result.ineqlin.marginals < -PRICED)


def _nearest(rows: _Rows, level: Floats) -> Floats | None:
    """Solve (2): the x, (columns,) steps, nearest to what was drawn with margins of (rows,) levels."""
    from scipy.optimize import linprog
    from scipy.sparse import bmat, csr_matrix, identity

    count = len(rows.bounds)
    each = identity(count)
    columns = bmat([[csr_matrix(-rows.matrix), None], [each, -each], [-each, -each]])
    limits = np.concatenate([rows.constant - rows.margin * level, rows.drawn, -rows.drawn])
    goal = np.concatenate([np.zeros(count), np.ones(count)])
    bounds = [*rows.bounds, *[(0, None)] * count]
    result = linprog(goal, columns, limits, bounds=bounds, method="highs")
    return None if result.status != 0 else result.x[:count]
