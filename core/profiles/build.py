"""From a lane and its motion to the profile of its disc."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.followers import LinkRangeError, build_follower
from core.model.base import replaced
from core.model.lanes import Follower, Lane
from core.model.project import Project
from core.motion.lane_motion import LaneMotion
from core.profiles.limits import limits_of
from core.profiles.pieces import MotionSource
from core.profiles.profile import Profile
from core.profiles.sizing import Base, Sizing, given_base, sizing_of, smallest_base
from core.profiles.trace import Placement


@dataclass(frozen=True)
class NoProfile:
    """Why a lane has no profile.

    reason: "kind" (a lane without a disc), "follower" (it cannot stand there), "link" (its table is too
    short). what: the same for a person, with the values.
    """

    reason: Literal["kind", "follower", "link"]
    what: str


def placement_of(project: Project, lane: Lane) -> Placement:
    """Give how a lane's disc meets its follower."""
    turn = project.turn_of(project.stack_of(lane))
    return Placement(+1 if turn == "counterclockwise" else -1, lane.station_deg, lane.offset_deg)


def edge_of(motion: MotionSource) -> MotionSource:
    """Give what the disc's edge does: the motion itself, unless a drop falls behind its edge."""
    return motion.edge if isinstance(motion, LaneMotion) else motion


def sizing_for(project: Project, lane: Lane, motion: MotionSource) -> Sizing:
    """Set up how a lane's disc is sized; raises LinkRangeError if its link is too short."""
    return sizing_of(lane.follower, placement_of(project, lane), edge_of(motion), limits_of(project, lane))


def own_base(project: Project, lane: Lane, motion: MotionSource) -> Base:
    """Decide a lane's base radius (and an "auto" offset) for itself, whatever group it is in.

    Raises ValueError if the follower cannot stand over a given radius; LinkRangeError for its link.
    """
    return _decided(lane, sizing_for(project, lane, motion))


def _decided(lane: Lane, sizing: Sizing) -> Base:
    given = lane.disc.base_radius_mm
    return smallest_base(sizing) if given == "auto" else given_base(sizing, given)


def build_profile(
    project: Project, lane: Lane, motion: MotionSource, base_radius_mm: float | None = None
) -> Profile | NoProfile:
    """Build the profile of a lane's disc from its motion (angles of the lane's own stack).

    base_radius_mm: the radius that its group decided (`core.profiles.group`), instead of its own.
    """
    if not lane.has_disc:
        return NoProfile("kind", f"a lane of kind {lane.kind} has no disc of its own")
    try:
        sizing = sizing_for(project, lane, motion)
        base = given_base(sizing, base_radius_mm, "group") if base_radius_mm else _decided(lane, sizing)
        return _profile(sizing, base)
    except LinkRangeError as error:
        return NoProfile("link", str(error))
    except ValueError as error:
        return NoProfile("follower", str(error))


def _profile(sizing: Sizing, base: Base) -> Profile:
    follower = _with_offset(sizing.follower, base.offset_mm)
    return Profile(
        base_radius_mm=base.radius_mm,
        base_governed_by=base.governed_by,
        fits=base.fits,
        follower=follower,
        model=build_follower(follower, base.radius_mm),
        placement=sizing.placement,
        motion=sizing.motion,
        limits=sizing.limits,
    )


def _with_offset(follower: Follower, offset_mm: float | None) -> Follower:
    return follower if offset_mm is None else replaced(follower, offset_mm=offset_mm)
