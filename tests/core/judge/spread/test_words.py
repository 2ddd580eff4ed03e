"""What the chance says: its headline, its details, the names of the rules."""

from __future__ import annotations

from shaftscore.judge.report import examine
from shaftscore.judge.spread import Spread
from shaftscore.judge.spread.words import chance_text, details, headline, margin_text, rule_name
from shaftscore.model import Project
from tests.core.judge.spread.machines import machine, only
from tests.machines import at, exclusive, gate, order, requires


def two_gates(gap: float, angle: float = 0.9) -> Project:
    rule = exclusive(at("a", "open"), at("b", "open"), gap_deg=gap)
    return machine(
        gate("A", 100, 130, 40.0),
        gate("B", 200, 230, 40.0),
        rules=(rule,),
        tolerances=only(disc_angle_deg=angle),
    )


def spread_of(project: Project) -> Spread:
    found = examine(project).spread
    assert found is not None
    return found


def nominal_margin(gap: float) -> float:
    return spread_of(two_gates(gap)).rules[0].smallest_deg


def test_a_thin_margin_is_said_with_its_interval_its_lane_and_what_is_enough() -> None:
    gap = nominal_margin(0.0) - 0.5
    project = two_gates(gap)
    spread = spread_of(project)
    assert headline(spread) == f"{100 * spread.chance:.1f} % of machines work"
    said = details(project, spread)
    assert f"{100 * spread.low:.1f} % to {100 * spread.high:.1f} % with 95 % confidence" in said
    assert f"from {spread.machines:,} machines drawn." in said
    assert " contributes most: without the errors of its disc " in said
    assert "For 99 %: disc angle within ±0." in said
    assert said.endswith("instead of ±0.90°.")


def test_enough_and_failing_machines_say_so() -> None:
    project = two_gates(1.0)
    assert "tolerance of ±0.90° is enough for 99 %." in details(project, spread_of(project))
    broken = two_gates(nominal_margin(0.0) + 1.0)
    said = details(broken, spread_of(broken))
    assert (
        said == "The machine as drawn has 1 error, so no machine built to it works; see the findings first."
    )
    assert headline(spread_of(broken)) == "0.0 % of machines work"


def test_shares_are_never_rounded_to_all_or_nothing() -> None:
    assert chance_text(1.0) == "100.00 %"
    assert chance_text(0.99999) == "over 99.99 %"
    assert chance_text(0.00001) == "under 0.01 %"
    assert chance_text(0.0) == "0.00 %"


def test_margins_without_a_number_have_words() -> None:
    assert margin_text(float("-inf")) == "does not happen"
    assert margin_text(float("inf")) == "any"
    assert margin_text(-1.25) == "\u22121.25°"


def test_rules_are_named_by_what_they_ask() -> None:
    project = machine(
        gate("A", 100, 130, 40.0),
        gate("B", 200, 230, 40.0),
        rules=(
            exclusive(at("a", "open"), at("b", "open")),
            requires(at("a", "open"), at("b", "closed")),
            order(at("a", "open"), at("b", "open")),
        ),
    )
    assert [rule_name(project, rule) for rule in spread_of(project).rules] == [
        "Rule 1: one at a time, A open and B open",
        "Rule 2: A open needs B closed",
        "Rule 3: A open, then B open",
    ]
