"""When many machines are in a state: their intervals, each machine's own, in one pass of arrays.

*Lift* is the roller's way; profile errors stand at the roller, so a machine whose profile is e higher is
in a state where the nominal lift lies within the state's lifts less e. A *run* is a longest stretch on
which the lift only rises, only falls or rests; runs meet at *joints*. On each run the lift is inverted
through a table, dense around the state's end, whose nodes crowd towards the run's own ends: there the lift
leaves a rest so flatly that a small error of height is a large one of angle. A table is exact to
about 1e-4 degree.

Machines differ in which intervals they have: a level that is not reached any more loses its own, one that
is barely left joins two. So an interval is known by the run on which it *begins* (`RunIntervals`), in each
machine on its own; in machines without one it is absent. What the table is off in the nominal machine, row 0,
is taken from all: that machine has the exact times of its motion. A range that begins or ends at the lane's
own extreme output, or beyond, is open there: all travel beyond it counts. Angles are own, degrees,
arrays (n,) over machines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, turn_to
from shaftscore.base.once import once
from shaftscore.built.arrays import Reals as Floats
from shaftscore.judge.spread.contact import ContactTable, SeatErrors
from shaftscore.judge.spread.play import LateFlanks
from shaftscore.kinematics.followers import lift_alone
from shaftscore.kinematics.motion.blocks import alike
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.runs import SAME_MM
from shaftscore.kinematics.motion.segments import Dwell, Segment, TurnSpline
from shaftscore.kinematics.motion.states import StateInterval, level_intervals, range_intervals
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, LevelState, RangeState
from shaftscore.model.driven import driven_follower
from shaftscore.model.lanes import Follower

T = TypeVar("T", bound=np.generic)

Bools = npt.NDArray[np.bool_]

Indices = npt.NDArray[np.intp]

NEAR_DEG = 0.05
"""A table is not off by more than this, degrees."""

_COARSE, _FINE, _EVEN = 65, 129, 1025
_EVEN_DEG = 1e-4
"""Even steps are taken where successive ones differ by less than this, degrees: an eighth of it is lost."""


def _crowded(count: int) -> Floats:
    """Return places from 0 to 1 that crowd towards both ends."""
    places: Floats = (1.0 - np.cos(np.pi * np.arange(count) / (count - 1))) / 2.0
    return places


_CROWDED_COARSE, _CROWDED_FINE = _crowded(_COARSE), _crowded(_FINE)

NO_WAY = np.zeros(())
"""The way through a joint at which a lane is not in its state, degrees, of all machines."""

FEW_MACHINES, MOST_FEW = 512, 128
"""Intervals of no more machines than this are kept with a lane, of so many states and errors: an edit of
another lane then asks for the same ones."""

MOST_FINE = 64
"""Stretches of a run of which tables are kept."""


@dataclass(frozen=True, eq=False)
class RunIntervals:
    """Intervals that begin on one run, (n,) each: unrolled start, length, whether there is one and is meant.

    length: 0 to 360. meant: a block that asks for the state lies in it.
    """

    start: Floats
    length: Floats
    present: Bools
    meant: Bools

    def taken(self, which: Indices) -> RunIntervals:
        """Return each machine the values of another; which: (n,) their numbers."""
        return RunIntervals(self.start[which], self.length[which], self.present[which], self.meant[which])

    def first(self, count: int) -> RunIntervals:
        """Return those of the first machines."""
        return RunIntervals(self.start[:count], self.length[:count], self.present[:count], self.meant[:count])

    def of(self, count: int) -> RunIntervals:
        """Return a value for every machine, where all have the same one."""
        return RunIntervals(
            _each(self.start, count),
            _each(self.length, count),
            _each(self.present, count),
            _each(self.meant, count),
        )


def _each(values: npt.NDArray[T], count: int) -> npt.NDArray[T]:
    return values if values.ndim else np.broadcast_to(values, (count,))


@dataclass(frozen=True, eq=False)
class RangedValues:
    """Lifts of machines, (n,) mm or one, and the least and greatest of them, by which most are compared."""

    values: Floats
    least: float
    most: float

    @staticmethod
    def of(values: Floats) -> RangedValues:
        """Find the least and the greatest."""
        return RangedValues(values, float(values.min()), float(values.max()))

    def is_over(self, other: RangedValues, by: float) -> Bools:
        """Return where these and `by`, mm, are greater than others; one value where all are alike."""
        if self.least + by > other.most:
            return np.asarray(True)
        return np.asarray(False) if self.most + by <= other.least else _plain(self.values + by > other.values)

    def is_under(self, other: RangedValues, by: float) -> Bools:
        """Return where these and `by`, mm, are less than others; one value where all are alike."""
        if self.most + by < other.least:
            return np.asarray(True)
        return np.asarray(False) if self.least + by >= other.most else _plain(self.values + by < other.values)


@dataclass(frozen=True, eq=False)
class LaneErrors:
    """What moves one lane's intervals in n machines, beside an angle that is the same at every contact.

    height_mm: (n,) by how much higher its roller is at every contact. link_mm: by how much higher its output
    is after a rise and after a fall, (n,) or one 0. zero_mm: by how much higher its output is adjusted, (n,)
    or one 0. seat: what differs by the contact. flanks: what loose joints do at each move.
    """

    height_mm: Floats
    link_mm: tuple[Floats, Floats]
    zero_mm: Floats
    seat: SeatErrors | None = None
    flanks: LateFlanks | None = None
    _joints: list[tuple[RangedValues, RangedValues]] = field(default_factory=list, repr=False)

    def at_joints(self, runs: Sequence[_Run]) -> list[tuple[RangedValues, RangedValues]]:
        """Return the least and greatest lift errors at the joint before each run, over the dwells beside it.

        They are the same for all states of the lane, and kept.
        """
        if not self._joints:
            self._joints.extend(_off_at_joints(runs, self.seat))
        return self._joints

    @property
    def count(self) -> int:
        """How many machines."""
        return len(self.height_mm)

    @cached_property
    def outputs_mm(self) -> tuple[Floats, ...]:
        """By how much higher the output is after a rise and after a fall; one entry where both are alike."""
        up, down = self.link_mm
        return (up + self.zero_mm,) if up is down else (up + self.zero_mm, down + self.zero_mm)

    @property
    def digits(self) -> tuple[object, ...]:
        """Every number of them, but for those of loose joints: the same ones give the same intervals."""
        up, down = self.link_mm
        lifts = (self.height_mm, up, down, self.zero_mm)
        seat = () if self.seat is None else self.seat.digits
        return (up is down, *(one.tobytes() for one in lifts), *seat)

    def taken(self, which: Indices) -> LaneErrors:
        """Return those of some machines; which: (k,) their numbers."""
        up, down = self.link_mm
        first = _taken(up, which)
        return LaneErrors(
            self.height_mm[which],
            (first, first if up is down else _taken(down, which)),
            _taken(self.zero_mm, which),
            None if self.seat is None else self.seat.taken(which),
            None if self.flanks is None else self.flanks.taken(which),
        )


def _taken(values: Floats, which: Indices) -> Floats:
    return values[which] if values.ndim else values


@dataclass(frozen=True, eq=False)
class _Run:
    """One run: its part of a segment's curve, and the lifts and unrolled angles at its ends."""

    segment: Segment
    x0: float
    x1: float
    start: float
    end: float
    lift0: float
    lift1: float
    follower: Follower
    number: int = 0
    _passed: dict[float, float] = field(default_factory=dict, repr=False)
    _fine: dict[tuple[int, int], tuple[Floats, Floats]] = field(default_factory=dict, repr=False)

    def passes(self, lift_mm: float) -> float:
        """Return about where on the run a lift is passed in the nominal machine, unrolled degrees."""
        if lift_mm not in self._passed:
            x, table = self.coarse
            asked = float(np.interp(self.way * lift_mm, np.maximum.accumulate(table), x))
            self._passed[lift_mm] = self.start + (asked - self.x0) * self.segment.length_deg
        return self._passed[lift_mm]

    def fine(self, first: int, last: int) -> tuple[Floats, Floats]:
        """Return how far the lift went its way, rising, and the unrolled angles, between two coarse places.

        They are kept: most machines of a lane ask for the same stretches.
        """
        if (first, last) not in self._fine:
            x, _ = self.coarse
            x = x[first] + (x[last] - x[first]) * _CROWDED_FINE
            table = np.maximum.accumulate(self.way * self._lifts(x, (first, last)))
            angles = self.start + (x - self.x0) * self.segment.length_deg
            if len(self._fine) >= MOST_FINE:
                self._fine.clear()
            self._fine[first, last] = table, angles
        return self._fine[first, last]

    @cached_property
    def coarse(self) -> tuple[Floats, Floats]:
        """Return places along the run, crowded at its ends, and how far the lift went its way there."""
        x = self.x0 + (self.x1 - self.x0) * _CROWDED_COARSE
        return x, self.way * self._lifts(x, None)

    def _lifts(self, x: Floats, between: tuple[int, int] | None) -> Floats:
        """Return the lifts at the coarse places x, (n,), or at the fine ones between two of these.

        Lanes that move by one law share its curve: what lies on all of it is evaluated once for all of them.
        """
        curve = self.segment.curve
        if curve is None or (self.x0, self.x1) != (0.0, 1.0):
            return _lifts(self.follower, self.segment, x)
        shape = once(curve, ("places", between), lambda: curve.at(x, orders=1)[0])
        return _lift_at(self.follower, shape * self.segment.rise_mm + self.segment.base_mm)

    @property
    def way(self) -> int:
        """1 for a rise, -1 for a fall, 0 for a rest."""
        return (self.lift1 > self.lift0) - (self.lift1 < self.lift0)


@dataclass(frozen=True, eq=False)
class Wanted:
    """Lifts between which machines are in a state, after a rise and after a fall: scalars or (n,).

    Without what differs by the contact. nominal: the lifts in the nominal machine. below, above: what is
    less, or greater, is outside them.
    """

    low: tuple[Floats, Floats]
    high: tuple[Floats, Floats]
    nominal: tuple[float, float]
    errors: LaneErrors

    @cached_property
    def below(self) -> tuple[RangedValues, RangedValues]:
        """What is less is below the lifts, after a rise and after a fall."""
        return _both(self.low, -SAME_MM)

    @cached_property
    def above(self) -> tuple[RangedValues, RangedValues]:
        """What is greater is above the lifts, after a rise and after a fall."""
        return _both(self.high, SAME_MM)


def _both(ways: tuple[Floats, Floats], by: float) -> tuple[RangedValues, RangedValues]:
    first = RangedValues.of(ways[0] + by)
    return first, first if ways[1] is ways[0] else RangedValues.of(ways[1] + by)


@dataclass(frozen=True, eq=False)
class LaneRuns:
    """The runs of one lane, in turning order, ready to be asked for states."""

    lane: Lane
    motion: LaneMotion
    named: Lane
    profile: Profile | None = None
    _known: dict[LevelState | RangeState, tuple[StateInterval, ...]] = field(default_factory=dict, repr=False)
    _few: dict[tuple[LevelState | RangeState, tuple[object, ...]], tuple[RunIntervals, ...]] = field(
        default_factory=dict, repr=False
    )

    @cached_property
    def contacts(self) -> ContactTable | None:
        """Contacts of the follower over the turn; None without a profile."""
        return None if self.profile is None else ContactTable.of(self.profile)

    @cached_property
    def runs(self) -> tuple[_Run, ...]:
        """All runs, from the first segment's start on."""
        return tuple(self._made())

    def _made(self) -> Iterator[_Run]:
        begin, follower = self.motion.segments[0].start_deg, driven_follower(self.lane)
        for number, segment in enumerate(self.motion.segments):
            curve, length = segment.curve, segment.length_deg
            ends = (0.0, 1.0) if curve is None or length == 0 else curve.runs
            lifts = _lifts(follower, segment, np.array(ends))
            for place, (x0, x1) in enumerate(pairwise(ends)):
                first, last = float(lifts[place]), float(lifts[place + 1])
                start, end = begin + x0 * length, begin + x1 * length
                yield _Run(segment, x0, x1, start, end, first, last, follower, number)
            begin += length

    def intervals(self, state: LevelState | RangeState, errors: LaneErrors) -> tuple[RunIntervals, ...]:
        """Return the intervals of a state for machines with the errors of n machines."""
        if self.motion.drop_mm:
            return self._unmoved(state, errors.count)
        if errors.count > FEW_MACHINES or errors.flanks is not None:
            return self._intervals(state, errors)
        key = (state, errors.digits)
        if key not in self._few:
            if len(self._few) >= MOST_FEW:
                self._few.clear()
            self._few[key] = self._intervals(state, errors)
        return self._few[key]

    def _intervals(self, state: LevelState | RangeState, errors: LaneErrors) -> tuple[RunIntervals, ...]:
        found = _found(self, self._wanted(state, errors), self._asks(state))
        return tuple(self._corrected(state, one.of(errors.count)) for one in found)

    def _corrected(self, state: LevelState | RangeState, found: RunIntervals) -> RunIntervals:
        """Move intervals by what the table is off in the nominal machine."""
        exact = self._exact(state) if found.present[0] and found.length[0] < TURN else ()
        start = float(found.start[0])
        off = min((turn_to(start, interval.span.start) for interval in exact), key=abs, default=TURN)
        if abs(off) > NEAR_DEG:
            return found
        length = next(i.span.length for i in exact if turn_to(start, i.span.start) == off)
        longer = found.length + (length - found.length[0])
        whole = _plain(found.length >= TURN)
        return replace(
            found,
            start=_chosen(whole, found.start, found.start + off),
            length=_chosen(whole, found.length, np.clip(longer, 0.0, TURN)),
        )

    def _exact(self, state: LevelState | RangeState) -> tuple[StateInterval, ...]:
        """Return the intervals of a state in the nominal machine, own angles."""
        if state not in self._known:
            self._known[state] = (
                level_intervals(self.named, self.motion, state.level)
                if isinstance(state, LevelState)
                else range_intervals(self.lane, self.motion, state.from_mm, state.to_mm)
            )
        return self._known[state]

    @cached_property
    def turns(self) -> tuple[bool, ...]:
        """Return for each run whether a table of points turns back at its end: what it does on purpose."""
        following = self.runs[1:] + self.runs[:1]
        return tuple(
            isinstance(run.segment, TurnSpline) and run.way != after.way
            for run, after in zip(self.runs, following, strict=True)
        )

    def _asks(self, state: LevelState | RangeState) -> tuple[bool, ...]:
        """Return for each run whether it rests at a block that asks for the state."""
        same = alike(self.named) if isinstance(state, LevelState) else None
        return tuple(
            isinstance(run.segment, Dwell)
            and bool(run.segment.blocks)
            and (same is None or same(state.level, run.segment.level))  # type: ignore[union-attr]
            for run in self.runs
        )

    def _wanted(self, state: LevelState | RangeState, errors: LaneErrors) -> Wanted:
        low, high = self.limits(state)
        follower, height = driven_follower(self.lane), errors.height_mm
        lows = [_lift_at(follower, low - offset) - height for offset in errors.outputs_mm]
        highs = [_lift_at(follower, high - offset) - height for offset in errors.outputs_mm]
        nominal = (float(_lift_at(follower, low)), float(_lift_at(follower, high)))
        return Wanted((lows[0], lows[-1]), (highs[0], highs[-1]), nominal, errors)

    def limits(self, state: LevelState | RangeState) -> tuple[float, float]:
        """Return the outputs between which the lane is in a state; infinite where it is open."""
        if isinstance(state, LevelState):
            level, band = self.named.levels[state.level], self.named.band
            return level - band, level + band
        low = -np.inf if state.from_mm <= self.motion.lowest_mm + SAME_MM else state.from_mm
        high = np.inf if state.to_mm >= self.motion.highest_mm - SAME_MM else state.to_mm
        return low, high

    def _unmoved(self, state: LevelState | RangeState, count: int) -> tuple[RunIntervals, ...]:
        """Return the nominal intervals to all machines: an index lane has no profile that could be off."""
        low, high = self.limits(state) if isinstance(state, LevelState) else (state.from_mm, state.to_mm)
        ones = np.ones(count)
        return tuple(
            RunIntervals(
                ones * stretch.span.spans[0][0],
                ones * stretch.span.length,
                ones > 0,
                np.full(count, any(isinstance(self.motion.segments[i], Dwell) for i in stretch.segments)),
            )
            for stretch in self.motion.stretches([low], [high])[0]
        )


def _lifts(follower: Follower, segment: Segment, x: Floats) -> Floats:
    """Return the lifts at places of a segment."""
    if segment.curve is None or segment.length_deg == 0:
        outputs = np.full(len(x), segment.base_mm)
    else:
        outputs = segment.curve.at(x, orders=1)[0] * segment.rise_mm + segment.base_mm
    return _lift_at(follower, outputs)


def _lift_at(follower: Follower, output: Floats | float) -> Floats:
    """Turn outputs into lifts; outputs that a linkage never gives lie infinitely far beyond."""
    given = np.asarray(output, dtype=float)
    lift = lift_alone(follower, given)
    if follower.link is None:
        return lift
    first, last = follower.link[0].output_mm, follower.link[-1].output_mm
    return np.where(given < first, -np.inf, np.where(given > last, np.inf, lift))


def _found(lane: LaneRuns, wanted: Wanted, asks: Sequence[bool]) -> tuple[RunIntervals, ...]:
    """Find where machines enter and leave the wanted lifts, run by run, and join what meets."""
    runs = lane.runs
    came = _came_by(runs)
    # Whether machines are below, or above, the wanted lifts at the joint before each run.
    off = wanted.errors.at_joints(runs)
    below, above = [], []
    for run, by, (least, most) in zip(runs, came, off, strict=True):
        below.append(least.is_under(wanted.below[by], run.lift0))
        above.append(most.is_over(wanted.above[by], run.lift0))
    inside = [~(low | high) for low, high in zip(below, above, strict=True)]
    count = len(runs)
    parts = []
    for number, run in enumerate(runs):
        after = (number + 1) % count
        parts.append(_part(run, wanted, (below[number], below[after]), (above[number], above[after])))
    return tuple(_joined(lane, parts, inside, asks))


def _off_at_joints(
    runs: Sequence[_Run], seat: SeatErrors | None
) -> Iterator[tuple[RangedValues, RangedValues]]:
    """Yield the least and greatest lift errors at the joint before each run, over the dwells beside it."""
    if seat is None:
        none = RangedValues(np.asarray(0.0), 0.0, 0.0)
        yield from [(none, none)] * len(runs)
        return
    each = [seat.extremes_mm(run.start, run.end if run.way == 0 else run.start) for run in runs]
    for number, here in enumerate(each):
        least, most = _beyond(here, each[number - 1]) if runs[number - 1].way == 0 else here
        low = RangedValues.of(least)
        yield low, low if most is least else RangedValues.of(most)


def _beyond(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    return np.minimum(one[0], other[0]), np.maximum(one[1], other[1])


def _plain(each: Bools) -> Bools:
    """Shrink an array whose values are all alike to one value, with which the arithmetic is quick."""
    if bool(each.all()):
        return np.asarray(True)
    return each if bool(each.any()) else np.asarray(False)


def _came_by(runs: Sequence[_Run]) -> list[int]:
    """Return for the joint before each run whether the lane came there by a rise (0) or a fall (1)."""
    ways = [run.way for run in runs]
    last = next((way for way in reversed(ways) if way), 1)
    came = []
    for way in ways:
        came.append(0 if last > 0 else 1)
        last = way or last
    return came


_Part = tuple[Floats, Floats, Bools]
"""Where machines are in the state on one run: from, to, and whether at all."""

_Sides = tuple[Bools, Bools]
"""Of machines: at the begin of a run, and at its end."""


def _part(run: _Run, wanted: Wanted, below: _Sides, above: _Sides) -> _Part:
    begin, end = np.asarray(run.start), np.asarray(run.end)
    if run.way == 0:
        return begin, end, ~(below[0] | above[0])
    by = 0 if run.way > 0 else 1
    enters, leaves = (below[0], above[1]) if run.way > 0 else (above[0], below[1])
    into, out = (wanted.low[by], wanted.high[by]) if run.way > 0 else (wanted.high[by], wanted.low[by])
    missed = (above[0] | below[1]) if run.way > 0 else (below[0] | above[1])
    if bool(missed.all()):
        return begin, end, ~missed
    nominal = wanted.nominal if run.way > 0 else wanted.nominal[::-1]
    start, stop = begin, end
    if bool(enters.any()):
        start = _chosen(enters, _passed(run, into, nominal[0], wanted.errors), begin)
    if bool(leaves.any()):
        stop = _chosen(leaves, _passed(run, out, nominal[1], wanted.errors), end)
    stop = np.maximum(start, stop)
    if wanted.errors.flanks is not None:
        start = start + np.where(enters, _late(run, nominal[0], wanted.errors.flanks), 0.0)
        stop = stop + np.where(leaves, _late(run, nominal[1], wanted.errors.flanks), 0.0)
    return start, stop, ~missed


def _chosen(which: Bools, one: Floats, other: Floats) -> Floats:
    """Return one value where `which` is true and the other elsewhere."""
    if which.ndim:
        return np.where(which, one, other)
    return one if which else other


def _passed(run: _Run, lift: Floats, nominal_mm: float, errors: LaneErrors) -> Floats:
    """Return where machines pass a lift on a run, unrolled degrees, without what loose joints do.

    nominal_mm: the lift that the nominal machine passes there, at whose contact the others' errors are read.
    """
    if errors.seat is None:
        return _angle(run, lift)
    return _angle(run, lift - errors.seat.lift_mm(run.passes(nominal_mm)))


def _late(run: _Run, nominal_mm: float, flanks: LateFlanks) -> Floats:
    """Return by how much later loose joints make machines pass a lift on a run, (n,) degrees."""
    return flanks.late_deg(run.passes(nominal_mm), run.number, rises=run.way > 0)


def _angle(run: _Run, lift: Floats) -> Floats:
    """Return where on a run the lift is reached, unrolled degrees; beyond its ends, the end."""
    _, coarse = run.coarse
    asked = run.way * lift
    low, high = float(asked.min()), float(asked.max())
    first = max(0, int(np.searchsorted(coarse, low)) - 1)
    last = min(_COARSE - 1, int(np.searchsorted(coarse, high, side="right")))
    table, angles = run.fine(first, last)
    return _looked_up(asked, low, high, table, angles)


def _looked_up(asked: Floats, low: float, high: float, table: Floats, values: Floats) -> Floats:
    """Interpolate in a rising table, by even steps where those are as exact and the many need no search.

    low, high: the least and the greatest of what is asked, infinite beyond the ends of a linkage.
    """
    if asked.size > 4 * _EVEN and 0 < high - low < np.inf:
        even: Floats = np.interp(np.linspace(low, high, _EVEN), table, values)
        steps = even[1:] - even[:-1]
        if float(np.abs(steps[1:] - steps[:-1]).max()) < _EVEN_DEG:
            at = (asked - low) * ((_EVEN - 1) / (high - low))
            left = np.minimum(at.astype(np.intp), _EVEN - 2)
            at -= left
            at *= steps.take(left)
            at += even.take(left)
            return at
    searched: Floats = np.interp(asked, table, values)
    return searched


def _joined(
    lane: LaneRuns, parts: Sequence[_Part], inside: Sequence[Bools], asks: Sequence[bool]
) -> Iterator[RunIntervals]:
    """Yield for each run the intervals that begin on it, followed through the joints that lie inside."""
    reach, holds = _following(lane, parts, inside, asks)
    count = len(parts)
    everywhere = _everywhere(inside)
    for number, (start, stop, there) in enumerate(parts):
        begins = there & ~inside[number]
        if number == 0 and bool(everywhere.any()):
            begins = begins | everywhere
        if not bool(begins.any()):
            continue
        after = (number + 1) % count
        length = stop - start + _chosen(inside[after], reach[after], NO_WAY)
        meant = (there & asks[number]) | (inside[after] & (holds[after] | lane.turns[number]))
        length = _chosen(everywhere, np.asarray(TURN), np.clip(length, 0.0, TURN))
        yield RunIntervals(start, length, begins, meant | (everywhere & (any(asks) | any(lane.turns))))


def _everywhere(inside: Sequence[Bools]) -> Bools:
    """Return which machines are inside at all joints; one value where all are alike."""
    if any(not one.ndim and not one for one in inside):
        return np.asarray(False)
    return np.asarray(np.logical_and.reduce(np.broadcast_arrays(*inside)))


def _following(
    lane: LaneRuns, parts: Sequence[_Part], inside: Sequence[Bools], asks: Sequence[bool]
) -> tuple[list[Floats], list[Bools]]:
    """Return, for machines inside at a run's begin, how far they stay so and whether a block lies there."""
    count = len(parts)
    reach: list[Floats] = [NO_WAY] * count
    holds: list[Bools] = [np.asarray(False)] * count
    for number in (*range(count - 1, -1, -1), *range(count - 1, -1, -1)):
        after = (number + 1) % count
        on = inside[after]
        if not on.ndim and not on:
            reach[number], holds[number] = (
                parts[number][1] - lane.runs[number].start,
                np.asarray(asks[number]),
            )
            continue
        reach[number] = parts[number][1] - lane.runs[number].start + _chosen(on, reach[after], NO_WAY)
        holds[number] = np.asarray(asks[number]) | (on & (holds[after] | lane.turns[number]))
    return reach, holds
