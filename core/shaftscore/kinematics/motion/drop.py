"""Drops: the edge falls away under the follower, which comes down in its own time.

The *edge* is what the disc prescribes (`motion.edge`). The *output* rests on it while the spring can
hold it there, then falls freely under spring, external force and friction (`motion.free_fall`), and
lands where it meets the edge again: on the flank, or late, on the dwell that follows; or so late that
the block is over and the next rise catches it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.motion.blocks import dwells
from shaftscore.kinematics.motion.curve import Floats
from shaftscore.kinematics.motion.edge import fall_law, lane_edge, length_of, shortest_fall_rad
from shaftscore.kinematics.motion.free_fall import Beyond, come_down, free_fall
from shaftscore.kinematics.motion.lane_motion import Drop, LaneMotion
from shaftscore.kinematics.motion.law import Law, rest_of
from shaftscore.kinematics.motion.moves import DROP, in_order, with_moves
from shaftscore.kinematics.motion.no_motion import NoMotion
from shaftscore.kinematics.motion.segments import Dwell, Move, Segment
from shaftscore.kinematics.motion.surroundings import Surroundings
from shaftscore.model import Lane, SwingingRoller
from shaftscore.model.driven import driven_follower


class DropWay(NamedTuple):
    """A way down: its law, how long it takes (rad) and the output where it ends, mm."""

    law: Law
    length_rad: float
    end_mm: float


class Fall(NamedTuple):
    """One drop worked out: the ways of the edge and of the output."""

    edge: DropWay
    output: DropWay


class DropPlace(NamedTuple):
    """A drop in its surroundings: the move, the dwell that it leads to and the move after that."""

    move: Move
    dwell: Dwell
    after: Move


def with_drops(lane: Lane, segments: Sequence[Segment], around: Surroundings | None) -> LaneMotion | NoMotion:
    """Replace the moves that are drops in a cyclic list dwell, move, dwell, move, ...

    The result's `edge` is the motion of the edge. Returns a NoMotion that says why where a drop cannot be
    worked out.
    """
    falls: dict[int, Fall] = {}
    for index, segment in enumerate(segments):
        if isinstance(segment, Move) and _is_drop(lane, segment):
            fall = _fall(lane, _place(segments, index), around)
            if isinstance(fall, str):
                return NoMotion("law", what=f"the law drop {fall}")
            falls[index] = fall
    output = _put_in(segments, {index: fall.output for index, fall in falls.items()})
    edge = _put_in(segments, {index: fall.edge for index, fall in falls.items()})
    if output is None or edge is None:
        return NoMotion("law", what="the law drop where no time is left to come down before the next fall")
    drops = tuple(_record(_place(segments, index).move, fall) for index, fall in falls.items())
    return LaneMotion(in_order(output), drops=drops, edge_motion=LaneMotion(in_order(edge)))


def overrun(lane: Lane, around: Surroundings) -> float:
    """Return by how much the steepest edge of a drop takes longer than its gap, as a share of the gap.

    The greatest of all drops that can be worked out, on the base radius of `around` where the lane leaves
    its own open: 0 or less where all fit, inf where the disc has no room for a fillet, -inf without drops.
    """
    drops = [
        move for move in with_moves(lane, dwells(lane)) if isinstance(move, Move) and _is_drop(lane, move)
    ]
    return max((_overrun(lane, move, around) for move in drops), default=-np.inf)


def _overrun(lane: Lane, move: Move, around: Surroundings) -> float:
    if _why_not(lane, move, around):
        return -np.inf
    ratio = _output_per_roller(lane)
    needed = shortest_fall_rad(lane, around, (move.from_mm / ratio, move.to_mm / ratio))
    return np.inf if isinstance(needed, str) else float(np.degrees(needed)) / move.length_deg - 1


def _is_drop(lane: Lane, move: Move) -> bool:
    return move.rise_mm != 0 and (lane.blocks[move.block].law or lane.law) == DROP


def _place(segments: Sequence[Segment], index: int) -> DropPlace:
    move, dwell, after = (segments[(index + step) % len(segments)] for step in range(3))
    assert isinstance(move, Move)
    assert isinstance(dwell, Dwell)
    assert isinstance(after, Move)
    return DropPlace(move, dwell, after)


def _record(move: Move, fall: Fall) -> Drop:
    edge, landed = (float(np.degrees(way.length_rad)) for way in fall)
    return Drop(move.block, move.start_deg, edge, landed, _late(move, fall.output))


def _late(move: Move, way: DropWay) -> float:
    """Degrees by which a way down takes longer than its gap, not counting rounding."""
    late = float(np.degrees(way.length_rad)) - move.length_deg
    return late if late > ANGLE_DEG else 0.0


def _put_in(segments: Sequence[Segment], ways: dict[int, DropWay]) -> list[Segment] | None:
    """Put ways down in and let what follows begin where they end; None if that cannot be."""
    result: list[Segment | None] = list(segments)
    for index, way in ways.items():
        place = _place(segments, index)
        late = _late(place.move, way)
        result[index] = replace(
            place.move,
            law=way.law,
            length_deg=place.move.length_deg + late,
            to_mm=way.end_mm,
            mirrored=False,
        )
        second, third = ((index + step) % len(result) for step in (1, 2))
        past = late - place.dwell.length_deg
        if past <= 0:
            start = wrap(place.dwell.start_deg + late)
            result[second] = replace(place.dwell, start_deg=start, length_deg=-past)
        elif way.end_mm > place.dwell.output_mm:
            result[second], result[third] = None, _caught(place.after, past, way.end_mm)
        else:
            return None
    return [segment for segment in result if segment is not None]


def _caught(rise: Move, past_deg: float, from_mm: float) -> Move:
    """Return what is left of a rise that catches the follower past_deg after its begin."""
    return replace(
        rise,
        start_deg=wrap(rise.start_deg + past_deg),
        length_deg=rise.length_deg - past_deg,
        law=rest_of(rise.law.mirrored if rise.mirrored else rise.law, past_deg / rise.length_deg),
        from_mm=from_mm,
        mirrored=False,
    )


def _fall(lane: Lane, place: DropPlace, around: Surroundings | None) -> Fall | str:
    """Work one drop out, or say why that cannot be done."""
    why_not = _why_not(lane, place.move, around)
    if why_not or around is None or lane.load is None:
        return why_not
    ratio = _output_per_roller(lane)
    lifts = place.move.from_mm / ratio, place.move.to_mm / ratio
    edge = lane_edge(lane, around, lifts, float(np.radians(place.move.length_deg)))
    if isinstance(edge, str):
        return edge
    free = free_fall(lane.load, ratio, lifts[1], around.speed_rpm)
    if isinstance(free, str):
        return free
    way = DropWay(edge.law, edge.length_rad, place.move.to_mm)
    if free is None:
        return Fall(way, way)
    beyond = _beyond(place, ratio)
    pieces = come_down(edge, free, beyond)
    total = length_of(pieces)
    caught = float(beyond(np.array([total]))[0])
    law = fall_law(pieces, edge.height_mm - caught)
    return Fall(way, DropWay(law, total, place.move.to_mm + caught * ratio))


def _beyond(place: DropPlace, ratio: float) -> Beyond:
    """Return the height of the edge above the dwell, past the dwell's end: the rise that may follow."""
    begin = np.radians(place.move.length_deg + place.dwell.length_deg)
    length = np.radians(place.after.length_deg)
    height = max(place.after.rise_mm, 0.0) / ratio

    def beyond(phi: Floats) -> Floats:
        risen = place.after.curve.at(np.clip((phi - begin) / length, 0.0, 1.0), orders=1)[0]
        return np.asarray(height * risen)

    return beyond


def _why_not(lane: Lane, move: Move, around: Surroundings | None) -> str:
    if around is None:
        return "away from its project, whose speed and limits it needs"
    if move.rise_mm > 0:
        return f"on a rise (to {move.to_level}): only falls can drop"
    if lane.follower.closure != "spring":
        return "in a groove, which holds the follower"
    if lane.load is None:
        return "without a load, which pulls the follower down"
    if driven_follower(lane).link is not None:
        return "through a linkage"
    return ""


def _output_per_roller(lane: Lane) -> float:
    follower = lane.follower
    if isinstance(follower, SwingingRoller):
        return (follower.output_arm_mm or follower.arm_mm) / follower.arm_mm
    return follower.output_ratio
