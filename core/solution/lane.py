"""One lane, solved: its motion, its state intervals, its profile, and the records that were read.

`reads` holds everything in the project that the result depends on; the result stands for another
project as long as that one's reads are the same (`same_reads`). Angles of `states` are master angles.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from core.model import Lane, LevelState, Project, RangeState, Turn
from core.motion.lane import LaneMotion, NoMotion, program, surroundings
from core.motion.states import StateInterval, all_level_intervals, range_intervals, to_master
from core.profiles import NoProfile, Profile, build_profile

Reads = tuple[object, ...]
"""Records (compared by identity) and plain values that a result depends on."""

_PLAIN = (str, int, float)


@dataclass(frozen=True, eq=False)
class LaneSolution:
    """One lane, solved.

    stack, turns, turn: id of its stack, how often that turns in a cycle, and its sense. motion: of its
    own stack's turn, or no_motion with the reason. states: intervals AT each level, master angles, by
    level; empty without motion. profile, or no_profile with the reason (both None without motion).
    """

    lane: Lane
    stack: str
    turns: int
    turn: Turn
    speed_rpm: float
    reads: Reads
    motion: LaneMotion | None
    no_motion: NoMotion | None
    states: Mapping[str, tuple[StateInterval, ...]]
    profile: Profile | None = None
    no_profile: NoProfile | None = None
    _ranges: dict[tuple[float, float], tuple[StateInterval, ...]] = field(default_factory=dict, repr=False)

    def intervals(self, state: LevelState | RangeState) -> tuple[StateInterval, ...]:
        """Give the intervals of one of the lane's states, master angles; none without motion.

        Ranges are found when first asked for and kept with the result.
        """
        if self.motion is None:
            return ()
        if isinstance(state, LevelState):
            return self.states.get(state.level, ())
        asked = (state.from_mm, state.to_mm)
        if asked not in self._ranges:
            own = range_intervals(self.lane, self.motion, *asked)
            self._ranges[asked] = to_master(own, self.turns)
        return self._ranges[asked]

    @property
    def deg_per_s(self) -> float:
        """How fast the lane's own stack turns at the machine's speed, degrees a second."""
        return 6.0 * self.speed_rpm * self.turns


@dataclass(frozen=True)
class Shared:
    """Which lanes depend on one another: by a common base radius, or as riders on a disc."""

    groups: Mapping[str, tuple[Lane, ...]]
    by_id: Mapping[str, Lane]

    @staticmethod
    def of(project: Project) -> Shared:
        """Gather a project's groups of one base radius, and its lanes by id."""
        groups: dict[str, tuple[Lane, ...]] = {}
        for lane in project.lanes:
            if (name := lane.disc.base_group) is not None:
                groups[name] = (*groups.get(name, ()), lane)
        return Shared(groups, {lane.id: lane for lane in project.lanes})

    def with_lane(self, lane: Lane) -> tuple[Lane, ...]:
        """Give the lanes, itself included, that a lane's result is made from."""
        ridden = self.by_id.get(lane.disc_of) if lane.disc_of is not None else None
        if ridden is not None:
            return (lane, *self.with_lane(ridden)) if ridden.disc_of is None else (lane, ridden)
        return (lane, *self.groups.get(lane.disc.base_group or "", ()))


def lane_reads(project: Project, lane: Lane, shared: Shared) -> Reads:
    """Give everything in the project that the lane's result depends on."""
    stack = project.stack_of(lane)
    own = (stack.id, stack.turns, project.turn_of(stack), project.shaft.speed_rpm)
    return (*own, project.limits, *shared.with_lane(lane), *project.materials)


def same_reads(first: Reads, second: Reads) -> bool:
    """Tell whether two results read the same: plain values by equality, all else by identity."""
    return len(first) == len(second) and all(
        a is b or (isinstance(a, _PLAIN) and a == b) for a, b in zip(first, second, strict=True)
    )


def motion_of(project: Project, lane: Lane) -> LaneMotion | NoMotion:
    """Give the motion of a lane of a project, without anything else."""
    return program(lane, surroundings(project, lane))


def solve_lane(project: Project, lane: Lane, reads: Reads) -> LaneSolution:
    """Solve one lane from nothing; `reads` as `lane_reads` gives them."""
    stack = project.stack_of(lane)
    motion = motion_of(project, lane)
    profile = build_profile(project, lane, motion) if isinstance(motion, LaneMotion) else None
    return LaneSolution(
        lane=lane,
        stack=stack.id,
        turns=stack.turns,
        turn=project.turn_of(stack),
        speed_rpm=project.shaft.speed_rpm,
        reads=reads,
        motion=motion if isinstance(motion, LaneMotion) else None,
        no_motion=None if isinstance(motion, LaneMotion) else motion,
        states=level_states(lane, motion, stack.turns)
        if isinstance(motion, LaneMotion)
        else MappingProxyType({}),
        profile=profile if isinstance(profile, Profile) else None,
        no_profile=profile if isinstance(profile, NoProfile) else None,
    )


def level_states(lane: Lane, motion: LaneMotion, turns: int) -> Mapping[str, tuple[StateInterval, ...]]:
    """Give the intervals AT each level, master angles, by level."""
    own = all_level_intervals(lane, motion)
    return MappingProxyType({level: to_master(found, turns) for level, found in own.items()})
