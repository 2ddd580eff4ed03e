"""The machine as drawn, as its rules read it: exact times from its motions, one machine without errors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from shaftscore.base.angles import Arcs
from shaftscore.model import Project
from shaftscore.rules.times import EventTimes, Floats, State, Stretches
from shaftscore.solution import Solution

_ONE = np.ones(1)
_THERE = np.ones(1, dtype=bool)


class HeldSpan(Protocol):
    """A state interval, master angles (`shaftscore.kinematics.motion.states.StateInterval` is one)."""

    @property
    def span(self) -> Arcs:
        """One stretch of the cycle, or the full turn."""

    @property
    def passing(self) -> bool:
        """Whether the lane only passes through the state."""


KnownStates = Callable[[State], Sequence[HeldSpan] | None]
"""Intervals of a state, master angles; None where they are not known (the lane has no motion)."""


KeptTimes = dict[State, tuple[Sequence[HeldSpan], tuple[EventTimes, ...]]]
"""By state, the intervals that were read with their times; they hold while the intervals ARE the same."""


@dataclass(frozen=True, eq=False)
class NominalTimes:
    """The nominal machine of a project: arrays (1,). Intervals are read when first asked for, and kept."""

    project: Project
    states: KnownStates
    kept: KeptTimes = field(default_factory=dict, repr=False)

    @staticmethod
    def of(solution: Solution, kept: KeptTimes | None = None) -> NominalTimes:
        """Read the lanes of a solution; kept: times of an earlier one, for what did not change."""

        def states(state: State) -> Sequence[HeldSpan] | None:
            lane = solution.lanes.get(state.lane)
            return None if lane is None or lane.motion is None else lane.intervals(state)

        return NominalTimes(solution.project, states, {} if kept is None else kept)

    @property
    def count(self) -> int:
        """How many machines: one."""
        return 1

    @property
    def deg_per_s(self) -> Floats:
        """How fast the master shaft turns, degrees a second, (1,)."""
        return np.array([deg_per_s(self.project)])

    @property
    def speed(self) -> Floats:
        """The share of the nominal speed: 1, (1,)."""
        return _ONE

    def knows(self, state: State) -> bool:
        """Return whether the lane of a state is looked at and has a motion."""
        return self.states(state) is not None

    def held(self, state: State) -> tuple[EventTimes, ...]:
        """Return the intervals of a state; none where its lane is not known."""
        found, kept = self.states(state) or (), self.kept.get(state)
        if kept is None or kept[0] is not found:
            kept = self.kept[state] = (found, tuple(_exact(state, interval) for interval in found))
        return kept[1]

    def travel(self, _channel_id: str) -> Floats:
        """Return the share of the travel times: 1, (1,)."""
        return _ONE

    def fill(self, _magazine_id: str) -> Floats:
        """Return the share of the travel time to a magazine: 1, (1,)."""
        return _ONE

    def rate(self, _supply_id: str) -> Floats:
        """Return the share of the rate of a supply: 1, (1,)."""
        return _ONE


def _exact(state: State, interval: HeldSpan) -> EventTimes:
    start, length = interval.span.spans[0]
    meant = np.array([not interval.passing])
    return EventTimes(np.array([start]), np.array([length]), state, _THERE, meant)


def stretches_of(spans: Sequence[Arcs]) -> Stretches:
    """Return sets of one stretch each as arrays, (spans,)."""
    each = np.array([span.spans[0] for span in spans]).reshape(-1, 2)
    return Stretches(each[:, 0], each[:, 1])


def deg_per_s(project: Project) -> float:
    """Return how fast the master shaft turns at nominal speed, degrees a second."""
    return 6.0 * project.shaft.speed_rpm
