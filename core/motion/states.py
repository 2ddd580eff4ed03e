"""State intervals: when a lane is AT a level, or within a range of openings.

An interval is a longest closed stretch; it is *passing* if it holds no block of that level (for a
range: no block of the lane). Lanes count own angles; rules and flow count master angles, in which a
stack that turns k times a cycle repeats every interval k times.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from core.angles import TURN, Arcs
from core.model import Lane, LevelState, Project, RangeState
from core.motion.lane_motion import LaneMotion, Stretch
from core.motion.segments import Dwell


@dataclass(frozen=True)
class StateInterval:
    """One longest stretch in a state.

    span: one stretch, or the full turn. passing: it holds no block that asks for the state. blocks:
    indices of those it holds, in turning order.
    """

    span: Arcs
    passing: bool
    blocks: tuple[int, ...]


def level_intervals(lane: Lane, motion: LaneMotion, level: str) -> tuple[StateInterval, ...]:
    """Give the intervals in which the lane is AT a level, in own angles, sorted by start.

    Raises KeyError if the lane has no such level.
    """
    return all_level_intervals(lane, motion, (level,))[level]


def all_level_intervals(
    lane: Lane, motion: LaneMotion, levels: Sequence[str] | None = None
) -> dict[str, tuple[StateInterval, ...]]:
    """Give the intervals of several levels (all of the lane's if None) in one pass, by level."""
    names = tuple(lane.levels) if levels is None else tuple(levels)
    heights = [lane.levels[name] for name in names]
    found = motion.stretches([h - lane.band for h in heights], [h + lane.band for h in heights])
    return {
        name: tuple(_interval(motion, stretch, name) for stretch in stretches)
        for name, stretches in zip(names, found, strict=True)
    }


def range_intervals(
    lane: Lane,  # noqa: ARG001 - the same call as for levels
    motion: LaneMotion,
    from_mm: float,
    to_mm: float,
) -> tuple[StateInterval, ...]:
    """Give the intervals in which the output lies within from_mm to to_mm, in own angles."""
    return tuple(_interval(motion, stretch, None) for stretch in motion.stretches([from_mm], [to_mm])[0])


def _interval(motion: LaneMotion, stretch: Stretch, level: str | None) -> StateInterval:
    blocks = tuple(
        block
        for index in stretch.segments
        if isinstance(segment := motion.segments[index], Dwell) and level in (None, segment.level)
        for block in segment.blocks
    )
    return StateInterval(stretch.span, not blocks, blocks)


def to_master(intervals: Sequence[StateInterval], turns: int) -> tuple[StateInterval, ...]:
    """Repeat intervals of a stack that turns `turns` times a cycle, in master angles."""
    if turns == 1 or any(interval.span.is_full for interval in intervals):
        return tuple(intervals)
    repeated = [
        StateInterval(
            Arcs.span((interval.span.start + TURN * turn) / turns, interval.span.length / turns),
            interval.passing,
            interval.blocks,
        )
        for turn in range(turns)
        for interval in intervals
    ]
    return tuple(sorted(repeated, key=lambda interval: interval.span.start))


def state_intervals(
    project: Project, motions: Mapping[str, LaneMotion], state: LevelState | RangeState
) -> tuple[StateInterval, ...]:
    """Give the intervals of a state that a rule or a gate names, in master angles.

    motions: by lane id. Raises KeyError if the lane has no motion.
    """
    lane = project.lane(state.lane)
    motion = motions[state.lane]
    if isinstance(state, LevelState):
        own = level_intervals(lane, motion, state.level)
    else:
        own = range_intervals(lane, motion, state.from_mm, state.to_mm)
    return to_master(own, project.stack_of(lane).turns)
