"""overlap: two states of an exclusive rule hold at the same time, or closer than the required gap.

*Held* is one interval of one member state. What a rule means is in `shaftscore.rules.exclusive`; here is
where it is broken, and how that is cured. Angles are master angles; a gap in seconds counts at the shaft's
nominal speed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from shaftscore.base.angles import TURN, Arcs, Span, ahead
from shaftscore.base.tolerance import LIMIT, over, under
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, MachineCheck, Memo, rule_runs
from shaftscore.judge.checks.cures import first_verified, intervals_in, is_free, moved, part_of
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Exclusive, LevelState, Project, RangeState
from shaftscore.rules.exclusive import close_pairs, gap_deg, slack_deg
from shaftscore.rules.nominal import deg_per_s, stretches_of
from shaftscore.rules.times import Stretches
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


def closeness(first: Arcs, second: Arcs, gap: float) -> Closeness:
    """Return how two stretches lie; of two shared stretches, or two gaps, the one that decides."""
    start, length, overlaps = _lie(first.spans[0], second.spans[0])
    slack = float(slack_deg(stretches_of([first]), stretches_of([second]), gap)[0])
    return Closeness(overlaps, Arcs.span(start, length), slack)


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


def overlap(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find every pair of intervals that breaks an exclusive rule."""
    for number, rules, reads in rule_runs(solution, memo.kept):
        yield from memo.keep_together(("overlaps", number), reads, partial(_run_findings, solution, rules))


def _run_findings(solution: Solution, rules: range, memo: Memo) -> Iterator[Finding]:
    for number in rules:
        rule = solution.project.rules[number]
        if isinstance(rule, Exclusive):
            lanes = [solution.lanes.get(state.lane) for state in rule.states]
            find = partial(_rule_findings, solution, rule)
            yield from memo.keep_parts(("overlap", number), (rule, *lanes), find)


def _rule_findings(solution: Solution, rule: Exclusive, memo: Memo) -> Iterator[Finding]:
    gap = gap_deg(rule, deg_per_s(solution.project))
    for first, second in _broken_pairs(held_of(rule, solution), gap):
        lanes = tuple(solution.lanes[rule.states[held.member].lane] for held in (first, second))
        key = (first.member, first.at, second.member, second.at)
        owners = (lanes[0].lane.program_id, lanes[1].lane.program_id)
        pair = IntervalPair(rule, first, second, gap, owners)
        yield from memo.keep_curable(key, (rule, *lanes), partial(_made, solution, pair))


def _broken_pairs(
    held: Sequence[MemberInterval], gap: float
) -> Iterator[tuple[MemberInterval, MemberInterval]]:
    """Yield the pairs of intervals that break a rule, the lower member first; held: sorted by start."""
    spans = [one.span.spans[0] for one in held]
    starts, lengths = [start for start, _ in spans], [length for _, length in spans]
    pairs = [*close_pairs(starts, lengths, [one.member for one in held], gap)]
    if not pairs:
        return
    ends = [[held[place].span for place in side] for side in zip(*pairs, strict=True)]
    slacks = slack_deg(stretches_of(ends[0]), stretches_of(ends[1]), gap)
    for (one, other), slack in zip(pairs, slacks.tolist(), strict=True):
        if under(slack, 0.0):
            low, high = sorted((held[one], held[other]), key=lambda it: it.member)
            yield low, high


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
    first, second = (stretches_of([one.span for one in known[state]]) for state in pair.states)
    every = Stretches(first.start[:, None], first.length[:, None])
    return int(np.count_nonzero(slack_deg(every, second, pair.gap) < -LIMIT))


OVERLAP = MachineCheck(("overlap",), overlap)
