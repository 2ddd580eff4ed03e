"""The motion of one lane over a turn of its own stack: segments, evaluated in one numpy pass.

Angles are degrees of the lane's own stack; outputs are mm; derivatives are per radian of own angle.
A *run* is a longest stretch on which the output only rises, only falls or rests; every question
about levels is answered run by run by inverting the run's closed form.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Angles, Arcs, ahead, wrap
from shaftscore.kinematics.motion.curve import Curve, Floats, Ints, Side, read_only
from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.segments import SAME_DEG, Segment, scaled

SAME_MM = 1e-9
"""Outputs closer than this are the same height."""

STEP_SHARE = 1e-9
"""A change larger than this share of the peak is a step."""


class Nodes(NamedTuple):
    """Places that stand for a motion, segment by segment, ends and joints from both sides.

    theta_deg: (m,) own angles, never falling, from the first segment's start for one turn on (so up to
    720). values: (4, m) output and derivatives. segment: (m,) index of the segment.
    """

    theta_deg: Floats
    values: Floats
    segment: Ints


class Peak(NamedTuple):
    """A largest absolute value, its angle (0 <= angle < 360) and the index of its segment."""

    value: float
    theta_deg: float
    segment: int


class Extremes(NamedTuple):
    """Peaks of |s'| mm/rad, |s''| mm/rad^2 and |s'''| mm/rad^3, one-sided at steps."""

    velocity: Peak
    acceleration: Peak
    jerk: Peak


class DerivativeStep(NamedTuple):
    """A step of a derivative at an own angle: its values just before and just after."""

    theta_deg: float
    left: float
    right: float


class MotionStretch(NamedTuple):
    """A longest stretch of the turn within a band of outputs.

    segments: those that it touches, in turning order. turns: whether the output turns back in it.
    """

    span: Arcs
    segments: tuple[int, ...]
    turns: bool


@dataclass(frozen=True)
class Drop:
    """One drop of a turn: it begins at start_deg and leads to block number `block`.

    edge_deg: how long the edge falls. fall_deg: how long the output takes until it rests on the
    dwell. late_deg: how long after the block's begin that is; 0 if in time.
    """

    block: int
    start_deg: float
    edge_deg: float
    fall_deg: float
    late_deg: float


class _Runs(NamedTuple):
    """All runs in turning order: segment, curve number (-1 a rest), x and output at both ends."""

    segment: Ints
    curve: Ints
    x0: Floats
    x1: Floats
    s0: Floats
    s1: Floats


@dataclass(frozen=True, eq=False)
class LaneMotion:
    """The motion of a lane: segments that cover exactly one turn, sorted by start.

    Over 300 lines, since values, crossings, extremes and steps all read the same runs of segments.

    drop_mm: what the output falls by, without a move, at angle 0 (index lanes: the pitch); the
    segments' outputs then count on through 0. drops: moves in which the follower falls freely.
    edge_motion: what the disc's edge does, where drops make that differ (see `edge`). Raises ValueError
    if the segments do not cover a turn.
    """

    segments: tuple[Segment, ...]
    drop_mm: float = 0.0
    drops: tuple[Drop, ...] = ()
    edge_motion: LaneMotion | None = None

    def __post_init__(self) -> None:
        covered = sum(segment.length_deg for segment in self.segments)
        if abs(covered - TURN) > SAME_DEG * (1 + len(self.segments)):
            raise ValueError(f"the segments of a motion cover 360 degrees, got {covered!r}")

    @property
    def edge(self) -> LaneMotion:
        """The motion that the disc's edge prescribes: this one, unless drops fall behind it."""
        return self.edge_motion or self

    @cached_property
    def starts_deg(self) -> Floats:
        """Starts of the segments, (q,)."""
        return read_only(np.array([segment.start_deg for segment in self.segments]))

    @cached_property
    def lengths_deg(self) -> Floats:
        """Lengths of the segments, (q,)."""
        return read_only(np.array([segment.length_deg for segment in self.segments]))

    @cached_property
    def _base(self) -> Floats:
        return np.array([segment.base_mm for segment in self.segments])

    @cached_property
    def _rise(self) -> Floats:
        return np.array([segment.rise_mm for segment in self.segments])

    @cached_property
    def _curves(self) -> tuple[tuple[Curve, ...], Ints]:
        """The distinct curves, and the number of each segment's (-1 for a rest)."""
        distinct: dict[int, tuple[int, Curve]] = {}
        numbers = []
        for segment in self.segments:
            curve = segment.curve
            if curve is None or segment.length_deg == 0:
                numbers.append(-1)
            else:
                numbers.append(distinct.setdefault(id(curve), (len(distinct), curve))[0])
        return tuple(curve for _, curve in distinct.values()), np.array(numbers, dtype=np.int64)

    def at(self, theta_deg: Angles, side: Side = "right") -> Floats:
        """Return output (mm) and its first three derivatives per radian at own angles.

        theta_deg: (n,) any angles. side: which side counts at ends of segments and joints. Returns
        (4, n).
        """
        theta = wrap(np.asarray(theta_deg, dtype=float))
        index = self._segment_at(theta, side)
        start, length = self.starts_deg[index], self.lengths_deg[index]
        along = ahead(start, theta)
        # Within SAME_DEG of an end it is the end: nothing may wrap to the far side of the turn.
        near = np.minimum(along, TURN - along) < SAME_DEG
        whole = length >= TURN - SAME_DEG
        along = np.where(near, np.where(whole & (side == "left"), TURN, 0.0), along)
        x = np.clip(along / np.where(length > 0, length, 1.0), 0.0, 1.0)
        values = self._along(index, x, side)
        if self.drop_mm:
            past_seam = theta < start - SAME_DEG
            if side == "left":
                past_seam &= theta > SAME_DEG
            values[0] -= self.drop_mm * past_seam
        return values

    def rests_at(self, theta_deg: Angles, side: Side = "right") -> Ints:
        """Return the number of the rest that own angles (n,) lie in, as `segments` counts; -1 in a move."""
        index = self._segment_at(wrap(np.asarray(theta_deg, dtype=float)), side)
        return np.where((self._curves[1][index] < 0) & (self.lengths_deg[index] > 0), index, -1)

    def _segment_at(self, theta: Floats, side: Side) -> Ints:
        if side == "right":
            found = np.searchsorted(self.starts_deg, theta + SAME_DEG, side="right") - 1
        else:
            found = np.searchsorted(self.starts_deg, theta - SAME_DEG, side="left") - 1
        return np.where(found < 0, len(self.segments) - 1, found)

    def _along(self, index: Ints, x: Floats, side: Side) -> Floats:
        """Evaluate segments (n,) at x (n,): output and derivatives (4, n), not dropped at the seam."""
        values = np.zeros((4, len(x)))
        values[0] = self._base[index]
        curves, numbers = self._curves
        own = numbers[index]
        for number, curve in enumerate(curves):
            here = np.flatnonzero(own == number)
            if len(here):
                of = index[here]
                values[:, here] = scaled(
                    curve.at(x[here], side), self._base[of], self._rise[of], self.lengths_deg[of]
                )
        return values

    def _outputs(self, index: Ints, x: Floats, side: Side) -> Floats:
        """Evaluate segments (n,) at x (n,) as `_along` does, the output alone: (n,)."""
        values: Floats = self._base[index]
        curves, numbers = self._curves
        own = numbers[index]
        for number, curve in enumerate(curves):
            here = np.flatnonzero(own == number)
            if len(here):
                values[here] += curve.at(x[here], side, orders=1)[0] * self._rise[index[here]]
        return values

    def nodes(self, per_move: int = 65) -> Nodes:
        """Return places that stand for the whole motion; see `Nodes`.

        Every move has at least `per_move` of them, every dwell its two ends (a momentary stop one).
        """
        theta, values, segments = [], [], []
        for index, segment in enumerate(self.segments):
            if segment.curve is None or segment.length_deg == 0:
                x = np.array([0.0, 1.0] if segment.length_deg > 0 else [0.0])
                here = segment.at(np.full(len(x), segment.start_deg))
            else:
                x, normal = segment.curve.nodes(per_move)
                here = scaled(normal, segment.base_mm, segment.rise_mm, segment.length_deg)
            theta.append(segment.start_deg + x * segment.length_deg)
            values.append(here)
            segments.append(np.full(len(x), index))
        nodes = Nodes(np.concatenate(theta), np.concatenate(values, axis=1), np.concatenate(segments))
        return self._with_seam(nodes) if self.drop_mm else nodes

    @cached_property
    def usual_nodes(self) -> Nodes:
        """The nodes with the usual count for each move, worked out once."""
        return self.nodes()

    def _with_seam(self, nodes: Nodes) -> Nodes:
        """Let the outputs drop at 0, with a node on either side of it."""
        past = nodes.theta_deg > TURN
        nodes.values[0] -= self.drop_mm * past
        if not past.any():
            return nodes
        at = int(np.argmax(past))
        sides = np.concatenate([self.at(np.zeros(1), "left"), self.at(np.zeros(1))], axis=1)
        return Nodes(
            np.insert(nodes.theta_deg, at, [TURN, TURN]),
            np.insert(nodes.values, [at, at], sides, axis=1),
            np.insert(nodes.segment, at, [nodes.segment[at]] * 2),
        )

    @cached_property
    def _runs(self) -> _Runs:
        curves, numbers = self._curves
        segment, curve, x0, x1 = [], [], [], []
        for index, number in enumerate(numbers):
            ends = [0.0, 1.0] if number < 0 else curves[number].runs
            segment += [index] * (len(ends) - 1)
            curve += [int(number)] * (len(ends) - 1)
            x0 += list(ends[:-1])
            x1 += list(ends[1:])
        of, left, right = np.array(segment, dtype=np.int64), np.array(x0), np.array(x1)
        s0, s1 = self._outputs(of, left, "right"), self._outputs(of, right, "left")
        return _Runs(of, np.array(curve, dtype=np.int64), left, right, s0, s1)

    @cached_property
    def lowest_mm(self) -> float:
        """Least output of the turn."""
        return float(self._ends_of_runs()[0])

    @cached_property
    def highest_mm(self) -> float:
        """Greatest output of the turn."""
        return float(self._ends_of_runs()[-1])

    def _ends_of_runs(self) -> Floats:
        zero = np.zeros(1)
        seam = self.at(zero, "left")[0], self.at(zero)[0]
        starts = self.at(self.starts_deg)[0]
        if self.drop_mm:
            return np.sort(np.concatenate((*seam, starts)))
        return np.sort(np.concatenate((*seam, self._runs.s0, self._runs.s1)))

    def stretches(self, low_mm: Sequence[float], high_mm: Sequence[float]) -> list[tuple[MotionStretch, ...]]:
        """Find where the output lies within closed bands, all of them in one pass.

        low_mm, high_mm: (b,) the bands' ends. Returns a tuple of stretches for each, in turning order
        of their starts; ends exact to 1e-9 degree. With `drop_mm` the bands count modulo it.
        """
        lows, highs = np.array(low_mm, dtype=float), np.array(high_mm, dtype=float)
        owner = np.arange(len(lows))
        if self.drop_mm:
            lows, highs, owner = self._modulo(lows, highs)
        found = self._pieces(lows, highs)
        result: list[tuple[MotionStretch, ...]] = []
        for band in range(len(low_mm)):
            if self.drop_mm and high_mm[band] - low_mm[band] >= self.drop_mm:
                result.append((MotionStretch(Arcs.full(), tuple(range(len(self.segments))), True),))
                continue
            mine = [piece for piece in found if owner[piece[0]] == band]
            result.append(self._joined(sorted(piece[1:] for piece in mine)))
        return result

    def _modulo(self, lows: Floats, highs: Floats) -> tuple[Floats, Floats, Ints]:
        """Repeat bands by the pitch wherever the counted-on outputs reach."""
        least = min(self._runs.s0.min(), self._runs.s1.min())
        most = max(self._runs.s0.max(), self._runs.s1.max())
        first = int(np.floor((least - highs.max()) / self.drop_mm))
        last = int(np.ceil((most - lows.min()) / self.drop_mm))
        shifts = np.arange(first, last + 1) * self.drop_mm
        owner = np.tile(np.arange(len(lows)), len(shifts))
        by = np.repeat(shifts, len(lows))
        return lows[owner] + by, highs[owner] + by, owner

    def _pieces(self, lows: Floats, highs: Floats) -> list[tuple[int, int, float, float]]:
        """Return (band, run, x at begin, x at end) of every run's part within every band."""
        runs = self._runs
        low, high = lows[:, None], highs[:, None]
        first_in = (runs.s0 >= low - SAME_MM) & (runs.s0 <= high + SAME_MM)
        last_in = (runs.s1 >= low - SAME_MM) & (runs.s1 <= high + SAME_MM)
        through = (np.minimum(runs.s0, runs.s1) < low) & (np.maximum(runs.s0, runs.s1) > high)
        band, run = np.nonzero(first_in | last_in | through)
        rising = runs.s1[run] > runs.s0[run]
        begin, end = runs.x0[run].copy(), runs.x1[run].copy()
        enters, leaves = ~first_in[band, run], ~last_in[band, run]
        targets = np.concatenate(
            (
                np.where(rising, lows[band], highs[band])[enters],
                np.where(rising, highs[band], lows[band])[leaves],
            )
        )
        roots = self._solve(np.concatenate((run[enters], run[leaves])), targets)
        count = int(enters.sum())
        begin[enters], end[leaves] = roots[:count], roots[count:]
        rows = zip(band, run, begin, end, strict=True)
        return [(int(b), int(r), float(x0), float(x1)) for b, r, x0, x1 in rows]

    def _solve(self, run: Ints, target: Floats) -> Floats:
        """Find x on runs (m,) where the output is target (m,): one pass a distinct curve."""
        runs = self._runs
        x = np.zeros(len(run))
        for number, curve in enumerate(self._curves[0]):
            here = np.flatnonzero(runs.curve[run] == number)
            if len(here):
                of = run[here]
                x[here] = self._solve_on(curve, of, target[here])
        # At a run's very end the slope may vanish: there the end itself is the root.
        x = np.where(np.abs(target - runs.s0[run]) <= SAME_MM, runs.x0[run], x)
        return np.where(np.abs(target - runs.s1[run]) <= SAME_MM, runs.x1[run], x)

    def _solve_on(self, curve: Curve, run: Ints, target: Floats) -> Floats:
        runs = self._runs
        if not isinstance(curve, Law) or len(curve.runs) > 2:
            segment = runs.segment[run]
            y = (target - self._base[segment]) / self._rise[segment]
            return curve.invert(y, runs.x0[run], runs.x1[run])
        rise = runs.s1[run] - runs.s0[run]
        from_start, from_end = (target - runs.s0[run]) / rise, (runs.s1[run] - target) / rise
        # Counted from the nearer end, no digits are lost where a law leaves its dwell.
        early = from_start <= from_end
        if curve.symmetric:
            x = curve.inverse(np.where(early, from_start, from_end))
            return np.where(early, x, 1 - x)
        x = np.empty(len(run))
        x[early] = curve.inverse(from_start[early])
        x[~early] = 1 - curve.mirrored.inverse(from_end[~early])
        return x

    def _joined(self, pieces: list[tuple[int, float, float]]) -> tuple[MotionStretch, ...]:
        """Join parts of successive runs (run, x0, x1) that meet at the runs' ends."""
        if not pieces:
            return ()
        groups: list[list[tuple[int, float, float]]] = []
        for piece in pieces:
            if groups and self._meet(groups[-1][-1], piece):
                groups[-1].append(piece)
            else:
                groups.append([piece])
        closes = self._meet(pieces[-1], pieces[0])
        if closes and len(groups) == 1:
            return (MotionStretch(Arcs.full(), self._segments_of(pieces), True),)
        if closes:
            groups[0] = groups.pop() + groups[0]
        found = [
            MotionStretch(self._span(group), self._segments_of(group), self._turns(group)) for group in groups
        ]
        return tuple(sorted(found, key=lambda stretch: stretch.span.start))

    def _turns(self, group: list[tuple[int, float, float]]) -> bool:
        return len({self._directions[run] for run, _, _ in group}) > 1

    @cached_property
    def _directions(self) -> list[float]:
        """Which way each run goes: 1 up, -1 down, 0 a rest."""
        directions: list[float] = np.sign(self._runs.s1 - self._runs.s0).tolist()
        return directions

    def _meet(self, one: tuple[int, float, float], following: tuple[int, float, float]) -> bool:
        runs = self._runs
        next_run = one[0] + 1 if one[0] + 1 < len(runs.x0) else 0
        ends = one[2] == runs.x1[one[0]] and following[1] == runs.x0[following[0]]
        return bool(following[0] == next_run and ends)

    def _segments_of(self, pieces: list[tuple[int, float, float]]) -> tuple[int, ...]:
        return tuple(dict.fromkeys(int(self._runs.segment[run]) for run, _, _ in pieces))

    def _span(self, group: list[tuple[int, float, float]]) -> Arcs:
        lengths = [self._length(run) * (x1 - x0) for run, x0, x1 in group]
        run, x0, _ = group[0]
        segment = self.segments[int(self._runs.segment[run])]
        # Both ends of a stretch thinner than rounding may come out a hair the wrong way round.
        length = max(0.0, float(sum(lengths)))
        return Arcs.span(segment.start_deg + x0 * segment.length_deg, length)

    def _length(self, run: int) -> float:
        return float(self.lengths_deg[self._runs.segment[run]])

    def crossings(self, output_mm: float) -> Floats:
        """Return the own angles at which the output reaches `output_mm`, rising.

        A rest at that very height counts with its two ends. (q,) angles, 0 <= angle < 360.
        """
        found = self.stretches([output_mm], [output_mm])[0]
        ends = [end for stretch in found if not stretch.span.is_full for end in _ends(stretch.span)]
        return np.array(sorted(set(ends)))

    @cached_property
    def run_ends_mm(self) -> Floats:
        """Outputs at both ends of every run, where the output only rises, only falls or rests: (2, r)."""
        return read_only(np.stack([self._runs.s0, self._runs.s1]))

    def reached(self, run: Ints, output_mm: Floats) -> tuple[Ints, Floats]:
        """Find where runs pass outputs that lie between those at their ends.

        run: (m,) numbers of runs that move. output_mm: (m,). Returns the segments (m,) and how far along them
        that is, (m,) as a share of their length.
        """
        return self._runs.segment[run], self._solve(run, output_mm)

    @cached_property
    def segment_peaks(self) -> Floats:
        """Largest |s'|, |s''|, |s'''| of every segment, one-sided at joints: (3, q)."""
        peaks = np.zeros((3, len(self.segments)))
        for index, segment in enumerate(self.segments):
            if segment.curve is not None and segment.length_deg > 0:
                beta = np.radians(segment.length_deg)
                for order in (1, 2, 3):
                    largest = segment.curve.peaks[order - 1][0]
                    peaks[order - 1, index] = largest * abs(segment.rise_mm) / beta**order
        return read_only(peaks)

    def extremes(self) -> Extremes:
        """Return the peaks of velocity, acceleration and jerk of the turn, one-sided at steps."""
        return Extremes(*(self._peak(order) for order in (1, 2, 3)))

    def _peak(self, order: int) -> Peak:
        index = int(np.argmax(self.segment_peaks[order - 1]))
        segment = self.segments[index]
        x = segment.curve.peaks[order - 1][1] if segment.curve is not None else 0.0
        theta = wrap(segment.start_deg + x * segment.length_deg)
        return Peak(float(self.segment_peaks[order - 1, index]), theta, index)

    def velocity_jumps(self) -> tuple[DerivativeStep, ...]:
        """Return every step of s' (mm/rad): a corner in the motion. Drops, which land hard, are left out."""
        return self._steps(1)

    def acceleration_jumps(self) -> tuple[DerivativeStep, ...]:
        """Return every step of s'' (mm/rad^2), the one-sided limits at its sides; drops are left out."""
        return self._steps(2)

    def _steps(self, order: int) -> tuple[DerivativeStep, ...]:
        """Compare both sides of every end of a segment and every joint within one."""
        solid = [index for index, segment in enumerate(self.segments) if segment.length_deg > 0]
        scale = STEP_SHARE * self.segment_peaks[order - 1].max()
        found: list[DerivativeStep] = []
        for before, index in zip([solid[-1], *solid[:-1]], solid, strict=True):
            segment, is_drop = self.segments[index], bool(self._is_drop[index])
            left, right = self._end_of(before, order, 1), self._end_of(index, order, 0)
            if abs(right - left) > scale and not (is_drop or self._is_drop[before]):
                found.append(DerivativeStep(segment.start_deg, left, right))
            if segment.curve is not None and not is_drop:
                found += self._inner_steps(segment, segment.curve, order, scale)
        return tuple(sorted(found, key=lambda step: step.theta_deg))

    def _end_of(self, index: int, order: int, end: int) -> float:
        """Return a derivative by radian at the start (0) or the end (1) of a segment, from inside."""
        segment = self.segments[index]
        if segment.curve is None:
            return 0.0
        return float(segment.curve.ends[end][order]) * _per_rad(segment, order)

    def _inner_steps(
        self, segment: Segment, curve: Curve, order: int, scale: float
    ) -> Iterator[DerivativeStep]:
        left, right = (side[order] * _per_rad(segment, order) for side in curve.sides)
        for joint in np.flatnonzero(np.abs(right - left) > scale).tolist():
            theta = wrap(segment.start_deg + float(curve.starts[joint + 1]) * segment.length_deg)
            yield DerivativeStep(theta, float(left[joint]), float(right[joint]))

    @cached_property
    def _is_drop(self) -> npt.NDArray[np.bool_]:
        starts = {drop.start_deg for drop in self.drops}
        return np.array([s.start_deg in starts and s.rise_mm < 0 for s in self.segments])


def _per_rad(segment: Segment, order: int) -> float:
    """Return the factor from a curve's derivative to that of the output by radian."""
    return segment.rise_mm / float(np.radians(segment.length_deg)) ** order


def _ends(span: Arcs) -> tuple[float, float]:
    return span.start, span.end
