"""The machine as drawn, as its rules read it: exact times from its motions, one machine without errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from shaftscore.base.angles import Arcs
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Project
from shaftscore.rules.times import EventTimes, Floats, State, Stretches
from shaftscore.solution import Solution

_ONE = np.ones(1)
_THERE = np.ones(1, dtype=bool)


@dataclass(frozen=True, eq=False)
class NominalTimes:
    """The nominal machine of a solution: arrays (1,). Intervals are read when first asked for, and kept."""

    solution: Solution
    _held: dict[State, tuple[EventTimes, ...]] = field(default_factory=dict, repr=False)

    @property
    def project(self) -> Project:
        """The project."""
        return self.solution.project

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

    def is_known(self, lane_id: str) -> bool:
        """Return whether a lane is looked at and has a motion."""
        lane = self.solution.lanes.get(lane_id)
        return lane is not None and lane.motion is not None

    def held(self, state: State) -> tuple[EventTimes, ...]:
        """Return the intervals of a state; none where its lane is not known."""
        if state not in self._held:
            found = self.solution.intervals(state) if self.is_known(state.lane) else ()
            self._held[state] = tuple(_exact(state, interval) for interval in found)
        return self._held[state]

    def travel(self, _channel_id: str) -> Floats:
        """Return the share of the travel times: 1, (1,)."""
        return _ONE

    def fill(self, _magazine_id: str) -> Floats:
        """Return the share of the travel time to a magazine: 1, (1,)."""
        return _ONE

    def rate(self, _supply_id: str) -> Floats:
        """Return the share of the rate of a supply: 1, (1,)."""
        return _ONE


def _exact(state: State, interval: StateInterval) -> EventTimes:
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
