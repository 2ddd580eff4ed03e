"""The kinds of rules of a project, as one table: whoever needs the meaning of a rule reads its row.

`say` writes a state in words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from shaftscore.base.wording import degrees, listed, seconds
from shaftscore.model import Exclusive, Order, Requires, Rule
from shaftscore.rules import exclusive, order, requires
from shaftscore.rules.times import MachineTimes, RulePlace, State

Say = Callable[[State], str]
"""Writes a state in words."""

MOST_NAMED = 3
"""States that a short name lists."""

AnyRule = Any
"""A rule of the kind of its row; Any, since each row takes its own."""


@dataclass(frozen=True)
class RuleMeaning:
    """What a kind of rule means.

    states: those that it is about. places: its slack, place by place. in_seconds: whether it counts seconds.
    name: in a few words. demand: as a sentence, at a number of degrees a second.
    """

    states: Callable[[AnyRule], tuple[State, ...]]
    places: Callable[[MachineTimes, AnyRule], Iterator[RulePlace]]
    in_seconds: Callable[[AnyRule], bool]
    name: Callable[[AnyRule, Say], str]
    demand: Callable[[AnyRule, Say, float], str]


def _exclusive_name(rule: Exclusive, say: Say) -> str:
    states = [say(state) for state in rule.states]
    more = len(states) - MOST_NAMED
    named = states if more <= 0 else [*states[:MOST_NAMED], f"{more} more"]
    return f"one at a time, {listed(named)}"


def _exclusive_demand(rule: Exclusive, say: Say, deg_per_s: float) -> str:
    gap = exclusive.gap_deg(rule, deg_per_s)
    apart = f", {degrees(gap)} apart" if gap else ""
    return f"{listed([say(state) for state in rule.states])} hold one at a time{apart}."


def _requires_name(rule: Requires, say: Say) -> str:
    return f"{say(rule.when)} needs {say(rule.need)}"


def _requires_demand(rule: Requires, say: Say, deg_per_s: float) -> str:
    lead, lag = requires.lead_lag(rule, deg_per_s)
    around = listed(
        [
            *([f"from {degrees(lead)} before"] if lead else []),
            *([f"until {degrees(lag)} after"] if lag else []),
        ]
    )
    return f"While {say(rule.when)} holds, {say(rule.need)} holds{' ' + around if around else ''}."


def _order_name(rule: Order, say: Say) -> str:
    return f"{say(rule.first)}, then {say(rule.then)}"


def _order_demand(rule: Order, say: Say, _deg_per_s: float) -> str:
    most = "" if rule.max_s is None else f" and at most {seconds(rule.max_s)}"
    return f"From {say(rule.first)} to {say(rule.then)} it takes at least {seconds(rule.min_s)}{most}."


MEANINGS: Mapping[str, RuleMeaning] = {
    "exclusive": RuleMeaning(
        exclusive.states, exclusive.places, exclusive.in_seconds, _exclusive_name, _exclusive_demand
    ),
    "requires": RuleMeaning(
        requires.states, requires.places, requires.in_seconds, _requires_name, _requires_demand
    ),
    "order": RuleMeaning(order.states, order.places, order.in_seconds, _order_name, _order_demand),
}
"""The row of each kind."""


def meaning_of(rule: Rule) -> RuleMeaning:
    """Return the row of a rule's kind."""
    return MEANINGS[rule.kind]


def lanes_of_rule(rule: Rule) -> tuple[str, ...]:
    """Return the lanes on which a rule depends, in its order, each once."""
    return tuple(dict.fromkeys(state.lane for state in meaning_of(rule).states(rule)))
