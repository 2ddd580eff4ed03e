"""Any project: nothing fails, and the nominal machine is judged as the checks judge it."""

from __future__ import annotations

import math

from hypothesis import given, settings

from shaftscore.judge.checks.margin import Margin, rule_margins, smallest_of
from shaftscore.judge.spread import find_spread
from shaftscore.judge.spread.draws import Errors, draw
from shaftscore.judge.spread.judged import parts_of
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Order, Project, replaced
from shaftscore.solution import Solution, solve
from tests import strategies


def alone(project: Project, rule: object) -> tuple[Solution, Margin | None]:
    solution = solve(replaced(project, rules=(rule,), flow=None))
    return solution, smallest_of(rule_margins(solution))


@settings(max_examples=60)
@given(strategies.projects(clean=True))
def test_the_nominal_machine_breaks_what_the_checks_break(project: Project) -> None:
    for rule in project.rules:
        solution, margin = alone(project, rule)
        machines = Machines(solution, Errors(solution.project, draw(solution.project, 3, 1)))
        slack = min((float(part.slack_deg[0]) for part in parts_of(machines, rule)), default=math.inf)
        expected = math.inf if margin is None else margin.smallest_deg
        if abs(expected) < 2e-3:
            continue  # on the edge: tables are exact to about 1e-3 degree where moves are long and flat
        assert (slack < 0) == (expected < 0), (slack, expected, rule)
        if expected > 0 and not isinstance(rule, Order) and expected < 300:
            assert math.isclose(slack, expected, abs_tol=2e-3), (slack, expected, rule)


@settings(max_examples=60)
@given(strategies.projects(clean=True))
def test_any_project_can_be_drawn(project: Project) -> None:
    found = find_spread(solve(project), machines=20)
    if found is not None:
        assert 0.0 <= found.low <= found.chance <= found.high <= 1.0
        assert sum(found.histogram.counts) <= 20
        assert all(0.0 <= rule.chance <= 1.0 for rule in found.rules)
        assert all(rule.worst_deg <= rule.smallest_deg + 1e-6 for rule in found.rules)
        assert not found.holds or found.chance >= 0.0
