"""Followers: where a roller's centre stands for a lift, one module a kind (see `kinematics.followers.model`).

`FOLLOWERS` is the table: a new kind is one module and one row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from shaftscore.kinematics.followers.end_to_end import EndToEnd
from shaftscore.kinematics.followers.link import LinkRangeError, lift_alone, lift_of, link_steps
from shaftscore.kinematics.followers.model import FollowerModel, Points, Reals
from shaftscore.kinematics.followers.side_by_side import SideBySide
from shaftscore.kinematics.followers.swinging import SwingingRollerModel, arm_range, swinging_roller
from shaftscore.kinematics.followers.translating import (
    TranslatingFlatModel,
    TranslatingRollerModel,
    flat_range,
    roller_range,
    translating_flat,
    translating_roller,
)
from shaftscore.model.lanes import Follower

__all__ = [
    "FOLLOWERS",
    "EndToEnd",
    "FollowerKind",
    "FollowerModel",
    "LinkRangeError",
    "Points",
    "Reals",
    "SideBySide",
    "SwingingRollerModel",
    "TranslatingFlatModel",
    "TranslatingRollerModel",
    "base_range_mm",
    "build_follower",
    "lift_alone",
    "lift_of",
    "link_steps",
]


@dataclass(frozen=True)
class FollowerKind:
    """One kind: how its model is made over a base radius (mm), and the base radii at which it stands."""

    build: Callable[[Follower, float], FollowerModel]
    base_range: Callable[[Follower], tuple[float, float]]


FOLLOWERS: Mapping[str, FollowerKind] = MappingProxyType(
    {
        "translating-roller": FollowerKind(translating_roller, roller_range),
        "swinging-roller": FollowerKind(swinging_roller, arm_range),
        "translating-flat": FollowerKind(translating_flat, flat_range),
    }
)
"""The kinds of followers of the file format."""


def build_follower(follower: Follower, base_radius_mm: float) -> FollowerModel:
    """Make the model of a follower over a disc of `base_radius_mm`.

    Raises ValueError if it cannot stand there (offset beyond the prime circle, an arm's triangle that
    does not close, an offset "auto" that was not decided).
    """
    return FOLLOWERS[follower.kind].build(follower, base_radius_mm)


def base_range_mm(follower: Follower) -> tuple[float, float]:
    """Return the base radii between which a follower can stand at lift 0, mm (high may be inf)."""
    return FOLLOWERS[follower.kind].base_range(follower)
