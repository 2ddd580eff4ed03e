"""Pivots that several levers share: one rod, and sleeves between the levers that turn on it.

Levers of one stack whose pivots are at one place, with rods of one diameter, turn on one rod. The lowest has
a post that stands on the frame; each other one has a sleeve, which stands a washer above the lever below
it.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from shaftscore.kinematics.followers import SwingingRollerModel
from shaftscore.layout.frame_heights import bracket_floor_mm
from shaftscore.model import SwingingRoller
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


def share_a_rod(one: LaneSolution, other: LaneSolution) -> bool:
    """Return whether the levers of two lanes turn on one rod."""
    axle = pivot_axle(one)
    return axle is not None and one.stack == other.stack and axle.is_one_with(pivot_axle(other))


def post_floor_mm(solution: Solution, solved: LaneSolution) -> float:
    """Return the height, mm from the bottom of its stack, on which the post of a lane's pivot stands.

    That is the frame's face, or a washer above the lever below it on the same rod.
    """
    below = _lever_below_mm(solution, solved)
    if below is None:
        return bracket_floor_mm(solution.project, solution.project.stack_of(solved.lane))
    return below + solved.lane.follower.washer_mm


def is_shared(solution: Solution, solved: LaneSolution) -> bool:
    """Return whether several levers that are made turn on the rod of a lane's lever."""
    others = (other for other in solution.lanes.values() if other is not solved)
    return any(other.lane.parts is not None and share_a_rod(solved, other) for other in others)


def stands_on_lever(solution: Solution, solved: LaneSolution) -> bool:
    """Return whether the post of a lane's pivot is a sleeve above a lever on the same rod."""
    return _lever_below_mm(solution, solved) is not None


def _lever_below_mm(solution: Solution, solved: LaneSolution) -> float | None:
    """Return the height of the upper face of the lever below on the same rod, mm, if there is one."""
    own = _bands(solution, solved)
    if own is None:
        return None
    bottom = own.levers[0].bottom_mm
    tops = (
        bands.levers[-1].top_mm
        for other in solution.lanes.values()
        if other is not solved and share_a_rod(solved, other)
        if (bands := _bands(solution, other)) is not None and bands.levers[0].bottom_mm < bottom
    )
    return max(tops, default=None)


def rod_top_mm(solution: Solution, solved: LaneSolution) -> float | None:
    """Return the height of the upper face of the highest lever on a lane's rod, mm; None without a lever."""
    tops = (
        bands.levers[-1].top_mm
        for other in solution.lanes.values()
        if other is solved or share_a_rod(solved, other)
        if (bands := _bands(solution, other)) is not None
    )
    return max(tops, default=None)


def _bands(solution: Solution, solved: LaneSolution) -> FollowerBands | None:
    """Return the heights of the parts of a lever that is made; None for other followers."""
    lane = solved.lane
    if lane.parts is None or not isinstance(lane.follower, SwingingRoller) or solved.profile is None:
        return None
    plan = stack_plan(solution.project, solution.project.stack_of(lane))
    return follower_bands(solution.project, lane, plan.disc(lane.disc_of or lane.id))
