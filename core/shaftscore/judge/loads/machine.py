"""The loads of the whole machine: every lane's, their sum, and the drive; lanes reused where unchanged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from shaftscore.judge.loads.camshaft import Camshaft, camshaft
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.model import Drive, Project
from shaftscore.solution import Solution


@dataclass(frozen=True, eq=False)
class MachineLoads:
    """Loads by lane id (lanes with a load record and a profile), and their sum at the master shaft."""

    project: Project
    lanes: Mapping[str, LaneLoads]
    camshaft: Camshaft

    @property
    def drive(self) -> Drive | None:
        """The drive record, or None."""
        return self.project.drive


def machine_loads(solution: Solution, previous: MachineLoads | None = None) -> MachineLoads:
    """Gather all loads of a solved project; unchanged lanes are taken from `previous`."""
    project = solution.project
    found: dict[str, LaneLoads] = {}
    for lane_id, solved in solution.lanes.items():
        fresh = lane_loads(project, solved)
        before = previous.lanes.get(lane_id) if previous else None
        if fresh is not None:
            found[lane_id] = before if before is not None and before.same_as(fresh) else fresh
    return MachineLoads(project, MappingProxyType(found), camshaft(project, found))
