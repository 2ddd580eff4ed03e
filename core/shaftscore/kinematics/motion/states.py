"""State intervals: when a lane is AT a level, or within a range of openings.

An interval is a longest closed stretch; it is *passing* if it holds no block of that level (for a
range: no block of the lane; for a table of points: the output does not turn back in it). Lanes count
own angles; rules and flow count master angles, in which a stack that turns k times a cycle repeats
every interval k times.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from shaftscore.base.angles import TURN, Arcs
from shaftscore.kinematics.motion.blocks import alike
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.segments import Dwell, TurnSpline
from shaftscore.kinematics.motion.stretches import MotionStretch
from shaftscore.kinematics.motion.together import MotionGroup
from shaftscore.model import Lane


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
    """Return the intervals in which a motion is AT a level, in own angles, sorted by start.

    lane: whose levels and band are named (`Project.named_lane`: not a rider, which has none of its own).
    Raises KeyError if the lane has no such level, ValueError for a rider.
    """
    return all_level_intervals(lane, motion, (level,))[level]


def all_level_intervals(
    lane: Lane, motion: LaneMotion, levels: Sequence[str] | None = None
) -> dict[str, tuple[StateInterval, ...]]:
    """Return the intervals of several levels (all of the lane's if None) in one pass, by level.

    lane: as for `level_intervals`. Raises KeyError for an unknown level, ValueError for a rider.
    """
    if lane.kind == "rider":
        raise ValueError(_rider(lane))
    names = tuple(lane.levels) if levels is None else tuple(levels)
    return _named(lane, motion, names, motion.stretches(*_bands(lane, names)))


def level_intervals_together(
    lanes: Sequence[Lane], group: MotionGroup
) -> list[dict[str, tuple[StateInterval, ...]]]:
    """Return what `all_level_intervals` does of many lanes, each with its motion of a group.

    lanes: as for `level_intervals`, one for each motion. Raises ValueError for a rider.
    """
    if riders := [lane for lane in lanes if lane.kind == "rider"]:
        raise ValueError(_rider(riders[0]))
    names = [tuple(lane.levels) for lane in lanes]
    bands = [_bands(lane, of_lane) for lane, of_lane in zip(lanes, names, strict=True)]
    each = zip(lanes, group.motions, names, group.stretches(bands), strict=True)
    return [_named(*one) for one in each]


def _bands(lane: Lane, names: Sequence[str]) -> tuple[list[float], list[float]]:
    """Return the outputs between which a lane is AT levels, mm. Raises KeyError for an unknown level."""
    heights = [lane.levels[name] for name in names]
    return [h - lane.band for h in heights], [h + lane.band for h in heights]


def _rider(lane: Lane) -> str:
    return f"{lane.id} is a rider: its states name the levels of the lane {lane.disc_of}"


def _named(
    lane: Lane, motion: LaneMotion, names: Sequence[str], found: Sequence[Sequence[MotionStretch]]
) -> dict[str, tuple[StateInterval, ...]]:
    """Return the intervals of stretches at levels, by the levels' names."""
    same = alike(lane)
    return {
        name: tuple(_interval(motion, stretch, partial(same, name)) for stretch in stretches)
        for name, stretches in zip(names, found, strict=True)
    }


def range_intervals(
    lane: Lane,  # noqa: ARG001 - the same call as for levels
    motion: LaneMotion,
    from_mm: float,
    to_mm: float,
) -> tuple[StateInterval, ...]:
    """Return the intervals in which the output lies within from_mm to to_mm, in own angles."""
    stretches = motion.stretches([from_mm], [to_mm])[0]
    return tuple(_interval(motion, stretch, lambda _: True) for stretch in stretches)


def _interval(motion: LaneMotion, stretch: MotionStretch, wanted: Callable[[str], bool]) -> StateInterval:
    """Return the interval of a stretch, with whether it holds a block of a wanted level.

    A table of points has no blocks: what it does on purpose, it does where its output turns back.
    """
    segments = [motion.segments[index] for index in stretch.segments]
    if any(isinstance(segment, TurnSpline) for segment in segments):
        return StateInterval(stretch.span, not stretch.turns, ())
    blocks = tuple(
        block
        for segment in segments
        if isinstance(segment, Dwell) and wanted(segment.level)
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
