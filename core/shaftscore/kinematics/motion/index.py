"""Index lanes: a part that steps on by its highest level, the pitch, each turn and starts again.

The highest level and 0 are one rest. Outputs count on through 0, where the motion drops by the pitch
without a move. A rest before all other blocks of the turn is at 0, one after all others or through 0
is at the pitch, so that the part only ever steps on; a rest between others is where its level says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shaftscore.base.angles import TURN
from shaftscore.kinematics.motion.blocks import dwells, rest_levels
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.moves import in_order, with_moves
from shaftscore.kinematics.motion.no_motion import NoMotion
from shaftscore.kinematics.motion.segments import Dwell, Move, Segment
from shaftscore.model import Lane


def index_motion(lane: Lane) -> LaneMotion | NoMotion:
    """Make the motion of an index lane whose blocks do not clash."""
    pitch = max(lane.levels.values())
    if pitch <= 0:
        return NoMotion("kind", what="an index lane without a pitch: its highest level is 0")
    rests = counted_rests(dwells(lane), rest_levels(lane), pitch)
    if len(rests) == 1 and rests[0].length_deg >= TURN:
        return NoMotion("kind", what="an index lane that rests all turn and so cannot step on")
    return LaneMotion(in_order(_from_seam(with_moves(lane, rests, pitch), pitch)), drop_mm=pitch)


def _from_seam(segments: Sequence[Segment], pitch_mm: float) -> list[Segment]:
    """Count outputs from 0 on: a move that begins after a dwell through 0 begins a pitch lower."""
    counted = list(segments)
    move, dwell = counted[-1], counted[-2]
    if isinstance(move, Move) and move.start_deg < dwell.start_deg:
        counted[-1] = replace(move, from_mm=move.from_mm - pitch_mm, to_mm=move.to_mm - pitch_mm)
    return counted


def counted_rests(dwells: Sequence[Dwell], rest: frozenset[str], pitch_mm: float) -> list[Dwell]:
    """Put each dwell that is the rest at 0 or at the pitch; see the module's text."""
    others = [number for number, dwell in enumerate(dwells) if dwell.level not in rest]
    counted = []
    for number, dwell in enumerate(dwells):
        if dwell.level not in rest:
            counted.append(dwell)
        elif dwell.start_deg + dwell.length_deg > TURN or (others and number > others[-1]):
            counted.append(replace(dwell, output_mm=pitch_mm))
        elif others and number < others[0]:
            counted.append(replace(dwell, output_mm=0.0))
        else:
            counted.append(dwell)
    return counted
