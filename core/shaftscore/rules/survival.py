"""The error that a rule must survive, and its slack in units of it.

*Sources* of error are independent. The slack of a place is computed in machines with one error each: the
nominal one, the one as built with every error in its middle, and two for each source, that error at either
limit and all others in their middle. The *harm* of a source is the slack that the worse limit costs. All
together cost, in degrees,

    (1) error = (nominal - built) + min(sum of harms, 3 sqrt(sum of (sigma x harm)^2))

with sigma the standard deviation of the source as a share of its limit: the known shift, and what three
standard deviations of the sum make, but no more than all limits at once (root sum of squares, and the worst
case; common practice of tolerance chains). The normalised slack is slack / error: at 1 the place survives.
"""

from __future__ import annotations

from math import isinf, sqrt

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

NORMAL, UNIFORM, CIRCLE = 1 / 3, 1 / sqrt(3), 1 / 2
"""Standard deviations as shares of the limit: a normal law, even from limit to limit, even in a circle."""

LEAST_ERROR_DEG = 0.01
"""The least error that any rule must survive, degrees: where nothing is described, slack still counts."""

SIGMAS = 3.0
"""Standard deviations of the sum that are survived."""


def harms(built: float, limits: Floats) -> Floats:
    """Return the slack that each source costs, (sources,) degrees, 0 or more.

    built: slack with all errors in their middle. limits: (sources, 2) with one error at either limit.
    """
    if np.isneginf(built):
        return np.zeros(len(limits))
    worse = limits.min(axis=1)
    found: Floats = np.where(
        np.isposinf(worse), 0.0, np.maximum(0.0, built - np.where(np.isposinf(worse), 0.0, worse))
    )
    return found


def survived_deg(nominal: float, built: float, each: Floats, sigmas: Floats) -> float:
    """Return the error that a place must survive, degrees; see formula (1) of the module.

    each: harms (sources,). sigmas: (sources,). Infinite where an error alone loses what the rule is about.
    """
    if not np.all(np.isfinite(each)) or np.isneginf(built):
        return np.inf
    spread = min(float(each.sum()), SIGMAS * float(np.sqrt(np.sum((sigmas * each) ** 2))))
    return max(LEAST_ERROR_DEG, nominal - built + spread)


def normalised(slack_deg: float, error_deg: float) -> float:
    """Return slack in units of the error that it must survive; minus infinity for what never happens."""
    if isinf(slack_deg) or not isinf(error_deg):
        return slack_deg / error_deg if not isinf(error_deg) else slack_deg
    return 0.0 if slack_deg >= 0 else -np.inf
