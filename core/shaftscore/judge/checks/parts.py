"""too-large: whether the printer, or whoever makes the disc, has room for it.

The radius of a disc is that of its profile; of a groove disc that of the groove's outer flank, and the
rim outside it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.tolerance import over
from shaftscore.judge.checks.base import LaneCheck
from shaftscore.judge.checks.shape import with_profile
from shaftscore.judge.findings import Finding, found
from shaftscore.kinematics.profiles import Profile
from shaftscore.solution import LaneSolution, Solution


def disc_radius_mm(profile: Profile) -> float:
    """Return the largest radius of the finished disc, mm."""
    if not profile.limits.groove:
        return profile.max_radius_mm
    outer = profile.at_nodes.offset(profile.distance_mm("outer"))
    return float(np.max(np.abs(outer))) + profile.limits.rim_mm


def parts(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find discs that are too large."""
    if not lane.lane.has_disc:
        return
    most = profile.limits.max_radius_mm
    if not profile.limits.groove and profile.radii_within_mm[1] < most:
        return
    radius = disc_radius_mm(profile)
    if over(radius, most):
        yield found("too-large", (lane.lane.id,), value=radius, limit=most)


PARTS = LaneCheck(("too-large",), with_profile(parts))
