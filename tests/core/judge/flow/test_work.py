"""How much work a legal project may cost: bounded in steps, and what is left out is said."""

from __future__ import annotations

from importlib import import_module

import pytest

from shaftscore.judge.findings import Severity
from shaftscore.judge.flow import cures, observed
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.work import CURE_STEPS, MOST_ITEMS, NEEDS_STEPS, RUN_STEPS
from shaftscore.judge.report import examine, report_json
from shaftscore.model import Flow
from tests.core.judge.flow.building import States, at, gate, magazine, net, one, opened, result, supply
from tests.machines import gate as lane_of
from tests.machines import machine

OPEN: States = {opened("g"): (at(36.0, 72.0),)}


def streams(magazines: int, items: int) -> tuple[Flow, States]:
    """Magazines on one endless supply, each with a stream of so many items in 2 s."""
    names = [f"g{n}" for n in range(magazines)]
    item_s = round(2.0 / (items + 0.5), 9)
    flow = Flow(
        supplies=(supply("s"),),
        magazines=tuple(magazine(f"m{n}", "s", capacity=2000, start_count=2000) for n in names),
        gates=tuple(gate(n, f"m{n}", mode="stream", item_s=item_s, items=items) for n in names),
    )
    return flow, {opened(n): (at(36.0, 72.0),) for n in names}


@pytest.fixture
def visited(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Count the slots of every turn that any run looks at."""
    counts: list[int] = []
    turn = FlowRun.turn

    def counting(run: FlowRun) -> None:
        counts.append(len(run.network.slots))
        turn(run)

    monkeypatch.setattr(FlowRun, "turn", counting)
    return counts


def test_a_thousand_streams_of_1666_items_are_said_to_be_left_out(visited: list[int]) -> None:
    flow, states = streams(1000, 1666)
    assert net(flow, states).slots == ()
    made = result(flow, states)
    (finding,) = made.findings
    assert (finding.rule, finding.severity) == ("not-checked", Severity.WARNING)
    assert "its gates let out up to 1,666,000 items a turn" in str(finding.facts["why"])
    assert (made.holds_for_ever, made.turns, made.magazines) == (None, 0, {})
    assert made.checked == ()
    assert sum(visited) == 0


def test_openings_of_a_flow_that_is_not_simulated_are_judged_all_the_same() -> None:
    flow, states = streams(1000, 1666)
    short = gate("short", "mg0", item_s=5.0)
    both = Flow(**{**dict(flow), "gates": (*flow.gates, short)})
    found = result(both, {**states, opened("short"): (at(36.0, 72.0),)}).findings
    assert [f.rule for f in found] == ["missed-release", "not-checked"]


def test_as_many_items_as_are_simulated_take_no_more_steps_than_allowed(visited: list[int]) -> None:
    flow, states = streams(500, MOST_ITEMS // 500)
    made = result(flow, states)
    assert made.holds_for_ever is True
    assert sum(visited) < RUN_STEPS + NEEDS_STEPS + CURE_STEPS + 10 * MOST_ITEMS
    (note,) = made.findings
    assert (note.rule, note.severity) == ("not-checked", Severity.NOTE)
    assert f"left out for {500 - len(made.magazines)} magazines" in str(note.facts["why"])


def test_a_run_that_is_cut_off_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """5.9 fed and 6.0 drawn: it fails in turn 2,400 or so, but only 11 turns of 9 steps are run."""
    monkeypatch.setattr(observed, "RUN_STEPS", 100)
    made = result(one(5.9, capacity=100, start=40), {opened("g"): (at(36.0),)})
    assert (made.holds_for_ever, made.turns) == (None, 11)
    (finding,) = made.findings
    assert (finding.rule, finding.severity) == ("not-checked", Severity.WARNING)
    assert finding.facts["why"] == (
        "The flow did not repeat within 11 turns; more would take too long and are not checked."
    )


def test_cures_that_are_left_out_are_said_to_be(monkeypatch: pytest.MonkeyPatch) -> None:
    flow = one(3.0, start=2)
    states: States = {opened("g"): (at(36.0),)}
    assert result(flow, states).findings[0].cure is not None
    monkeypatch.setattr(cures, "CURE_STEPS", 10)
    found = result(flow, states).findings
    assert [(f.rule, f.severity) for f in found] == [
        ("starvation", Severity.ERROR),
        ("not-checked", Severity.NOTE),
    ]
    assert found[0].cure is None


def test_needs_that_are_left_out_are_said_to_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_module("shaftscore.judge.flow.simulate"), "NEEDS_STEPS", 10)
    made = result(one(6.0), {opened("g"): (at(36.0),)})
    assert (made.holds_for_ever, dict(made.magazines)) == (True, {})
    assert [(f.rule, f.severity) for f in made.findings] == [("not-checked", Severity.NOTE)]


def test_the_chance_says_that_so_many_items_are_left_out() -> None:
    """600 items a turn from each of two gates are more than are followed."""
    flow = Flow(
        supplies=(supply("s"),),
        magazines=tuple(magazine(f"m{n}", "s", capacity=2000, start_count=2000) for n in "ab"),
        gates=tuple(gate(n, f"m{n}", mode="stream", item_s=0.001, items=600, item="pea") for n in "ab"),
    )
    lanes = tuple(lane_of(n.upper(), 100, 120) for n in "ab")
    report = examine(machine(*lanes, flow=flow))
    assert report.spread is not None
    assert {rule.kind for rule in report.spread.rules} == {"release"}
    assert "over 1,000 items leave in a turn" in report.spread.left_out[0]
    assert report_json(report)["margin"] is not None
