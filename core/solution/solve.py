"""Solving a project: each lane on its own, reusing the results of lanes that did not change."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from core.model import LevelState, Project, RangeState
from core.motion.lane import LaneMotion
from core.motion.states import StateInterval
from core.solution.lane import LaneSolution, Shared, lane_reads, same_reads, solve_lane


@dataclass(frozen=True)
class Solution:
    """A project and all its lanes, solved; `reused` counts the lanes taken from the one before."""

    project: Project
    lanes: Mapping[str, LaneSolution]
    reused: int = 0

    def intervals(self, state: LevelState | RangeState) -> tuple[StateInterval, ...]:
        """Give the intervals of a state, master angles; raises KeyError for an unknown lane."""
        return self.lanes[state.lane].intervals(state)

    @property
    def motions(self) -> dict[str, LaneMotion]:
        """Motions by lane, of the lanes that have one."""
        return {key: lane.motion for key, lane in self.lanes.items() if lane.motion is not None}


def solve(
    project: Project, previous: Solution | None = None, lanes: Collection[str] | None = None
) -> Solution:
    """Solve a project; `previous` gives results to reuse, `lanes` leaves all others out.

    A lane's result is reused when every record that it reads IS the one read before.
    """
    solved: dict[str, LaneSolution] = {}
    reused = 0
    shared = Shared.of(project)
    for lane in project.lanes:
        if lanes is not None and lane.id not in lanes:
            continue
        reads = lane_reads(project, lane, shared)
        before = previous.lanes.get(lane.id) if previous else None
        keep = before is not None and same_reads(before.reads, reads)
        solved[lane.id] = before if before is not None and keep else solve_lane(project, lane, reads)
        reused += keep
    return Solution(project, MappingProxyType(solved), reused)
