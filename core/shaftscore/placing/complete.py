"""Completing values: from where the parts stand to everything that follows from it.

Turns, places and literals follow from starts and lengths, so any placement of the parts can be judged
without a search: this gives searches a whole answer to begin with, and shows the local search what holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from shaftscore.placing.problem import Inequality, Problem

SLACK = 1e-6
"""An expression is at least 0 if it is no more than this below, steps."""


def completed(problem: Problem, values: Sequence[int | None]) -> list[int]:
    """Fill in what follows; None stands for what is not known. Literals are 1 where they can be."""
    full = [v.least if value is None else value for v, value in zip(problem.variables, values, strict=True)]
    for derived in problem.derived:
        at = ceil(-derived.expression.at(full) / derived.period - SLACK)
        variable = problem.variables[derived.variable]
        full[derived.variable] = min(max(at, variable.least), variable.most)
    _literals(problem, full)
    for ranked in problem.ranked:
        away = [literal is not None and not full[literal] for literal in ranked.literals]
        heights = [(gone, expr.at(full)) for gone, expr in zip(away, ranked.expressions, strict=True)]
        for place, index in enumerate(sorted(range(len(heights)), key=heights.__getitem__)):
            full[ranked.variables[index]] = place
    if problem.ranked:
        _settled(problem, full)
    _latest(problem, full)
    return full


def _latest(problem: Problem, full: list[int]) -> None:
    """Leave the literals at 1 of as many of the latest as are needed: the others limit nothing."""
    for late in problem.late_enough:
        height = {n: expr.at(full) for n, expr in zip(late.literals, late.expressions, strict=True)}
        for literal in sorted(late.literals, key=height.__getitem__, reverse=True)[late.needed :]:
            full[literal] = 0


def _asked(problem: Problem) -> dict[int, list[Inequality]]:
    """Return the inequalities of each literal."""
    asked: dict[int, list[Inequality]] = {}
    for inequality in problem.inequalities:
        for literal in inequality.literals:
            asked.setdefault(literal, []).append(inequality)
    return asked


def _literals(problem: Problem, full: list[int]) -> None:
    """Set each literal to 1 where its own inequalities hold, those added last first: others ask for them."""
    asked = _asked(problem)
    for literal in asked:
        full[literal] = 1
    for literal in sorted(asked, reverse=True):
        full[literal] = int(all(_holds(inequality, full) for inequality in asked[literal]))


def _settled(problem: Problem, full: list[int]) -> None:
    """Set the literals again that depend on places; which way items go stays."""
    ways = {literal for ranked in problem.ranked for literal in ranked.literals}
    for literal, inequalities in sorted(_asked(problem).items(), key=lambda item: item[0]):
        if literal not in ways:
            full[literal] = 1
            full[literal] = int(all(_holds(inequality, full) for inequality in inequalities))


def _holds(inequality: Inequality, values: Sequence[int]) -> bool:
    return not all(values[literal] for literal in inequality.literals) or (
        inequality.expression.at(values) >= -SLACK
    )


def holds(problem: Problem, values: Sequence[int]) -> bool:
    """Return whether complete values meet every inequality and choice, whatever the margin."""
    return all(_holds(inequality, values) for inequality in problem.inequalities) and all(
        any(values[literal] for literal in choice.literals) for choice in problem.choices
    )


def margin_of(problem: Problem, values: Sequence[int]) -> float | None:
    """Return the smallest margin of complete values, steps; None where nothing limits it."""
    found = [
        inequality.expression.at(values) / inequality.margin
        for inequality in problem.inequalities
        if inequality.margin and all(values[literal] for literal in inequality.literals)
    ]
    return min(found, default=None)
