"""pass-through: on its way from one level to another a lane sweeps through a guarded one.

A *passing* interval of a level holds none of its blocks. Each passing interval of a guarded level is a
finding; a stack that turns several times a cycle sweeps as often.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from shaftscore.base.angles import ahead
from shaftscore.base.wording import plain
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, LaneCheck, with_motion
from shaftscore.judge.checks.cures import Attempt, first_verified, part_of
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.segments import Move
from shaftscore.kinematics.motion.states import StateInterval, level_intervals
from shaftscore.model import Lane, LevelState, Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import motion_of


@dataclass(frozen=True)
class Sweep:
    """A passing interval of a guarded level, and the move in which it lies: None in a table of points."""

    level: str
    interval: StateInterval
    move: Move | None


def pass_through(solution: Solution, lane: LaneSolution) -> Iterator[Finding | Curable]:
    """Find every sweep through a guarded level."""
    for level in lane.lane.guarded:
        passing = [interval for interval in lane.states[level] if interval.passing]
        places: dict[int, int] = {}
        for interval in passing:
            move = _move_at(lane, interval)
            block = move.block if move is not None else -1
            places[block] = place = places.get(block, -1) + 1
            finding = _finding(lane, Sweep(level, interval, move), place)
            if move is None:
                yield finding
            else:
                find = partial(_cure, solution.project, lane.lane, level, move)
                yield Curable(finding, find, len(lane.lane.blocks))


def _move_at(lane: LaneSolution, interval: StateInterval) -> Move | None:
    """Return the move in which a passing interval lies; None where the lane moves by a table of points."""
    assert lane.motion is not None
    own = lane.course.own_at(interval.span.middle)
    moves = [segment for segment in lane.motion.segments if isinstance(segment, Move)]
    return min(moves, key=lambda move: _outside(move, own), default=None)


def _outside(move: Move, angle: float) -> float:
    """Degrees from the move's end on to an angle; 0 inside the move."""
    return max(0.0, ahead(move.start_deg, angle) - move.length_deg)


def _finding(lane: LaneSolution, sweep: Sweep, place: int) -> Finding:
    span, move = sweep.interval.span, sweep.move
    state = LevelState(lane=lane.lane.id, level=sweep.level)
    return found(
        "pass-through",
        (lane.lane.id,),
        span=span,
        value=span.length,
        limit=0.0,
        subjects=(state,) if move is None else (state, BlockRef(lane.lane.id, move.block)),
        place=place,
        seconds=span.length / lane.circle_deg_per_s,
        from_level=move.from_level if move is not None else "one point",
        to_level=move.to_level if move is not None else "the next",
    )


def _cure(project: Project, lane: Lane, guarded: str, move: Move) -> Cure | None:
    """Change places between the guarded level and one end of the move, if that ends every sweep."""
    project = part_of(project, lane.id)
    attempts = [
        _swap(lane, guarded, end, other)
        for end, other in ((move.to_level, move.from_level), (move.from_level, move.to_level))
    ]
    return first_verified(project, attempts, lambda edited: not _sweeps(edited, edited.lane(lane.id)))


def _swap(lane: Lane, guarded: str, end: str, other: str) -> Attempt:
    """Set `end` to the guarded level's output, so that it lies between that and `other`, and vice versa."""
    heights = dict(lane.levels)
    heights[end], heights[guarded] = heights[guarded], heights[end]
    low, high = sorted((guarded, other), key=heights.__getitem__)
    text = f"Put {end} between {low} and {high}: {plain(heights[end])} mm."
    return Attempt("set_levels", {"lane_id": lane.id, "levels": heights}, text)


def _sweeps(project: Project, lane: Lane) -> bool:
    motion = motion_of(project, lane)
    if not isinstance(motion, LaneMotion):
        return True
    return any(i.passing for level in lane.guarded for i in level_intervals(lane, motion, level))


PASS_THROUGH = LaneCheck(("pass-through",), with_motion(pass_through))
