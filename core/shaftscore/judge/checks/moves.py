"""Where in a lane's motion something happens, as findings name it: "the rise to open"."""

from __future__ import annotations

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef
from shaftscore.judge.findings.record import Fact, Subject
from shaftscore.kinematics.motion.segments import Dwell, Move, Segment
from shaftscore.solution import LaneSolution


def in_cycle(lane: LaneSolution, start_deg: float, length_deg: float) -> Arcs:
    """Turn a stretch of the lane's own angle into the cycle's, in the first turn of its stack."""
    return lane.course.stretch(start_deg, length_deg)


def named(segment: Segment) -> dict[str, Fact]:
    """Return the facts `move` ("rise", "fall", "dwell", "curve") and `to_level` of a segment."""
    if isinstance(segment, Move):
        return {"move": "rise" if segment.rise_mm >= 0 else "fall", "to_level": segment.to_level}
    if isinstance(segment, Dwell):
        return {"move": "dwell", "to_level": segment.level}
    return {"move": "curve", "to_level": ""}


def subject_of(lane: LaneSolution, segment: Segment) -> tuple[Subject, ...]:
    """Return the block that a move leads to, or that makes a dwell; nothing for a spline."""
    if isinstance(segment, Move):
        return (BlockRef(lane.lane.program_id, segment.block),)
    if isinstance(segment, Dwell):
        return (BlockRef(lane.lane.program_id, segment.blocks[0]),)
    return ()
