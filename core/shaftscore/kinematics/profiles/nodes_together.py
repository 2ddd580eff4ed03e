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
    PieceTable,
    places_on,
)
from shaftscore.model.lanes import Follower


@dataclass(frozen=True, eq=False)
class _GroupPieces:
    """The smooth pieces of a group's motions, one motion after the other; segments as the group counts them.

    motion: (p,) which one each is of. least: (p,) intervals between nodes, at least.
    """

    table: PieceTable
    motion: Indices
    least: Indices


def nodes_together(group: MotionGroup, followers: Sequence[Follower | None]) -> list[PieceNodes | None]:
    """Sample the lift of each motion of a group under its own follower: what `nodes_of` returns of each.

    followers: one for each motion, without a linkage's table; None for a motion that is left out.
    """
    pieces = _pieces(group, np.array([follower is not None for follower in followers]))
    start, end = pieces.table.start_deg, pieces.table.start_deg + pieces.table.length_deg
    theta, read, owner = places_on(start, end, _counts(group, pieces))
    values = _outputs(group, pieces.table.segment[owner], pieces.motion[owner], wrap(read))
    first_piece = np.searchsorted(pieces.motion, np.arange(len(group.motions) + 1))
    first_node = np.searchsorted(owner, first_piece)
    found: list[PieceNodes | None] = []
    for number, (begin, stop) in enumerate(pairwise(first_piece.tolist())):
        follower, here = followers[number], slice(*first_node[number : number + 2].tolist())
        if follower is None:
            found.append(None)
            continue
        table = pieces.table.part(begin, stop, group.first_segment[number])
        lift = lift_of(follower, values[:, here])
        found.append(PieceNodes(table, theta[here], lift, owner[here] - begin))
    return found


def _pieces(group: MotionGroup, wanted: Flags) -> _GroupPieces:
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
    moving = number >= 0
    one_way = moving & (table.lengths_deg[segment] < TURN - ANGLE_DEG)
    return _GroupPieces(
        table=PieceTable(
            segment=segment,
            start_deg=table.starts_deg[segment] + begin,
            length_deg=end - begin,
            rise=np.where(one_way, np.sign(table.rise_mm[segment]), 0.0),
            moving=moving,
            judged=np.array([*(getattr(curve, "name", "") != DROP for curve in table.curves), True])[number],
        ),
        motion=motion,
        least=np.where(counts[number] <= MANY_PIECES, of_law, SPLINE_NODES),
    )


def _counts(group: MotionGroup, pieces: _GroupPieces) -> Indices:
    """Return the number of intervals between nodes of each piece, (p,)."""
    table = pieces.table
    resting = np.maximum(1, np.ceil(table.length_deg / DWELL_DEG))
    share = np.ceil(MOVE_NODES * table.length_deg / group.table.lengths_deg[table.segment])
    return np.where(table.moving, np.maximum(share, pieces.least), resting).astype(np.intp)


def _outputs(group: MotionGroup, segment: Indices, motion: Indices, theta_deg: Reals) -> Reals:
    """Return output and derivatives at angles (m,) within segments (m,) of motions (m,): (4, m)."""
    values = group.table.at(segment, theta_deg, "right")
    drops = np.array([one.drop_mm for one in group.motions])
    if drops.any():
        past_seam = theta_deg < group.table.starts_deg[segment] - SAME_DEG
        values[0] -= drops[motion] * past_seam
    return values
