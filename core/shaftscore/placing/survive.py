"""The error that each inequality must survive, so that the margin is measured in units of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import isfinite

from shaftscore.judge.spread.slacks import RuleSlack
from shaftscore.model import Project
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.lanes import Lanes
from shaftscore.placing.problem import Inequality, Problem, Reason

KINDS: Mapping[str, tuple[str, ...]] = {
    "channel": ("headway", "diverter"),
    "gate": ("release",),
    "outlet": ("outlet-order",),
    "magazine": ("stock",),
}
"""What the reasons of a flow are judged as."""

USUAL_DEG = 1.0
"""The error where no place of a rule is known, degrees."""


def with_errors(problem: Problem, lanes: Lanes, slacks: Iterable[RuleSlack]) -> Problem:
    """Return the problem with the error that each inequality must survive as its factor of the margin.

    slacks: places of the rules of the project as drawn. Of several places between the same lanes the largest
    error counts; where none is known, the largest of the rule, or of all rules.
    """
    by_place: dict[tuple[str, str, frozenset[str]], float] = {}
    by_rule: dict[tuple[str, str], float] = {}
    for one in slacks:
        if isfinite(one.error_deg):
            place = (*one.key, frozenset(one.lanes))
            by_place[place] = max(by_place.get(place, 0.0), one.error_deg)
            by_rule[one.key] = max(by_rule.get(one.key, 0.0), one.error_deg)
    owners = _owners(lanes)
    usual = max(by_rule.values(), default=USUAL_DEG)

    def error_of(inequality: Inequality) -> float:
        keys = _keys(inequality.reason, lanes.project)
        moved = frozenset().union(*(owners.get(number, frozenset()) for number in inequality.expression.terms))
        exact = [by_place[place] for key in keys if (place := (*key, moved)) in by_place]
        among = [by_rule[key] for key in keys if key in by_rule]
        return max(exact or among, default=usual)

    changed = [
        replace(one, margin=(one.margin or 1.0) * error_of(one) / STEP_DEG) if one.margin or (one.reason is not None and one.reason.kind in ("channel", "gate")) else one
        for one in problem.inequalities
    ]
    return replace(problem, inequalities=changed)


def _keys(reason: Reason | None, project: Project) -> tuple[tuple[str, str], ...]:
    """Return the kinds and names under which a reason is judged."""
    if reason is None:
        return ()
    if reason.kind == "rule":
        return ((project.rules[int(reason.of)].kind, str(reason.of)),)
    return tuple((kind, str(reason.of)) for kind in KINDS.get(reason.kind, ()))


def _owners(lanes: Lanes) -> Mapping[int, frozenset[str]]:
    """Return, for each variable that places a part, the lane whose own it is."""
    found: dict[int, frozenset[str]] = {}
    for lane_id, moving in lanes.moving.items():
        for number in (*moving.own_starts, *moving.own_lengths):
            found[number] = frozenset((lane_id,))
    return found
