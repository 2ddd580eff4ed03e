"""The torque of the camshaft while blocks are tried elsewhere: each lane's real torque, recomputed."""

from __future__ import annotations

import numpy as np

from shaftscore.judge.loads import machine_loads
from shaftscore.judge.loads.lane import lane_loads
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Lane
from shaftscore.solution import Solution
from shaftscore.solution.lane import begun_lane, finished_lane, lane_reads

POWER = 16
"""Power of the mean that stands for the peak in the local search: high, yet it sees all high places."""


class Torques:
    """Torques of lanes on the grid of the master shaft, N·m.

    Base radii that a group shares stay as they were solved; whoever confirms an answer solves them too.
    """

    def __init__(self, solution: Solution) -> None:
        """Begin with the project as it was solved; lanes without motion count nothing until tried."""
        self._solution = solution
        stacks = {stack.id: stack for stack in solution.project.stacks}
        self._weight = {
            key: stacks[lane.stack].turns / stacks[lane.stack].efficiency
            for key, lane in solution.lanes.items()
        }
        loads = machine_loads(solution).lanes
        self.by_lane: dict[str, Reals] = {
            key: self._weight[key] * lane.drawn_torque_nm for key, lane in loads.items()
        }

    @property
    def loaded(self) -> frozenset[str]:
        """Lanes that carry a load."""
        return frozenset(lane.id for lane in self._solution.project.lanes if lane.load is not None)

    def of(self, lane: Lane) -> Reals | None:
        """Return a lane's torque with its blocks elsewhere, (n,) N·m; None where it has no load or disc."""
        project = self._solution.project
        begun = begun_lane(project, lane, lane_reads(project, lane))
        solved = finished_lane(project, begun, self._solution.lanes[lane.id].shared)
        loads = lane_loads(project, solved)
        return None if loads is None else self._weight[lane.id] * loads.drawn_torque_nm

    @property
    def total(self) -> Reals:
        """The sum of all lanes, (n,) N·m over one turn."""
        return np.sum(list(self.by_lane.values()), axis=0) if self.by_lane else np.zeros(1)


def height(total: Reals) -> float:
    """Return what stands for the peak: a mean of high power of the torque given, (n,) to one, N·m."""
    driven = np.maximum(total, 0.0)
    peak = float(driven.max())
    return 0.0 if peak <= 0 else peak * float(np.mean((driven / peak) ** POWER)) ** (1 / POWER)
