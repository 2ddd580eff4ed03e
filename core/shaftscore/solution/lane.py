"""One lane, solved: its motion, its state intervals, its profile, and what was read for it.

`reads` holds everything in the project that the result depends on, apart from the base radius that a
group of lanes shares; the result stands for another project as long as that one's reads are the same
(`incremental.same_reads`) and the shared base is. Angles of `states` are master angles.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from shaftscore.kinematics.course import StackCourse, course_of
from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, program, surroundings
from shaftscore.kinematics.motion.states import StateInterval, all_level_intervals, range_intervals
from shaftscore.kinematics.profiles import (
    Base,
    NoProfile,
    Profile,
    build_profile,
    limits_of,
    may_drop,
    own_base,
    provisional_motion,
    shared_base,
    shares_base,
)
from shaftscore.kinematics.profiles.pieces import PieceNodes
from shaftscore.model import Lane, LevelState, Project, RangeState, Stack, Turn
from shaftscore.solution.incremental import Reads


@dataclass(frozen=True, eq=False)
class LaneSolution:
    """One lane, solved.

    stack, turn: id of its stack, and its sense. course: how that follows the lane's round: the cycles of the
    master after which it repeats, one unless the stack is slow or stepped. motion: of its own stack's turn,
    or no_motion with the reason. states: intervals AT each level, angles of the round's circle (of the
    master, if the round is a cycle), by level; own_states: the same of the stack's own turn; both empty
    without motion. wanted: the base that the lane asks of its group, if it has one;
    shared: what the group decided. profile, or no_profile with the reason (both None without motion).
    """

    lane: Lane
    stack: str
    course: StackCourse
    turn: Turn
    speed_rpm: float
    reads: Reads
    motion: LaneMotion | None
    no_motion: NoMotion | None
    states: Mapping[str, tuple[StateInterval, ...]]
    own_states: Mapping[str, tuple[StateInterval, ...]]
    wanted: Base | None = None
    shared: Base | None = None
    profile: Profile | None = None
    no_profile: NoProfile | None = None
    _ranges: dict[tuple[float, float], tuple[StateInterval, ...]] = field(default_factory=dict, repr=False)

    @property
    def turns(self) -> int:
        """How often the lane's stack turns in its round."""
        return self.course.turns

    def intervals(self, state: LevelState | RangeState) -> tuple[StateInterval, ...]:
        """Return the intervals of one of the lane's states, angles of its round; none without motion.

        Ranges are found when first asked for and kept with the result. Raises KeyError for a level that
        the lane does not have.
        """
        if self.motion is None:
            return ()
        if isinstance(state, LevelState):
            return self.states[state.level]
        asked = (state.from_mm, state.to_mm)
        if asked not in self._ranges:
            own = range_intervals(self.lane, self.motion, *asked)
            self._ranges[asked] = self.course.on_circle(own)
        return self._ranges[asked]

    @property
    def deg_per_s(self) -> float:
        """How fast the lane's own stack turns at the machine's speed, degrees a second; on the average."""
        return 6.0 * self.speed_rpm * self.course.rate

    @property
    def circle_deg_per_s(self) -> float:
        """How fast the circle of the lane's round is run through at the machine's speed, degrees a second."""
        return 6.0 * self.speed_rpm / float(self.course.cycles)

    def on_round(self, course: StackCourse, speed_rpm: float) -> LaneSolution:
        """Return the same lane as a shaft sees it that turns once in another round, at its own speed."""
        if course == self.course and speed_rpm == self.speed_rpm:
            return self
        states = _on_circle(self.own_states, course)
        return replace(self, course=course, speed_rpm=speed_rpm, states=states, _ranges={})


@dataclass(frozen=True, eq=False)
class LaneAhead:
    """What was worked out ahead of a lane.

    states: intervals at its levels, own angles. nodes: places on its smooth pieces under its own follower;
    None where it has no disc, or where they are not found together (a linkage's table, drops).
    """

    motion: LaneMotion
    states: Mapping[str, tuple[StateInterval, ...]]
    nodes: PieceNodes | None


def lane_reads(project: Project, lane: Lane) -> Reads:
    """Return everything in the project that the lane's result depends on, but a shared base radius."""
    stack = project.stack_of(lane)
    own = (lane, stack.id, stack.turns, project.turn_of(stack), *_stepped_reads(project, stack))
    disc = _disc_lane(project, lane)
    tied = _tied(project, disc) if disc is not lane or may_drop(lane) else ()
    return (project.shaft.speed_rpm, *own, project.limits, limits_of(project, lane), disc, *tied)


def at_any_speed(reads: Reads) -> Reads:
    """Return all of what `lane_reads` gives but the speed."""
    return reads[1:]


def _stepped_reads(project: Project, stack: Stack) -> Reads:
    """Return what the course of a stack depends on beside its turns: those of its chain of stages."""
    chain = project.chain_of(stack)
    return (stack.cycles, *(one.steps_from for one in chain), chain[-1].turns, chain[-1].cycles)


def is_timeless(project: Project, lane: Lane) -> bool:
    """Return whether a lane moves alike at every speed: all do by their angles, but for a free fall."""
    disc = _disc_lane(project, lane)
    tied = _tied(project, disc) if disc is not lane else ()
    return not any(may_drop(one) for one in (lane, disc, *tied))


def at_speed_of(project: Project, solved: LaneSolution, reads: Reads) -> LaneSolution:
    """Return the result of a timeless lane at the project's speed; reads: as `lane_reads` gives them."""
    speed = project.shaft.speed_rpm
    return solved if solved.speed_rpm == speed else replace(solved, speed_rpm=speed, reads=reads)


def _disc_lane(project: Project, lane: Lane) -> Lane:
    """Return the lane that a lane's disc belongs to: itself, or the one that a rider rides on."""
    there = lane.disc_of is not None and lane.disc_of in project.lane_index
    return project.lane(lane.disc_of) if lane.disc_of is not None and there else lane


def _tied(project: Project, disc: Lane) -> tuple[Lane, ...]:
    """Return all lanes that share a base radius with a disc."""
    if not shares_base(disc):
        return ()
    return tuple(other for other in project.lanes if other.disc.base_group == disc.disc.base_group)


def motion_of(project: Project, lane: Lane) -> LaneMotion | NoMotion:
    """Return the motion of a lane of a project, without anything else.

    The edge of a drop is laid out for the disc's base radius and the follower's offset. Where these are
    automatic they are found first, from the motion with a provisional edge, which has no say in them.
    """
    around = surroundings(project, lane)
    disc = _disc_lane(project, lane)
    motion = provisional_motion(project, lane, around)
    if isinstance(motion, NoMotion) or not motion.drops or not _is_open(disc):
        return motion
    base = _decided_base(project, disc)
    if base is None:
        return motion
    known = replace(around, base_radius_mm=base.radius_mm, offset_mm=base.offset_mm or 0.0)
    return program(lane, known)


def _is_open(disc: Lane) -> bool:
    """Return whether a lane's record leaves its base radius or its offset open."""
    return "auto" in (disc.disc.base_radius_mm, getattr(disc.follower, "offset_mm", 0.0))


def _decided_base(project: Project, disc: Lane) -> Base | None:
    if shares_base(disc):
        # A group's lanes share the radius alone; offsets are each lane's own.
        return shared_base(project, str(disc.disc.base_group))
    motion = provisional_motion(project, disc, surroundings(project, disc))
    return _wanted(project, disc, motion) if isinstance(motion, LaneMotion) else None


def begun_lane(project: Project, lane: Lane, reads: Reads, ahead: LaneAhead | None = None) -> LaneSolution:
    """Solve all of a lane that no other lane has a say in; `reads` as `lane_reads` gives them.

    ahead: what was worked out for it together with other lanes.
    """
    stack = project.stack_of(lane)
    motion = motion_of(project, lane) if ahead is None else ahead.motion
    moves = motion if isinstance(motion, LaneMotion) else None
    own = _level_states(project, lane, moves, ahead) if moves is not None else {}
    course = course_of(project, stack)
    return LaneSolution(
        lane=lane,
        stack=stack.id,
        course=course,
        turn=project.turn_of(stack),
        speed_rpm=project.shaft.speed_rpm,
        reads=reads,
        motion=moves,
        no_motion=None if isinstance(motion, LaneMotion) else motion,
        states=_on_circle(own, course),
        own_states=MappingProxyType(dict(own)),
        wanted=_wanted(project, lane, moves) if moves and shares_base(lane) else None,
    )


def waiting_lane(project: Project, lane: Lane, why: NoMotion) -> LaneSolution:
    """Return the placeholder of a lane that is not solved yet; it reads nothing, so it is never reused."""
    stack = project.stack_of(lane)
    return LaneSolution(
        lane=lane,
        stack=stack.id,
        course=course_of(project, stack),
        turn=project.turn_of(stack),
        speed_rpm=project.shaft.speed_rpm,
        reads=(),
        motion=None,
        no_motion=why,
        states=MappingProxyType({}),
        own_states=MappingProxyType({}),
    )


def finished_lane(
    project: Project, begun: LaneSolution, shared: Base | None, ahead: LaneAhead | None = None
) -> LaneSolution:
    """Add the profile to a lane that has a motion.

    shared: what its base group decided. ahead: what was worked out for it together with other lanes.
    """
    if begun.motion is None:
        return begun
    nodes = None if ahead is None else ahead.nodes
    made = build_profile(project, begun.lane, begun.motion, shared, nodes)
    return replace(
        begun,
        shared=shared,
        profile=made if isinstance(made, Profile) else None,
        no_profile=made if isinstance(made, NoProfile) else None,
    )


def _wanted(project: Project, lane: Lane, motion: LaneMotion) -> Base | None:
    """Return the base that a lane asks of its group; None where its follower can stand nowhere."""
    try:
        return own_base(project, lane, motion)
    except ValueError:  # the lane's own profile says why
        return None


def _level_states(
    project: Project, lane: Lane, motion: LaneMotion, ahead: LaneAhead | None
) -> Mapping[str, tuple[StateInterval, ...]]:
    return all_level_intervals(project.named_lane(lane), motion) if ahead is None else ahead.states


def _on_circle(
    own: Mapping[str, tuple[StateInterval, ...]], course: StackCourse
) -> Mapping[str, tuple[StateInterval, ...]]:
    return MappingProxyType({level: course.on_circle(found) for level, found in own.items()})
