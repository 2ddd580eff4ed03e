"""Intervals of a state by its name, as a whole machine gives them: for the tests of motions alone."""

from __future__ import annotations

from collections.abc import Mapping

from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.states import StateInterval, level_intervals, range_intervals, to_master
from shaftscore.model import LevelState, Project, RangeState


def state_intervals(
    project: Project, motions: Mapping[str, LaneMotion], state: LevelState | RangeState
) -> tuple[StateInterval, ...]:
    """Return the intervals of a state that a rule or a gate names, in master angles.

    motions: by lane id. A rider's levels and blocks are those of the lane whose disc it rides on.
    Raises KeyError if the lane has no motion.
    """
    lane = project.lane(state.lane)
    motion = motions[state.lane]
    if isinstance(state, LevelState):
        host = project.lane(lane.disc_of) if lane.kind == "rider" and lane.disc_of else lane
        own = level_intervals(host, motion, state.level)
    else:
        own = range_intervals(lane, motion, state.from_mm, state.to_mm)
    return to_master(own, project.stack_of(lane).turns)
