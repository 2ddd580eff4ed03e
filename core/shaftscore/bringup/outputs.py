"""What every output does in a built machine, at any place of its run.

A *run angle* is how far the machine has run since the master angle 0 of its first turn, degrees; the shaft is
where a person reads it on the dial. Everything is read from one table a lever and disc: the lane's own solved
motion, or what its follower does on another disc (`ridden`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.bringup.condition import LaneCondition, drawn, sense
from shaftscore.bringup.ridden import SAMPLES, ridden
from shaftscore.kinematics.course import StackCourse
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Project
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import Solution

FALL_STEP_DEG = 0.5
"""Steps in which a lane that is late on falls is looked back, degrees of the master shaft."""

LOOSE_STEP_DEG = 0.5
"""Steps in which the way of a loose follower is followed."""

TableKey = tuple[str, str, bool]
"""Lever, disc, whether that has its marked face down."""


@dataclass(frozen=True, eq=False)
class BuiltOutputs:
    """The outputs of a project's lanes under any conditions; lanes without motion are left out.

    tables: kept by lever, disc and side, (SAMPLES,) mm over a turn of the stack. ways: of loose followers, by
    their condition, (n,) mm over the first turn. gearing: turns and sense of each lane's stack.
    """

    solution: Solution
    tables: dict[TableKey, Reals | None] = field(default_factory=dict)
    ways: dict[LaneCondition, Reals] = field(default_factory=dict)
    gearing: dict[str, tuple[StackCourse, int]] = field(default_factory=dict)

    @property
    def project(self) -> Project:
        """The project."""
        return self.solution.project

    @cached_property
    def lanes(self) -> tuple[str, ...]:
        """The ids of the lanes that move and are seen at levels (index lanes are not), in file order."""
        return tuple(
            lane
            for lane, solved in self.solution.lanes.items()
            if solved.motion is not None and solved.lane.kind != "index"
        )

    def drawn(self) -> dict[str, LaneCondition]:
        """Return the condition of the machine as it is drawn."""
        found = drawn(self.project)
        return {lane: found[lane] for lane in self.lanes}

    def has_profile(self, lane_id: str) -> bool:
        """Return whether a lane has a disc that can be made; raises KeyError for an unknown lane."""
        return self.solution.lanes[lane_id].profile is not None

    def at(self, condition: LaneCondition, run_deg: Reals) -> Reals:
        """Return an output at run angles, mm: (n,) -> (n,); nan where the follower is on no disc."""
        if condition.stuck_mm is not None:
            return np.full(np.shape(run_deg), condition.stuck_mm)
        if condition.loose:
            return self._loose(condition, run_deg)
        if not condition.late_falls_deg:
            return self._followed(condition, run_deg)
        back = np.arange(0.0, condition.late_falls_deg + FALL_STEP_DEG / 2, FALL_STEP_DEG)
        places = back.reshape(-1, *(1,) * np.ndim(run_deg))
        return np.asarray(np.max(self._followed(condition, run_deg - places), axis=0))

    def within(self, condition: LaneCondition, run_deg: Reals, hand_deg: float) -> tuple[Reals, Reals]:
        """Return the least and greatest output within hand_deg of run angles, mm: (n,) each."""
        if condition.stuck_mm is not None:
            here = self.at(condition, run_deg)
            return here, here
        near = np.array([-hand_deg, 0.0, hand_deg]).reshape(-1, *(1,) * np.ndim(run_deg))
        seen = self.at(condition, run_deg + near)
        return np.minimum(np.minimum(seen[0], seen[1]), seen[2]), np.maximum(
            np.maximum(seen[0], seen[1]), seen[2]
        )

    def _followed(self, condition: LaneCondition, run_deg: Reals) -> Reals:
        """Return the output of a follower that touches its disc, (n,) mm."""
        table = self.table(condition)
        if table is None:
            return np.full(np.shape(run_deg), np.nan)
        places = np.rint(self._own_deg(condition, run_deg) * (SAMPLES / TURN)).astype(np.int64)
        return np.asarray(condition.share * np.take(table, places, mode="wrap"))

    def _own_deg(self, condition: LaneCondition, run_deg: Reals) -> Reals:
        """Return where in its disc's program a follower is at run angles, own degrees, counted on: (n,)."""
        course, way = self._geared(condition.lever)
        shaft = -run_deg if condition.backward else run_deg
        if condition.slip_deg:
            shaft = shaft - condition.slip_deg * (run_deg >= condition.slip_at_deg)
        master = shaft - condition.late_deg
        if course.cycles == CYCLE and not course.is_stepped:
            return np.asarray(course.turns * master + way * condition.turned_deg)
        own = course.own(np.ravel(master) / float(course.cycles))[0].reshape(np.shape(master))
        return np.asarray(own + way * condition.turned_deg)

    def _geared(self, lever: str) -> tuple[StackCourse, int]:
        """Return how a lane's stack follows the master, and its sense."""
        if lever not in self.gearing:
            self.gearing[lever] = (self.solution.lanes[lever].course, sense(self.project, lever))
        return self.gearing[lever]

    def _loose(self, condition: LaneCondition, run_deg: Reals) -> Reals:
        """Return the output of a follower that is lifted and never comes back, (n,) mm."""
        if condition not in self.ways:
            path = np.arange(0.0, TURN + LOOSE_STEP_DEG / 2, LOOSE_STEP_DEG)
            self.ways[condition] = np.maximum.accumulate(self._followed(condition, path))
        way = self.ways[condition]
        place = np.clip(run_deg / LOOSE_STEP_DEG, 0, len(way) - 1).astype(np.int64)
        return np.asarray(way[place])

    def table(self, condition: LaneCondition) -> Reals | None:
        """Return the output of a follower on its disc over a turn of the stack, (SAMPLES,) mm, or None."""
        key = (condition.lever, condition.disc, condition.turned_over)
        if key not in self.tables:
            self.tables[key] = self._table(*key)
        return self.tables[key]

    def _table(self, lever: str, disc: str, turned_over: bool) -> Reals | None:
        own, under = self.solution.lanes[lever], self.solution.lanes.get(disc)
        lane = own.lane
        if disc == (lane.disc_of or lane.id) and not turned_over and own.motion is not None:
            return np.asarray(own.motion.at(np.linspace(0.0, TURN, SAMPLES, endpoint=False))[0])
        if own.profile is None or under is None or under.profile is None:
            return None
        return ridden(under.profile, own.profile, turned_over=turned_over)
