"""Pivots that several levers share: one rod, and sleeves between the levers that turn on it.

Levers of one stack whose pivots are at one place, with rods of one diameter, turn on one rod. The lowest has
a post that stands on the frame; each other one has a sleeve, which stands a washer above the lever below
it.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from shaftscore.base.once import once
from shaftscore.kinematics.followers import SwingingRollerModel
from shaftscore.layout.frame_heights import bracket_floor_mm
from shaftscore.model import Stack, SwingingRoller
from shaftscore.model.parts_fit import PIVOT_MM
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import FollowerBands, follower_bands


@dataclass(frozen=True)
class PivotAxle:
    """What a lever turns on: its place from the axis of the stack, and the diameter of its rod, mm."""

    at: complex
    rod_mm: float

    def turned(self, by_deg: float) -> PivotAxle:
        """Return the same at a station by_deg further on, degrees."""
        return PivotAxle(self.at * _direction(by_deg), self.rod_mm)

    def is_one_with(self, other: PivotAxle | None) -> bool:
        """Return whether two levers of one stack turn on one rod."""
        return other is not None and abs(self.at - other.at) <= PIVOT_MM and self.rod_mm == other.rod_mm


def _direction(angle_deg: float) -> complex:
    return cmath.exp(1j * math.radians(angle_deg))


def pivot_axle(solved: LaneSolution) -> PivotAxle | None:
    """Return what a lane's lever turns on; None where it has no lever."""
    if solved.profile is None or not isinstance(solved.profile.model, SwingingRollerModel):
        return None
    station = _direction(solved.profile.station_deg)
    return PivotAxle(complex(solved.profile.model.pivot * station), solved.lane.pivot_rod_mm)


@dataclass(frozen=True)
class LeverSeat:
    """Where a lever that is made is on its rod, heights in mm from the bottom of its stack.

    floor_mm: of what its post is on: the frame's face, or a washer above the lever below it. is_sleeve: it is
    above another lever. is_shared: other levers turn on the rod too. top_mm: of the highest of them all.
    """

    floor_mm: float
    is_sleeve: bool
    is_shared: bool
    top_mm: float


def lever_seats(solution: Solution) -> Mapping[str, LeverSeat]:
    """Return where the levers that are made are on their rods, by lane."""
    return once(solution, "lever seats", lambda: MappingProxyType(_lever_seats(solution)))


def _lever_seats(solution: Solution) -> dict[str, LeverSeat]:
    seats: dict[str, LeverSeat] = {}
    for stack in solution.project.stacks:
        seats |= stack_seats(solution, stack)
    return seats


def stack_seats(solution: Solution, stack: Stack) -> Mapping[str, LeverSeat]:
    """Return where the levers of a stack that are made are on their rods, by lane."""
    return once(solution, ("lever seats", stack), lambda: MappingProxyType(_stack_seats(solution, stack)))


def _stack_seats(solution: Solution, stack: Stack) -> dict[str, LeverSeat]:
    rods: list[tuple[PivotAxle, list[tuple[LaneSolution, FollowerBands]]]] = []
    for solved, bands in _levers(solution, stack):
        axle = pivot_axle(solved)
        assert axle is not None, "a swinging roller has a pivot"
        own = next((levers for other, levers in rods if axle.is_one_with(other)), None)
        if own is None:
            rods.append((axle, [(solved, bands)]))
        else:
            own.append((solved, bands))
    floor = bracket_floor_mm(solution.project, stack) if rods else 0.0
    seats: dict[str, LeverSeat] = {}
    for _, levers in rods:
        seats |= _seated(levers, floor)
    return seats


def _levers(solution: Solution, stack: Stack) -> Iterator[tuple[LaneSolution, FollowerBands]]:
    """Yield the levers of a stack that are made, with the heights of their parts."""
    made = [
        one
        for one in solution.lanes.values()
        if one.lane.parts is not None and one.stack == stack.id and one.profile is not None
        if isinstance(one.lane.follower, SwingingRoller)
    ]
    plan = stack_plan(solution.project, stack).discs if made else ()
    layers = {layer.lane_id: layer for layer in plan}
    for solved in made:
        lane = solved.lane
        bands = follower_bands(solution.project, lane, layers[lane.disc_of or lane.id])
        if bands is not None:
            yield solved, bands


def _seated(levers: Sequence[tuple[LaneSolution, FollowerBands]], floor_mm: float) -> dict[str, LeverSeat]:
    """Seat the levers of one rod, from the lowest up; floor_mm: of the frame's face."""
    ordered = sorted(levers, key=lambda lever: lever[1].levers[0].bottom_mm)
    top = max(bands.levers[-1].top_mm for _, bands in levers)
    seats: dict[str, LeverSeat] = {}
    below: float | None = None
    for solved, bands in ordered:
        floor = floor_mm if below is None else below + solved.lane.follower.washer_mm
        seats[solved.lane.id] = LeverSeat(floor, below is not None, len(levers) > 1, top)
        below = bands.levers[-1].top_mm
    return seats
