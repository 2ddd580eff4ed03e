"""The torque of all lanes at the master shaft over a long round, each distinct cycle once.

A stack of a counter rests in most cycles, and what it does in the others repeats after its own round. So a
round has few *distinct* cycles: the sets of what each stack does in one that do occur. They are found by
counting through the round with whole numbers; forces are worked out for each stack in each cycle of its own
round in which it moves, and added up once for each distinct cycle. A stack that its stage holds all through
a cycle gives the master nothing.

Angles are those of the circle of the round; a distinct cycle is where it occurs first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Arcs, distinct, wrap
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.loads.camshaft import Camshaft
from shaftscore.judge.loads.course import geared_at
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.lane import GRID, LaneLoads
from shaftscore.judge.loads.machine import MachineLoads
from shaftscore.kinematics.course import StackCourse
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import Side

Whole = npt.NDArray[np.int64]

MOST_DISTINCT = 1_000
"""Distinct cycles of a round over which torque is added up."""

MOST_COUNTED = 100_000
"""Cycles of a round that are counted through."""

MOST_PLACES, FEWEST = 36_000, 180
"""Places of all distinct cycles together, and the fewest in each of them."""

RESTS = -1
"""Stands for any cycle in which a stage holds a stack all through."""


def kinds_of(course: StackCourse) -> Whole:
    """Return for each cycle of a stack's round what it does in it, (cycles,): its number, or RESTS."""
    cycles = int(course.cycles) if course.cycles > 1 else 1
    kinds = np.arange(cycles)
    if course.is_stepped:
        own = course.own(np.linspace(0.0, TURN, cycles + 1))[0]
        kinds[np.abs(np.diff(own)) < REST_DEG] = RESTS
    return kinds


REST_DEG = 1e-6
"""A stepped stack that turns by less than this in a cycle rests in it, degrees."""


def distinct_cycles(courses: Mapping[str, StackCourse], cycles: int) -> tuple[Whole, Whole]:
    """Return the first of each kind of cycle, from 0, in order, and how often it occurs in a round, (n,).

    courses: of stacks over their own rounds, which divide the round.
    """
    every = np.arange(cycles)
    table = [np.zeros(cycles, np.int64)]
    for course in courses.values():
        kinds = kinds_of(course)
        table.append(kinds[every % len(kinds)])
    _, first, counts = np.unique(np.stack(table), axis=1, return_index=True, return_counts=True)
    order = np.argsort(first)
    return np.asarray(first[order], np.int64), np.asarray(counts[order], np.int64)


@dataclass(frozen=True, eq=False)
class LongCamshaft(Camshaft):
    """Torque at the master shaft over a long round; lanes: each over its own round.

    cycles: of the round. firsts, counts: see `distinct_cycles`. Arrays are over the places of the distinct
    cycles, one cycle after another, (n,); `theta_deg` has their angles on the circle of the round.
    """

    cycles: int = 1
    firsts: Whole | None = None
    counts: Whole | None = None

    @cached_property
    def phases_deg(self) -> Reals:
        """The places of each distinct cycle, (m,) degrees of the master."""
        many = max(FEWEST, min(3600, MOST_PLACES // max(1, len(self._firsts))))
        return np.linspace(0.0, TURN, many, endpoint=False)

    @property
    def _firsts(self) -> Whole:
        return np.zeros(1, np.int64) if self.firsts is None else self.firsts

    @property
    def _shares(self) -> Reals:
        """Which share of the round each distinct cycle is, (cycles,)."""
        counts = np.ones(1) if self.counts is None else self.counts
        return np.asarray(counts / np.sum(counts))

    @cached_property
    def theta_deg(self) -> Reals:
        """The places of all distinct cycles on the circle of the round, (n,) degrees."""
        return self._circle(self._firsts[:, None], self.phases_deg[None, :]).ravel()

    def _circle(self, cycle: Whole, master_deg: Reals) -> Reals:
        found: Reals = (cycle * TURN + master_deg) / self.cycles
        return found

    def torque_of(
        self, lane_id: str, theta_deg: Reals, side: Side = "right", speed_rpm: float | None = None
    ) -> Reals:
        """Return one lane's share at angles of the round's circle (n,), N·m; speed: nominal if None."""
        loads = self.lanes[lane_id]
        speed = loads.speed_rpm if speed_rpm is None else speed_rpm
        own, gearing = geared_at(loads.solved.course, self._own_circle(loads, theta_deg))
        return np.asarray(self.weight[lane_id] * gearing * loads.torque_at(own, speed, side))

    def _own_circle(self, loads: LaneLoads, theta_deg: Reals) -> Reals:
        """Return the angles of the circle of a lane's own round, (n,) degrees."""
        return np.asarray(
            wrap(np.asarray(theta_deg, np.float64) * self.cycles / float(loads.solved.course.cycles))
        )

    def _summed(self, lane_id: str, speed_rpm: float | None, *, overrun: bool = False) -> Reals:
        """Return a lane's share over `theta_deg`, (n,) N·m: each cycle that it moves in once."""
        loads = self.lanes[lane_id]
        kinds = kinds_of(loads.solved.course)
        own = kinds[self._firsts % len(kinds)]
        found = np.zeros((len(own), len(self.phases_deg)))
        moving = np.unique(own[own != RESTS])
        if not len(moving):
            return found.ravel()
        theta = self._circle(moving[:, None], self.phases_deg[None, :]).ravel()
        if overrun:
            at, gearing = geared_at(loads.solved.course, self._own_circle(loads, theta))
            shares = self.weight[lane_id] * gearing * loads.overrun_at(at)
        else:
            shares = self.torque_of(lane_id, theta, speed_rpm=speed_rpm)
        table = shares.reshape(len(moving), -1)
        moves = own != RESTS
        found[moves] = table[np.searchsorted(moving, own[moves])]
        return found.ravel()

    @cached_property
    def by_lane(self) -> Mapping[str, Reals]:
        """Each lane's share, (n,) N·m."""
        return {lane_id: self._summed(lane_id, None) for lane_id in self.lanes}

    @cached_property
    def overrun(self) -> Reals:
        """The sum with the least friction, (n,) N·m."""
        total = np.zeros(len(self.theta_deg))
        for lane_id in self.lanes:
            total += self._summed(lane_id, None, overrun=True)
        return total

    @cached_property
    def start_nm(self) -> float:
        """Greatest torque that a start from rest can ask for, N·m: all forces but inertia."""
        total = np.zeros(len(self.theta_deg))
        for lane_id in self.lanes:
            total += self._summed(lane_id, 0.0)
        return float(np.max(total, initial=0.0))

    @cached_property
    def _joints(self) -> Reals:
        """Angles at which any lane's motion changes its form in a distinct cycle, (k,) degrees."""
        found = [np.empty(0)]
        for loads in self.lanes.values():
            course = loads.solved.course
            own = np.array([*loads.profile.nodes.table.start_deg.tolist(), loads.highest_deg])
            places = [wrap(course.first(own + TURN * turn)) for turn in range(course.turns)]
            master = np.concatenate(places) * float(course.cycles)
            kinds = kinds_of(course)
            cycle = np.minimum((master // TURN).astype(np.int64), len(kinds) - 1)
            for number in np.unique(cycle):
                same = self._firsts[self._firsts % len(kinds) == number]
                phases = master[cycle == number] - TURN * number
                found.append(self._circle(same[:, None], phases[None, :]).ravel())
        return distinct(np.concatenate(found))

    @property
    def _spacing_deg(self) -> float:
        """Spacing of the places of a cycle on the circle of the round, degrees."""
        return float(self.phases_deg[1]) / self.cycles

    def peak_with(self, friction_nm: Reals | None) -> Extreme | None:
        """Return the greatest sum with the most of a further torque, (k,) N·m; None without loads."""
        if self.peak is None or friction_nm is None or not np.any(friction_nm):
            return self.peak
        return Extreme(self.peak.value + float(np.max(friction_nm)), self.peak.theta_deg)

    @property
    def mean_nm(self) -> float:
        """Mean of the sum over the round, N·m."""
        return float(self._shares @ np.mean(self._table(self.total), axis=1)) if self.lanes else 0.0

    @property
    def rms_nm(self) -> float:
        """Root mean square of the sum over the round, N·m."""
        squares = np.mean(self._table(self.total**2), axis=1)
        return float(np.sqrt(self._shares @ squares)) if self.lanes else 0.0

    def _table(self, values: Reals) -> Reals:
        return values.reshape(len(self._firsts), -1)

    @cached_property
    def driven_by_springs(self) -> Arcs:
        """Where in the distinct cycles springs drive the shaft, each at most a place of the grid too long."""
        floor = -LIMIT * float(np.max(np.abs(self.overrun), initial=0.0))
        below = np.pad(self._table(self.overrun) < floor, ((0, 0), (1, 1))).astype(np.int8)
        (row, start), (_, end) = np.nonzero(np.diff(below) == 1), np.nonzero(np.diff(below) == -1)
        step = float(self.phases_deg[1])
        at = self._circle(self._firsts[row], np.asarray(start * step, np.float64))
        return Arcs.of(zip(at.tolist(), ((end - start) * step / self.cycles).tolist(), strict=True))

    @cached_property
    def shown_cycle(self) -> int:
        """The cycle with the greatest sum on the grid, which is drawn, from 0."""
        return int(self._firsts[self._shown_row])

    @cached_property
    def _shown_row(self) -> int:
        return int(np.argmax(np.max(self._table(self.total), axis=1)))

    def drawn(self, values: Reals) -> Reals:
        """Return what values over `theta_deg`, (n,), are over `GRID` of the master in `shown_cycle`, (k,)."""
        row = self._table(values)[self._shown_row]
        return np.asarray(np.interp(GRID, self.phases_deg, row, period=TURN))


def long_camshaft(loads: MachineLoads, cycles: Fraction) -> LongCamshaft | None:
    """Return the torque of lanes, each over its own round, in a round of so many cycles.

    None where the round has too many distinct cycles.
    """
    if cycles.denominator != 1 or cycles > MOST_COUNTED:
        return None
    project = loads.project
    stacks = {one.solved.stack: one.solved.course for one in loads.lanes.values()}
    if any(course.cycles.denominator != 1 for course in stacks.values()):
        return None  # a stack that repeats very often within a cycle
    firsts, counts = distinct_cycles(stacks, int(cycles))
    if len(firsts) > MOST_DISTINCT:
        return None
    efficiency = {stack.id: stack.efficiency for stack in project.stacks}
    weight = {
        lane_id: float(project.rates[one.solved.stack]) / efficiency[one.solved.stack]
        for lane_id, one in loads.lanes.items()
    }
    return LongCamshaft(loads.lanes, weight, int(cycles), firsts, counts)
