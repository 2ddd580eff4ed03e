"""interlock: a rule of kind requires or order is broken.

requires: from lead before to lag after every interval of `when`, the lane of `need` is in that state.
order: from each begin of `first` to the next begin of `then`, in this cycle or the next, it takes min_s
to max_s. What both mean is in `shaftscore.rules`; here is where they are broken, and how that is cured.
Degrees are master angles; seconds count at the shaft's nominal speed. A rule is left out while one of its
lanes has no motion: that lane has its own finding.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from math import inf
from typing import Any

import numpy as np

from shaftscore.base.angles import Arcs, ahead
from shaftscore.base.tolerance import over, under
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, MachineCheck, Memo, rule_runs
from shaftscore.judge.checks.cures import (
    Attempt,
    begun,
    ended,
    first_verified,
    intervals_in,
    is_free,
    moved,
    part_of,
)
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Order, Project, Requires, Rule
from shaftscore.rules.kinds import meaning_of
from shaftscore.rules.nominal import deg_per_s
from shaftscore.rules.order import limits_deg, slack_deg, wait_deg
from shaftscore.rules.requires import lead_lag
from shaftscore.solution import LaneSolution, Solution

Intervals = tuple[StateInterval, ...]

MOST_ATTEMPTS = 8
"""Edits that are tried for one finding, the smallest first: a need may have hundreds of intervals."""


def interlock(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find every place where a rule of kind requires or order is broken."""
    for number, rules, reads in rule_runs(solution, memo.kept):
        yield from memo.keep_together(("interlocks", number), reads, partial(_run_findings, solution, rules))


def _run_findings(solution: Solution, rules: range, memo: Memo) -> Iterator[Finding]:
    for number in rules:
        rule = solution.project.rules[number]
        find = FINDERS.get(rule.kind)
        lanes = judged_lanes(solution, rule) if find is not None else None
        if lanes is None:
            continue
        yield from memo.keep_curable(
            ("interlock", number),
            (rule, *lanes),
            lambda rule=rule, find=find: find(solution, rule),  # type: ignore[misc]
        )


def judged_lanes(solution: Solution, rule: Rule) -> tuple[LaneSolution, ...] | None:
    """Return the lanes of a rule, or None if one is not looked at or has no motion."""
    lanes = tuple(solution.lanes.get(state.lane) for state in meaning_of(rule).states(rule))
    known = tuple(lane for lane in lanes if lane is not None and lane.motion is not None)
    return known if len(known) == 2 else None


def missing(asked: Arcs, need: Intervals) -> tuple[Arcs, ...]:
    """Return the stretches of `asked` in which `need` does not hold, in the order of the run."""
    held = Arcs.of(span for interval in need for span in interval.span.spans)
    gone = [part for part in asked & ~held if over(part.length, 0.0)]
    begin = asked.spans[0][0]
    return tuple(sorted(gone, key=lambda part: ahead(begin, part.start)))


def _requires(solution: Solution, rule: Requires) -> Iterator[Curable]:
    project = solution.project
    lead, lag = lead_lag(rule, deg_per_s(project))
    when, need = solution.intervals(rule.when), solution.intervals(rule.need)
    places: Counter[object] = Counter()
    for interval in when:
        blocks = tuple(BlockRef(project.lane(rule.when.lane).program_id, index) for index in interval.blocks)
        for part in missing(interval.span.grow(lead, lag), need):
            finding = found(
                "interlock",
                (rule.need.lane, rule.when.lane),
                span=part,
                value=part.length,
                limit=0.0,
                subjects=(rule.when, rule.need, *blocks),
                place=places[blocks],
                kind="requires",
                seconds=part.length / deg_per_s(project),
            )
            find = partial(_requires_cure, project, rule, part, need)
            yield Curable(finding, find, _blocks_of(project, rule.when.lane, rule.need.lane))
            places[blocks] += 1


def _blocks_of(project: Project, *lane_ids: str) -> int:
    """Count the blocks that make the motion of some lanes."""
    return sum(len(project.lane(project.lane(one).program_id).blocks) for one in lane_ids)


def _requires_cure(project: Project, rule: Requires, part: Arcs, need: Intervals) -> Cure | None:
    """Hold the needed state longer: end its block later or begin it earlier, the shorter way first."""
    project = part_of(project, rule.when.lane, rule.need.lane)
    turns = project.stack_of(project.lane(rule.need.lane)).turns
    options: list[tuple[float, Attempt]] = []
    for interval in need:
        if not interval.blocks:
            continue
        later = ahead(interval.span.end, part.end) * turns
        earlier = ahead(part.start, interval.span.start) * turns
        own = project.lane(rule.need.lane).program_id
        last, first = (BlockRef(own, interval.blocks[at]) for at in (-1, 0))
        for by, ref, change in ((later, last, ended), (-earlier, first, begun)):
            attempt = change(project, ref, by, "give") if is_free(project, ref) and by else None
            if attempt is not None:
                options.append((abs(by), attempt))
    attempts = [attempt for _, attempt in sorted(options, key=lambda option: option[0])]
    before = _missing_in(project, rule)

    def cured(edited: Project) -> bool:
        """Whether the need holds there, and no other stretch lost it instead."""
        left = _missing_in(edited, rule)
        fewer = before is None or (left is not None and len(left) < len(before))
        return left is not None and fewer and not any(over((one & part).length, 0.0) for one in left)

    return first_verified(project, attempts[:MOST_ATTEMPTS], cured)


def _missing_in(project: Project, rule: Requires) -> list[Arcs] | None:
    """List the stretches in which a rule's need is missing; None without motion."""
    when, need = intervals_in(project, rule.when), intervals_in(project, rule.need)
    if when is None or need is None:
        return None
    lead, lag = lead_lag(rule, deg_per_s(project))
    return [part for interval in when for part in missing(interval.span.grow(lead, lag), need)]


@dataclass(frozen=True)
class Follows:
    """From a begin of `first`, the degrees to the next begin of `then` (None: it never begins)."""

    first: StateInterval
    then: StateInterval | None
    after_deg: float | None


def followed(rule: Order, first: Intervals, then: Intervals) -> Iterator[Follows]:
    """Yield each begin of `first` with the next begin of `then`; a state that always holds never begins."""
    begins = [interval for interval in then if not interval.span.is_full]
    same = rule.first == rule.then
    for interval in first:
        if interval.span.is_full:
            continue
        start = interval.span.start
        waits = [(wait_deg(start, other.span.start, same=same), other) for other in begins]
        wait, other = min(waits, key=lambda pair: pair[0], default=(None, None))
        yield Follows(interval, other, wait)


def is_broken(follows: Follows, low_deg: float, high_deg: float) -> bool:
    """Return whether a wait is too short or too long, limits in degrees; also where it never ends."""
    if follows.after_deg is None:
        return True
    return under(float(slack_deg(np.array(follows.after_deg), low_deg, high_deg)), 0.0)


def _order(solution: Solution, rule: Order) -> Iterator[Finding | Curable]:
    project = solution.project
    low, high = limits_deg(rule, deg_per_s(project))
    places: Counter[object] = Counter()
    for follows in followed(rule, solution.intervals(rule.first), solution.intervals(rule.then)):
        if is_broken(follows, low, high):
            own = project.lane(rule.first.lane).program_id
            blocks = tuple(BlockRef(own, index) for index in follows.first.blocks)
            yield _order_finding(project, rule, follows, blocks, places[blocks])
            places[blocks] += 1
            if follows.then is None:
                return  # it never begins: the same after every other begin of `first`


def _order_finding(
    project: Project, rule: Order, follows: Follows, blocks: tuple[BlockRef, ...], place: int
) -> Finding | Curable:
    low, high = limits_deg(rule, deg_per_s(project))
    wait, start = follows.after_deg, follows.first.span.start
    early = wait is not None and under(wait, low)
    finding = found(
        "interlock",
        (rule.first.lane, rule.then.lane) if rule.first.lane != rule.then.lane else (rule.first.lane,),
        span=Arcs.full() if wait is None else Arcs.span(start, wait),
        value=None if wait is None else wait / deg_per_s(project),
        limit=rule.min_s if early else rule.max_s,
        subjects=(rule.first, rule.then, *blocks),
        place=place,
        kind="order",
        side="min" if early else "max",
    )
    if wait is None:
        return finding
    find = partial(_order_cure, project, rule, follows, low - wait if early else high - wait)
    return Curable(finding, find, _blocks_of(project, rule.first.lane, rule.then.lane))


def _order_cure(project: Project, rule: Order, follows: Follows, by_deg: float) -> Cure | None:
    """Move the block of `then` by what is missing (later) or too much (earlier), or `first` against it."""
    project = part_of(project, rule.first.lane, rule.then.lane)
    options = [(rule.then, follows.then, by_deg), (rule.first, follows.first, -by_deg)]
    attempts: list[Attempt] = []
    for state, interval, by in options:
        if interval is None or len(interval.blocks) != 1:
            continue
        ref = BlockRef(project.lane(state.lane).program_id, interval.blocks[0])
        if is_free(project, ref):
            turns = project.stack_of(project.lane(state.lane)).turns
            attempts.append(moved(project, ref, by * turns))
    before = _broken_orders(project, rule)
    return first_verified(project, attempts, lambda edited: _broken_orders(edited, rule) < before)


def _broken_orders(project: Project, rule: Order) -> float:
    """Count the begins of `first` that break a rule; infinite without motion."""
    first, then = intervals_in(project, rule.first), intervals_in(project, rule.then)
    if first is None or then is None:
        return inf
    limits = limits_deg(rule, deg_per_s(project))
    return sum(is_broken(follows, *limits) for follows in followed(rule, first, then))


FINDERS: Mapping[str, Callable[[Solution, Any], Iterator[Finding | Curable]]] = {
    "requires": _requires,
    "order": _order,
}
"""What finds where a rule is broken, by its kind; Any, since each takes rules of its own."""

INTERLOCK = MachineCheck(("interlock",), interlock)
