"""How many margins each inequality of a rule must keep: in degrees, or in units of what it must survive.

A factor is the error, degrees, that a place of a rule must survive (`judge.spread.slacks`); the smallest
margin, degrees divided by that, is then the normalised one. Without errors every factor is 1, and the
smallest margin counts degrees. What no part can move limits no margin.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from shaftscore.base.angles import TURN
from shaftscore.judge.spread.slacks import RuleSlack
from shaftscore.placing.affine import Affine
from shaftscore.rules.project import Key, Kind


@dataclass(frozen=True)
class MarginWeights:
    """The slacks that the factors are read from; none: every factor is 1."""

    slacks: Sequence[RuleSlack] = field(default=())

    def of(self, kind: Kind, what: str | int, lanes: Iterable[str]) -> Callable[[Affine], float]:
        """Return what counts the margins that an expression of a place must keep, 0 where nothing moves it.

        kind, what: the rule. lanes: those of the place.
        """
        factor = self.factor(kind, str(what), lanes)
        return lambda expression: factor if expression.terms else 0.0

    def factor(self, kind: Kind, what: str, lanes: Iterable[str]) -> float:
        """Return the error that a place between some lanes must survive, degrees: that of its worst place.

        Of lanes that have no place yet, that of the rule's worst; 1 where nothing is known.
        """
        key = (kind, what)
        found = self._by_lanes.get((key, frozenset(lanes)), self._by_rule.get(key, 1.0))
        return min(found, TURN)

    @cached_property
    def _by_lanes(self) -> Mapping[tuple[Key, frozenset[str]], float]:
        return _worst((one, (one.key, frozenset(one.lanes))) for one in self.slacks)

    @cached_property
    def _by_rule(self) -> Mapping[Key, float]:
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


IN_DEGREES = MarginWeights()
"""The smallest margin counts degrees."""
