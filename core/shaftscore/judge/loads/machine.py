"""The loads of the whole machine: every lane's, their sum, and the drive; lanes reused where unchanged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType

from shaftscore.judge.loads.camshaft import Camshaft, camshaft
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.judge.loads.stepped import SteppedLoads, stepped_loads
from shaftscore.model import Drive, Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.incremental import Incremental, runs_of


@dataclass(frozen=True, eq=False)
class MachineLoads:
    """Loads by lane id (lanes with a load record and a profile), and their sum at the master shaft.

    stepped: those of lanes on stepped stacks, which are not among `lanes`.
    """

    project: Project
    lanes: Mapping[str, LaneLoads]
    camshaft: Camshaft
    stepped: Mapping[str, SteppedLoads] = field(default_factory=dict)

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
    stepped = stepped_loads(project, solution.lanes.values())
    shaft = camshaft(project, found, stepped)
    reads = (*found.values(), *stepped.values(), *shaft.weight.values())
    shaft = kept.keep("camshaft", reads, lambda _: shaft)
    return MachineLoads(project, MappingProxyType(found), shaft, stepped)


def _run(project: Project, run: Sequence[LaneSolution], kept: Incremental) -> dict[str, LaneLoads]:
    """Return the loads of some lanes; a rider's result already depends on all of its disc's lane."""
    read = {solved.lane.id: _kept(project, solved, kept) for solved in run}
    return {lane_id: loads for lane_id, loads in read.items() if loads is not None}


def _kept(project: Project, solved: LaneSolution, kept: Incremental) -> LaneLoads | None:
    """Return a lane's loads: taken over by the records that they are read from, then by their values."""
    lane = solved.lane
    if lane.load is None or solved.profile is None or solved.course.is_stepped:
        return None
    host = project.lane(lane.disc_of or lane.id)
    records = (solved, host, project.shaft, project.limits, project.materials)
    return kept.keep(("loads", lane.id), records, partial(_by_values, project, solved))


def _by_values(project: Project, solved: LaneSolution, kept: Incremental) -> LaneLoads | None:
    fresh = lane_loads(project, solved)
    reads = () if fresh is None else fresh.reads
    return kept.keep("values", reads, lambda _: fresh)
