"""The shafts of a machine: those of all stacks with a rod, kept while what they read is the same."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import chain
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
from shaftscore.solution.incremental import Incremental, Reads


@dataclass(frozen=True)
class ShaftRefused:
    """Why the shaft of a stack cannot be computed, as a sentence."""

    why: str


@dataclass(frozen=True, eq=False)
class MachineShafts:
    """Results by stack id, of stacks with a rod alone; project: the one that they belong to."""

    project: Project
    found: Mapping[str, StackShaft | ShaftRefused]

    @property
    def stacks(self) -> Mapping[str, StackShaft]:
        """Return the shafts that were computed, by stack id."""
        return {key: one for key, one in self.found.items() if isinstance(one, StackShaft)}

    @property
    def refused(self) -> Mapping[str, str]:
        """Return why the others could not be, by stack id."""
        return {key: one.why for key, one in self.found.items() if isinstance(one, ShaftRefused)}

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

    def friction_nm(self, *, is_cycle: bool = True) -> Reals:
        """Return the friction torque of all bearings at the master shaft, over `GRID`, (n,) N·m.

        is_cycle: whether all stacks repeat with each cycle; else the most that each ever has, at every angle.
        """
        total = np.zeros(len(GRID))
        for shaft in self.stacks.values():
            stack = shaft.case.stack
            if not is_cycle:
                total += (
                    float(np.max(shaft.friction_nm)) * float(self.project.rates[stack.id]) / stack.efficiency
                )
                continue
            own = np.take(shaft.friction_nm, np.arange(len(GRID)) * stack.turns, mode="wrap")
            total += own * stack.turns / stack.efficiency
        return total


def machine_shafts(
    solution: Solution, loads: MachineLoads, kept: Incremental | None = None
) -> MachineShafts | None:
    """Compute the shafts of all stacks with a rod; kept: the store of unchanged ones.

    A shaft takes longer than a frame of the editor: in the quick stage the last results are shown, with the
    project that they belong to, as with the chance; None where there are none.
    """
    kept = kept or Incremental()
    stacks = [stack for stack in solution.project.stacks if stack.rod is not None]
    reads = {stack.id: shaft_reads(solution, loads, stack) for stack in stacks}

    def computed(inside: Incremental) -> MachineShafts:
        shafts = {one.id: _kept(solution, loads, one, reads[one.id], inside) for one in stacks}
        return MachineShafts(solution.project, MappingProxyType(shafts))

    found, is_present = kept.keep_late("shafts", tuple(chain.from_iterable(reads.values())), computed)
    if found is None or not is_present or found.project is solution.project:
        return found
    return replace(found, project=solution.project)


def shaft_reads(solution: Solution, loads: MachineLoads, stack: Stack) -> Reads:
    """Return all that the shaft of a stack depends on."""
    project = solution.project
    lanes = solution.on_stack(stack.id)
    loaded = [loads.lanes.get(lane.lane.id) for lane in lanes]
    return (stack, project.drive, project.materials, len(project.stacks), *lanes, *loaded)


def _kept(
    solution: Solution, loads: MachineLoads, stack: Stack, reads: Reads, kept: Incremental
) -> StackShaft | ShaftRefused:
    def computed(inside: Incremental) -> StackShaft | ShaftRefused:
        forces = _forces(solution, loads, stack, inside)
        case = shaft_case(solution, stack, forces, _rims(solution, stack))
        return ShaftRefused(case) if isinstance(case, str) else StackShaft(case)

    return kept.keep(stack.id, reads, computed)


def _forces(
    solution: Solution, loads: MachineLoads, stack: Stack, kept: Incremental
) -> dict[str, ContactForces]:
    """Return the forces of the lanes on a stack by id; kept: the store of those of unchanged lanes."""
    return {
        lane_id: kept.keep(lane_id, (own,), lambda _, own=own: contact_forces(own))  # type: ignore[misc]
        for lane_id, own in loads.lanes.items()
        if solution.lanes[lane_id].stack == stack.id
    }


def _rims(solution: Solution, stack: Stack) -> dict[str, float]:
    """Return the least radius of the rim of every disc on a stack that has one, mm, by lane id."""
    return {
        lane.lane.id: float(np.min(lane.profile.at_nodes.distance_mm))
        for lane in solution.on_stack(stack.id)
        if lane.profile is not None and lane.lane.has_disc
    }
