"""Machines for the tests of the spread, with one kind of error at a time."""

from __future__ import annotations

from typing import Any

import numpy as np

from shaftscore.judge.spread import draw_machines
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Lane, Project, Stack, Tolerances
from shaftscore.solution import solve
from tests.machines import machine as any_machine

NONE: dict[str, float] = {
    "disc_angle_deg": 0.0,
    "profile_mm": 0.0,
    "travel_percent": 0.0,
    "speed_percent": 0.0,
    "rate_percent": 0.0,
    "fit_spread_mm": 0.0,
    "station_mm": 0.0,
    "zero_mm": 0.0,
}

EXACT = Stack(id="main", fit_clearance_mm=0.0)
"""A stack whose discs have neither play nor room to sit off their axis."""


def machine(*lanes: Lane, **more: Any) -> Project:
    """Make a machine on an exact stack, unless stacks are given."""
    return any_machine(*lanes, **({"stacks": (EXACT,)} | more))


def only(**sizes: float) -> Tolerances:
    """Return tolerances with all errors off but some."""
    return Tolerances(**(NONE | sizes))


def drawn(project: Project, machines: int = 200, seed: int = 1) -> Machines:
    return draw_machines(solve(project), machines, seed)


def phi(z: float) -> float:
    """Return the standard normal distribution."""
    from math import erf, sqrt

    return (1 + erf(z / sqrt(2))) / 2


def within_limits(machines: Machines) -> Any:
    """Return for each row whether no normal draw is beyond its limits."""
    draws = machines.errors.draws
    every = [*draws.angle.values(), *draws.height.values(), draws.speed]
    every += [*draws.travel.values(), *draws.rate.values()]
    return np.all([np.abs(one) <= 1.0 for one in every], axis=0)
