"""From a lane and its motion to the profile of its disc."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shaftscore.base.tolerance import LIMIT
from shaftscore.kinematics.followers import LinkRangeError, build_follower
from shaftscore.kinematics.motion.drop import overrun
from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, Surroundings, program, surroundings
from shaftscore.kinematics.motion.moves import DROP
from shaftscore.kinematics.profiles.limits import limits_of
from shaftscore.kinematics.profiles.pieces import MotionSource, PieceNodes
from shaftscore.kinematics.profiles.profile import Profile
from shaftscore.kinematics.profiles.sizing import Base, Drops, Sizing, given_base, sizing_of, smallest_base
from shaftscore.kinematics.profiles.trace import DiscPlacement
from shaftscore.model.base import replaced
from shaftscore.model.driven import driven_follower
from shaftscore.model.lanes import Follower, Lane
from shaftscore.model.project import Project

SAME_FOLLOWER = (
    "kind",
    "roller_radius_mm",
    "offset_mm",
    "arm_mm",
    "pivot_distance_mm",
    "pivot_side",
    "output_arm_mm",
    "output_ratio",
    "link",
)
"""Fields in which a rider's follower must equal that of the lane whose disc it rides on."""


@dataclass(frozen=True)
class NoProfile:
    """Why a lane has no profile.

    reason: "kind" (a lane without a disc), "follower" (it cannot stand there, or not ride there), "link"
    (its table is too short). what: the same for a person, with the values.
    """

    reason: Literal["kind", "follower", "link"]
    what: str


def placement_of(project: Project, lane: Lane) -> DiscPlacement:
    """Return how a lane's disc meets its follower."""
    turn = project.turn_of(project.stack_of(lane))
    return DiscPlacement(+1 if turn == "counterclockwise" else -1, lane.station_deg, lane.offset_deg)


def edge_of(motion: MotionSource) -> MotionSource:
    """Return what the disc's edge does: the motion itself, unless a drop falls behind its edge."""
    return motion.edge if isinstance(motion, LaneMotion) else motion


def sizing_for(project: Project, lane: Lane, motion: MotionSource, nodes: PieceNodes | None = None) -> Sizing:
    """Set up how a lane's disc is sized; raises LinkRangeError if its link is too short.

    nodes: the places on the edge's smooth pieces, where they are known already.
    """
    placement, limits = placement_of(project, lane), limits_of(project, lane)
    drops = _drops_of(project, lane)
    return sizing_of(driven_follower(lane), placement, edge_of(motion), limits, drops, nodes=nodes)


def may_drop(lane: Lane) -> bool:
    """Return whether a lane has a move that follows the law drop."""
    return DROP in (lane.law, *(block.law for block in lane.blocks))


def provisional_motion(project: Project, lane: Lane, around: Surroundings) -> LaneMotion | NoMotion:
    """Return the motion that an automatic base radius is found with.

    The edges of its drops are laid out for a usual base, or else for the largest disc: on a small one their
    fillets may take more angle than there is.
    """
    motion = program(lane, around)
    if isinstance(motion, LaneMotion) or around.base_radius_mm is not None or motion.reason != "law":
        return motion
    wide = program(lane, replace(around, base_radius_mm=project.max_disc_radius_mm))
    return wide if isinstance(wide, LaneMotion) else motion


def _drops_of(project: Project, lane: Lane) -> Drops | None:
    """Return how far a lane's drops overrun their gaps, by base radius and offset; None without drops."""
    if lane.kind != "disc" or not may_drop(lane):
        return None
    around = surroundings(project, lane)

    def overrun_on(radius_mm: float, offset_mm: float) -> float:
        return overrun(lane, replace(around, base_radius_mm=radius_mm, offset_mm=offset_mm))

    return overrun_on


def own_base(project: Project, lane: Lane, motion: MotionSource) -> Base:
    """Decide a lane's base radius (and an "auto" offset) for itself, whatever group it is in.

    Raises ValueError if the follower cannot stand over a given radius, or LinkRangeError for its link.
    """
    return _own(lane, sizing_for(project, lane, motion))


def _own(lane: Lane, sizing: Sizing) -> Base:
    given = lane.disc.base_radius_mm
    return smallest_base(sizing) if given == "auto" else given_base(sizing, given)


def shares_base(lane: Lane) -> bool:
    """Return whether a lane's base radius is that of its group."""
    return lane.has_disc and lane.disc.base_group is not None and lane.disc.base_radius_mm == "auto"


def shared_base(project: Project, group: str) -> Base | None:
    """Decide the base radius of a group: the largest that any of its lanes needs.

    Lanes without a motion or a place for their follower ask for nothing; None if all are such.
    """
    members = [lane for lane in project.lanes if shares_base(lane) and lane.disc.base_group == group]
    return largest([base for lane in members if (base := _wanted(project, lane)) is not None])


def largest(bases: Sequence[Base]) -> Base | None:
    """Return the base of the largest radius, the one that a group shares; None of none."""
    return max(bases, key=lambda base: base.radius_mm, default=None)


def _wanted(project: Project, lane: Lane) -> Base | None:
    motion = provisional_motion(project, lane, surroundings(project, lane))
    if isinstance(motion, NoMotion):
        return None
    try:
        return own_base(project, lane, motion)
    except ValueError:  # that lane's own profile says why
        return None


def build_profile(
    project: Project,
    lane: Lane,
    motion: MotionSource,
    shared: Base | None = None,
    nodes: PieceNodes | None = None,
) -> Profile | NoProfile:
    """Build the profile of a lane's disc from its motion (angles of the lane's own stack).

    shared: what the lane's base group decided (`shared_base`), where that is known already; else it is
    worked out here. nodes: the places on its smooth pieces (`nodes_of`), likewise. A rider gets the profile
    of the disc that it rides on, as its own follower sees it.
    """
    try:
        if lane.kind == "rider":
            return _ridden(project, lane, motion)
        if not lane.has_disc:
            return NoProfile("kind", f"a lane of kind {lane.kind} has no disc of its own")
        sizing = sizing_for(project, lane, motion, nodes)
        return _profile(sizing, _base(project, lane, sizing, shared))
    except LinkRangeError as error:
        return NoProfile("link", str(error))
    except ValueError as error:
        return NoProfile("follower", str(error))


def _base(project: Project, lane: Lane, sizing: Sizing, shared: Base | None) -> Base:
    """Decide a lane's base in its group, if it has one."""
    if not shares_base(lane):
        return _own(lane, sizing)
    group = shared or shared_base(project, str(lane.disc.base_group))
    if group is None:
        return _own(lane, sizing)
    fits = sizing.worst(group.radius_mm) <= LIMIT and not sizing.is_cut(group.radius_mm)
    return replace(given_base(sizing, group.radius_mm, "group"), fits=fits)


def _ridden(project: Project, rider: Lane, motion: MotionSource) -> Profile | NoProfile:
    """Build the profile of the disc that a rider rides on, with the rider's station and limits."""
    host = project.lane(str(rider.disc_of))
    differing = [name for name in SAME_FOLLOWER if _field(rider, name) != _field(host, name)]
    if differing:
        name = differing[0]
        return NoProfile(
            "follower",
            f"the follower's {name} is {_field(rider, name)}, but {host.label}, whose disc it rides on, has "
            f"{_field(host, name)}: it would move by another program",
        )
    own = provisional_motion(project, host, surroundings(project, host))
    if isinstance(own, NoMotion):
        return NoProfile("kind", f"{host.label}, whose disc it rides on, has no motion")
    base = _base(project, host, sizing_for(project, host, own), None)
    there = replace(placement_of(project, host), station_deg=rider.station_deg)
    follower = driven_follower(rider)
    return _profile(sizing_of(follower, there, edge_of(motion), limits_of(project, rider)), base)


def _field(lane: Lane, name: str) -> object:
    return getattr(driven_follower(lane), name, None)


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
        plain=sizing.nodes,
    )


def _with_offset(follower: Follower, offset_mm: float | None) -> Follower:
    return follower if offset_mm is None else replaced(follower, offset_mm=offset_mm)
