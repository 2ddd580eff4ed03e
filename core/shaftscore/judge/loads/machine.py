"""The loads of the whole machine: every lane's, their sum, and the drive; lanes reused where unchanged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from shaftscore.judge.loads.camshaft import Camshaft, camshaft
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.model import Drive, Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.incremental import Incremental, runs_of


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


def machine_loads(solution: Solution, kept: Incremental | None = None) -> MachineLoads:
    """Gather all loads of a solved project; kept: the store of those of unchanged lanes, and of their sum."""
    project, kept = solution.project, kept or Incremental()
    around, found = (project.shaft, project.limits, project.materials), dict[str, LaneLoads]()
    for number, run in runs_of(tuple(solution.lanes.values())):
        read = partial(_run, project, run)
        found |= kept.keep_together(("loads of lanes", number), (*run, *around), read)
    shaft = camshaft(project, found)
    shaft = kept.keep("camshaft", (*found.values(), *shaft.weight.values()), lambda _: shaft)
    return MachineLoads(project, MappingProxyType(found), shaft)


def _run(project: Project, run: Sequence[LaneSolution], kept: Incremental) -> dict[str, LaneLoads]:
    """Return the loads of some lanes; a rider's result already depends on all of its disc's lane."""
    read = {solved.lane.id: _kept(project, solved, kept) for solved in run}
    return {lane_id: loads for lane_id, loads in read.items() if loads is not None}


def _kept(project: Project, solved: LaneSolution, kept: Incremental) -> LaneLoads | None:
    """Return a lane's loads: taken over by the records that they are read from, then by their values."""
    lane = solved.lane
    if lane.load is None or solved.profile is None:
        return None
    host = project.lane(lane.disc_of or lane.id)
    records = (solved, host, project.shaft, project.limits, project.materials)
    return kept.keep(("loads", lane.id), records, partial(_by_values, project, solved))


def _by_values(project: Project, solved: LaneSolution, kept: Incremental) -> LaneLoads | None:
    fresh = lane_loads(project, solved)
    reads = () if fresh is None else fresh.reads
    return kept.keep("values", reads, lambda _: fresh)
