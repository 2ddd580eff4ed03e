"""A rule means the same in the machine as drawn, in row 0 of the drawn ones and in Arrange's model."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.judge.spread.draws import Errors, draw
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Project, RangeState, Supply
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.complete import completed, holds
from shaftscore.placing.gates import add_gates
from shaftscore.placing.lanes import Lanes
from shaftscore.placing.problem import Kind as ReasonKind
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.rules import add_rules
from shaftscore.placing.shortest import Shortest
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import rules_of
from shaftscore.rules.times import MachineTimes
from shaftscore.solution import solve
from tests.machines import at, exclusive, gate, machine, order, requires, within

SLACK_DEG = 1e-6

OF_ARRANGE: Mapping[ReasonKind, tuple[str, ...]] = {
    "rule": ("exclusive", "requires", "order"),
    "channel": ("headway",),
    "gate": ("release",),
}
"""The kinds of rules by the kind of the reason for which Arrange asks for them."""


@st.composite
def gated(draw: st.DrawFn) -> Project:
    """Make gates on Arrange's grid that let items into one chute, with a rule of each kind between them."""
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
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(Magazine(id="tube", source="hopper", capacity=9, start_count=9),),
        channels=(Channel(id="chute", travel_min_s=0.5, travel_max_s=0.8, headway_s=0.3, to="tray"),),
        outlets=(Outlet(id="tray"),),
        gates=tuple(_gate(name, state) for name, state in zip(names, half, strict=True)),
    )
    return machine(*lanes, rules=rules, flow=flow)


def _gate(name: str, state: RangeState) -> Gate:
    return Gate(id=name, state=state, source="tube", to="chute", item="bead", item_s=0.4)


def least(times: MachineTimes) -> dict[tuple[str, str], float]:
    return {
        (kind, what): min((float(part.slack_deg[0]) for part in parts), default=math.inf)
        for kind, what, parts in rules_of(times)
    }


def of_arrange(project: Project) -> tuple[dict[Reason, float], bool]:
    """Return the least margin, degrees, of each reason in Arrange's model as drawn, and whether all hold."""
    lanes = Lanes(solve(project), problem := Problem(), Shortest(project))
    add_rules(problem, lanes)
    add_gates(problem, lanes, wide=False)
    values = completed(problem, [variable.hint for variable in problem.variables])
    found = defaultdict[Reason, float](lambda: math.inf)
    for row in problem.inequalities:
        if row.margin and row.reason is not None and all(values[literal] for literal in row.literals):
            found[row.reason] = min(found[row.reason], row.expression.at(values) * STEP_DEG / row.margin)
    return found, holds(problem, values)


@settings(max_examples=12)
@given(gated())
def test_slacks_agree(project: Project) -> None:
    solution = solve(project)
    exact = least(NominalTimes.of(solution))
    drawn = least(Machines(solution, Errors(project, draw(project, 1, 1))))
    assert drawn == pytest.approx(exact, abs=SLACK_DEG)
    margins, all_hold = of_arrange(project)
    for (kind, what), slack in exact.items():
        for reason in (one for one, kinds in OF_ARRANGE.items() if kind in kinds):
            margin = margins[Reason(reason, int(what) if reason == "rule" else what)]
            if slack >= 0:
                assert margin == pytest.approx(slack, abs=SLACK_DEG), (kind, what)
            else:  # by how much is a matter of how it is put right; that it is broken is not
                assert margin < 0 or not all_hold, (kind, what, margin, slack)
