"""too-large and weak-part: whether a disc can be made, and holds.

The radius of a disc is that of its profile; of a groove disc that of the groove's outer flank, and the
rim outside it. The wall is what is left between the running rim and the bore or the dogs.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.checks.base import LaneCheck
from core.checks.shape import with_profile
from core.findings import Finding, found
from core.profiles import Profile
from core.profiles.limits import WALL_MM
from core.solution import LaneSolution, Solution
from core.tolerance import over, under


def disc_radius_mm(profile: Profile) -> float:
    """Give the largest radius of the finished disc, mm."""
    if not profile.limits.groove:
        return profile.max_radius_mm
    outer = profile.at_nodes.offset(profile.distance_mm("outer"))
    return float(np.max(np.abs(outer))) + profile.limits.rim_mm


def parts(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find discs that are too large, and walls that are too thin."""
    if not lane.lane.has_disc:
        return
    radius, most = disc_radius_mm(profile), profile.limits.max_radius_mm
    if over(radius, most):
        yield found("too-large", (lane.lane.id,), value=radius, limit=most)
    if profile.limits.clear_by in ("bore", "dogs"):
        wall = profile.min_radius_mm - (profile.limits.clear_mm - WALL_MM)
        if under(wall, WALL_MM):
            part = f"Wall between {profile.limits.clear_by} and rim"
            yield found("weak-part", (lane.lane.id,), value=wall, limit=WALL_MM, part=part)


PARTS = LaneCheck(
    (
        "too-large",
        "weak-part",
    ),
    with_profile(parts),
)
