"""How many margins each inequality of a rule must keep: in degrees, or in units of what it must survive.

A factor is the error, degrees, that a place of a rule must survive (`judge.spread.slacks`); the smallest
margin, degrees divided by that, is then the normalised one. Without errors every factor is 1, and the
smallest margin counts degrees. What no part can move limits no margin.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.base.angles import TURN
from shaftscore.judge.spread.slacks import PlaceErrors, RuleSlack
from shaftscore.placing.affine import Affine
from shaftscore.rules.project import Kind


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
        """Return the error, degrees, that a place between some lanes must survive; 1 where none is known."""
        return min(self._errors.of(kind, what, lanes, 1.0), TURN)

    @cached_property
    def _errors(self) -> PlaceErrors:
        return PlaceErrors(self.slacks)


IN_DEGREES = MarginWeights()
"""The smallest margin counts degrees."""
