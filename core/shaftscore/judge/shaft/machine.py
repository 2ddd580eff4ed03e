"""The shafts of a machine: those of all stacks with a rod, reused while what they read is the same.

A shaft takes longer than a frame of the editor: in a hurry the last results are shown, with the project that
they belong to, as with the chance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from shaftscore.judge.loads import MachineLoads
from shaftscore.judge.loads.lane import GRID
from shaftscore.judge.shaft.bending import StackShaft
from shaftscore.judge.shaft.case import shaft_case
from shaftscore.judge.shaft.discs import ContactForces, contact_forces
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution
from shaftscore.solution.lane import Reads, same_reads


@dataclass(frozen=True)
class ShaftRefused:
    """Why the shaft of a stack cannot be computed, as a sentence."""

    why: str


@dataclass(frozen=True, eq=False)
class KeptShaft:
    """The result of one stack, and what it was computed from."""

    reads: Reads
    found: StackShaft | ShaftRefused


@dataclass(frozen=True, eq=False)
class MachineShafts:
    """Results by stack id, of stacks with a rod alone; project: the one that they belong to.

    kept: what the next results may take over.
    """

    project: Project
    kept: Mapping[str, KeptShaft]

    @property
    def stacks(self) -> Mapping[str, StackShaft]:
        """Return the shafts that were computed, by stack id."""
        return {key: one.found for key, one in self.kept.items() if isinstance(one.found, StackShaft)}

    @property
    def refused(self) -> Mapping[str, str]:
        """Return why the others could not be, by stack id."""
        return {key: one.found.why for key, one in self.kept.items() if isinstance(one.found, ShaftRefused)}

    @property
    def lift_errors_mm(self) -> Mapping[str, float]:
        """Return the fixed lift error of every loaded lane where it is greatest, signed, mm, by lane id."""
        return {
            lane_id: worst.value
            for shaft in self.stacks.values()
            for lane_id, worst in shaft.lift_errors_mm.items()
        }

    @property
    def twists_deg(self) -> Mapping[str, float]:
        """Return by how much the disc of every loaded lane lags at most, degrees of its stack, by lane id."""
        return {
            lane_id: shaft.twist_deg[one.disc_id].value
            for shaft in self.stacks.values()
            for lane_id, one in shaft.case.lanes.items()
        }

    def friction_nm(self) -> Reals:
        """Return the friction torque of all bearings at the master shaft, over `GRID`, (n,) N·m."""
        total = np.zeros(len(GRID))
        for shaft in self.stacks.values():
            stack = shaft.case.stack
            own = np.take(shaft.friction_nm, np.arange(len(GRID)) * stack.turns, mode="wrap")
            total += own * stack.turns / stack.efficiency
        return total


def machine_shafts(
    solution: Solution, loads: MachineLoads, before: MachineShafts | None = None
) -> MachineShafts:
    """Compute the shafts of all stacks with a rod, taking from `before` what still holds."""
    project = solution.project
    kept = {
        stack.id: _kept(solution, loads, stack, before.kept.get(stack.id) if before else None)
        for stack in project.stacks
        if stack.rod is not None
    }
    return MachineShafts(project, MappingProxyType(kept))


def shafts_still_hold(solution: Solution, loads: MachineLoads, before: MachineShafts) -> bool:
    """Return whether results hold for a project whose solution and loads are given."""
    stacks = [stack for stack in solution.project.stacks if stack.rod is not None]
    return [stack.id for stack in stacks] == [*before.kept] and all(
        same_reads(_reads(solution, loads, stack), before.kept[stack.id].reads) for stack in stacks
    )


def _reads(solution: Solution, loads: MachineLoads, stack: Stack) -> Reads:
    """Return all that the shaft of a stack depends on."""
    project = solution.project
    own = [lane_id for lane_id, lane in solution.lanes.items() if lane.stack == stack.id]
    lanes = [solution.lanes[lane_id] for lane_id in own]
    loaded = [loads.lanes.get(lane_id) for lane_id in own]
    return (stack, project.drive, project.materials, len(project.stacks), *lanes, *loaded)


def _kept(solution: Solution, loads: MachineLoads, stack: Stack, before: KeptShaft | None) -> KeptShaft:
    reads = _reads(solution, loads, stack)
    if before is not None and same_reads(reads, before.reads):
        return before
    old = before.found.case.lanes if before is not None and isinstance(before.found, StackShaft) else {}
    case = shaft_case(solution, stack, _forces(solution, loads, stack, old), _rims(solution, stack))
    return KeptShaft(reads, ShaftRefused(case) if isinstance(case, str) else StackShaft(case))


def _forces(
    solution: Solution, loads: MachineLoads, stack: Stack, old: Mapping[str, ContactForces]
) -> dict[str, ContactForces]:
    """Return the forces of the lanes on a stack by id, those of unchanged lanes from before."""
    found = {}
    for lane_id, own in loads.lanes.items():
        if solution.lanes[lane_id].stack == stack.id:
            last = old.get(lane_id)
            found[lane_id] = last if last is not None and last.loads is own else contact_forces(own)
    return found


def _rims(solution: Solution, stack: Stack) -> dict[str, float]:
    """Return the least radius of the rim of every disc on a stack that has one, mm, by lane id."""
    return {
        lane_id: float(np.min(lane.profile.at_nodes.distance_mm))
        for lane_id, lane in solution.lanes.items()
        if lane.stack == stack.id and lane.profile is not None and lane.lane.has_disc
    }
