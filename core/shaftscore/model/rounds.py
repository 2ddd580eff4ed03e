"""A project as a shaft sees it that turns once in a round: a cycle, several of them, or a part of one.

What several stacks do together repeats after a *round*. Seen from a shaft that turns once a round, every one
of these stacks turns a whole number of times, as in a machine whose stacks all turn once or more in a
cycle: rules, flow, margins and chance are worked out for that machine, and speak of places in the round.
Speeds and degrees of the master are converted; angles of stacks, lanes, times and sizes stay as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Annotated

from pydantic import Field

from shaftscore.model.base import replaced
from shaftscore.model.project import Project
from shaftscore.model.rules import Exclusive, Requires, Rule
from shaftscore.model.shaft import Shaft, Stack

CYCLE = Fraction(1)
"""The round of a machine without slow, stepped or very fast stacks."""

MOST_REPEATS = 100
"""Stacks that together repeat more often than this in a cycle are looked at for one repetition alone."""


class RoundShaft(Shaft):
    """The shaft that turns once a round of a machine.

    speed_rpm, speed_max_rpm: its own, rev/min.
    """

    speed_rpm: Annotated[float, Field(gt=0)]
    speed_max_rpm: Annotated[float, Field(gt=0)] | None = None


class RoundStack(Stack):
    """A stack as that shaft sees it.

    turns: whole turns in a round.
    """

    turns: Annotated[int, Field(ge=1)] = 1


def round_of(project: Project, lanes: Iterable[str]) -> Fraction:
    """Return the cycles after which some lanes, by their ids, repeat together."""
    stacks = {project.stack_of(project.lane(lane_id)).id for lane_id in lanes}
    return common_round([project.rates[stack_id] for stack_id in stacks])


def common_round(rates: Sequence[Fraction]) -> Fraction:
    """Return the cycles after which stacks of some rates, turns a cycle, repeat together; one without any."""
    cycles = math.lcm(*(rate.denominator for rate in rates))
    repeats = math.gcd(*(int(rate * cycles) for rate in rates)) or 1
    return Fraction(cycles, repeats if repeats > MOST_REPEATS else 1)


def seen_over(project: Project, cycles: Fraction) -> Project:
    """Return a project as it is seen from a shaft that turns once in so many cycles.

    Only lanes on stacks that turn a whole number of times in it may be looked at. The project itself for a
    cycle.
    """
    if cycles == CYCLE:
        return project
    return replaced(
        project,
        shaft=_shaft(project.shaft, float(cycles)),
        stacks=tuple(_stack(stack, project.rates[stack.id] * cycles) for stack in project.stacks),
        rules=tuple(_rule(rule, float(cycles)) for rule in project.rules),
    )


def _shaft(shaft: Shaft, cycles: float) -> RoundShaft:
    values = {name: getattr(shaft, name) for name in shaft.model_fields_set}
    values["speed_rpm"] = shaft.speed_rpm / cycles
    if shaft.speed_max_rpm is not None:
        values["speed_max_rpm"] = shaft.speed_max_rpm / cycles
    return RoundShaft(**values)


def _stack(stack: Stack, turns: Fraction) -> RoundStack:
    values = {name: getattr(stack, name) for name in stack.model_fields_set - {"cycles"}}
    values["turns"] = int(turns) if turns.denominator == 1 else 1
    return RoundStack(**values)


def _rule(rule: Rule, cycles: float) -> Rule:
    """Return a rule with its degrees as those of the round, at most all of it."""
    if isinstance(rule, Exclusive) and rule.gap_deg:
        return replaced(rule, gap_deg=min(360.0, rule.gap_deg / cycles))
    if isinstance(rule, Requires) and (rule.lead_deg or rule.lag_deg):
        given = {"lead_deg": rule.lead_deg, "lag_deg": rule.lag_deg}
        changes = {name: min(360.0, deg / cycles) for name, deg in given.items() if deg}
        return replaced(rule, **changes)
    return rule
