"""What a hand feels as a shaft is turned at each step of its assembly.

After the k-th disc with its followers the hand turns the sum of the torques of all lanes on these discs,
without inertia, with the most friction and the strongest springs (`judge.loads`), at the stack's own shaft.
A machine that takes much more than its card says binds somewhere; much less: a spring is off. Angles are of
the stack.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.built.arrays import Reals
from shaftscore.judge.loads import MachineLoads
from shaftscore.model import Project, Stack

PEAK_SHARE = 0.9
"""Peaks of at least this share of the greatest are named."""

MOST_PEAKS = 3
"""Peaks that are named at most."""

APART_DEG = 10.0
"""Peaks closer together than this are one."""

GRID = np.arange(0.0, TURN, 0.5)
"""Angles of a stack at which torque is computed, degrees."""
GRID.setflags(write=False)


@dataclass(frozen=True)
class HandTorque:
    """What a hand feels with some discs on a stack.

    discs: codes and labels of the discs on it. added: the last one. torque_nm: the greatest, at the stack's
    own shaft. peaks_deg: angles of the stack of the greatest and those near it. pushes_on: whether springs
    drive the shaft somewhere. unknown: labels of lanes on these discs whose forces are not described.
    """

    discs: int
    added: str
    torque_nm: float
    peaks_deg: tuple[float, ...]
    pushes_on: bool
    unknown: tuple[str, ...]


def hand_torques(project: Project, loads: MachineLoads, stack: Stack) -> tuple[HandTorque, ...]:
    """Return what a hand feels after each disc of a stack, from the bottom up."""
    return tuple(_steps(project, loads, stack))


def _steps(project: Project, loads: MachineLoads, stack: Stack) -> Iterator[HandTorque]:
    total, unknown = np.zeros(len(GRID)), list[str]()
    for number, disc in enumerate(project.discs_of(stack), start=1):
        for lane in (disc, *project.riders_of(disc)):
            own = loads.lanes.get(lane.id)
            if own is None:
                unknown.append(lane.label)
            else:
                total = total + own.torque_at(GRID, 0.0)
        greatest = float(np.max(total))
        pushes = bool(np.min(total) < -1e-9)
        label = disc.label if disc.code is None else f"{disc.code} {disc.label}"
        yield HandTorque(number, label, greatest, _peaks(total), pushes, tuple(unknown))


def _peaks(total: Reals) -> tuple[float, ...]:
    """Return the angles of the greatest torque and of others near it, in degrees, rising."""
    top = float(np.max(total))
    if top <= 0 or not np.isfinite(top):
        return ()
    high = (total >= PEAK_SHARE * top) & (total >= np.roll(total, 1)) & (total >= np.roll(total, -1))
    found: list[float] = []
    for place in sorted(np.flatnonzero(high), key=lambda at: -total[at]):
        angle = float(GRID[place])
        if all(min(ahead(angle, one), ahead(one, angle)) >= APART_DEG for one in found):
            found.append(angle)
    return tuple(sorted(found[:MOST_PEAKS]))
