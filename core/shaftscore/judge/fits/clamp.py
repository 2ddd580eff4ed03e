"""What the clamp of a stack carries by friction, and what its joints take.

A joint takes the torque of all lanes beyond it in a chain, of the lanes of its own disc where each is
keyed to the shaft or by pins. It is known only where each of these lanes has a load. Torques are of the
stack, N·m. The clamped ring lies between the outer radius of what touches (spacer, or the smaller disc) and
the corners of the bore; half of the clamping force is left after creep.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.built.arrays import Reals
from shaftscore.built.clamp import force_left_n
from shaftscore.built.joints import clamp_torque_nm, joint_slips
from shaftscore.judge.fits.stack_fit import StackFit
from shaftscore.judge.loads import LaneLoads, MachineLoads


@dataclass(frozen=True, eq=False)
class JointTorque:
    """What the joint of one disc takes: loads of the lanes that it carries, unknown of some.

    unknown: lanes beyond the joint whose forces are not described.
    """

    loads: tuple[LaneLoads, ...]
    unknown: tuple[str, ...]

    @property
    def is_known(self) -> bool:
        """Whether the forces of all lanes that it carries are described."""
        return not self.unknown and bool(self.loads)

    @cached_property
    def torque_nm(self) -> Reals:
        """The torque over the turn of the master shaft, (n,) N·m on `judge.loads.lane.GRID`."""
        return np.asarray(np.sum([one.drawn_torque_nm for one in self.loads], axis=0))

    @cached_property
    def peak_nm(self) -> float:
        """The greatest torque either way, N·m."""
        return float(np.max(np.abs(self.torque_nm), initial=0.0))


def joint_torques(fit: StackFit, loads: MachineLoads) -> Mapping[str, JointTorque]:
    """Return what the joint of each disc of a stack takes, by disc."""
    own = {disc: [disc] for disc in fit.discs}
    for rider, disc in fit.riders.items():
        own[disc].append(rider)
    found = {}
    for place, disc in enumerate(fit.discs):
        carried = fit.discs[place:] if fit.is_chain else (disc,)
        lanes = [lane for one in carried for lane in own[one]]
        known = tuple(loads.lanes[lane] for lane in lanes if lane in loads.lanes)
        found[disc] = JointTorque(known, tuple(lane for lane in lanes if lane not in loads.lanes))
    return found


def clamp_radii_mm(fit: StackFit) -> tuple[float, float]:
    """Return the outer and inner radius of the clamped ring, mm; equal where there is no ring."""
    stack = fit.stack
    parts = [stack.spacer_radius_mm] if stack.spacer_mm > 0 and len(fit.discs) > 1 else []
    parts += [fit.smallest_rim_mm] if fit.smallest_rim_mm is not None else []
    inner = stack.bore.outer_radius_mm
    return max(min(parts, default=inner), inner), inner


def clamp_capacity_nm(fit: StackFit) -> float | None:
    """Return the torque that the clamp's friction carries at each joint, N·m; None without a clamp force."""
    rod = fit.stack.rod
    if rod is None or rod.clamp_n is None:
        return None
    outer, inner = clamp_radii_mm(fit)
    return 0.0 if outer <= inner else float(clamp_torque_nm(force_left_n(rod.clamp_n), outer, inner))


def is_clamped(fit: StackFit) -> bool:
    """Return whether a clamp holds the joints of a stack: set tight, keyed, and with a stated force."""
    return fit.stack.fixing == "keyed" and fit.stack.joints != "loose" and clamp_capacity_nm(fit) is not None


def slipping(fit: StackFit, torques: Mapping[str, JointTorque]) -> frozenset[str]:
    """Return the discs whose clamp does not carry their joint's peak torque, so that its play comes back.

    Only those whose torque is known, and whose joint has any play.
    """
    capacity = clamp_capacity_nm(fit)
    if capacity is None or not is_clamped(fit) or fit.joint_deg == 0:
        return frozenset()
    known = {disc: torque for disc, torque in torques.items() if torque.is_known}
    return frozenset(disc for disc, torque in known.items() if bool(joint_slips(capacity, torque.peak_nm)))
