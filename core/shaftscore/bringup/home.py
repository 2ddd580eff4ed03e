"""Home: the angle at which the machine rests, and the way back to it from any other.

A *home angle* is one at which no lane moves and no item is on its way in a channel. Where the file gives
none it is chosen: of all such angles those at which most lanes are where they rest longest, of these the
longest stretch, and of it the middle. Where there is none, the angle with the fewest moving lanes and items
stands in, and says so.

*Way back*: after a power loss the shaft is turned by hand, in the sense in which the machine runs, or back
where fewer items come out and no steep edge of a drop is on the way, against which its follower would run.
Items come out as a state begins, forward at the start of an interval, backward at its end. Angles are of the
master shaft.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

import numpy as np

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.bringup.flow_network import needing_most
from shaftscore.bringup.over_round import flow_over_round
from shaftscore.bringup.rehome import CycleTelling, cycle_telling
from shaftscore.built.arrays import Flags, Reals
from shaftscore.judge.flow.network import Network
from shaftscore.kinematics.course import LaneCycle
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.segments import Dwell
from shaftscore.model import Project
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import LaneSolution, Solution

GRID_DEG = 0.1
"""Spacing of the angles that are looked at, degrees."""

GRID = np.arange(0.0, TURN, GRID_DEG)
"""Angles that are looked at, degrees."""
GRID.setflags(write=False)

MOST_ROWS = 36
"""Rows of a restart card; of a program of more steps several share a row."""


@dataclass(frozen=True)
class LanePlace:
    """Where a lane is at an angle: its label, and its level or None between levels; output in mm."""

    lane: str
    label: str
    level: str | None
    output_mm: float


@dataclass(frozen=True)
class HomeAngle:
    """The home angle.

    given: whether the file gives it. stretch: angles about it at which the same holds. moving: labels of the
    lanes that move there. channels: those in which an item may be on its way. places: where every lane is.
    """

    angle_deg: float
    given: bool
    stretch: Arcs
    moving: tuple[str, ...]
    channels: tuple[str, ...]
    places: tuple[LanePlace, ...]

    @property
    def is_quiet(self) -> bool:
        """Whether nothing moves there."""
        return not (self.moving or self.channels)


@dataclass(frozen=True)
class RestartRow:
    """The way back from a stretch of angles.

    start_deg, end_deg: of the stretch. name: of its step, or empty. take_out: channels and kinds of items
    that may be on their way. forward_deg, backward_deg: how far it is at most. forward, backward: items that
    come out on the way, by name. back_is_free: whether it may be turned back at all.
    """

    start_deg: float
    end_deg: float
    name: str
    take_out: Mapping[str, tuple[str, ...]]
    forward_deg: float
    backward_deg: float
    forward: Mapping[str, int]
    backward: Mapping[str, int]
    back_is_free: bool

    @property
    def goes_back(self) -> bool:
        """Whether turning back is the better way: fewer items come out."""
        return self.back_is_free and sum(self.backward.values()) < sum(self.forward.values())

    @property
    def turn_deg(self) -> float:
        """How far to turn at most, degrees."""
        return self.backward_deg if self.goes_back else self.forward_deg

    @property
    def comes_out(self) -> Mapping[str, int]:
        """Items that come out on the better way."""
        return self.backward if self.goes_back else self.forward


@dataclass(frozen=True)
class RestartCard:
    """Home, and the way back to it from everywhere; one_way: labels of the lanes that may not go back.

    telling: what the lanes at home tell of the cycle, None where all are alike. items_are_late: items are
    left out, since gates repeat together too late.
    """

    project: Project
    home: HomeAngle
    rows: tuple[RestartRow, ...]
    one_way: tuple[str, ...]
    telling: CycleTelling | None = None
    items_are_late: bool = False


def restart_card(solution: Solution, given_deg: float | None = None) -> RestartCard:
    """Return the home angle, chosen unless it is given in degrees, and the way back to it."""
    items = _items(solution)
    home = home_angle(solution, given_deg, items)
    edges = {lane: _edges(one) for lane, one in solution.lanes.items()}
    one_way = tuple(solution.lanes[lane].lane.label for lane, own in edges.items() if not own.is_empty)
    steep = Arcs.of(span for own in edges.values() for span in own.spans)
    rows = tuple(_rows(solution, items, home, steep))
    telling = cycle_telling(solution, home.angle_deg)
    return RestartCard(solution.project, home, rows, one_way, telling, items.is_late)


@dataclass(frozen=True)
class _RoundItems:
    """The items of a machine over their round: its network, None without a flow, and the cycles of it.

    is_late: the round is too long, so that there is no network.
    """

    net: Network | None
    cycles: Fraction = CYCLE
    is_late: bool = False


def _items(solution: Solution) -> _RoundItems:
    over = flow_over_round(solution)
    return _RoundItems(None, is_late=True) if over is None else _RoundItems(needing_most(over[0]), over[1])


def _edges(solved: LaneSolution) -> Arcs:
    """Return where the steep edges of a lane's drops are, master angles."""
    drops = solved.motion.drops if isinstance(solved.motion, LaneMotion) else ()
    course, turns = solved.course, solved.turns
    if course.cycles == CYCLE and not course.is_stepped:
        return Arcs.of(
            ((one.start_deg + TURN * lap) / turns, one.edge_deg / turns)
            for one in drops
            for lap in range(turns)
        )
    cycles, found = float(course.cycles), list[tuple[float, float]]()
    for one in drops:
        own: Reals = one.start_deg + TURN * np.arange(course.turns, dtype=np.float64)
        first, last = course.first(own), course.last(own + one.edge_deg)
        spans = zip(wrap(first * cycles).tolist(), ((last - first) * cycles).tolist(), strict=True)
        found += [(start, min(length, TURN)) for start, length in spans]
    return Arcs.of(found)


def home_angle(
    solution: Solution, given_deg: float | None = None, items: _RoundItems | None = None
) -> HomeAngle:
    """Return the home angle in degrees; items: of the machine that needs most, found if None."""
    items = items or _items(solution)
    rests = {lane: _rests(one) for lane, one in solution.lanes.items()}
    moving = np.sum([~flags for flags, _ in rests.values()], axis=0) if rests else np.zeros(len(GRID))
    usual = np.sum([flags for _, flags in rests.values()], axis=0) if rests else np.zeros(len(GRID))
    busy = _busy(items)
    score = -(moving + sum(busy.values(), np.zeros(len(GRID)))) * (len(rests) + 1.0) + usual
    stretch = _best_stretch(score) if given_deg is None else _stretch_about(score, given_deg)
    angle = round(stretch.middle, 1) if given_deg is None else given_deg
    at = round(angle / GRID_DEG) % len(GRID)
    return HomeAngle(
        wrap(angle),
        given_deg is not None,
        stretch,
        tuple(solution.lanes[lane].lane.label for lane, (flags, _) in rests.items() if not flags[at]),
        tuple(channel for channel, flags in busy.items() if flags[at]),
        tuple(lane_places(solution, wrap(angle))),
    )


def lane_places(solution: Solution, angle_deg: float) -> Iterator[LanePlace]:
    """Yield where every lane is at an angle of the master shaft, degrees."""
    for lane_id, solved in solution.lanes.items():
        if solved.motion is None:
            continue
        seen = LaneCycle(solved.course)
        output = float(solved.motion.at(np.array([seen.own(angle_deg)]))[0][0])
        level = next(
            (
                name
                for name, spans in solved.states.items()
                if any(one.span.contains(seen.circle(angle_deg)) for one in spans)
            ),
            None,
        )
        yield LanePlace(lane_id, solved.lane.label, level, output)


def _own_on_grid(solved: LaneSolution) -> Reals:
    """Return the angles of a lane's stack in the first cycle over GRID, (n,) degrees."""
    course = solved.course
    if course.cycles == CYCLE:
        return wrap(np.asarray(GRID * solved.turns))
    own: Reals = course.own(GRID / float(course.cycles))[0]
    return wrap(own)


def _rests(solved: LaneSolution) -> tuple[Flags, Flags]:
    """Return where a lane rests, and where it rests at the level that it is at longest, (n,) each on GRID.

    In every cycle of its round: the dial of the master does not tell the cycle. A lane without motion counts
    as at rest, and so does one whose stage holds its stack.
    """
    motion = solved.motion
    if not isinstance(motion, LaneMotion):
        return np.ones(len(GRID), dtype=bool), np.zeros(len(GRID), dtype=bool)
    usual = _usual(motion)
    if solved.course.cycles <= CYCLE and not solved.course.is_stepped:
        index = motion.rests_at(_own_on_grid(solved))
        return index >= 0, (index >= 0) & usual[index]
    rests, at_usual = np.ones(len(GRID), dtype=bool), np.ones(len(GRID), dtype=bool)
    course = solved.course
    for cycle in range(max(1, int(course.cycles))):
        own, rate, _, _ = course.own((GRID + TURN * cycle) / float(course.cycles))
        index = motion.rests_at(np.asarray(wrap(own)))
        rests &= (index >= 0) | (rate == 0.0)
        at_usual &= (index >= 0) & usual[index]
    return rests, at_usual & rests


def _usual(motion: LaneMotion) -> Flags:
    """Return which segments of a motion are dwells at the level that it is at longest, (segments,)."""
    lengths: dict[str, float] = {}
    for segment in motion.segments:
        if isinstance(segment, Dwell):
            lengths[segment.level] = lengths.get(segment.level, 0.0) + segment.length_deg
    usual = max(lengths, key=lambda level: lengths[level], default=None)
    return np.array([isinstance(one, Dwell) and one.level == usual for one in motion.segments])


def _busy(items: _RoundItems) -> dict[str, Flags]:
    """Return by channel where an item may be on its way in it in any cycle of the round, (n,) on GRID."""
    found: dict[str, Flags] = {}
    net, cycles = items.net, items.cycles
    if net is None:
        return found
    cycle = net.clock.cycle_us / float(cycles)
    for slot in net.slots:
        earliest = 0
        for step in slot.route.passes:
            flags = found.setdefault(step.channel, np.zeros(len(GRID), dtype=bool))
            start = (slot.phase_us + earliest) * TURN / cycle
            length = (step.latest_us - earliest) * TURN / cycle
            flags |= ahead(wrap(start), GRID) <= length
            earliest = step.earliest_us
    return found


def _best_stretch(score: Reals) -> Arcs:
    """Return the longest stretch of the greatest score, (n,) on GRID."""
    return max(_stretches(score >= score.max()), key=lambda arcs: (arcs.length, -arcs.start))


def _stretch_about(score: Reals, angle_deg: float) -> Arcs:
    """Return the stretch about an angle with its own score, a single angle at least."""
    at = round(angle_deg / GRID_DEG) % len(GRID)
    for arcs in _stretches(score == score[at]):
        if arcs.contains(GRID[at]):
            return arcs
    return Arcs.span(angle_deg, 0.0)


def _stretches(flags: Flags) -> list[Arcs]:
    """Return the stretches of the circle in which flags (n,) on GRID hold."""
    if np.all(flags):
        return [Arcs.full()]
    starts = np.flatnonzero(flags & ~np.roll(flags, 1))
    ends = np.flatnonzero(flags & ~np.roll(flags, -1))
    spans = []
    for start in starts:
        after = ends[ends >= start]
        end = int(after[0]) if len(after) else int(ends[0]) + len(GRID)
        spans.append(Arcs.span(GRID[start], (end - int(start)) * GRID_DEG))
    return spans


def _sectors(project: Project) -> list[tuple[float, float, str]]:
    """Return the stretches of the rows: steps, several together where there are many."""
    starts, names = project.shaft.step_starts_deg, project.shaft.step_names
    each = -(-len(starts) // MOST_ROWS)
    firsts = list(range(0, len(starts), each))
    found = []
    for place, first in enumerate(firsts):
        following = firsts[place + 1] if place + 1 < len(firsts) else 0
        end = starts[following] if following else starts[0] + TURN
        found.append((starts[first], wrap(end), names[first] if first < len(names) and each == 1 else ""))
    return found


def _cut(start: float, end: float, home: HomeAngle) -> Iterator[tuple[float, float]]:
    """Yield what of a stretch, degrees, is not home: before it and after it."""
    length = ahead(start, end) or TURN
    held = home.stretch if home.is_quiet else Arcs.span(home.angle_deg, 0.0)
    if held.is_full:
        return
    for arcs in ~held & Arcs.span(start, length) if length < TURN else ~held:
        if arcs.length > GRID_DEG / 2:
            yield arcs.start, arcs.end


def _rows(solution: Solution, items: _RoundItems, home: HomeAngle, steep: Arcs) -> Iterator[RestartRow]:
    kinds, busy = _kinds(items.net), _busy(items)
    for first, last, name in _sectors(solution.project):
        for start, end in _cut(first, last, home):
            length = ahead(start, end) or TURN
            inside = ahead(start, GRID) <= length
            back = ahead(home.angle_deg, start) + length
            forward = ahead(start, home.angle_deg) or TURN
            yield RestartRow(
                start_deg=start,
                end_deg=end,
                name=name,
                take_out={
                    channel: kinds[channel] for channel, flags in busy.items() if np.any(flags & inside)
                },
                forward_deg=forward,
                backward_deg=back,
                forward=_let_out(items, start, forward, backward=False),
                backward=_let_out(items, home.angle_deg, back, backward=True),
                back_is_free=(steep & Arcs.span(home.angle_deg, back)).is_empty,
            )


def _kinds(net: Network | None) -> dict[str, tuple[str, ...]]:
    """Return the kinds of items that come through each channel."""
    found: dict[str, dict[str, None]] = {}
    gates = () if net is None else net.gates
    for slot in () if net is None else net.slots:
        for step in slot.route.passes:
            found.setdefault(step.channel, {})[gates[slot.gate].item] = None
    return {channel: tuple(names) for channel, names in found.items()}


def _let_out(items: _RoundItems, start_deg: float, length_deg: float, *, backward: bool) -> Mapping[str, int]:
    """Count the items that come out while the shaft is turned through a stretch, by name.

    Of several cycles that in which most come out.
    """
    many = [
        _in_cycle(items, start_deg + TURN * cycle, length_deg, backward=backward)
        for cycle in range(max(1, int(items.cycles)))
    ]
    most = max(many, key=Counter.total)
    return MappingProxyType(dict(most))


def _in_cycle(items: _RoundItems, start_deg: float, length_deg: float, *, backward: bool) -> Counter[str]:
    """Count the items that come out from an angle of the master on, counted on through the round, degrees."""
    found: Counter[str] = Counter()
    net, cycles = items.net, float(items.cycles)
    opened = () if net is None else net.gates
    for opening in () if net is None else net.openings:
        span = opening.interval.span
        if span.is_full:
            continue
        at = span.end if backward else span.start
        if ahead(start_deg / cycles, at) * cycles <= length_deg and opening.slots:
            found[opened[opening.gate].item] += min(opening.slots, max(opening.meant, 1))
    return found
