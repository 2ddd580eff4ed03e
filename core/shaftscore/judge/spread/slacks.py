"""Every place of every rule with its slack and the error that it must survive.

`rule_slacks` yields what a search for the largest margin compares: a half degree in a channel whose travel
spreads by 10 % is less than a half degree between two discs.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from shaftscore.judge.flow import FlowResult
from shaftscore.judge.loads import MachineLoads
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects
from shaftscore.judge.spread.drawing import draw_machines
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.judging import judged_places
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.single import FIRST_ROWS, ErrorSource, one_at_a_time, sources
from shaftscore.judge.spread.states import LaneRuns
from shaftscore.rules.project import Key, Kind
from shaftscore.rules.survival import harms, normalised, survived_deg
from shaftscore.solution import Solution

MOST_SOURCES = 4_000
"""Sources of error that are tried in one pass, to bound the memory."""


@dataclass(frozen=True)
class RuleSlack:
    """One place of a rule: see `shaftscore.judge.spread.judging.JudgedRule` for kind and what.

    lanes: those whose errors move it. slack_deg: of the nominal machine, degrees of the master shaft, minus
    infinity for what never happens. error_deg: what it must survive, degrees, over 0; infinite where one
    error alone loses a state.
    """

    kind: Kind
    what: str
    lanes: tuple[str, ...]
    slack_deg: float
    error_deg: float

    @property
    def key(self) -> Key:
        """What identifies the rule."""
        return self.kind, self.what

    @property
    def normalised(self) -> float:
        """Slack in units of the error that it must survive: at 1 and more it survives."""
        return normalised(self.slack_deg, self.error_deg)


def rule_slacks(
    solution: Solution,
    flow: FlowResult | None = None,
    *,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
    between: Callable[[], object] | None = None,
    runs: dict[str, LaneRuns] | None = None,
) -> tuple[RuleSlack, ...]:
    """Return all places of all rules that limit the nominal machine, rule by rule in the project's order.

    flow: the nominal machine's result, for the rates that it needs. loads: of the same solution; computed
    where a stack needs them if None. effects: what bends and twists. between: called between rules; the
    work ends with what it raises. runs: see `draw_machines`.
    """
    drawn = draw_machines(solution, 1, loads=loads, effects=replace(effects, fails={}), runs=runs)
    every = sources(drawn.errors)
    places = _Places(drawn, flow, every, between)
    return places.slacks()


def least_normalised(slacks: Sequence[RuleSlack]) -> RuleSlack | None:
    """Return the place with the least normalised slack, the smaller slack among equals; None of none."""
    return min(slacks, key=lambda one: (one.normalised, one.slack_deg), default=None)


@dataclass(frozen=True, eq=False)
class PlaceErrors:
    """The errors that places must survive, by the rule and the lanes of a place."""

    slacks: Sequence[RuleSlack]

    def of(self, kind: Kind, what: str, lanes: Iterable[str], unknown: float) -> float:
        """Return the error, degrees, of the worst place between some lanes.

        Of lanes that have no place yet, that of the rule's worst; `unknown` where nothing is known.
        """
        key = (kind, what)
        return self._by_lanes.get((key, frozenset(lanes)), self._by_rule.get(key, unknown))

    @cached_property
    def _by_lanes(self) -> dict[tuple[Key, frozenset[str]], float]:
        return _worst((one, (one.key, frozenset(one.lanes))) for one in self.slacks)

    @cached_property
    def _by_rule(self) -> dict[Key, float]:
        return _worst((one, one.key) for one in self.slacks)


Named = TypeVar("Named", bound=Hashable)


def _worst(places: Iterable[tuple[RuleSlack, Named]]) -> dict[Named, float]:
    """Return the error of the worst place of each name, degrees.

    That is the largest one; of a magazine, whose places wait up to a turn for what they survive, that of the
    place which is the tightest for its error.
    """
    found: dict[Named, RuleSlack] = {}
    for one, name in places:
        other = found.get(name)
        if other is None or _is_worse(one, other):
            found[name] = one
    return {name: one.error_deg for name, one in found.items()}


def _is_worse(one: RuleSlack, other: RuleSlack) -> bool:
    if one.kind == "stock":
        return one.normalised < other.normalised
    return one.error_deg > other.error_deg


_Place = tuple[Kind, str, tuple[str, ...], float, float]
"""A place: of what, its lanes, and its slack in the nominal machine and as built; the same in each pass."""


class _Places:
    """The places of all rules, judged in machines with one error each, some sources at a time."""

    def __init__(
        self,
        drawn: Machines,
        flow: FlowResult | None,
        every: Sequence[ErrorSource],
        between: Callable[[], object] | None = None,
    ) -> None:
        self._drawn, self._flow, self._every, self._between = drawn, flow, every, between
        self._sigmas = np.array([source.sigma for source in every])

    def slacks(self) -> tuple[RuleSlack, ...]:
        """Return what limits the nominal machine."""
        count = max(1, len(self._every))
        passes = [self._judged(first) for first in range(0, count, MOST_SOURCES)]
        return tuple(
            RuleSlack(kind, what, lanes, nominal, self._error(place, passes))
            for place in passes[0]
            for kind, what, lanes, nominal, _ in (place,)
            if nominal < np.inf
        )

    def _judged(self, first: int) -> dict[_Place, Floats]:
        """Judge the sources from a number on: by place what each costs, (sources,) degrees."""
        some = self._every[first : first + MOST_SOURCES]
        errors = self._drawn.errors
        draws = one_at_a_time(errors, some, self._every)
        machines = Machines(self._drawn.solution, replace(errors, draws=draws), runs=self._drawn.runs)
        found: dict[_Place, Floats] = {}
        for kind, what, parts in judged_places(machines, self._flow, between=self._between):
            for part in parts:
                nominal, built = (float(part.slack_deg[row]) for row in range(FIRST_ROWS))
                place = (kind, what, part.lanes, nominal, built)
                cost = harms(built, part.slack_deg[FIRST_ROWS:].reshape(-1, 2))
                found[place] = np.maximum(found[place], cost) if place in found else cost
        return found

    def _error(self, place: _Place, passes: Sequence[Mapping[_Place, Floats]]) -> float:
        """Return the error that a place must survive; a pass without it found it far from breaking."""
        none = np.zeros(0)
        each = [found.get(place, none) for found in passes]
        starts = range(0, len(self._sigmas), MOST_SOURCES)
        sigmas = [self._sigmas[at : at + len(cost)] for at, cost in zip(starts, each, strict=False)]
        costs = np.concatenate(each)
        return survived_deg(place[3], place[4], costs, np.concatenate(sigmas) if sigmas else costs)
