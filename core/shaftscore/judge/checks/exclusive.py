"""overlap: two states of an exclusive rule hold at the same time, or closer than the required gap.

*Held* is one interval of one member state. A *close pair* is two held intervals of different members
that overlap or come closer than the gap; it is found by a sweep over the starts, twice round the turn,
with all intervals at hand that still hold or ended less than the gap ago. *Slack* is what is left
above the required gap, negative where the rule is broken. Angles are master angles; a gap in seconds
counts at the shaft's nominal speed.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from shaftscore.base.angles import TURN, Arcs, Span, ahead
from shaftscore.base.tolerance import LIMIT, over, under
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, MachineCheck, Memo
from shaftscore.judge.checks.cures import first_verified, intervals_in, is_free, moved, part_of
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Exclusive, LevelState, Project, RangeState
from shaftscore.solution import Solution

State = LevelState | RangeState

Known = Mapping[State, tuple[StateInterval, ...]]
"""Intervals of states."""


@dataclass(frozen=True)
class MemberInterval:
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


def gap_of(project: Project, rule: Exclusive) -> float:
    """Return the gap that a rule asks for, degrees."""
    if rule.gap_s is not None:
        return rule.gap_s * deg_per_s(project)
    return rule.gap_deg or 0.0


def deg_per_s(project: Project) -> float:
    """How fast the master shaft turns at nominal speed, degrees a second."""
    return 6.0 * project.shaft.speed_rpm


def closeness(first: Arcs, second: Arcs, gap: float) -> Closeness:
    """Return how two stretches lie; of two shared stretches, or two gaps, the one that decides."""
    start, length, overlaps = _lie(first.spans[0], second.spans[0])
    return Closeness(overlaps, Arcs.span(start, length), -length - gap if overlaps else length - gap)


def slack(first: Arcs, second: Arcs, gap: float) -> float:
    """Return the slack of two stretches, degrees."""
    _, length, overlaps = _lie(first.spans[0], second.spans[0])
    return -length - gap if overlaps else length - gap


def _lie(first: Span, second: Span) -> tuple[float, float, bool]:
    """Return the start and length of what two stretches share, or of the gap between them; which of both."""
    (start, length), (other, width) = first, second
    if length >= TURN or width >= TURN:
        return (*(second if length >= TURN else first), True)
    on = ahead(start, other)
    back = TURN - on
    shared = ((min(width, length - on), other), (min(length, width - back), start))
    longest, begin = max(shared)
    if over(longest, 0.0):
        return begin, longest, True
    gaps = ((max(0.0, on - length), start + length), (max(0.0, back - width), other + width))
    between, begin = min(gaps)
    return begin, between, False


def held_of(rule: Exclusive, solution: Solution) -> list[MemberInterval]:
    """Return the intervals of all members of a rule whose lanes are looked at, sorted by start."""
    every = [
        MemberInterval(member, at, interval)
        for member, state in enumerate(rule.states)
        if state.lane in solution.lanes
        for at, interval in enumerate(solution.intervals(state))
    ]
    return sorted(every, key=lambda held: held.span.start)


def close_pairs(
    held: Sequence[MemberInterval], gap: float
) -> Iterator[tuple[MemberInterval, MemberInterval]]:
    """Yield each pair of different members that lie closer than `gap` degrees, the lower member first.

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
            lanes = [solution.lanes.get(state.lane) for state in rule.states]
            find = partial(_rule_findings, solution, rule)
            yield from memo.keep_parts(("overlap", number), (rule, *lanes), find)


def _rule_findings(solution: Solution, rule: Exclusive, memo: Memo) -> Iterator[Finding]:
    gap = gap_of(solution.project, rule)
    for first, second in close_pairs(held_of(rule, solution), gap):
        if under(slack(first.span, second.span, gap), 0.0):
            lanes = tuple(solution.lanes[rule.states[held.member].lane] for held in (first, second))
            key = (first.member, first.at, second.member, second.at)
            owners = (lanes[0].lane.program_id, lanes[1].lane.program_id)
            pair = IntervalPair(rule, first, second, gap, owners)
            yield from memo.keep_curable(key, (rule, *lanes), partial(_made, solution, pair))


@dataclass(frozen=True)
class IntervalPair:
    """Two intervals that break an exclusive rule; owners: the lanes whose blocks make them."""

    rule: Exclusive
    first: MemberInterval
    second: MemberInterval
    gap: float
    owners: tuple[str, str]

    @property
    def states(self) -> tuple[State, State]:
        """Their states."""
        return self.rule.states[self.first.member], self.rule.states[self.second.member]

    @property
    def blocks(self) -> tuple[tuple[BlockRef, ...], tuple[BlockRef, ...]]:
        """The blocks that lie in each."""
        first, second = (
            tuple(BlockRef(owner, index) for index in held.interval.blocks)
            for owner, held in zip(self.owners, (self.first, self.second), strict=True)
        )
        return first, second

    @property
    def subjects(self) -> tuple[State | BlockRef, ...]:
        """States and blocks that the finding is about."""
        first, second = self.blocks
        return (*self.states, *first, *second)


def _made(solution: Solution, pair: IntervalPair) -> tuple[Curable]:
    """Make the finding of a pair."""
    near = closeness(pair.first.span, pair.second.span, pair.gap)
    where = near.where
    finding = found(
        "overlap",
        tuple(dict.fromkeys(state.lane for state in pair.states)),
        span=where,
        value=where.length,
        limit=pair.gap,
        subjects=pair.subjects,
        place=_place(solution, pair),
        how="overlap" if near.overlaps else "gap",
        seconds=where.length / deg_per_s(solution.project),
    )
    blocks = sum(len(solution.project.lane(owner).blocks) for owner in pair.owners)
    return (Curable(finding, partial(_cure, solution, pair), blocks),)


def _place(solution: Solution, pair: IntervalPair) -> int:
    """Return what distinguishes pairs of the same states and blocks: repeats, passing sweeps."""
    named = all(pair.blocks) and all(solution.lanes[state.lane].turns == 1 for state in pair.states)
    return 0 if named else pair.first.at * len(solution.intervals(pair.states[1])) + pair.second.at


def _cure(solution: Solution, pair: IntervalPair) -> Cure | None:
    """Move the block of either interval earlier or later, by the least that keeps the gap."""
    known = {state: solution.intervals(state) for state in pair.states}
    before = _broken(pair, known)
    part = part_of(solution.project, *(state.lane for state in pair.states))
    options = sorted(_shifts(part, pair), key=lambda option: round(abs(option[1]), 6))
    for ref, by in options:
        tried = first_verified(part, [moved(part, ref, by)], partial(_better, pair, ref, known, before))
        if tried is not None:
            return tried
    return None


def _better(pair: IntervalPair, ref: BlockRef, known: Known, before: int, edited: Project) -> bool:
    """Return whether fewer interval pairs break the rule; only the edited lane's are recomputed."""
    after = dict(known)
    for state in pair.states:
        if edited.lane(state.lane).program_id == ref.lane_id:
            found_anew = intervals_in(edited, state)
            if found_anew is None:
                return False
            after[state] = found_anew
    return _broken(pair, after) < before


def _shifts(project: Project, pair: IntervalPair) -> Iterator[tuple[BlockRef, float]]:
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


def _broken(pair: IntervalPair, known: Known) -> int:
    """Count the interval pairs of the two states that break the rule."""
    first, second = (known[state] for state in pair.states)
    return sum(under(slack(a.span, b.span, pair.gap), 0.0) for a in first for b in second)


OVERLAP = MachineCheck(("overlap",), overlap)
