"""Which states of a disc the machine asks for: its levels, and the ranges that rules and gates name.

A disc makes the states of its lane and of the riders on it: what a rider is in, its lane was in at the same
place of the disc.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.angles import Arcs
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.states import level_intervals, range_intervals
from shaftscore.model import Lane, Project, RangeState, Record


def own_spans(project: Project, lane: Lane, motion: LaneMotion) -> tuple[Arcs, ...]:
    """Return every stretch of the lane's own turn in which it is in one of those states."""
    followers = (lane, *project.riders_of(lane))
    found = []
    for named in {named.band: named for named in map(project.named_lane, followers)}.values():
        found += [interval for level in named.levels for interval in level_intervals(named, motion, level)]
    for limits in dict.fromkeys(limits for one in followers for limits in ranges_of(project, one)):
        found += range_intervals(lane, motion, *limits)
    return tuple(dict.fromkeys(interval.span for interval in found))


def ranges_of(project: Project, lane: Lane) -> Iterator[tuple[float, float]]:
    """Yield the ranges (from_mm, to_mm) of a lane that rules and flow name, as often as they do."""
    for record in (*project.rules, *((project.flow,) if project.flow else ())):
        for state in _within(record):
            if state.lane == lane.id:
                yield state.from_mm, state.to_mm


def _within(value: object) -> Iterator[RangeState]:
    """Walk through records and tuples to the range states that they hold."""
    if isinstance(value, RangeState):
        yield value
    elif isinstance(value, Record):
        for name in type(value).model_fields:
            yield from _within(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _within(item)
