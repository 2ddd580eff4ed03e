"""Segments and runs as arrays, of one motion or of many: all that lie on one curve in one call.

Angles are degrees of the lane's own stack, outputs mm, derivatives per radian of own angle. A *run* is a
longest stretch on which the output only rises, only falls or rests; every question about levels is answered
run by run by inverting the run's closed form. A table of many motions holds their segments one motion after
the other; a motion's own table is a part of it, so that what many ask together and what one asks are worked
out by the same lines.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import TURN, ahead
from shaftscore.kinematics.motion.curve import Curve, Floats, Ints, Side, read_only
from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.segments import SAME_DEG, Segment, scaled

SAME_MM = 1e-9
"""Outputs closer than this are the same height."""

REST = -1
"""The number of the curve of a segment that rests."""


class TableCurves(tuple[Curve, ...]):
    """The distinct curves of a table, and their figures in arrays; the last entry of each is a rest's."""

    @cached_property
    def peaks(self) -> Floats:
        """Largest |y'|, |y''|, |y'''|, one-sided at joints: (3, c + 1)."""
        return self._figures([[peak for peak, _ in curve.peaks] for curve in self], 3)

    @cached_property
    def ends(self) -> Floats:
        """Values and derivatives at x = 0 and at x = 1, from inside: (2, 4, c + 1)."""
        return np.stack([self._figures([curve.ends[end] for curve in self], 4) for end in (0, 1)])

    @cached_property
    def steps(self) -> Floats:
        """Largest steps of y and its derivatives at a joint, without sign: (4, c + 1)."""
        return self._figures([curve.steps_at_joints for curve in self], 4)

    @staticmethod
    def _figures(rows: Sequence[Sequence[float] | Floats], count: int) -> Floats:
        return np.array([*rows, [0.0] * count]).T


@dataclass(frozen=True, eq=False)
class SegmentTable:
    """Segments as arrays, (q,) each; build it with `SegmentTable.of`.

    starts_deg, lengths_deg; base_mm, rise_mm: output at the start and travel; curve: number of the segment's
    curve among `curves`, `REST` where it has none or no length.
    """

    starts_deg: Floats
    lengths_deg: Floats
    base_mm: Floats
    rise_mm: Floats
    curve: Ints
    curves: TableCurves

    @classmethod
    def of(cls, segments: Iterable[Segment]) -> SegmentTable:
        """Lay segments out as arrays; a curve that several share stands there once."""
        distinct: dict[int, int] = {}
        curves: list[Curve] = []
        rows, numbers = [], []
        for segment in segments:
            curve = segment.curve
            rows.append((segment.start_deg, segment.length_deg, segment.base_mm, segment.rise_mm))
            if curve is None or segment.length_deg == 0:
                numbers.append(REST)
                continue
            number = distinct.setdefault(id(curve), len(curves))
            if number == len(curves):
                curves.append(curve)
            numbers.append(number)
        start, length, base, rise = read_only(np.array(rows).reshape(-1, 4).T.copy())
        return cls(start, length, base, rise, np.array(numbers, dtype=np.int64), TableCurves(curves))

    def part(self, first: int, stop: int) -> SegmentTable:
        """Return the table of some segments, those from `first` to before `stop`."""
        some = slice(first, stop)
        return SegmentTable(
            starts_deg=self.starts_deg[some],
            lengths_deg=self.lengths_deg[some],
            base_mm=self.base_mm[some],
            rise_mm=self.rise_mm[some],
            curve=self.curve[some],
            curves=self.curves,
        )

    def at(self, segment: Ints, theta_deg: Floats, side: Side) -> Floats:
        """Evaluate segments (n,) at own angles (n,) within them, 0 to 360: output and derivatives (4, n)."""
        values = np.zeros((4, len(segment)))
        values[0] = self.base_mm[segment]
        for curve, here in self.by_curve(self.curve[segment]):
            of = segment[here]
            x = self._share(of, theta_deg[here], side)
            values[:, here] = scaled(
                curve.at(x, side), self.base_mm[of], self.rise_mm[of], self.lengths_deg[of]
            )
        return values

    def _share(self, segment: Ints, theta_deg: Floats, side: Side) -> Floats:
        """Return how far along segments (n,) of some length angles (n,) are, as a share of it: (n,)."""
        length = self.lengths_deg[segment]
        along = ahead(self.starts_deg[segment], theta_deg)
        # Within SAME_DEG of an end it is the end: nothing may wrap to the far side of the turn.
        near = np.minimum(along, TURN - along) < SAME_DEG
        if near.any():
            end = np.where(length >= TURN - SAME_DEG, TURN, 0.0) if side == "left" else 0.0
            along = np.where(near, end, along)
        shares: Floats = np.clip(along / length, 0.0, 1.0)
        return shares

    def outputs(self, segment: Ints, x: Floats, side: Side) -> Floats:
        """Evaluate segments (n,) at shares x (n,) of their lengths, the output alone: (n,)."""
        values: Floats = self.base_mm[segment]
        for curve, here in self.by_curve(self.curve[segment]):
            values[here] += curve.at(x[here], side, orders=1)[0] * self.rise_mm[segment[here]]
        return values

    def peaks(self, order: int) -> Floats:
        """Return the largest |derivative| (order 1 to 3) of every segment, one-sided at joints: (q,)."""
        return np.abs(self._of_curves(self.curves.peaks[order - 1], order))

    def ends(self, order: int, end: int) -> Floats:
        """Return a derivative at the start (0) or the end (1) of every segment, from inside: (q,)."""
        return self._of_curves(self.curves.ends[end, order], order)

    def inner_steps(self, order: int) -> Floats:
        """Return the largest step of a derivative at a joint within every segment, without sign: (q,)."""
        return np.abs(self._of_curves(self.curves.steps[order], order))

    def _of_curves(self, values: Floats, order: int) -> Floats:
        """Bring a derivative of the curves, (c + 1,), to that of the output by radian: (q,), 0 in rests."""
        moving = self.curve >= 0
        beta = np.radians(self.lengths_deg) ** order
        found = np.zeros(len(moving))
        np.divide(values[self.curve] * self.rise_mm, beta, out=found, where=moving)
        return found

    def by_curve(self, number: Ints) -> Iterator[tuple[Curve, Ints]]:
        """Yield each curve that occurs among numbers (n,), and where it does: (k,) places, rising."""
        moving = np.flatnonzero(number >= 0)
        if not len(moving):
            return
        own = number[moving]
        if own[0] == own[-1] and (own == own[0]).all():  # mostly all follow one law
            yield self.curves[own[0]], moving
            return
        order = np.argsort(own, kind="stable")
        ordered = own[order]
        cuts = [0, *(np.flatnonzero(ordered[1:] != ordered[:-1]) + 1).tolist(), len(own)]
        for first, stop in pairwise(cuts):
            yield self.curves[ordered[first]], moving[order[first:stop]]

    @cached_property
    def runs(self) -> RunTable:
        """All runs of the segments, in their order."""
        ends = [curve.runs.tolist() for curve in self.curves]
        segment: list[int] = []
        x0: list[float] = []
        x1: list[float] = []
        for index, number in enumerate(self.curve.tolist()):
            places = (0.0, 1.0) if number < 0 else ends[number]
            segment += [index] * (len(places) - 1)
            x0 += places[:-1]
            x1 += places[1:]
        of, left, right = np.array(segment, dtype=np.int64), np.array(x0), np.array(x1)
        outputs = self.outputs(of, left, "right"), self.outputs(of, right, "left")
        return RunTable(self, of, left, right, *outputs)


@dataclass(frozen=True, eq=False)
class RunTable:
    """All runs of a table in turning order: segment, x and output at both ends, (r,) each."""

    table: SegmentTable
    segment: Ints
    x0: Floats
    x1: Floats
    s0: Floats
    s1: Floats

    def part(self, table: SegmentTable, first_segment: int, first: int, stop: int) -> RunTable:
        """Return the runs from `first` to before `stop`: those of a part of the table, from first_segment."""
        some = slice(first, stop)
        ends = (column[some] for column in (self.x0, self.x1, self.s0, self.s1))
        return RunTable(table, self.segment[some] - first_segment, *ends)

    def within(self, run: Ints, low_mm: Floats, high_mm: Floats) -> tuple[Ints, Floats, Floats]:
        """Find which part of runs (p,) lies within bands (p,) of outputs, one each.

        Returns the places (k,) of the pairs that have one, and x at its begin and end, (k,) each.
        """
        s0, s1 = self.s0[run], self.s1[run]
        low, high = low_mm - SAME_MM, high_mm + SAME_MM
        first_in, last_in = (s0 >= low) & (s0 <= high), (s1 >= low) & (s1 <= high)
        through = (np.minimum(s0, s1) < low_mm) & (np.maximum(s0, s1) > high_mm)
        pair = np.flatnonzero(first_in | last_in | through)
        run, low, high, rising = run[pair], low_mm[pair], high_mm[pair], s1[pair] > s0[pair]
        begin, end = self.x0[run], self.x1[run]
        enters, leaves = np.flatnonzero(~first_in[pair]), np.flatnonzero(~last_in[pair])
        if len(enters) or len(leaves):
            near = np.where(rising, low, high)[enters]
            far = np.where(rising, high, low)[leaves]
            roots = self.solve(np.concatenate((run[enters], run[leaves])), np.concatenate((near, far)))
            begin[enters], end[leaves] = roots[: len(enters)], roots[len(enters) :]
        return pair, begin, end

    def solve(self, run: Ints, output_mm: Floats) -> Floats:
        """Find x on runs (m,) where the output is output_mm (m,): one pass a distinct curve."""
        x = np.zeros(len(run))
        for curve, here in self.table.by_curve(self.table.curve[self.segment[run]]):
            x[here] = self._solve_on(curve, run[here], output_mm[here])
        # At a run's very end the slope may vanish: there the end itself is the root.
        x = np.where(np.abs(output_mm - self.s0[run]) <= SAME_MM, self.x0[run], x)
        return np.where(np.abs(output_mm - self.s1[run]) <= SAME_MM, self.x1[run], x)

    def _solve_on(self, curve: Curve, run: Ints, target: Floats) -> Floats:
        if not isinstance(curve, Law) or len(curve.runs) > 2:
            segment = self.segment[run]
            y = (target - self.table.base_mm[segment]) / self.table.rise_mm[segment]
            return curve.invert(y, self.x0[run], self.x1[run])
        rise = self.s1[run] - self.s0[run]
        from_start, from_end = (target - self.s0[run]) / rise, (self.s1[run] - target) / rise
        # Counted from the nearer end, no digits are lost where a law leaves its dwell.
        early = from_start <= from_end
        if curve.symmetric:
            x = curve.inverse(np.where(early, from_start, from_end))
            return np.where(early, x, 1 - x)
        x = np.empty(len(run))
        x[early] = curve.inverse(from_start[early])
        x[~early] = 1 - curve.mirrored.inverse(from_end[~early])
        return x
