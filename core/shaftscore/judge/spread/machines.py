"""Drawn machines: when each of them is in each state.

`Machines` are `shaftscore.rules.times.MachineTimes`: arrays (n,) over machines, row 0 the nominal one, whose
times are those of the machine as drawn. What a rule asks in seconds counts at each machine's own speed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.base.once import once
from shaftscore.judge.spread.causes import Cause
from shaftscore.judge.spread.draws import CornerKinds, Errors, Floats
from shaftscore.judge.spread.states import LaneErrors, LaneRuns, RunIntervals
from shaftscore.model import Lane, Project
from shaftscore.rules.project import states_by_lane
from shaftscore.rules.times import EventTimes, State
from shaftscore.solution import LaneSolution, Solution

OF_LIFT: frozenset[Cause] = frozenset(("seat", "profile", "zero", "link-play", "shaft"))
"""Causes that move where a lane enters and leaves its states, each contact in its own way."""

OF_SHIFT: frozenset[Cause] = frozenset(("play", "disc-angle", "station", "backlash"))
"""Causes that turn a lane's whole program, so that its intervals stay as long as they are."""


MOST_STATES, MOST_LANES = 128, 32
"""Intervals of so many states, and errors of so many lanes, are kept at once: all of a usual machine."""

MOST_ALIKE = 4096
"""The same of kinds of machines, which are few each."""


@dataclass(frozen=True, eq=False)
class Machines:
    """Drawn machines of a solution; see the module's text.

    few: all errors stand at their limits or are 0, so that most machines are alike. runs: of lanes, shared
    with other machines of the same solution, and kept with a solved lane from edit to edit. alike: of few,
    the intervals by state and kinds of machines, shared with other machines whose errors have the same
    sizes. Intervals and shifts, (n,) degrees, are found when first asked for and kept.
    """

    solution: Solution
    errors: Errors
    few: bool = False
    runs: dict[str, LaneRuns] = field(default_factory=dict, repr=False)
    alike: dict[tuple[State, bytes], tuple[RunIntervals, ...]] = field(default_factory=dict, repr=False)
    _own: dict[State, tuple[RunIntervals, ...]] = field(default_factory=dict, repr=False)
    _held: dict[State, tuple[EventTimes, ...]] = field(default_factory=dict, repr=False)
    _shifts: dict[str, Floats] = field(default_factory=dict, repr=False)
    _errors: dict[str, LaneErrors] = field(default_factory=dict, repr=False)
    _kinds: dict[str, CornerKinds] = field(default_factory=dict, repr=False)

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

    @property
    def speed(self) -> Floats:
        """The speed as a share of the nominal one, (n,)."""
        return self.errors.speed

    def travel(self, channel_id: str) -> Floats:
        """Return the travel times in a channel as a share of what the project says, (n,)."""
        return self.errors.travel(channel_id)

    def fill(self, magazine_id: str) -> Floats:
        """Return the travel times to a magazine as a share of what the project says, (n,)."""
        return self.errors.fill(magazine_id)

    def rate(self, supply_id: str) -> Floats:
        """Return the rate of a supply as a share of what the project says, (n,)."""
        return self.errors.rate(supply_id)

    def knows(self, state: State) -> bool:
        """Return whether the lane of a state is looked at and has a motion."""
        return self.lane(state.lane) is not None

    def lane(self, lane_id: str) -> LaneSolution | None:
        """Return a lane that is looked at and has a motion, or None."""
        lane = self.solution.lanes.get(lane_id)
        return None if lane is None or lane.motion is None else lane

    def held(self, state: State) -> tuple[EventTimes, ...]:
        """Return the intervals of a state; none where its lane is not looked at or has no motion."""
        if state not in self._held:
            _make_room(MOST_STATES, self._held, self._own, self._shifts)
            lane = self.lane(state.lane)
            self._held[state] = () if lane is None else tuple(self._placed(lane, state))
        return self._held[state]

    def find(self, between: Callable[[], object] | None = None) -> None:
        """Find the intervals of all states that rules speak of, lane by lane, where they can all be kept.

        What moves a lane is then known for one lane at a time; it takes more memory than the intervals do.
        between: called between lanes; the work ends with what it raises.
        """
        by_lane = states_by_lane(self.project)
        if sum(map(len, by_lane.values())) > MOST_STATES:
            return
        for lane_id, states in by_lane.items():
            if between is not None:
                between()
            for state in states:
                self.held(state)
            self._errors.pop(lane_id, None)

    def _placed(self, lane: LaneSolution, state: State) -> Iterable[EventTimes]:
        """Repeat own intervals for each turn of the stack, and shift them by the machine's errors."""
        shift = self._shift(lane.lane.id)
        if lane.course.is_stepped:
            yield from self._stepped(lane, state, shift * self.project.stack_of(lane.lane).turns)
            return
        for turn in range(lane.turns):
            for own in self._intervals(lane, state):
                start = (own.start + turn * TURN) / lane.turns + shift
                # What always holds does so however often the stack turns.
                always = own.length >= TURN
                length = own.length if lane.turns == 1 else np.where(always, TURN, own.length / lane.turns)
                yield EventTimes(start, length, state, own.present, own.meant)

    def _stepped(self, lane: LaneSolution, state: State, own_shift: Floats) -> Iterable[EventTimes]:
        """Place own intervals, shifted by (n,) degrees of the stack, where its stage brings them about."""
        for turn in range(lane.turns):
            for own in self._intervals(lane, state):
                begin = own.start + turn * TURN + own_shift
                start = lane.course.first(begin)
                length = np.maximum(lane.course.last(begin + own.length) - start, 0.0)
                always = own.length >= TURN
                yield EventTimes(
                    start, np.where(always, TURN, np.minimum(length, TURN)), state, own.present, own.meant
                )

    def _shift(self, lane_id: str) -> Floats:
        if lane_id not in self._shifts:
            lane = self.lane(lane_id)
            table = None if lane is None else self._runs_of(lane).contacts if self._has_station else None
            radius = None if table is None or table.is_flat else table.radius_mm
            self._shifts[lane_id] = self.errors.shift_deg(lane_id, radius)
        return self._shifts[lane_id]

    @property
    def _has_station(self) -> bool:
        return self.project.tolerances.station_mm > 0

    def _intervals(self, lane: LaneSolution, state: State) -> tuple[RunIntervals, ...]:
        if state not in self._own:
            find = self._few_intervals if self.few else self._all_intervals
            self._own[state] = find(lane, state)
        return self._own[state]

    def _all_intervals(self, lane: LaneSolution, state: State) -> tuple[RunIntervals, ...]:
        return self._runs_of(lane).intervals(state, self._errors_of(lane))

    def _errors_of(self, lane: LaneSolution) -> LaneErrors:
        """Return what moves a lane's intervals."""
        lane_id, errors = lane.lane.id, self.errors
        if lane_id not in self._errors:
            _make_room(MOST_LANES, self._errors)
            table = self._runs_of(lane).contacts if errors.fits else None
            self._errors[lane_id] = LaneErrors(
                errors.height_mm(lane_id),
                errors.link_mm(lane_id),
                errors.zero_mm(lane_id),
                None if table is None else errors.seat(lane_id, table),
                errors.flanks(lane_id),
            )
        return self._errors[lane_id]

    def _few_intervals(self, lane: LaneSolution, state: State) -> tuple[RunIntervals, ...]:
        """Look at one machine of each kind, and give its intervals to all that are alike."""
        kinds = self._kinds_of(lane.lane.id)
        key = (state, kinds.key)
        if key not in self.alike:
            _make_room(MOST_ALIKE, self.alike)
            errors = self._errors_of(lane).taken(kinds.first)
            self.alike[key] = self._runs_of(lane).intervals(state, errors)
        return tuple(one.taken(kinds.number) for one in self.alike[key])

    def _kinds_of(self, lane_id: str) -> CornerKinds:
        if lane_id not in self._kinds:
            self._kinds[lane_id] = self.errors.corner_kinds(lane_id)
        return self._kinds[lane_id]

    def _runs_of(self, lane: LaneSolution) -> LaneRuns:
        lane_id = lane.lane.id
        if lane_id not in self.runs:
            named = self.project.named_lane(lane.lane)
            known = once(lane, "runs", lambda: _lane_runs(lane, named))
            self.runs[lane_id] = known if known.named is named else _lane_runs(lane, named)
        return self.runs[lane_id]

    @property
    def bytes_a_machine(self) -> int:
        """How much memory the intervals found so far take, of each machine."""
        own = (one for found in self._own.values() for one in found)
        arrays = (array for one in own for array in (one.start, one.length, one.present, one.meant))
        # As often again for those that are turned to the master angle, with their shifts.
        return 2 * sum(array.nbytes for array in arrays if array.strides[0]) // self.count

    def scaled(self, scale: float | Floats) -> Machines:
        """Return the same machines with all angle errors of discs times the factor `scale`, one or (n,)."""
        return replace(self, errors=replace(self.errors, scale=scale), _held={}, _shifts={})

    def muted(self, cause: Cause) -> Machines:
        """Return the same machines with one cause of errors switched off."""
        errors = replace(self.errors, muted=self.errors.muted | {cause})
        if cause in OF_LIFT or (cause == "play" and self._any_loose):
            return self.with_errors(errors)
        moved = cause in OF_SHIFT
        held, shifts = ({}, {}) if moved else (self._held, self._shifts)
        return replace(self, errors=errors, _held=held, _shifts=shifts)

    @property
    def _any_loose(self) -> bool:
        """Whether play counts at each move on its own, so that it changes intervals and not only shifts."""
        return any(self.errors.flanks(lane_id) is not None for lane_id in self.solution.lanes)

    def first(self, machines: int) -> Machines:
        """Return the first machines that were drawn, and the nominal one; their intervals stay known."""
        if machines >= self.count - 1:
            return self
        few = self.with_errors(replace(self.errors, draws=self.errors.draws.first(machines)))
        known = {state: tuple(one.first(few.count) for one in own) for state, own in self._own.items()}
        return replace(few, _own=known)

    def with_errors(self, errors: Errors) -> Machines:
        """Return machines of the same solution with other errors."""
        return Machines(self.solution, errors, runs=self.runs)

    def without(self, lane_id: str) -> Machines:
        """Return the same machines with the disc of a lane free of errors."""
        errors = replace(self.errors, off=frozenset((lane_id,)))
        lanes = {lane.id for lane in self.project.lanes if lane_id in (lane.id, lane.disc_of)}
        if any(fit.is_chain for fit in errors.fits.values()):  # joints before others' discs may be loose
            return self.with_errors(errors)
        kept = {state: own for state, own in self._own.items() if state.lane not in lanes}
        known = {lane: own for lane, own in self._errors.items() if lane not in lanes}
        return replace(self, errors=errors, _own=kept, _held={}, _shifts={}, _errors=known)


def _lane_runs(lane: LaneSolution, named: Lane) -> LaneRuns:
    """Return the runs of a lane whose states name the levels of a lane."""
    assert lane.motion is not None, "a lane without motion has no states"
    return LaneRuns(lane.lane, lane.motion, named, lane.profile)


def _make_room(most: int, *known: dict[Any, Any]) -> None:
    """Forget what was found of many lanes: to find it again takes less time than keeping it takes memory.

    most: entries of the first of them. The values are of any kind.
    """
    if len(known[0]) >= most:
        for one in known:
            one.clear()
