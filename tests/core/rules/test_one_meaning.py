"""A rule means the same as drawn, in row 0 of drawn machines, in Arrange's model and in the run of items."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.judge.flow import WorkBudget, run_of_copy
from shaftscore.judge.spread.draws import Errors, draw
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.slacks import RuleSlack
from shaftscore.model import (
    Branch,
    Channel,
    Diverter,
    Flow,
    Gate,
    Magazine,
    Outlet,
    Project,
    RangeState,
    Reload,
    Supply,
)
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.complete import completed, holds
from shaftscore.placing.gates import add_gates
from shaftscore.placing.lanes import Lanes
from shaftscore.placing.problem import Kind as ReasonKind
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.rules import add_rules
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.weights import MarginWeights
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import rules_of
from shaftscore.rules.times import MachineTimes
from shaftscore.solution import solve
from tests.machines import at, exclusive, gate, machine, order, requires, within

SLACK_DEG = 1e-6

OF_ARRANGE: Mapping[ReasonKind, tuple[str, ...]] = {
    "rule": ("exclusive", "requires", "order"),
    "channel": ("headway", "diverter"),
    "gate": ("release",),
    "outlet": ("outlet-order",),
    "magazine": ("stock",),
}
"""The kinds of rules by the kind of the reason for which Arrange asks for them."""


@st.composite
def gated(draw: st.DrawFn) -> Project:
    """Make gates on Arrange's grid that let items into one chute, with a rule of each kind between them.

    One gate must reload; the tray may expect an order; all draw from one magazine.
    """
    names = "abc"
    placed = [(draw(st.integers(0, 3599)) / 10, draw(st.integers(40, 900)) / 10) for _ in names]
    lanes = [
        gate(name.upper(), start, start + length) for name, (start, length) in zip(names, placed, strict=True)
    ]
    half = [within(name, draw(st.integers(2, 8)), 10) for name in names]
    gap: dict[str, Any] = draw(st.sampled_from([{"gap_deg": 3.0}, {"gap_s": 0.2}, {}]))
    most = draw(st.sampled_from([None, 5.0]))
    rules = (
        exclusive(*half, **gap),
        requires(at("a", "open"), half[1], lead_deg=1.0, lag_s=0.1),
        requires(at("c", "open"), at("b", "closed")),
        order(half[0], half[1], min_s=draw(st.sampled_from([0.0, 0.5])), max_s=most),
        order(half[2], at("b", "closed"), min_s=0.2),
    )
    capacity = draw(st.integers(1, 4))
    loaded = Reload(state=within("b", 0, draw(st.integers(1, 9))), item_s=draw(st.sampled_from([4.0, 7.5])))
    expects = draw(st.sampled_from([(), *permutations("abc")]))
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=draw(st.sampled_from([None, 20.0, 25.0, 60.0]))),),
        magazines=(
            Magazine(
                id="tube",
                source="hopper",
                travel_s=draw(st.sampled_from([0.0, 0.7, 3.0])),
                capacity=capacity,
                start_count=draw(st.integers(0, capacity)),
            ),
        ),
        channels=(Channel(id="chute", travel_min_s=0.5, travel_max_s=0.8, headway_s=0.3, to="tray"),),
        outlets=(Outlet(id="tray", expects=expects),),
        gates=tuple(
            _gate(name, state, reload=loaded if name == "b" else None)
            for name, state in zip(names, half, strict=True)
        ),
    )
    return machine(*lanes, rules=rules, flow=flow)


def _gate(name: str, state: RangeState, **more: Any) -> Gate:
    return Gate(id=name, state=state, source="tube", to="chute", item=name, item_s=0.4, **more)


@st.composite
def diverted(draw: st.DrawFn) -> Project:
    """Make a gate that lets items onto a flap, whose states may hold both, or neither, for a while."""
    start, length = draw(st.integers(0, 3599)) / 10, draw(st.integers(300, 1500)) / 10
    to = Diverter(
        lane="f",
        by_state=(
            Branch(state=within("f", 0, draw(st.integers(3, 7))), to="left"),
            Branch(state=within("f", draw(st.integers(3, 7)), 10), to="right"),
        ),
    )
    least = draw(st.sampled_from([0.2, 2.0]))
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(Magazine(id="tube", source="hopper", capacity=9, start_count=9),),
        channels=(Channel(id="chute", travel_min_s=least, travel_max_s=least + 0.5, headway_s=0.0, to=to),),
        outlets=(Outlet(id="left"), Outlet(id="right")),
        gates=(_gate("a", within("a", 5, 10)),),
    )
    return machine(gate("A", 100.0, 120.0), gate("F", start, start + length), flow=flow)


def least(times: MachineTimes) -> dict[tuple[str, str], float]:
    return {
        (kind, what): min((float(part.slack_deg[0]) for part in parts), default=math.inf)
        for kind, what, parts in rules_of(times)
    }


FOUND_BY: Mapping[str, frozenset[str]] = {
    "release": frozenset(("missed-release", "double-release")),
    "stock": frozenset(("starvation",)),
    "headway": frozenset(("collision",)),
    "diverter": frozenset(("misrouted",)),
    "outlet-order": frozenset(("wrong-order",)),
}
"""What the exact run of items finds where a kind of rule is broken."""

SURE_DEG = 1e-3
"""Slacks nearer to 0 may be rounded either way by the exact run's whole microseconds."""


def check_run(project: Project, slacks: Mapping[tuple[str, str], float]) -> None:
    """Compare the exact run, event by event, with slacks: what is broken first hides what comes after it."""
    run = run_of_copy(project, solve(project).intervals, WorkBudget(100_000))
    found = {finding.rule for finding in run.findings}
    for kind, names in FOUND_BY.items():
        slack = min((one for (of, _), one in slacks.items() if of == kind), default=math.inf)
        if abs(slack) < SURE_DEG:
            return
        assert bool(names & found) == (slack < 0), (kind, slack, found)
        if slack < 0 and kind in ("release", "stock"):
            return


FAR = MarginWeights((RuleSlack("stock", "tube", (), 0.0, 360.0),))
"""An error of a turn: so Arrange's model has all places of the magazine, not only those near breaking."""


def of_arrange(project: Project) -> tuple[dict[Reason, float], bool]:
    """Return the least margin, degrees, of each reason in Arrange's model as drawn, and whether all hold."""
    lanes = Lanes(solve(project), problem := Problem(), Shortest(project))
    add_rules(problem, lanes)
    add_gates(problem, lanes, FAR, wide=False)
    values = completed(problem, [variable.hint for variable in problem.variables])
    found = defaultdict[Reason, float](lambda: math.inf)
    for row in problem.inequalities:
        if row.margin and row.reason is not None and all(values[literal] for literal in row.literals):
            found[row.reason] = min(found[row.reason], row.expression.at(values) * STEP_DEG)
    return found, holds(problem, values)


def fixed_deg(project: Project) -> float:
    """Least slack of a magazine that no timing changes: of items whole turns after one another, degrees."""
    assert project.flow is not None
    (supply,), (magazine,), items = project.flow.supplies, project.flow.magazines, len(project.flow.gates)
    each_s = 60.0 / supply.rate_per_min if supply.rate_per_min else 0.0
    asked = [(more, magazine.capacity + more) for more in range(items)]
    left = [
        360.0 * (number // items) - 36.0 * (more * each_s + magazine.travel_s)
        for more, number in asked
        if number % items == 0
    ]
    return min(left, default=math.inf)


@settings(max_examples=15)
@given(st.one_of(gated(), diverted()))
def test_slacks_agree(project: Project) -> None:
    solution = solve(project)
    exact = least(NominalTimes.of(solution))
    drawn = least(Machines(solution, Errors(project, draw(project, 1, 1))))
    assert drawn == pytest.approx(exact, abs=SLACK_DEG)
    check_run(project, exact)
    margins, all_hold = of_arrange(project)
    by_reason = defaultdict[Reason, float](lambda: math.inf)
    for (kind, what), slack in exact.items():
        for reason in (one for one, kinds in OF_ARRANGE.items() if kind in kinds):
            key = Reason(reason, int(what) if reason == "rule" else what)
            by_reason[key] = min(by_reason[key], slack)
    for key, slack in by_reason.items():
        if slack >= 0:
            margin = min(margins[key], fixed_deg(project) if key.kind == "magazine" else math.inf)
            assert margin == pytest.approx(slack, abs=SLACK_DEG), key
        else:  # by how much is a matter of how it is put right; that it is broken is not
            assert margins[key] < 0 or not all_hold, (key, margins[key], slack)
