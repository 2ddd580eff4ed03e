"""overlap: two states of an exclusive rule hold at the same time, or closer than the asked gap.

*Held* is one interval of one member state. A *close pair* is two held intervals of different members
that overlap or come closer than the gap; it is found by a sweep over the starts, twice round the turn,
with all intervals at hand that still hold or ended less than the gap ago. *Slack* is what is left
above the gap asked, negative where the rule is broken. Angles are master angles; a gap in seconds
counts at the shaft's nominal speed.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from core.angles import TURN, Arcs, ahead
from core.checks.base import Check, Memo
from core.checks.cures import first_verified, intervals_in, is_free, moved
from core.edits import BlockRef
from core.findings import Cure, Finding, found
from core.model import Exclusive, LevelState, Project, RangeState
from core.motion.states import StateInterval
from core.solution import Solution
from core.tolerance import LIMIT, over, under

State = LevelState | RangeState


@dataclass(frozen=True)
class Held:
    """Interval number `at` of member number `member` of a rule."""

    member: int
    at: int
    interval: StateInterval

    @property
    def span(self) -> Arcs:
        """The interval's stretch."""
        return self.interval.span


@dataclass(frozen=True)
class Closeness:
    """How two stretches lie: `where` they overlap, or the gap between them; see the module for slack."""

    overlaps: bool
    where: Arcs
    slack_deg: float

    @property
    def breaks(self) -> bool:
        """Whether the rule is broken."""
        return self.overlaps or under(self.slack_deg, 0.0)


def gap_of(project: Project, rule: Exclusive) -> float:
    """Give the gap that a rule asks for, degrees."""
    if rule.gap_s is not None:
        return rule.gap_s * deg_per_s(project)
    return rule.gap_deg or 0.0


def deg_per_s(project: Project) -> float:
    """How fast the master shaft turns at nominal speed, degrees a second."""
    return 6.0 * project.shaft.speed_rpm


def closeness(first: Arcs, second: Arcs, gap: float) -> Closeness:
    """Tell how two stretches lie; of two shared stretches, or two gaps, the one that decides."""
    shared = max(first & second, key=lambda part: part.length, default=None)
    if shared is not None and over(shared.length, 0.0):
        return Closeness(True, shared, -shared.length - gap)
    if shared is not None:
        return Closeness(False, shared, -gap)
    ways = (Arcs.between(first.end, second.start), Arcs.between(second.end, first.start))
    between = min(ways, key=lambda part: part.length)
    return Closeness(False, between, between.length - gap)


def held_of(rule: Exclusive, solution: Solution) -> list[Held]:
    """Give the intervals of all members of a rule whose lanes are looked at, sorted by start."""
    every = [
        Held(member, at, interval)
        for member, state in enumerate(rule.states)
        if state.lane in solution.lanes
        for at, interval in enumerate(solution.intervals(state))
    ]
    return sorted(every, key=lambda held: held.span.start)


def close_pairs(held: Sequence[Held], gap: float) -> Iterator[tuple[Held, Held]]:
    """Yield each pair of different members that lie closer than `gap`, the lower member first.

    `held` is sorted by start.
    """
    seen: set[tuple[int, int]] = set()
    at_hand: list[tuple[float, int]] = []
    for turn in (0.0, TURN):
        for index, one in enumerate(held):
            start = one.span.start + turn
            while at_hand and at_hand[0][0] < start - LIMIT:
                heapq.heappop(at_hand)
            for _, other in at_hand:
                pair = (min(index, other), max(index, other))
                if held[other].member != one.member and pair not in seen:
                    seen.add(pair)
                    low, high = sorted((one, held[other]), key=lambda it: it.member)
                    yield low, high
            heapq.heappush(at_hand, (start + one.span.length + gap, index))


def overlap(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find every pair of intervals that breaks an exclusive rule."""
    for number, rule in enumerate(solution.project.rules):
        if isinstance(rule, Exclusive):
            yield from _rule_findings(solution, memo, number, rule)


def _rule_findings(solution: Solution, memo: Memo, number: int, rule: Exclusive) -> Iterator[Finding]:
    gap = gap_of(solution.project, rule)
    places: Counter[object] = Counter()
    for first, second in close_pairs(held_of(rule, solution), gap):
        near = closeness(first.span, second.span, gap)
        if not near.breaks:
            continue
        pair = Pair(rule, first, second, near, gap)
        place = places[pair.subjects]
        places[pair.subjects] += 1
        key = ("overlap", number, first.member, first.at, second.member, second.at, place)
        lanes = tuple(solution.lanes[state.lane] for state in pair.states)
        yield from memo.keep(key, (rule, *lanes), _finding_of(solution.project, pair, place))


@dataclass(frozen=True)
class Pair:
    """Two intervals that break an exclusive rule."""

    rule: Exclusive
    first: Held
    second: Held
    near: Closeness
    gap: float

    @property
    def states(self) -> tuple[State, State]:
        """Their states."""
        return self.rule.states[self.first.member], self.rule.states[self.second.member]

    @property
    def blocks(self) -> tuple[tuple[BlockRef, ...], tuple[BlockRef, ...]]:
        """The blocks that lie in each."""
        first, second = (
            tuple(BlockRef(state.lane, index) for index in held.interval.blocks)
            for state, held in zip(self.states, (self.first, self.second), strict=True)
        )
        return first, second

    @property
    def subjects(self) -> tuple[State | BlockRef, ...]:
        """States and blocks that the finding is about."""
        first, second = self.blocks
        return (*self.states, *first, *second)


def _finding_of(project: Project, pair: Pair, place: int) -> Callable[[], tuple[Finding]]:
    def make() -> tuple[Finding]:
        where = pair.near.where
        finding = found(
            "overlap",
            tuple(dict.fromkeys(state.lane for state in pair.states)),
            span=where,
            value=where.length,
            limit=pair.gap,
            subjects=pair.subjects,
            cure=_cure(project, pair),
            place=place,
            how="overlap" if pair.near.overlaps else "gap",
            seconds=where.length / deg_per_s(project),
        )
        return (finding,)

    return make


def _cure(project: Project, pair: Pair) -> Cure | None:
    """Move the block of either interval earlier or later, by the least that keeps the gap."""
    before = _broken(project, pair)
    options = sorted(_shifts(project, pair), key=lambda option: round(abs(option[1]), 6))
    attempts = (moved(project, ref, by) for ref, by in options)
    return first_verified(project, attempts, lambda edited: _broken(edited, pair) < before)


def _shifts(project: Project, pair: Pair) -> Iterator[tuple[BlockRef, float]]:
    """Yield blocks with the shift, in angles of their stack, that would bring the gap about.

    Of two equal shifts the later block's comes first.
    """
    spans = (pair.first.span, pair.second.span)
    ahead_by = ahead(spans[0].start, spans[1].start)
    order = (1, 0) if ahead_by <= ahead(spans[1].start, spans[0].start) else (0, 1)
    for one in order:
        refs, span, other = pair.blocks[one], spans[one], spans[1 - one]
        if len(refs) == 1 and is_free(project, refs[0]):
            lane = project.lane(refs[0].lane_id)
            turns = project.stack_of(lane).turns
            yield refs[0], ahead(span.start, other.end + pair.gap) * turns
            yield refs[0], -ahead(other.start - pair.gap, span.end) * turns


def _broken(project: Project, pair: Pair) -> float:
    """Count the interval pairs of the two states that break the rule; infinite without motion."""
    first, second = (intervals_in(project, state) for state in pair.states)
    if first is None or second is None:
        return float("inf")
    return sum(closeness(a.span, b.span, pair.gap).breaks for a in first for b in second)


OVERLAP = Check(("overlap",), overlap)
