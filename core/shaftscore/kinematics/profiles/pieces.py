"""Smooth pieces of a lane's motion, and sample places ("nodes") on them.

A *piece* is a stretch of the turn in which the lift is smooth to its third derivative: segments are cut
at the joints inside their law and where a linkage's table has a row. Figures of a profile are extremes
over all pieces, with one-sided values at both ends, so that steps are never missed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.followers import Reals, lift_of, link_steps
from shaftscore.kinematics.motion.moves import DROP
from shaftscore.kinematics.profiles.rows import row_cuts
from shaftscore.model.lanes import Follower

MOVE_NODES = 64
"""Intervals between nodes over one move, at least."""

PIECE_NODES = 12
"""Intervals between nodes over one piece of a move, at least."""

DWELL_DEG = 15.0
"""Largest angle between nodes of a dwell."""

MANY_PIECES = 16
"""A curve of more pieces than this is a spline."""

SPLINE_NODES = 4
"""Intervals between nodes over one piece of a spline, at least."""

MOST_FINE = 2_000
"""On a turn of more pieces than this, each has as few nodes as one of a spline."""

INSIDE_DEG = 1e-9
"""Ends of a piece are read this far inside it, so that each side of a step gives its own value."""

STILL_SHARE = 1e-9
"""A velocity under this share of the largest is 0."""

Flags = npt.NDArray[np.bool_]
"""True or false at nodes, (m,)."""

Indices = npt.NDArray[np.intp]
"""Numbers of nodes or pieces, (k,)."""

Side = Literal["left", "right"]
"""Which side counts where the motion steps."""


class CurveSource(Protocol):
    """What a profile reads of a segment's curve: where its smooth pieces start."""

    @property
    def starts(self) -> Reals:
        """Starts of the pieces within the segment, (k,), 0 to 1, ascending from 0."""
        ...


class SegmentSource(Protocol):
    """What a profile reads of a segment (`shaftscore.kinematics.motion.segments`)."""

    @property
    def start_deg(self) -> float:
        """Where it starts, degrees."""
        ...

    @property
    def length_deg(self) -> float:
        """How long it is, degrees."""
        ...

    @property
    def rise_mm(self) -> float:
        """Travel of the output, mm; negative on a fall."""
        ...

    @property
    def curve(self) -> CurveSource | None:
        """Its curve; None for a dwell."""
        ...


class MotionSource(Protocol):
    """What a profile reads of a motion (`shaftscore.kinematics.motion.lane_motion.LaneMotion`)."""

    @property
    def segments(self) -> Sequence[SegmentSource]:
        """The segments of one turn, sorted, without gaps."""
        ...

    def at(self, theta_deg: Reals, side: Side = "right") -> Reals:
        """Return output and its first three derivatives by radian: (n,) -> (4, n)."""
        ...

    @property
    def run_ends_mm(self) -> Reals:
        """Outputs at both ends of the runs, within which the output goes one way: (2, r)."""
        ...

    def reached(self, run: Indices, output_mm: Reals) -> tuple[Indices, Reals]:
        """Return where runs pass outputs: segments and shares of their lengths, (m,) of (m,)."""
        ...


class SmoothPiece(NamedTuple):
    """A smooth stretch of segment number `segment`.

    rise: +1 rise, -1 fall, 0 dwell or both. judged: whether the limits of pressure angle and curvature
    apply; the edge of a drop is shaped for its own fillet instead.
    """

    segment: int
    start_deg: float
    length_deg: float
    rise: int
    moving: bool
    judged: bool = True


@dataclass(frozen=True, eq=False)
class PieceTable:
    """Smooth pieces as arrays, (p,) each; see `SmoothPiece`."""

    segment: Indices
    start_deg: Reals
    length_deg: Reals
    rise: Reals
    moving: Flags
    judged: Flags

    @classmethod
    def of(cls, pieces: Iterable[SmoothPiece]) -> PieceTable:
        """Lay pieces out as arrays."""
        segment, start, length, rise, moving, judged = zip(*pieces, strict=True)
        return cls(
            segment=np.array(segment, np.intp),
            start_deg=np.array(start, float),
            length_deg=np.array(length, float),
            rise=np.array(rise, float),
            moving=np.array(moving, bool),
            judged=np.array(judged, bool),
        )

    def part(self, first: int, stop: int, first_segment: int) -> PieceTable:
        """Return the pieces from `first` to before `stop`, with segments counted from first_segment."""
        some = slice(first, stop)
        return PieceTable(
            segment=self.segment[some] - first_segment,
            start_deg=self.start_deg[some],
            length_deg=self.length_deg[some],
            rise=self.rise[some],
            moving=self.moving[some],
            judged=self.judged[some],
        )


@dataclass(frozen=True, eq=False)
class PieceNodes:
    """Nodes of all pieces, in the order of the turn, both ends of each piece included.

    theta_deg: (m,). lift: (4, m). piece: (m,) index of the piece. rise: (m,) +1, -1 or 0 (dwell).
    """

    table: PieceTable
    theta_deg: Reals
    lift: Reals
    piece: Indices

    @cached_property
    def pieces(self) -> tuple[SmoothPiece, ...]:
        """The pieces one by one."""
        table = self.table
        columns = (table.segment, table.start_deg, table.length_deg, table.rise.astype(int))
        flags = (table.moving, table.judged)
        return tuple(map(SmoothPiece._make, zip(*(c.tolist() for c in (*columns, *flags)), strict=True)))

    @cached_property
    def joined(self) -> Flags:
        """Whether a node and the next one are on the same piece, (m - 1,)."""
        return np.asarray(self.piece[1:] == self.piece[:-1])

    @cached_property
    def inside_deg(self) -> Reals:
        """The nodes with both ends of each piece a hair inside it, degrees, (m,)."""
        change = np.diff(self.piece) != 0
        first, last = np.r_[True, change], np.r_[change, True]
        return np.asarray(self.theta_deg + INSIDE_DEG * first - INSIDE_DEG * last)

    @cached_property
    def rise(self) -> Reals:
        """Whether the follower rises (+1), falls (-1) or rests (0): (m,); at an end, as within the move."""
        return self._way(self.piece, self.lift[1])

    def rise_at(self, theta_deg: Reals, velocity: Reals) -> Reals:
        """Return whether the follower rises, falls or rests at angles within the pieces, as `rise`: (n,).

        theta_deg: (n,) degrees, counted on from the first node. velocity: (n,) of the lift, by radian.
        """
        return self._way(self.pieces_at(theta_deg), velocity)

    def pieces_at(self, theta_deg: Reals) -> Indices:
        """Return which piece angles (n,) are in, degrees counted on from the first node: (n,)."""
        return np.maximum(np.searchsorted(self.table.start_deg, theta_deg, side="right") - 1, 0)

    def _way(self, piece: Indices, velocity: Reals) -> Reals:
        return ways(velocity, float(np.max(np.abs(self.lift[1]))), self.table.rise[piece])

    @cached_property
    def judged(self) -> Flags:
        """Whether the limits of pressure angle and curvature apply, (m,)."""
        return self.table.judged[self.piece]

    @cached_property
    def segments(self) -> tuple[tuple[int, int, int], ...]:
        """The segments that have nodes, in their order: (number, first node, node after the last)."""
        owner = self.table.segment[self.piece]
        starts = np.concatenate([[0], np.flatnonzero(np.diff(owner)) + 1])
        stops = [*starts[1:].tolist(), len(owner)]
        return tuple(zip(owner[starts].tolist(), starts.tolist(), stops, strict=True))

    def thinned(self, every: int) -> PieceNodes:
        """Keep one node in `every`, and both ends of each piece."""
        ends = np.flatnonzero(np.diff(self.piece))
        kept = np.arange(len(self.piece)) // every * every == np.arange(len(self.piece))
        kept[[0, -1]] = kept[ends] = kept[ends + 1] = True
        return PieceNodes(self.table, self.theta_deg[kept], self.lift[:, kept], self.piece[kept])

    def with_places(self, after: Indices, theta_deg: Reals, lift: Reals) -> PieceNodes:
        """Take further angles into the nodes, each just after a node of its own piece.

        after: (k,) indices of those nodes. theta_deg: (k,). lift: (4, k).
        """
        order = np.lexsort((theta_deg, after))
        at = after[order] + 1
        return PieceNodes(
            self.table,
            np.insert(self.theta_deg, at, theta_deg[order]),
            np.insert(self.lift, at, lift[:, order], axis=1),
            np.insert(self.piece, at, self.piece[after[order]]),
        )


def ways(velocity: Reals, most: float | Reals, own: Reals) -> Reals:
    """Return the sign of velocities, and where one is nothing but rounding, the way of its piece: (n,).

    most: the largest velocity of the turn. own: +1, -1 or 0 of the piece, (n,).
    """
    return np.where(np.abs(velocity) <= STILL_SHARE * most, own, np.sign(velocity))


def pieces_of(motion: MotionSource, follower: Follower) -> tuple[SmoothPiece, ...]:
    """Cut a motion into smooth pieces; stretches of no length are left out."""
    cuts = row_cuts(motion, link_steps(follower))
    return tuple(
        piece
        for number, segment in enumerate(motion.segments)
        for piece in _pieces_of_segment(number, segment, cuts.get(number, ()))
    )


def _pieces_of_segment(number: int, segment: SegmentSource, at_rows: Iterable[float]) -> list[SmoothPiece]:
    """Cut a segment at its joints and at rows of a table, both given as shares of its length."""
    length, moving = segment.length_deg, segment.curve is not None
    joints = segment.curve.starts[1:] if segment.curve is not None else ()
    cuts = {0.0, length, *(float(share) * length for share in (*joints, *at_rows))}
    one_way = moving and length < TURN - ANGLE_DEG
    rise = int(np.sign(segment.rise_mm)) if one_way else 0
    judged = getattr(segment.curve, "name", "") != DROP
    return [
        SmoothPiece(number, segment.start_deg + start, end - start, rise, moving, judged)
        for start, end in pairwise(sorted(cuts))
        if end - start > ANGLE_DEG
    ]


def nodes_of(motion: MotionSource, follower: Follower) -> PieceNodes:
    """Sample a motion's lift on all its pieces.

    Raises LinkRangeError if the output leaves the follower's link.
    """
    pieces = pieces_of(motion, follower)
    least = PIECE_NODES if len(pieces) <= MOST_FINE else SPLINE_NODES
    counts = np.array([_intervals(piece, motion.segments[piece.segment], least) for piece in pieces])
    table = PieceTable.of(pieces)
    theta, read, owner = places_on(table.start_deg, table.start_deg + table.length_deg, counts)
    return PieceNodes(table, theta, lift_of(follower, motion.at(wrap(read))), owner)


def places_on(start_deg: Reals, end_deg: Reals, counts: Indices) -> tuple[Reals, Reals, Indices]:
    """Divide pieces (p,) into as many intervals as counts (p,) says.

    Returns their ends, (m,) degrees, the same with both ends of each piece a hair inside it, where the motion
    is read, and the numbers of the pieces, (m,).
    """
    owner = np.repeat(np.arange(len(counts)), counts + 1)
    last = np.cumsum(counts + 1) - 1
    first = last - counts
    step = (end_deg - start_deg) / counts
    theta = (np.arange(len(owner)) - first[owner]) * step[owner] + start_deg[owner]
    theta[last] = end_deg
    read = theta.copy()
    read[first] += INSIDE_DEG
    read[last] -= INSIDE_DEG
    return theta, read, owner


def _intervals(piece: SmoothPiece, segment: SegmentSource, least: int) -> int:
    """Return the number of intervals between nodes of a piece; `least` on one of a law or of a link."""
    if segment.curve is None:
        return max(1, int(np.ceil(piece.length_deg / DWELL_DEG)))
    share = int(np.ceil(MOVE_NODES * piece.length_deg / segment.length_deg))
    return max(share, least if len(segment.curve.starts) <= MANY_PIECES else SPLINE_NODES)
