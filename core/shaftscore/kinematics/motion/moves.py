"""The moves between dwells: which law each follows, and how fast a blend passes a momentary stop.

A blend need not stop at a momentary stop that lies between two moves of one direction: both moves
take one velocity there. It is the harmonic mean of the two moves' mean velocities, which never exceeds
twice either, so that a blend only rises or only falls (see `blend_345`; the same choice as F. N.
Fritsch and J. Butland's for monotone interpolation, SIAM J. Sci. Stat. Comput. 5, 1984, from memory).
Beside a move at constant velocity a blend takes that velocity, up to the same bound.
"""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.base.angles import TURN, ahead, wrap
from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.laws.polynomial import blend_345
from shaftscore.kinematics.motion.segments import Dwell, Move, Segment
from shaftscore.model import Lane

BLEND = "blend-345"
DROP = "drop"
STEADY = "constant-velocity"
STEEPEST = 2.0
"""Largest end velocity of a blend, in units of its mean velocity, that cannot make it turn back."""


def law_name(lane: Lane, dwell: Dwell) -> str:
    """Name the law of the move that leads to a dwell: the block's own, or else the lane's."""
    return lane.blocks[dwell.blocks[0]].law or lane.law


def with_moves(lane: Lane, dwells: Sequence[Dwell], pitch_mm: float = 0.0) -> tuple[Segment, ...]:
    """Put the moves between dwells in turning order.

    pitch_mm: what the outputs count on by through 0 (index lanes). A drop's move is put in as a blend
    for now; `shaftscore.kinematics.motion.drop` replaces it. Returns dwell, move, dwell, move, ...
    """
    following = [*dwells[1:], _raised(dwells[0], pitch_mm)]
    laws = [law_name(lane, dwell) for dwell in following]
    means = [_mean(a, b) for a, b in zip(dwells, following, strict=True)]
    ends = [
        _passing_velocity(dwell, laws, means, index) for index, dwell in enumerate([*dwells[1:], dwells[0]])
    ]
    segments: list[Segment] = []
    for index, dwell in enumerate(dwells):
        mean = means[index]
        slopes = tuple(v / mean if mean else 0.0 for v in (ends[index - 1], ends[index]))
        law = blend_345(slopes[0], slopes[1]) if laws[index] in (BLEND, DROP) else LAWS[laws[index]]
        segments += [dwell, _move(dwell, following[index], law)]
    return tuple(segments)


def _raised(dwell: Dwell, by_mm: float) -> Dwell:
    return Dwell(dwell.start_deg, dwell.length_deg, dwell.output_mm + by_mm, dwell.level, dwell.blocks)


def _gap(dwell: Dwell, following: Dwell) -> float:
    """Degrees between two dwells; a dwell alone is followed by itself, a turn later."""
    begin = dwell.start_deg + dwell.length_deg
    if dwell.blocks == following.blocks:
        return TURN - dwell.length_deg
    return ahead(begin, following.start_deg)


def _mean(dwell: Dwell, following: Dwell) -> float:
    """Mean velocity of a move, mm/degree."""
    return (following.output_mm - dwell.output_mm) / _gap(dwell, following)


def _passing_velocity(dwell: Dwell, laws: Sequence[str], means: Sequence[float], index: int) -> float:
    """Velocity (mm/degree) at which move `index` ends and the next begins, at `dwell` between them."""
    onward = (index + 1) % len(laws)
    one, other = means[index], means[onward]
    if dwell.length_deg > 0 or one * other <= 0 or BLEND not in (laws[index], laws[onward]):
        return 0.0
    if laws[index] == laws[onward]:
        return 2 * one * other / (one + other)
    steady, blend = (one, other) if laws[index] == STEADY else (other, one)
    if STEADY not in (laws[index], laws[onward]):
        return 0.0
    return steady if abs(steady) <= STEEPEST * abs(blend) else STEEPEST * blend


def _move(dwell: Dwell, following: Dwell, law: Law) -> Move:
    falls = following.output_mm < dwell.output_mm
    return Move(
        wrap(dwell.start_deg + dwell.length_deg),
        _gap(dwell, following),
        law,
        dwell.output_mm,
        following.output_mm,
        dwell.level,
        following.level,
        following.blocks[0],
        # Blends are made for their own direction of time.
        mirrored=falls and law.name in LAWS and not law.symmetric,
    )


def in_order(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Turn a cyclic list of segments so that it begins with the least start."""
    first = min(range(len(segments)), key=lambda index: segments[index].start_deg)
    return (*segments[first:], *segments[:first])
