"""Sample places on the smooth pieces of many motions, in one call.

`pieces.nodes_of` does the same for one motion, also under a linkage's table, and is the reference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.followers import Reals, lift_of
from shaftscore.kinematics.motion.moves import DROP
from shaftscore.kinematics.motion.segments import SAME_DEG
from shaftscore.kinematics.motion.together import MotionGroup
from shaftscore.kinematics.profiles.pieces import (
    DWELL_DEG,
    MANY_PIECES,
    MOST_FINE,
    MOVE_NODES,
    PIECE_NODES,
    SPLINE_NODES,
    Flags,
    Indices,
    PieceNodes,
    SmoothPiece,
    places_on,
)
from shaftscore.model.lanes import Follower


@dataclass(frozen=True, eq=False)
class _Pieces:
    """The smooth pieces of a group's motions, (p,) each, one motion after the other; see `SmoothPiece`.

    segment: as the group counts them. motion: which one. least: intervals between nodes, at least.
    """

    segment: Indices
    motion: Indices
    start_deg: Reals
    length_deg: Reals
    moving: Flags
    judged: Flags
    least: Indices


def nodes_together(group: MotionGroup, followers: Sequence[Follower | None]) -> list[PieceNodes | None]:
    """Sample the lift of each motion of a group under its own follower: what `nodes_of` returns of each.

    followers: one for each motion, without a linkage's table; None for a motion that is left out.
    """
    pieces = _pieces(group, np.array([follower is not None for follower in followers]))
    start, end = pieces.start_deg, pieces.start_deg + pieces.length_deg
    theta, read, owner = places_on(start, end, _counts(group, pieces))
    values = _outputs(group, pieces.segment[owner], pieces.motion[owner], wrap(read))
    first_piece = np.searchsorted(pieces.motion, np.arange(len(group.motions) + 1))
    first_node = np.searchsorted(owner, first_piece)
    records = _records(group, pieces)
    return [
        None
        if follower is None
        else PieceNodes(
            records[begin:stop],
            theta[first:last],
            lift_of(follower, values[:, first:last]),
            owner[first:last] - begin,
        )
        for follower, (begin, stop), (first, last) in zip(
            followers, pairwise(first_piece.tolist()), pairwise(first_node.tolist()), strict=True
        )
    ]


def _pieces(group: MotionGroup, wanted: Flags) -> _Pieces:
    """Cut the segments of wanted motions at their curves' joints; stretches of no length are left out."""
    table = group.table
    edges = [*(curve.edges for curve in table.curves), np.array([0.0, 1.0])]  # the last is that of a rest
    counts = np.array([len(one) - 1 for one in edges])
    firsts = np.cumsum(counts + 1) - counts - 1
    many = counts[table.curve]
    many[~np.repeat(wanted, np.diff(group.first_segment))] = 0
    segment = np.repeat(np.arange(len(many)), many)
    place = np.arange(len(segment)) - np.repeat(np.cumsum(many) - many, many) + firsts[table.curve][segment]
    every, length = np.concatenate(edges), table.lengths_deg[segment]
    begin, end = every[place] * length, every[place + 1] * length
    kept = end - begin > ANGLE_DEG
    segment, begin, end = segment[kept], begin[kept], end[kept]
    motion = np.searchsorted(group.first_segment, segment, side="right") - 1
    number = table.curve[segment]
    few = np.bincount(motion, minlength=len(group.motions))[motion] <= MOST_FINE
    of_law = np.where(few, PIECE_NODES, SPLINE_NODES)
    return _Pieces(
        segment=segment,
        motion=motion,
        start_deg=table.starts_deg[segment] + begin,
        length_deg=end - begin,
        moving=number >= 0,
        judged=np.array([*(getattr(curve, "name", "") != DROP for curve in table.curves), True])[number],
        least=np.where(counts[number] <= MANY_PIECES, of_law, SPLINE_NODES),
    )


def _counts(group: MotionGroup, pieces: _Pieces) -> Indices:
    """Return the number of intervals between nodes of each piece, (p,)."""
    whole = group.table.lengths_deg[pieces.segment]
    resting = np.maximum(1, np.ceil(pieces.length_deg / DWELL_DEG))
    share = np.ceil(MOVE_NODES * pieces.length_deg / whole)
    return np.where(pieces.moving, np.maximum(share, pieces.least), resting).astype(np.intp)


def _outputs(group: MotionGroup, segment: Indices, motion: Indices, theta_deg: Reals) -> Reals:
    """Return output and derivatives at angles (m,) within segments (m,) of motions (m,): (4, m)."""
    values = group.table.at(segment, theta_deg, "right")
    drops = np.array([one.drop_mm for one in group.motions])
    if drops.any():
        past_seam = theta_deg < group.table.starts_deg[segment] - SAME_DEG
        values[0] -= drops[motion] * past_seam
    return values


def _records(group: MotionGroup, pieces: _Pieces) -> tuple[SmoothPiece, ...]:
    """Return the pieces one by one, with their segments as their own motion counts them."""
    first = np.array(group.first_segment)[pieces.motion]
    one_way = pieces.moving & (group.table.lengths_deg[pieces.segment] < TURN - ANGLE_DEG)
    rise = np.where(one_way, np.sign(group.table.rise_mm[pieces.segment]), 0).astype(int)
    where = pieces.segment - first, pieces.start_deg, pieces.length_deg
    columns = (column.tolist() for column in (*where, rise, pieces.moving, pieces.judged))
    return tuple(map(SmoothPiece._make, zip(*columns, strict=True)))
