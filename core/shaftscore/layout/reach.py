"""How far the discs of a stack reach from its axis."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Stack
from shaftscore.solution import LaneSolution, Solution

RIM_STEP_DEG = 0.5
"""Angle between the places of a groove's rim that are looked at."""


def lanes_on(solution: Solution, stack: Stack) -> Iterator[LaneSolution]:
    """Yield the lanes of a stack that have a motion and a profile to run on."""
    for lane in solution.lanes.values():
        if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
            yield lane


def disc_reach_mm(solution: Solution, stack: Stack) -> float:
    """Return the largest radius of what turns on a stack's shaft, mm."""
    discs = [lane.profile for lane in lanes_on(solution, stack) if lane.lane.has_disc]
    radii = [_disc_radius_mm(profile) for profile in discs if profile is not None]
    return max([*radii, stack.spacer_radius_mm, stack.bore.outer_radius_mm])


def _disc_radius_mm(profile: Profile) -> float:
    """Return the largest radius of a disc, its rim about a groove included, mm."""
    if not profile.limits.groove:
        return profile.max_radius_mm
    theta = np.arange(0.0, 360.0, RIM_STEP_DEG)
    outer = profile.at(theta).offset(profile.distance_mm("outer"))
    return float(np.max(np.abs(outer))) + profile.limits.rim_mm
