"""The smallest margin, rule by rule, and over all of them."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.checks.exclusive import closeness
from shaftscore.judge.checks.margin import Margin, rule_margins, smallest_of
from shaftscore.judge.report import examine, report_json
from shaftscore.model import Project
from shaftscore.solution import Incremental, solve
from tests.machines import at, exclusive, gate, lane, machine, order, requires, within


def margin(project: Project) -> Margin | None:
    return smallest_of(rule_margins(solve(project)))


def half(name: str) -> object:
    return within(name, 5, 10)  # begins and ends half way through the moves: 12 degrees beside the dwell


def test_without_rules_there_is_none() -> None:
    assert margin(machine(gate("A", 100, 120))) is None


def test_exclusive_counts_above_the_gap() -> None:
    rule = exclusive(half("a"), half("b"), gap_deg=2.0)
    found = margin(machine(gate("A", 100, 120), gate("B", 160, 180), rules=(rule,)))
    assert found is not None
    assert found.smallest_deg == pytest.approx(160 - 120 - 24 - 2)
    assert found.between == ("a", "b")


def test_exclusive_counts_below_nothing_where_it_is_broken() -> None:
    rule = exclusive(half("a"), half("b"), gap_s=0.1)
    found = margin(machine(gate("A", 100, 120), gate("B", 140, 160), rules=(rule,)))
    assert found is not None
    assert found.smallest_deg == pytest.approx(-4 - 3.6)


def test_requires_counts_the_nearer_end() -> None:
    rule = requires(half("a"), half("b"), lead_deg=1.0)
    found = margin(machine(gate("A", 100, 120), gate("B", 90, 200), rules=(rule,)))
    assert found == Margin(pytest.approx(9.0), ("b", "a"))
    short = margin(machine(gate("A", 100, 120), gate("B", 110, 200), rules=(rule,)))
    assert short == Margin(pytest.approx(-11.0), ("b", "a"))


def test_a_need_that_always_holds_limits_nothing() -> None:
    always = lane("B", ("open", 0, 360))
    assert margin(machine(gate("A", 100, 120), always, rules=(requires(half("a"), at("b", "open")),))) is None


def test_order_counts_to_both_limits() -> None:
    early = order(half("a"), half("b"), min_s=1.0, max_s=2.0)
    found = margin(machine(gate("A", 100, 120), gate("B", 141, 160), rules=(early,)))
    assert found == Margin(pytest.approx(5.0), ("a", "b"))
    found = margin(machine(gate("A", 100, 120), gate("B", 169, 180), rules=(early,)))
    assert found == Margin(pytest.approx(3.0), ("a", "b"))


def test_what_never_happens_has_no_number_of_degrees() -> None:
    never = order(half("a"), at("b", "open"), max_s=2.0)
    project = machine(gate("A", 100, 120), lane("B", ("open", 0, 360)), rules=(never,))
    assert margin(project) == Margin(-math.inf, ("a", "b"))
    made = json.loads(json.dumps(report_json(examine(project)), allow_nan=False))["margin"]
    assert (made["smallest_deg"], made["between"]) == (None, ["a", "b"])
    assert "-360" not in json.dumps(made)


@given(st.lists(st.integers(0, 35), min_size=2, max_size=6, unique=True), st.integers(0, 20))
def test_exclusive_is_the_least_over_all_pairs(starts: list[int], gap: int) -> None:
    gates = [
        gate(f"G{n}", 10.0 * start + 30, 10.0 * start + 36, 20.0)
        for n, start in enumerate(starts)
        if start < 33
    ]
    if len(gates) < 2:
        return
    rule = exclusive(*(half(one.id) for one in gates), gap_deg=float(gap))
    project = machine(*gates, rules=(rule,))
    solution = solve(project)
    spans = [solution.intervals(state)[0].span for state in rule.states]
    every = [closeness(a, b, gap).slack_deg for i, a in enumerate(spans) for b in spans[i + 1 :]]
    found = smallest_of(rule_margins(solution))
    assert found is not None
    assert found.smallest_deg == pytest.approx(min(every))


def test_rules_of_unchanged_lanes_are_not_judged_again() -> None:
    pairs = [("a", "b"), ("c", "d")]
    gates = [gate(name.upper(), 40.0 * n, 40.0 * n + 10.0) for n, name in enumerate("abcd")]
    rules = tuple(exclusive(*(at(name, "open") for name in pair)) for pair in pairs)
    project = machine(*gates, rules=rules)
    solution = solve(project)
    kept = Incremental()
    before = rule_margins(solution, kept)
    moved = apply_edit(project, "place_block", ref=BlockRef("a", 0), start_deg=5.0).project
    after = rule_margins(solve(moved, solution), Incremental(kept.now))
    assert after[1] is before[1]
    assert after[0] is not before[0]
    assert smallest_of(after) == margin(moved)
