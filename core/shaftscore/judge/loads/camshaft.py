"""The torque of all lanes together at the master shaft.

A lane's torque is at its own stack; the master shaft carries the sum of k T / (efficiency of the stack),
each lane read at k theta. Positive: the motor drives; negative: springs drive the shaft. The sum is
drawn on a grid of 0.1 degree; its peak is looked for between the grid's places, at every joint of every
lane's motion and where each lane's own torque is greatest, so that no short move is missed.

The sum is that with the most friction and the strongest springs; where springs drive the shaft the least
friction counts (`overrun`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import pi

import numpy as np

from shaftscore.base.angles import TURN, distinct, wrap
from shaftscore.judge.loads.course import geared_at
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.lane import GRID, GRID_DEG, LaneLoads
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import Side
from shaftscore.model import Project

ROUNDS = 4
"""How often the neighbourhood of the highest places is divided."""


@dataclass(frozen=True, eq=False)
class Camshaft:
    """Torque at the master shaft; lanes: loads by lane id; weight: k / efficiency of each lane's stack."""

    lanes: Mapping[str, LaneLoads]
    weight: Mapping[str, float]

    def torque_of(
        self, lane_id: str, theta_deg: Reals, side: Side = "right", speed_rpm: float | None = None
    ) -> Reals:
        """Return one lane's share at master angles (n,), N·m; speed: the nominal one if None."""
        loads = self.lanes[lane_id]
        own, gearing = geared_at(loads.solved.course, np.asarray(theta_deg, np.float64))
        speed = loads.speed_rpm if speed_rpm is None else speed_rpm
        return np.asarray(self.weight[lane_id] * gearing * loads.torque_at(own, speed, side))

    def torque_at(self, theta_deg: Reals, side: Side = "right", speed_rpm: float | None = None) -> Reals:
        """Return the sum at master angles (n,), N·m."""
        shares = [self.torque_of(lane_id, theta_deg, side, speed_rpm) for lane_id in self.lanes]
        return np.sum(shares, axis=0) if shares else np.zeros(len(theta_deg))

    @cached_property
    def theta_deg(self) -> Reals:
        """The grid, (n,) master degrees."""
        return GRID

    @cached_property
    def by_lane(self) -> Mapping[str, Reals]:
        """Each lane's share on the grid, (n,) N·m."""
        return {key: self.weight[key] * loads.drawn_torque_nm for key, loads in self.lanes.items()}

    @cached_property
    def total(self) -> Reals:
        """The sum on the grid, (n,) N·m."""
        return np.sum(list(self.by_lane.values()), axis=0) if self.lanes else np.zeros(len(self.theta_deg))

    @cached_property
    def overrun(self) -> Reals:
        """The sum on the grid with the least friction, (n,) N·m."""
        shares = [self.weight[key] * loads.drawn_overrun_nm for key, loads in self.lanes.items()]
        return np.sum(shares, axis=0) if shares else np.zeros(len(self.theta_deg))

    @cached_property
    def _joints(self) -> Reals:
        """Master angles at which any lane's motion changes its form, or its own torque is greatest."""
        found = [np.empty(0)]
        for loads in self.lanes.values():
            own = loads.profile.nodes.table.start_deg.tolist()
            own += [loads.highest_deg]
            course = loads.solved.course
            found += [wrap(course.first(np.array(own) + TURN * turn)) for turn in range(course.turns)]
        return distinct(np.concatenate(found))

    @property
    def _spacing_deg(self) -> float:
        """Spacing of the grid, degrees."""
        return GRID_DEG

    @cached_property
    def peak(self) -> Extreme | None:
        """The greatest sum, N·m, and its master angle; None without loads."""
        if not self.lanes:
            return None
        places = np.concatenate([self.theta_deg, self._joints, self._joints])
        values = np.concatenate(
            [self.total, self.torque_at(self._joints), self.torque_at(self._joints, "left")]
        )
        span = self._spacing_deg
        for _ in range(ROUNDS):
            top = places[np.argsort(values)[-4:]]
            near = wrap((top[:, None] + np.linspace(-span, span, 17)).ravel())
            places, values = np.append(places, near), np.append(values, self.torque_at(near))
            span /= 8
        best = int(np.argmax(values))
        return Extreme(float(values[best]), float(places[best]))

    def peak_with(self, friction_nm: Reals | None) -> Extreme | None:
        """Return the greatest sum with a further torque on the grid, (n,) N·m; None without loads."""
        if self.peak is None or friction_nm is None or not np.any(friction_nm):
            return self.peak
        total = self.total + friction_nm
        at = int(np.argmax(total))
        own = np.interp(self.peak.theta_deg, self.theta_deg, friction_nm, period=TURN)
        exact = Extreme(self.peak.value + float(own), self.peak.theta_deg)
        on_grid = Extreme(float(total[at]), float(self.theta_deg[at]))
        return max(exact, on_grid, key=lambda one: one.value)

    @property
    def drawn_peak(self) -> Extreme | None:
        """The greatest sum on the grid, for a drawing in a hurry; None without loads."""
        if not self.lanes:
            return None
        at = int(np.argmax(self.total))
        return Extreme(float(self.total[at]), float(self.theta_deg[at]))

    @property
    def mean_nm(self) -> float:
        """Mean of the sum over the turn, N·m."""
        return float(np.mean(self.total))

    @property
    def rms_nm(self) -> float:
        """Root mean square of the sum over the turn, N·m."""
        return float(np.sqrt(np.mean(self.total**2)))

    @property
    def energy_j(self) -> float:
        """Work that the motor does in one turn of the master shaft, J."""
        return 2 * pi * self.mean_nm

    @property
    def lowest(self) -> Extreme:
        """The least sum on the grid, N·m: where springs drive the shaft hardest if negative."""
        at = int(np.argmin(self.overrun))
        return Extreme(float(self.overrun[at]), float(self.theta_deg[at]))

    @cached_property
    def start_nm(self) -> float:
        """Greatest torque that a start from rest can ask for, N·m: all forces but inertia."""
        shares = [self.weight[key] * loads.rest_torque_nm for key, loads in self.lanes.items()]
        return float(np.max(np.sum(shares, axis=0), initial=0.0)) if shares else 0.0


def camshaft(project: Project, lanes: Mapping[str, LaneLoads]) -> Camshaft:
    """Gather the loads of lanes into the torque at the master shaft."""
    stacks = {stack.id: stack for stack in project.stacks}
    of = {lane_id: stacks[loads.solved.stack] for lane_id, loads in lanes.items()}
    return Camshaft(lanes, {lane_id: stack.turns / stack.efficiency for lane_id, stack in of.items()})
