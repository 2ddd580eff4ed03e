"""When machines are in their states: the events that rules are about.

Arrays are (n,) over machines, row 0 the nominal one; that may be the only one. Angles are of the master
shaft, degrees, unrolled: each machine's may lie a turn or two from the nominal one's. What a rule asks in
seconds counts at each machine's own speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.model import LevelState, Project, RangeState

Floats = npt.NDArray[np.float64]

Bools = npt.NDArray[np.bool_]

State = LevelState | RangeState

LOST = -np.inf
"""Slack of what a machine does not do at all, degrees: less than any other."""


@dataclass(frozen=True, eq=False)
class Stretches:
    """Stretches of the turn: start (unrolled) and length, degrees, (n,) or (events, n)."""

    start: Floats
    length: Floats

    @cached_property
    def middle(self) -> Floats:
        """Middles, unrolled, degrees, of the shape of both."""
        middle: Floats = self.start + self.length / 2
        return middle


@dataclass(frozen=True, eq=False)
class EventTimes(Stretches):
    """One interval of a state in all machines, (n,): its start and length, and whether it is there.

    meant: a block that asks for the state lies in it.
    """

    state: State
    present: Bools
    meant: Bools

    @cached_property
    def longest_deg(self) -> float:
        """The greatest length in any machine, degrees."""
        return float(np.max(self.length))

    @cached_property
    def wander_deg(self) -> float:
        """How far the middle of any machine lies from the nominal one's, degrees."""
        return float(np.max(np.abs(self.middle - self.middle[0])))

    @property
    def begins(self) -> bool:
        """Whether it is there in the nominal machine, and not always."""
        return bool(self.present[0]) and float(self.length[0]) < TURN

    @property
    def is_meant(self) -> bool:
        """Whether it is there and meant in the nominal machine."""
        return bool(self.present[0] and self.meant[0])


@dataclass(frozen=True, eq=False)
class RulePlace:
    """One place of a rule: the lanes whose errors move it, and its slack in each machine, (n,) degrees."""

    lanes: tuple[str, ...]
    slack_deg: Floats


class MachineTimes(Protocol):
    """Machines of one project, with all that rules read of them: n machines, row 0 the nominal one."""

    @property
    def project(self) -> Project:
        """The project."""

    @property
    def count(self) -> int:
        """How many machines, the nominal one included."""

    @property
    def deg_per_s(self) -> Floats:
        """How fast each master shaft turns, degrees a second, (n,)."""

    @property
    def speed(self) -> Floats:
        """The same as a share of the nominal one, (n,)."""

    def knows(self, state: State) -> bool:
        """Return whether the lane of a state is looked at and has a motion."""

    def held(self, state: State) -> tuple[EventTimes, ...]:
        """Return the intervals of a state; none where it is not known."""

    def travel(self, channel_id: str) -> Floats:
        """Return the travel times in a channel as a share of what the project says, (n,)."""

    def fill(self, magazine_id: str) -> Floats:
        """Return the travel times to a magazine as a share of what the project says, (n,)."""

    def rate(self, supply_id: str) -> Floats:
        """Return the rate of a supply as a share of what the project says, (n,)."""


def apart(first: Floats, second: Floats) -> Floats:
    """Return the shorter way round between two angles, unrolled within a turn or two, (n,), 0 to 180."""
    way = np.abs(second - first)
    way = wrap(way) if bool(np.any(way > TURN)) else way
    shorter: Floats = np.minimum(way, TURN - way)
    return shorter


def lanes_of(*lanes: str) -> tuple[str, ...]:
    """Return lanes in order, each once."""
    return lanes if len(set(lanes)) == len(lanes) else tuple(dict.fromkeys(lanes))


class Linear(Protocol):
    """A moment as a sum: of variables, of a slide, an array over machines, degrees, or whole microseconds.

    Any: each is added to its own kind and to plain numbers.
    """

    def __add__(self, other: Any, /) -> Any:
        """Return the sum."""

    def __sub__(self, other: Any, /) -> Any:
        """Return the difference."""


Angle = TypeVar("Angle", bound=Linear)


@dataclass(frozen=True)
class LinearSpan(Generic[Angle]):
    """A stretch whose start and end are sums."""

    start: Angle
    end: Angle
