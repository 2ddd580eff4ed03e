"""All rules of a project, judged in every drawn machine."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Project
from shaftscore.rules.items import supply_of
from shaftscore.rules.project import Judged, Key, Kind, rules_of
from shaftscore.rules.times import LOST, RulePlace

STRIDE = 16
"""So many rules are judged between two looks at whether the person stops it."""


@dataclass(frozen=True, eq=False)
class JudgedRule:
    """One rule in all machines.

    what: the number of the rule in the project (from 0), the guarded lane and level, or the id of the gate,
    channel, magazine, outlet, supply or sprung lane. parts: its places; never empty.
    """

    kind: Kind
    what: str
    parts: tuple[RulePlace, ...]

    @property
    def key(self) -> Key:
        """What identifies it."""
        return self.kind, self.what

    def first(self, count: int) -> JudgedRule:
        """Return the rule in the first machines."""
        parts = tuple(RulePlace(part.lanes, part.slack_deg[:count]) for part in self.parts)
        return JudgedRule(self.kind, self.what, parts)

    @cached_property
    def slack_deg(self) -> Floats:
        """Slack of the worst place in each machine, (n,)."""
        least: Floats = np.minimum.reduce([part.slack_deg for part in self.parts])
        return least

    @property
    def tightest(self) -> RulePlace:
        """The place that is the tightest in the nominal machine."""
        return min(self.parts, key=lambda part: float(part.slack_deg[0]))


def judge(
    machines: Machines,
    flow: FlowResult | None,
    wanted: Collection[Key] | None = None,
    between: Callable[[], object] | None = None,
) -> tuple[JudgedRule, ...]:
    """Judge every rule of the project that limits anything; those in `wanted` alone, unless it is None.

    between: called between some rules and others; the work ends with what it raises.
    """
    needed = None if flow is None else needed_rates(machines.project, flow)
    found = (
        JudgedRule(kind, what, tuple(parts))
        for kind, what, parts in (*rules_of(machines, needed), *_springs(machines))
        if wanted is None or (kind, what) in wanted
    )
    judged: list[JudgedRule] = []
    for number, one in enumerate(found):
        if between is not None and number % STRIDE == 0:
            between()
        if one.parts:
            judged.append(one)
    return tuple(judged)


def needed_rates(project: Project, result: FlowResult) -> dict[str, float]:
    """Return the rate that the supply of each magazine must yield in the nominal machine, per minute, by id.

    It is known rounded up to 0.1: what runs for ever in the nominal machine is enough there.
    """
    assert project.flow is not None, "it was simulated"
    rates = {supply.id: supply.rate_per_min for supply in project.flow.supplies}
    found = {}
    for magazine, known in result.magazines.items():
        needed, rate = known.needed_rate_per_min, rates.get(supply_of(project.flow, magazine) or "")
        if needed is not None:
            holds = result.holds_for_ever is True and rate is not None
            found[magazine] = min(needed, rate) if holds and rate is not None else needed
    return found


def _springs(machines: Machines) -> Iterator[Judged]:
    for lane_id in machines.errors.effects.fails:
        yield "spring", lane_id, springs(machines, lane_id)


def springs(machines: Machines, lane_id: str) -> Iterator[RulePlace]:
    """Judge whether a lane's spring holds it in each machine; no degrees: it does or does not."""
    errors = machines.errors
    fails = errors.effects.fails[lane_id](*errors.spring_draws(lane_id))
    # What the nominal machine's spring does is a finding of its own.
    yield RulePlace((lane_id,), np.where(fails & (errors.draws.built > 0), LOST, np.inf))


def smallest(judged: Iterable[JudgedRule], count: int) -> Floats:
    """Return the smallest slack of all rules in each machine, (n,); infinite where nothing limits it."""
    least: Floats = np.minimum.reduce([np.full(count, np.inf), *(one.slack_deg for one in judged)])
    return least


def holding(slack_deg: Floats) -> int:
    """Count the drawn machines (the nominal one left out) in which a slack, (n,) degrees, is not broken."""
    return int(np.count_nonzero(slack_deg[1:] >= -LIMIT))
