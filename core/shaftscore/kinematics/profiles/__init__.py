"""Profiles: the disc that makes a follower move as its lane says.

`build_profile` gives a `Profile` (kinematics at any angle, figures, worst places, outline) or a
`NoProfile` with the reason. Read `trace` for frames and signs.
"""

from __future__ import annotations

from shaftscore.kinematics.profiles.build import (
    NoProfile,
    build_profile,
    largest,
    may_drop,
    own_base,
    provisional_motion,
    shared_base,
    shares_base,
)
from shaftscore.kinematics.profiles.limits import LaneLimits, limits_of
from shaftscore.kinematics.profiles.places import Flank, ProfilePlace, Undercut
from shaftscore.kinematics.profiles.profile import Profile
from shaftscore.kinematics.profiles.shortest import fits_in, shortest_move
from shaftscore.kinematics.profiles.sizing import Base
from shaftscore.kinematics.profiles.trace import DiscPlacement, Kinematics

__all__ = [
    "Base",
    "DiscPlacement",
    "Flank",
    "Kinematics",
    "LaneLimits",
    "NoProfile",
    "Profile",
    "ProfilePlace",
    "Undercut",
    "build_profile",
    "fits_in",
    "largest",
    "limits_of",
    "may_drop",
    "own_base",
    "provisional_motion",
    "shared_base",
    "shares_base",
    "shortest_move",
]
