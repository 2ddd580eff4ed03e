"""Free zones: where blocks could stand without a finding of timing, all other blocks as they are.

Moves keep their length (`judge.checks.slides`), so along a slide every rule is a few linear inequalities,
and zones are exact. Copies (`copy_zones`) slide within the dwells that hold them whole. Several blocks that
go together (`group_zones`) are the same with several windows; where a locked block stands beside one, its
move is taken to keep its length. Starts that could only be reached by shortening a move belong to no zone.
A rule that is broken wherever the blocks stand is not their affair and is left out. Starts are angles of
the lane's own stack, rules count master angles; u is how far the blocks slid from the slide's middle, in
angles of the stack (of the master shaft for several blocks and for copies).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.edits.copies import units_of
from shaftscore.edits.moving import movable, reach_of
from shaftscore.edits.runs import moves_beside, runs_of, span_over
from shaftscore.judge.checks.cures import intervals_in, part_of
from shaftscore.judge.checks.linear import (
    Ends,
    Floats,
    SlidingAngle,
    Stretch,
    all_negative,
    complement,
    none_negative,
    stretches,
)
from shaftscore.judge.checks.slides import Slide, copy_ways, slides_of
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.kinematics.motion.surroundings import rider_later_deg, sense_of
from shaftscore.model import Exclusive, Lane, Order, Project, Requires, Rule
from shaftscore.rules import order, requires
from shaftscore.rules.exclusive import gap_deg, room
from shaftscore.rules.kinds import meaning_of
from shaftscore.rules.nominal import deg_per_s
from shaftscore.rules.times import LinearSpan, State
from shaftscore.solution import Solution

NEAR_DEG = 1e-7
"""An end this near to the window's end moves with it."""

Broken = tuple[Hashable, Stretch]
"""What is broken (named the same in every slide), and the u over which it is."""


def free_zones(solution: Solution, ref: BlockRef, level: str | None = None) -> Arcs:
    """Return the starts at which a block breaks no rule between lanes; empty for a locked block.

    level: the level that it shall have there, its own if None. Raises KeyError if lane or block is not
    there, EditError if the lane has no such level.
    """
    project, ref = _at_level(solution.project, ref, level)
    slides = slides_of(project, ref)
    return _free([(slide.middle_deg, _Sliding.of(solution, project, slide)) for slide in slides])


def copy_zones(solution: Solution, refs: Sequence[BlockRef]) -> Arcs:
    """Return how far from their blocks copies may be laid, master degrees, so that they break no rule.

    Only dwells that hold the copies whole, with their moves, count; where one would shorten or cover other
    blocks is in no zone. Raises KeyError if a lane, EditError if a block is not there.
    """
    ways = copy_ways(solution.project, refs)
    middles = [(begin + length / 2, length / 2) for begin, length in ways.spans]
    return _free([(at, _Sliding.of_copies(solution, refs, middle_deg=at, reach_deg=r)) for at, r in middles])


def group_zones(solution: Solution, refs: Sequence[BlockRef], project: Project | None = None) -> Arcs:
    """Return how far several blocks may go together, master degrees, so that they break no rule.

    0 is where they stand. What is locked among them stays; empty where all are. project: the machine with
    these blocks at other levels, where they change them; all else must be as in the solution.
    """
    project = project or solution.project
    if all(project.lane(ref.lane_id).blocks[ref.index].locked for ref in refs):
        return Arcs.empty()
    chosen = movable(project, refs)
    low, high = reach_of(project, chosen)
    low, high = max(low, -TURN / 2), min(high, TURN / 2)
    middle = (low + high) / 2
    reach = (high - low) / 2
    sliding = _Sliding.of_group(solution, project, refs, chosen, middle_deg=middle, reach_deg=reach)
    return _free([(middle, sliding)])


def _free(slidings: Sequence[tuple[float, _Sliding]]) -> Arcs:
    """Return what is free on slides, each with the angle of its middle."""
    found = [list(sliding.broken()) for _, sliding in slidings]
    everywhere = _everywhere([sliding.reach_deg for _, sliding in slidings], found)
    free: list[tuple[float, float]] = []
    for (middle, sliding), broken in zip(slidings, found, strict=True):
        stretches_of = [stretch for key, stretch in broken if key not in everywhere]
        free += [(middle + begin, end - begin) for begin, end in _between(sliding.reach_deg, stretches_of)]
    return Arcs.of(free)


def _at_level(project: Project, ref: BlockRef, level: str | None) -> tuple[Project, BlockRef]:
    block = project.lane(ref.lane_id).blocks[ref.index]
    if level is None or level == block.level:
        return project, ref
    edited = apply_edit(project, "place_block", ref=ref, start_deg=block.start_deg, level=level)
    return edited.project, edited.selection[0]


def _everywhere(reaches: Sequence[float], found: list[list[Broken]]) -> set[Hashable]:
    """Name what is broken over the whole of every slide."""
    whole: Counter[Hashable] = Counter()
    for reach, broken in zip(reaches, found, strict=True):
        for key in {key for key, _ in broken}:
            own = [stretch for other, stretch in broken if other == key]
            whole[key] += not complement(reach, own)
    return {key for key, count in whole.items() if count == len(reaches)}


def _between(reach: float, broken: list[Stretch]) -> list[Stretch]:
    """List what is left of a slide, ends included; a slide of no length is one place."""
    if reach <= ANGLE_DEG:
        return [] if broken else [(0.0, 0.0)]
    return complement(reach, broken)


Window = tuple[float, float]
"""Begin and length of what slides with a block, own angles: the block with the moves beside it."""


@dataclass(frozen=True)
class _Sliding:
    """Blocks on a slide, among all other lanes as they are.

    part: their lanes and the riders on them alone, with the blocks at the slide's middle. windows: by lane,
    those of riders too. reach_deg: the slide
    goes as far to both sides, in u. rate: master degrees for each u.
    """

    solution: Solution
    part: Project
    windows: Mapping[str, Sequence[Window]]
    reach_deg: float
    rate: float

    @staticmethod
    def of(solution: Solution, project: Project, slide: Slide) -> _Sliding:
        """Set the block in at the slide's middle."""
        lane_id = slide.ref.lane_id
        part = _with_riders(project, lane_id)
        turns = part.stack_of(part.lane(lane_id)).turns
        edited = apply_edit(part, "place_block", ref=slide.ref, start_deg=slide.middle_deg)
        window = (slide.middle_deg - slide.before_deg, slide.window_deg)
        windows = _ridden({lane_id: [window]}, edited.project)
        return _Sliding(solution, edited.project, windows, slide.reach_deg, 1.0 / turns)

    @staticmethod
    def of_copies(
        solution: Solution, refs: Sequence[BlockRef], *, middle_deg: float, reach_deg: float
    ) -> _Sliding:
        """Lay copies at the middle of a stretch of ways."""
        project = solution.project
        part = _with_riders(project, *dict.fromkeys(ref.lane_id for ref in refs))
        edited = apply_edit(part, "duplicate_blocks", refs=refs, by_deg=middle_deg)
        windows: dict[str, list[Window]] = {}
        for lane_id, unit, start in units_of(project, refs):
            at = start + middle_deg * project.stack_of(project.lane(lane_id)).turns - unit.to_deg
            windows.setdefault(lane_id, []).append((at, unit.to_deg + unit.length_deg + unit.away_deg))
        return _Sliding(solution, edited.project, _ridden(windows, edited.project), reach_deg, 1.0)

    @staticmethod
    def of_group(
        solution: Solution,
        project: Project,
        refs: Sequence[BlockRef],
        chosen: Mapping[str, Collection[int]],
        *,
        middle_deg: float,
        reach_deg: float,
    ) -> _Sliding:
        """Move several blocks to the middle of what they can go."""
        part = _with_riders(project, *chosen)
        moved = [ref for ref in refs if ref.index in chosen.get(ref.lane_id, ())]
        edited = apply_edit(part, "move_blocks", refs=moved, by_deg=middle_deg)
        windows = {lane_id: _windows(edited.project.lane(lane_id), edited.selection) for lane_id in chosen}
        return _Sliding(solution, edited.project, _ridden(windows, edited.project), reach_deg, 1.0)

    def moves(self, state: State) -> bool:
        """Return whether the state is of a lane of which a block slides, or of a rider on such a lane."""
        return state.lane in self.windows

    def intervals(self, state: State) -> tuple[StateInterval, ...] | None:
        """Return a state's intervals; None where its lane is not looked at or has no motion."""
        if self.moves(state):
            return intervals_in(self.part, state)
        lane = self.solution.lanes.get(state.lane)
        return None if lane is None or lane.motion is None else lane.intervals(state)

    def ends(self, state: State) -> Ends:
        """Return the ends of a state's intervals: those inside the window move with the block."""
        spans = [interval.span.spans[0] for interval in self.intervals(state) or ()]
        start = np.array([begin for begin, _ in spans], dtype=np.float64)
        end = start + np.array([length for _, length in spans], dtype=np.float64)
        if not self.moves(state):
            return Ends(start, np.zeros_like(start), end, np.zeros_like(end))
        turning = end - start < TURN
        lane_id = state.lane
        return Ends(start, turning * self._rate(lane_id, start), end, turning * self._rate(lane_id, end))

    def _rate(self, lane_id: str, master_deg: Floats) -> Floats:
        own = wrap(master_deg * self.part.stack_of(self.part.lane(lane_id)).turns)
        inside = [
            ahead(wrap(begin - NEAR_DEG), own) <= length + 2 * NEAR_DEG
            for begin, length in self.windows[lane_id]
        ]
        return np.where(np.any(inside, axis=0), self.rate, 0.0)

    def broken(self) -> Iterator[Broken]:
        """Yield what the block breaks, and where."""
        for number, rule in enumerate(self.solution.project.rules):
            for key, stretch in self._of_rule(rule):
                yield (number, key), stretch

    def _of_rule(self, rule: Rule) -> Iterable[Broken]:
        states = meaning_of(rule).states(rule)
        if not any(map(self.moves, states)):
            return ()
        return BREAKS[rule.kind](self, rule)

    def _knows(self, *states: State) -> bool:
        """Return whether all lanes of some states have a motion."""
        return all(self.intervals(state) is not None for state in states)

    @property
    def _deg_per_s(self) -> float:
        return deg_per_s(self.solution.project)

    def exclusive(self, rule: Exclusive) -> Iterator[Broken]:
        """Hold each of the lane's own members against every other member."""
        own = [member for member, state in enumerate(rule.states) if self.moves(state)]
        gap = gap_deg(rule, self._deg_per_s)
        ends = [self.ends(state) for state in rule.states]
        for member in own:
            others = [n for n in range(len(ends)) if n != member and (n not in own or n > member)]
            if not others:
                continue
            joined = Ends(
                *(np.concatenate(columns) for columns in zip(*(ends[n] for n in others), strict=True))
            )
            names = [(member, n, at) for n in others for at in range(len(ends[n].start))]
            yield from self._conflicts(ends[member], joined.turned, gap, names)

    def _conflicts(
        self, own: Ends, others: LinearSpan[SlidingAngle], gap: float, names: list[tuple[int, int, int]]
    ) -> Iterator[Broken]:
        """Find where two intervals have no room on either side."""
        for span in own.each():
            low, high = all_negative(self.reach_deg, (room(others, span, gap), room(span, others, gap)))
            for row, column in zip(*np.nonzero(high - low > ANGLE_DEG), strict=True):
                yield names[row], (float(low[row, column]), float(high[row, column]))

    def requires(self, rule: Requires) -> Iterator[Broken]:
        """Each interval of `when` must lie, with lead and lag, within one interval of `need`."""
        need, reach = self.ends(rule.need), self.reach_deg
        if not self._knows(rule.when, rule.need) or np.any(need.end - need.start >= TURN):
            return
        lead_lag = requires.lead_lag(rule, self._deg_per_s)
        for at, when in enumerate(self.ends(rule.when).each()):
            good = stretches(*none_negative(reach, requires.ends(when, need.turned, *lead_lag)), -ANGLE_DEG)
            yield from ((at, stretch) for stretch in complement(reach, good))

    def order(self, rule: Order) -> Iterator[Broken]:
        """From each start of `first`, the next start of `then` must come within the limits."""
        if not self._knows(rule.first, rule.then):
            return
        low, high = order.limits_deg(rule, self._deg_per_s)
        reach, same = self.reach_deg, rule.first == rule.then
        first, then = _begins(self.ends(rule.first)), _begins(self.ends(rule.then)).turned.start
        for at, span in enumerate(first.each()):
            after = _without(then, at if same else None)
            early, late = order.ends(span.start, after, low, high)
            follows = order.ends(span.start, after, 0.0, 0.0)
            soon = all_negative(reach, (follows[1], early))
            yield from ((("early", at), s) for s in stretches(*soon, ANGLE_DEG))
            if np.isfinite(high):
                good = stretches(*none_negative(reach, (follows[0], late)), -ANGLE_DEG)
                yield from ((("late", at), stretch) for stretch in complement(reach, good))


BREAKS: Mapping[str, Callable[[_Sliding, Any], Iterator[Broken]]] = {
    "exclusive": _Sliding.exclusive,
    "requires": _Sliding.requires,
    "order": _Sliding.order,
}
"""What finds where a rule is broken along a slide, by its kind; Any, since each takes rules of its own."""


def _with_riders(project: Project, *lane_ids: str) -> Project:
    """Return the machine of a few lanes and all riders on their discs alone."""
    riders = [rider.id for lane_id in lane_ids for rider in project.riders_of(project.lane(lane_id))]
    return part_of(project, *lane_ids, *riders)


def _ridden(windows: Mapping[str, list[Window]], part: Project) -> dict[str, list[Window]]:
    """Return the windows of lanes, and those of the riders on them, which slide later by their station."""
    found = dict(windows)
    for lane_id, own in windows.items():
        host = part.lane(lane_id)
        for rider in part.riders_of(host):
            later = rider_later_deg(rider, host, sense_of(part, host))
            found[rider.id] = [(begin + later, length) for begin, length in own]
    return found


def _windows(lane: Lane, refs: Iterable[BlockRef]) -> list[Window]:
    """Return the windows of the runs among some blocks of a lane."""
    runs = runs_of(len(lane.blocks), {ref.index for ref in refs if ref.lane_id == lane.id})
    found = []
    for run in runs:
        (start, length), (to, away) = span_over(lane, run), moves_beside(lane, run)
        whole = len(run) == len(lane.blocks)
        found.append((start - to, TURN if whole else length + to + away))
    return found


def _begins(ends: Ends) -> Ends:
    """Leave out what holds the whole turn: it never begins."""
    turning = ends.end - ends.start < TURN
    return Ends(*(column[turning] for column in ends))


def _without(starts: SlidingAngle, row: int | None) -> SlidingAngle:
    """Take out an interval's own start in the same turn, which does not follow itself: it never comes."""
    if row is None:
        return starts
    at_0, rate = starts.at_0.copy(), starts.rate.copy()
    at_0[row, at_0.shape[1] // 2], rate[row, at_0.shape[1] // 2] = -np.inf, 0.0
    return SlidingAngle(at_0, rate)
