"""The arranging problem as data: whole-number variables, inequalities, choices, each with its reason.

A *literal* is a variable of 0 or 1. An inequality says that an expression is at least 0, while all its
literals are 1. A *choice* says that at least one of some literals is 1. A *reason* is what the maker
gave (a rule, a window, a locked block, ...); whatever cannot be given up has none. The solver
(`shaftscore.placing.search`) and the local search (`shaftscore.placing.torque`) read the same inequalities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil, floor
from typing import Literal as OneOf

from shaftscore.placing.affine import Affine, var

Kind = OneOf[
    "rule",
    "window",
    "locked",
    "shortest",
    "kept",
    "step",
    "gate",
    "channel",
    "outlet",
    "magazine",
    "guarded",
]


@dataclass(frozen=True, order=True)
class Reason:
    """What the maker gave: kind, the id or number of what it is, and the block's number where it has one."""

    kind: Kind
    of: str | int
    block: int = -1


@dataclass(frozen=True)
class Variable:
    """A variable with its bounds (both included), and a value to begin with."""

    name: str
    least: int
    most: int
    hint: int | None = None


@dataclass(frozen=True)
class Inequality:
    """`expression` is at least `margin` times the smallest margin while all literals are 1.

    margin: the error that it must survive, degrees, so that 1 degree of the smallest margin is a normalised
    slack of 1; or 1, for a margin in degrees; 0 where it has to hold, and no more.
    """

    expression: Affine
    literals: tuple[int, ...] = ()
    reason: Reason | None = None
    margin: float = 0.0


@dataclass(frozen=True)
class LiteralChoice:
    """At least one literal is 1."""

    literals: tuple[int, ...]
    reason: Reason | None = None


@dataclass(frozen=True)
class Derived:
    """A variable that counts the periods which bring an expression to 0 or more, but under a period."""

    variable: int
    expression: Affine
    period: float


@dataclass(frozen=True)
class Ranked:
    """Variables that are the places of expressions in their order, those first whose literal is 1."""

    variables: tuple[int, ...]
    expressions: tuple[Affine, ...]
    literals: tuple[int | None, ...]


@dataclass(frozen=True)
class LateEnough:
    """Literals of which as many as needed are to be 1: those of the largest expressions."""

    literals: tuple[int, ...]
    expressions: tuple[Affine, ...]
    needed: int


@dataclass
class Problem:
    """Variables, inequalities and choices; see the module's text."""

    variables: list[Variable] = field(default_factory=list)
    inequalities: list[Inequality] = field(default_factory=list)
    choices: list[LiteralChoice] = field(default_factory=list)
    derived: list[Derived] = field(default_factory=list)
    ranked: list[Ranked] = field(default_factory=list)
    late_enough: list[LateEnough] = field(default_factory=list)

    def new(self, name: str, least: int, most: int, hint: int | None = None) -> int:
        """Add a variable and give its number."""
        self.variables.append(Variable(name, least, most, hint))
        return len(self.variables) - 1

    def literal(self, name: str) -> int:
        """Add a variable of 0 or 1."""
        return self.new(name, 0, 1)

    def at_least_0(
        self,
        expression: Affine,
        reason: Reason | None = None,
        literals: Sequence[int] = (),
        *,
        margin: float = 0.0,
    ) -> None:
        """Ask for an expression of at least 0, or `margin` (a factor) times the smallest margin."""
        self.inequalities.append(Inequality(expression, tuple(literals), reason, margin))

    def equal(self, first: Affine, second: Affine, reason: Reason | None = None) -> None:
        """Ask for two equal expressions."""
        self.at_least_0(first - second, reason)
        self.at_least_0(second - first, reason)

    def equal_if(self, number: int, value: int, literal: int) -> None:
        """Fix a variable's value while the literal is 1."""
        self.at_least_0(var(number) - value, literals=(literal,))
        self.at_least_0(var(number) * -1.0 + value, literals=(literal,))

    def one_of(self, literals: Sequence[int], reason: Reason | None = None) -> None:
        """Ask for at least one of the literals."""
        self.choices.append(LiteralChoice(tuple(literals), reason))

    def enough_late(
        self, rooms: Sequence[tuple[Affine, float]], needed: int, reason: Reason | None = None
    ) -> None:
        """Ask that as many of some rooms as needed be at least 0, or so many times the margin.

        rooms: (expression, factor of the margin).
        """
        literals = tuple(self.literal("late") for _ in rooms)
        for literal, (left, margin) in zip(literals, rooms, strict=True):
            self.at_least_0(left, reason, (literal,), margin=margin)
        self.at_least_0(Affine(dict.fromkeys(literals, 1.0), -float(needed)), reason)
        self.late_enough.append(LateEnough(literals, tuple(left for left, _ in rooms), needed))

    def range_of(self, expression: Affine) -> tuple[float, float]:
        """Return bounds of an expression from those of its variables."""
        low = high = expression.constant
        for number, by in expression.terms.items():
            variable = self.variables[number]
            ends = (by * variable.least, by * variable.most)
            low, high = low + min(ends), high + max(ends)
        return low, high

    def turns(self, name: str, expression: Affine, period: float, most: float) -> Affine:
        """Add whole periods, as many as bring `expression` plus them to 0 to `most` steps."""
        low, high = self.range_of(expression)
        least, last = ceil(-high / period - 1e-9), floor((most - low) / period + 1e-9)
        number = self.new(name, least, max(least, last))
        self.derived.append(Derived(number, expression, period))
        return var(number) * period

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """All reasons, in order."""
        found = {inequality.reason for inequality in self.inequalities}
        found |= {choice.reason for choice in self.choices}
        return tuple(sorted((reason for reason in found if reason is not None), key=_place))


def _place(reason: Reason) -> tuple[str, str, int]:
    return reason.kind, f"{reason.of:>6}" if isinstance(reason.of, int) else reason.of, reason.block
