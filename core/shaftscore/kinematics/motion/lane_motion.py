"""The motion of one lane over a turn of its own stack: segments, evaluated in one numpy pass.

Angles are degrees of the lane's own stack; outputs are mm; derivatives are per radian of own angle. What is
asked of many motions at once is in `shaftscore.kinematics.motion.together`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Angles, Arcs, wrap
from shaftscore.kinematics.motion.curve import Floats, Ints, Side, read_only
from shaftscore.kinematics.motion.runs import REST, RunTable, SegmentTable
from shaftscore.kinematics.motion.segments import SAME_DEG, Segment, scaled
from shaftscore.kinematics.motion.stretches import AskedBands, MotionStretch, stretches_within

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


@dataclass(frozen=True, eq=False)
class LaneMotion:
    """The motion of a lane: segments that cover exactly one turn, sorted by start.

    Over 300 lines, since values, crossings, extremes and steps all read the same segments.

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
    def table(self) -> SegmentTable:
        """The segments as arrays."""
        return SegmentTable.of(self.segments)

    @cached_property
    def runs(self) -> RunTable:
        """The runs of the segments, in turning order."""
        return self.table.runs

    def take_tables(self, table: SegmentTable, runs: RunTable, *, has_no_corner: bool) -> None:
        """Take over the tables of segments and runs that were worked out together with other motions'.

        has_no_corner: whether it was seen that the velocity has no step.
        """
        self.__dict__.update(table=table, runs=runs)
        if has_no_corner:
            self.__dict__.update(_corners=())

    @property
    def starts_deg(self) -> Floats:
        """Starts of the segments, (q,)."""
        return self.table.starts_deg

    @property
    def lengths_deg(self) -> Floats:
        """Lengths of the segments, (q,)."""
        return self.table.lengths_deg

    def at(self, theta_deg: Angles, side: Side = "right") -> Floats:
        """Return output (mm) and its first three derivatives per radian at own angles.

        theta_deg: (n,) any angles. side: which side counts at ends of segments and joints. Returns
        (4, n).
        """
        theta = _within_a_turn(np.asarray(theta_deg, dtype=float))
        index = self._segment_at(theta, side)
        values = self.table.at(index, theta, side)
        if self.drop_mm:
            past_seam = theta < self.starts_deg[index] - SAME_DEG
            if side == "left":
                past_seam &= theta > SAME_DEG
            values[0] -= self.drop_mm * past_seam
        return values

    def rests_at(self, theta_deg: Angles, side: Side = "right") -> Ints:
        """Return the number of the rest that own angles (n,) lie in, as `segments` counts; -1 in a move."""
        index = self._segment_at(wrap(np.asarray(theta_deg, dtype=float)), side)
        return np.where((self.table.curve[index] == REST) & (self.lengths_deg[index] > 0), index, -1)

    def _segment_at(self, theta: Floats, side: Side) -> Ints:
        if side == "right":
            found = np.searchsorted(self.starts_deg, theta + SAME_DEG, side="right") - 1
        else:
            found = np.searchsorted(self.starts_deg, theta - SAME_DEG, side="left") - 1
        return np.where(found < 0, len(self.segments) - 1, found)

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
    def lowest_mm(self) -> float:
        """Least output of the turn."""
        return float(self._ends_of_runs()[0])

    @cached_property
    def highest_mm(self) -> float:
        """Greatest output of the turn."""
        return float(self._ends_of_runs()[-1])

    def _ends_of_runs(self) -> Floats:
        if not self.drop_mm:
            return np.sort(np.concatenate((self.runs.s0, self.runs.s1)))
        zero = np.zeros(1)
        seam = self.at(zero, "left")[0], self.at(zero)[0]
        return np.sort(np.concatenate((*seam, self.at(self.starts_deg)[0])))

    def stretches(self, low_mm: Sequence[float], high_mm: Sequence[float]) -> list[tuple[MotionStretch, ...]]:
        """Find where the output lies within closed bands, all of them in one pass.

        low_mm, high_mm: (b,) the bands' ends. Returns a tuple of stretches for each, in turning order
        of their starts; ends exact to 1e-9 degree. With `drop_mm` the bands count modulo it.
        """
        return stretches_within(self.runs, [self.asked(low_mm, high_mm)])[0]

    def asked(
        self, low_mm: Sequence[float], high_mm: Sequence[float], first_segment: int = 0, first_run: int = 0
    ) -> AskedBands:
        """Return what is asked for where the output lies within bands.

        first_segment, first_run: where the motion's segments and runs begin in the table that is read.
        """
        stop_run = first_run + len(self.runs.x0)
        count = len(self.segments)
        return AskedBands(low_mm, high_mm, first_run, stop_run, first_segment, count, self.drop_mm)

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
        return read_only(np.stack([self.runs.s0, self.runs.s1]))

    def reached(self, run: Ints, output_mm: Floats) -> tuple[Ints, Floats]:
        """Find where runs pass outputs that lie between those at their ends.

        run: (m,) numbers of runs that move. output_mm: (m,). Returns the segments (m,) and how far along them
        that is, (m,) as a share of their length.
        """
        return self.runs.segment[run], self.runs.solve(run, output_mm)

    @cached_property
    def segment_peaks(self) -> Floats:
        """Largest |s'|, |s''|, |s'''| of every segment, one-sided at joints: (3, q)."""
        return read_only(np.stack([self.table.peaks(order) for order in (1, 2, 3)]))

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
        return self._corners

    @cached_property
    def _corners(self) -> tuple[DerivativeStep, ...]:
        return self._steps(1)

    def acceleration_jumps(self) -> tuple[DerivativeStep, ...]:
        """Return every step of s'' (mm/rad^2), the one-sided limits at its sides; drops are left out."""
        return self._steps(2)

    def _steps(self, order: int) -> tuple[DerivativeStep, ...]:
        """Compare both sides of every end of a segment and every joint within one."""
        table, scale = self.table, STEP_SHARE * float(self.table.peaks(order).max())
        solid = np.flatnonzero(table.lengths_deg > 0)
        before = np.append(solid[-1:], solid[:-1])
        left, right = table.ends(order, 1)[before], table.ends(order, 0)[solid]
        steps = np.abs(right - left) > scale
        if self.drops:
            steps &= ~(self._is_drop[solid] | self._is_drop[before])
        rows = zip(solid[steps].tolist(), left[steps].tolist(), right[steps].tolist(), strict=True)
        found = [DerivativeStep(self.segments[index].start_deg, *sides) for index, *sides in rows]
        for index in np.flatnonzero(table.inner_steps(order) > scale).tolist():
            if not (self.drops and self._is_drop[index]):
                found += self._inner_steps(self.segments[index], order, scale)
        return tuple(sorted(found, key=lambda step: step.theta_deg))

    def _inner_steps(self, segment: Segment, order: int, scale: float) -> Iterator[DerivativeStep]:
        curve = segment.curve
        assert curve is not None
        left, right = (side[order] * _per_rad(segment, order) for side in curve.sides)
        for joint in np.flatnonzero(np.abs(right - left) > scale).tolist():
            theta = wrap(segment.start_deg + float(curve.starts[joint + 1]) * segment.length_deg)
            yield DerivativeStep(theta, float(left[joint]), float(right[joint]))

    @cached_property
    def _is_drop(self) -> npt.NDArray[np.bool_]:
        starts = {drop.start_deg for drop in self.drops}
        return np.array([s.start_deg in starts and s.rise_mm < 0 for s in self.segments])


def _within_a_turn(theta_deg: Floats) -> Floats:
    """Bring angles (n,) into 0 <= angle < 360; those that are there already cost little."""
    if len(theta_deg) and theta_deg.min() >= 0 and theta_deg.max() < TURN:
        return theta_deg
    return wrap(theta_deg)


def _per_rad(segment: Segment, order: int) -> float:
    """Return the factor from a curve's derivative to that of the output by radian."""
    return segment.rise_mm / float(np.radians(segment.length_deg)) ** order


def _ends(span: Arcs) -> tuple[float, float]:
    return span.start, span.end
