"""Drawn machines: when each of them is in each state, and how far each rule is from breaking in it.

*Slack* is what is left before a rule breaks, degrees of the master shaft, negative where it is broken;
arrays (n,) over machines, row 0 the nominal one. What a rule asks in seconds counts at each machine's
own speed. A `RulePlace` is one place of a rule (a pair of intervals, an interval with its need) with the
lanes whose errors move it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.judge.spread.draws import Errors, Floats
from shaftscore.judge.spread.states import Bools, LaneRuns, RunIntervals
from shaftscore.model import LevelState, Project, RangeState
from shaftscore.solution import LaneSolution, Solution

State = LevelState | RangeState


@dataclass(frozen=True, eq=False)
class DrawnIntervals:
    """Intervals of one state in all machines, master angles: start (unrolled), length, presence, (n,).

    meant: a block that asks for the state lies in it.
    """

    state: State
    start: Floats
    length: Floats
    present: Bools
    meant: Bools

    @cached_property
    def middle(self) -> Floats:
        """Middles, unrolled."""
        middle: Floats = self.start + self.length / 2
        return middle

    @property
    def everywhere(self) -> bool:
        """Whether every machine has it."""
        return bool(self.present.all())


@dataclass(frozen=True, eq=False)
class RulePlace:
    """One place of a rule: its lanes and its slack in each machine, (n,) degrees."""

    lanes: tuple[str, ...]
    slack_deg: Floats


@dataclass(frozen=True, eq=False)
class Machines:
    """Drawn machines of a solution; see the module's text.

    few: all errors stand at their limits or are 0, so that most machines are alike. runs: of lanes, shared
    with other machines of the same solution. Intervals and shifts, (n,) degrees, are found when first asked
    for and kept.
    """

    solution: Solution
    errors: Errors
    few: bool = False
    runs: dict[str, LaneRuns] = field(default_factory=dict, repr=False)
    _own: dict[State, tuple[RunIntervals, ...]] = field(default_factory=dict, repr=False)
    _held: dict[State, tuple[DrawnIntervals, ...]] = field(default_factory=dict, repr=False)
    _shifts: dict[str, Floats] = field(default_factory=dict, repr=False)

    @property
    def project(self) -> Project:
        """The project."""
        return self.solution.project

    @property
    def count(self) -> int:
        """Rows: machines, and the nominal one."""
        return self.errors.draws.machines + 1

    @property
    def deg_per_s(self) -> Floats:
        """How fast each machine's master shaft turns, degrees a second, (n,)."""
        speed: Floats = 6.0 * self.project.shaft.speed_rpm * self.errors.speed
        return speed

    def lane(self, lane_id: str) -> LaneSolution | None:
        """Return a lane that is looked at and has a motion, or None."""
        lane = self.solution.lanes.get(lane_id)
        return None if lane is None or lane.motion is None else lane

    def held(self, state: State) -> tuple[DrawnIntervals, ...]:
        """Return the intervals of a state; none where its lane is not looked at or has no motion."""
        if state not in self._held:
            lane = self.lane(state.lane)
            self._held[state] = () if lane is None else tuple(self._placed(lane, state))
        return self._held[state]

    def _placed(self, lane: LaneSolution, state: State) -> Iterable[DrawnIntervals]:
        """Repeat own intervals for each turn of the stack, and shift them by the machine's errors."""
        shift = self._shift(lane.lane.id)
        for turn in range(lane.turns):
            for own in self._intervals(lane, state):
                start = (own.start + turn * TURN) / lane.turns + shift
                # What always holds does so however often the stack turns.
                length = np.where(own.length >= TURN, TURN, own.length / lane.turns)
                yield DrawnIntervals(state, start, length, own.present, own.meant)

    def _shift(self, lane_id: str) -> Floats:
        if lane_id not in self._shifts:
            self._shifts[lane_id] = self.errors.shift_deg(lane_id)
        return self._shifts[lane_id]

    def _intervals(self, lane: LaneSolution, state: State) -> tuple[RunIntervals, ...]:
        if state not in self._own:
            find = self._few_intervals if self.few else self._each_interval
            self._own[state] = find(self._runs_of(lane), state, lane.lane.id)
        return self._own[state]

    def _each_interval(self, runs: LaneRuns, state: State, lane_id: str) -> tuple[RunIntervals, ...]:
        return runs.intervals(state, self.errors.height_mm(lane_id), self.errors.link_mm(lane_id))

    def _few_intervals(self, runs: LaneRuns, state: State, lane_id: str) -> tuple[RunIntervals, ...]:
        """Look at one machine of each kind, and give its intervals to all that are alike."""
        kinds = self.errors.corner_kinds(lane_id)
        firsts = [int(np.argmax(kinds == kind)) for kind in range(int(kinds.max()) + 1)]
        link = self.errors.link_mm(lane_id)
        own = link if link[0].ndim == 0 else (link[0][firsts], link[1][firsts])
        found = runs.intervals(state, self.errors.height_mm(lane_id)[firsts], own)
        return tuple(one.taken(kinds) for one in found)

    def _runs_of(self, lane: LaneSolution) -> LaneRuns:
        lane_id = lane.lane.id
        if lane_id not in self.runs:
            assert lane.motion is not None
            self.runs[lane_id] = LaneRuns(lane.lane, lane.motion, self.project.named_lane(lane.lane))
        return self.runs[lane_id]

    def scaled(self, scale: float) -> Machines:
        """Return the same machines with all angle errors of discs times the factor `scale`."""
        return replace(self, errors=replace(self.errors, scale=scale), _held={}, _shifts={})

    def without(self, lane_id: str) -> Machines:
        """Return the same machines with the disc of a lane free of errors."""
        errors = replace(self.errors, off=frozenset((lane_id,)))
        lanes = {lane.id for lane in self.project.lanes if lane_id in (lane.id, lane.disc_of)}
        kept = {state: own for state, own in self._own.items() if state.lane not in lanes}
        return replace(self, errors=errors, _own=kept, _held={}, _shifts={})


def apart(first: Floats, second: Floats) -> Floats:
    """Return the shorter way round between two angles, unrolled within a turn or two, (n,), 0 to 180."""
    way = np.abs(second - first)
    way = wrap(way) if bool(np.any(way > TURN)) else way
    shorter: Floats = np.minimum(way, TURN - way)
    return shorter
