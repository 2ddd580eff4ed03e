"""Ordinary least squares with confidence intervals, as any text on linear regression has it.

For y = A x + scatter of one standard deviation: x = (A' A)^-1 A' y, its covariance s² (A' A)^-1 with
s² = residual sum of squares / (rows - unknowns), and the interval that holds an unknown with a given
confidence x ± t s sqrt(diagonal), t of Student's law with rows - unknowns degrees of freedom. *Lack of fit*
compares how far the means of repeated rows are from the model with how far repeats are apart (N. R. Draper,
H. Smith, Applied Regression Analysis, 3rd ed. 1998, section 2.1): the ratio of both mean squares follows
Fisher's law where the model holds.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

CONFIDENCE = 0.95
"""Confidence of every interval that is told."""

G = TypeVar("G", bound=Hashable)
"""What tells groups of rows apart."""

Reals = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LinearFit:
    """A solved system of n rows and m unknowns.

    values: (m,). unscaled: (A' A)^-1, (m, m). residuals: (n,), in the unit of the rows.
    """

    values: Reals
    unscaled: Reals
    residuals: Reals

    @property
    def spare(self) -> int:
        """Rows more than unknowns."""
        return len(self.residuals) - len(self.values)

    @property
    def scatter(self) -> float | None:
        """Standard deviation of one row, in the unit of the rows; None without a row to spare."""
        return float(np.sqrt(np.sum(self.residuals**2) / self.spare)) if self.spare > 0 else None

    def uncertainties(self) -> list[float | None]:
        """Return the standard uncertainty of every unknown; None without a row to spare."""
        if self.scatter is None:
            return [None] * len(self.values)
        return [float(u) for u in self.scatter * np.sqrt(np.diag(self.unscaled))]

    def half_widths(self) -> list[float | None]:
        """Return half the width of the interval of every unknown; None without a row to spare."""
        wide = student(self.spare)
        return [None if u is None else wide * u for u in self.uncertainties()]


def fitted(design: Reals, rows: Reals) -> LinearFit:
    """Solve a system whose columns are independent: design (n, m), rows (n,)."""
    values = np.linalg.lstsq(design, rows, rcond=None)[0]
    unscaled = np.linalg.inv(design.T @ design)
    return LinearFit(np.asarray(values, float), np.asarray(unscaled, float), rows - design @ values)


def student(spare: int) -> float:
    """Return how many standard uncertainties, a factor, are half an interval with so many rows to spare."""
    from scipy.special import stdtrit  # takes a moment to load

    return float(stdtrit(max(1, spare), (1 + CONFIDENCE) / 2))


def with_one_more(unscaled: Reals, row: Reals) -> Reals:
    """Return (A' A)^-1 after one more row of the design, (m,) (Sherman and Morrison)."""
    along = unscaled @ row
    return np.asarray(unscaled - np.outer(along, along) / (1.0 + row @ along))


@dataclass(frozen=True)
class LackOfFit(Generic[G]):
    """How far the means of repeated rows are from the model.

    chance: of a ratio at least as great where the model holds. worst: which group is farthest off, and by
    how much, in the unit of the rows.
    """

    chance: float
    worst: G
    worst_by: float


def lack_of_fit(groups: Sequence[G], residuals: Reals, unknowns: int) -> LackOfFit[G] | None:
    """Compare the means of groups of repeated rows with the model; None without repeats or groups to spare.

    groups: of each row. residuals: of the model, (n,). unknowns: of the model that these rows determine.
    """
    from scipy.special import fdtrc  # takes a moment to load

    names = list(dict.fromkeys(groups))
    own = [residuals[[group == name for group in groups]] for name in names]
    pure = float(sum(np.sum((part - part.mean()) ** 2) for part in own))
    repeats, spare = len(residuals) - len(names), len(names) - unknowns
    if repeats < 1 or spare < 1:
        return None
    means = np.array([part.mean() for part in own])
    between = float(np.sum([len(part) * mean**2 for part, mean in zip(own, means, strict=True)]))
    ratio = (between / spare) / (pure / repeats) if pure > 0 else (np.inf if between > 0 else 0.0)
    worst = int(np.argmax(np.abs(means)))
    return LackOfFit(float(fdtrc(spare, repeats, ratio)), names[worst], float(means[worst]))
