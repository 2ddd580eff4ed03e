"""All rules of a project, judged in every drawn machine."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

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


ALIKE_DIGITS = 9
"""Slacks of places, degrees, that are the same to so many digits are alike: they differ by rounding alone."""


@dataclass(frozen=True)
class CountedPlace:
    """What is kept of one place of a rule.

    lanes: whose errors move it. nominal_deg: its slack in the nominal machine. broken: drawn machines in
    which it is broken.
    """

    lanes: tuple[str, ...]
    nominal_deg: float
    broken: int


@dataclass(frozen=True, eq=False)
class JudgedRule:
    """One rule in all machines.

    what: the number of the rule in the project (from 0), the guarded lane and level, or the id of the gate,
    channel, magazine, outlet, supply or sprung lane. slack_deg: of its worst place in each machine, (n,).
    places: never empty.
    """

    kind: Kind
    what: str
    slack_deg: Floats
    places: tuple[CountedPlace, ...]

    @property
    def key(self) -> Key:
        """What identifies it."""
        return self.kind, self.what

    @property
    def tightest(self) -> CountedPlace:
        """The place that is the tightest in the nominal machine, the first of those that are alike."""
        return min(self.places, key=lambda place: round(place.nominal_deg, ALIKE_DIGITS))


def judge(
    machines: Machines,
    flow: FlowResult | None,
    wanted: Collection[Key] | None = None,
    between: Callable[[], object] | None = None,
) -> tuple[JudgedRule, ...]:
    """Judge every rule of the project that limits anything; those in `wanted` alone, unless it is None.

    Of its places no more is kept than is asked for later. between: as for `judged_places`.
    """
    found = judged_places(machines, flow, wanted, between)
    return tuple(judged_rule(kind, what, parts) for kind, what, parts in found)


def judged_rule(kind: Kind, what: str, parts: Sequence[RulePlace]) -> JudgedRule:
    """Sum up the places of a rule; parts: never empty."""
    slack: Floats = np.minimum.reduce([part.slack_deg for part in parts])
    places = (CountedPlace(p.lanes, float(p.slack_deg[0]), _broken(p.slack_deg)) for p in parts)
    return JudgedRule(kind, what, slack, tuple(places))


def judged_places(
    machines: Machines,
    flow: FlowResult | None,
    wanted: Collection[Key] | None = None,
    between: Callable[[], object] | None = None,
) -> Iterator[tuple[Kind, str, tuple[RulePlace, ...]]]:
    """Yield the rules that limit anything with all their places; those in `wanted` alone, unless it is None.

    between: called between some rules and others; the work ends with what it raises.
    """
    fed = flow is not None and (wanted is None or any(kind == "supply" for kind, _ in wanted))
    needed = needed_rates(machines.project, flow) if flow is not None and fed else None
    if wanted is None:
        machines.find(between)
    rules = chain(rules_of(machines, needed, wanted), _springs(machines, wanted))
    for number, (kind, what, found) in enumerate(rules):
        if between is not None and number % STRIDE == 0:
            between()
        if parts := tuple(found):
            yield kind, what, parts


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


def _springs(machines: Machines, wanted: Collection[Key] | None) -> Iterator[Judged]:
    sprung = None if wanted is None else {what for kind, what in wanted if kind == "spring"}
    if sprung is None or sprung:
        for lane_id in machines.errors.effects.fails:
            if sprung is None or lane_id in sprung:
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


def _broken(slack_deg: Floats) -> int:
    return len(slack_deg) - 1 - holding(slack_deg)


def holding(slack_deg: Floats) -> int:
    """Count the drawn machines (the nominal one left out) in which a slack, (n,) degrees, is not broken."""
    return int(np.count_nonzero(slack_deg[1:] >= -LIMIT))
