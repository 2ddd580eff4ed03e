"""Any project: nothing fails, and a rule means the same in the machine as drawn and among the drawn ones."""

from __future__ import annotations

import math

from hypothesis import given, settings

from shaftscore.judge.checks.margin import rule_margins, smallest_of
from shaftscore.judge.spread import find_spread
from shaftscore.judge.spread.draws import Errors, draw
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Project
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import rules_of
from shaftscore.rules.times import MachineTimes
from shaftscore.solution import solve
from tests import strategies

SLACK_DEG = 1e-6
"""As near as two workings-out of one rule must agree, degrees."""


def least(times: MachineTimes) -> dict[tuple[str, str], float]:
    """Return the smallest slack of each rule in the nominal machine."""
    return {
        (kind, what): min((float(part.slack_deg[0]) for part in parts), default=math.inf)
        for kind, what, parts in rules_of(times)
    }


@settings(max_examples=80)
@given(strategies.projects(clean=True))
def test_a_rule_means_the_same_as_drawn_and_among_drawn_machines(project: Project) -> None:
    solution = solve(project)
    exact = least(NominalTimes.of(solution))
    drawn = least(Machines(solution, Errors(project, draw(project, 3, 1))))
    margins = rule_margins(solution)
    for key, slack in exact.items():
        assert math.isclose(drawn[key], slack, abs_tol=SLACK_DEG), (key, drawn[key], slack)
    for number, margin in enumerate(margins):
        slack = exact[project.rules[number].kind, str(number)]
        if (known := smallest_of([margin])) is not None:
            assert math.isclose(known.smallest_deg, slack, abs_tol=SLACK_DEG), (number, margin, slack)
        else:
            assert slack > 359, (number, slack)


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


@settings(max_examples=20)
@given(strategies.projects(clean=True))
def test_rules_one_by_one_are_the_same_as_all_of_them(project: Project) -> None:
    """The reference of wanted rules is the plain way: all of them, filtered."""
    times = NominalTimes.of(solve(project))
    magazines = project.flow.magazines if project.flow is not None else ()
    needed = {magazine.id: 1.0 for magazine in magazines}

    def told(wanted: set[tuple[str, str]] | None) -> list[tuple[str, str, list[tuple[float, ...]]]]:
        found = rules_of(times, needed, wanted)
        return [(kind, what, [tuple(part.slack_deg) for part in parts]) for kind, what, parts in found]

    every = told(None)
    for one in every:
        assert told({one[:2]}) == [one]
    some = every[::2]
    assert told({one[:2] for one in some}) == some
    assert told(set()) == []
