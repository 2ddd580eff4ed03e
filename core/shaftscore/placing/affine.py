"""Affine expressions over whole-number variables: a x + b y + ... + constant.

Angles in expressions are *steps* of 0.1 degree of the master shaft. Coefficients are real numbers,
because the ends of state intervals lie at fixed shares of the moves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

STEP_DEG = 0.1
"""The grid of arrangements, degrees."""

STEPS = 3600.0
"""Steps of one turn."""


@dataclass(frozen=True)
class Affine:
    """An expression: coefficient by number of the variable, and a constant."""

    terms: Mapping[int, float] = field(default_factory=dict)
    constant: float = 0.0

    def __add__(self, other: Affine | float) -> Affine:
        if not isinstance(other, Affine):
            return Affine(self.terms, self.constant + other)
        terms = dict(self.terms)
        for variable, by in other.terms.items():
            terms[variable] = terms.get(variable, 0.0) + by
        return Affine({v: by for v, by in terms.items() if by}, self.constant + other.constant)

    def __sub__(self, other: Affine | float) -> Affine:
        return self + (other * -1.0 if isinstance(other, Affine) else -other)

    def __mul__(self, by: float) -> Affine:
        terms = {variable: coefficient * by for variable, coefficient in self.terms.items()} if by else {}
        return Affine(terms, self.constant * by)

    def at(self, values: Sequence[int]) -> float:
        """Return its value, steps of 0.1 degree."""
        return self.constant + sum(by * values[variable] for variable, by in self.terms.items())


def var(number: int) -> Affine:
    """Return the expression that is one variable."""
    return Affine({number: 1.0})


def fixed(value: float) -> Affine:
    """Return a constant, steps of 0.1 degree."""
    return Affine({}, value)
