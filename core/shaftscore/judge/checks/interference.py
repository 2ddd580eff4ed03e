"""interference: a follower, guide or pivot rod comes nearer to another part than the required clearance.

Judged stack by stack, for every pair of parts whose heights let them meet (`judge.bodies`), in the first
turn of the stack. Each pair is kept while the lanes and heights that it reads are the same; while a block
is held, what was last said of a pair stands in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from shaftscore.base.angles import Arcs, wrap
from shaftscore.judge.bodies import BodyPair, BodyPart, Clearance, pairs_of, parts_of, too_near
from shaftscore.judge.bodies.parts import STANDING, TURNING
from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.checks.interference_cures import CureFinder
from shaftscore.judge.findings import Finding, found
from shaftscore.model import Stack
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental, Reads, same_reads

KINDS = (
    *TURNING,
    *(
        "pinion",
        "follower",
        "guide",
        "block",
        "roller",
        "lever",
        "second lever",
        "screw",
        "coupler",
        "guide link",
    ),
    *STANDING,
)
"""Kinds of parts; their places distinguish findings of the same lanes."""

MOST_CURED = 100
"""Cures are looked for beside so many findings of a stack; as those go, the next get theirs."""


def interference(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find all pairs of parts that come too near to one another, with their cures where there is time."""
    for stack in solution.project.stacks:
        yield from _of_stack(solution, memo, stack)


def _of_stack(solution: Solution, memo: Memo, stack: Stack) -> tuple[Finding, ...]:
    """Judge a stack; in a hurry, what was last said of the same stack with the same lanes stands in."""
    lanes = solution.on_stack(stack.id)
    key, parts = ("interference", stack.id), (stack, *(lane.lane.id for lane in lanes))

    def found(inside: Incremental) -> tuple[Reads, tuple[Finding, ...]]:
        return parts, tuple(_of_pairs(solution, Memo(inside, memo.cures), stack))

    last = memo.kept.before.get(key) if memo.may_stand_in else None
    if last is not None and same_reads(last.value[0], parts):
        told: tuple[Finding, ...] = memo.kept.last(key)[1]
        return told
    project = solution.project
    reads = (*parts, project.print, project.frame, *project.discs_of(stack), *lanes)
    return memo.kept.keep(key, reads, found)[1]


def _of_pairs(solution: Solution, memo: Memo, stack: Stack) -> Iterator[Finding]:
    parts = parts_of(solution, stack)
    pairs = pairs_of(parts, stack, near_mm=stack.body_clearance_mm)
    met = [(pair, one) for pair in pairs for one in _kept(solution, memo, stack, pair)]
    finder = CureFinder(solution, stack, parts, tuple(pair for pair, _ in met))
    for pair, finding in met[:MOST_CURED]:
        yield from _cured(finder, memo, pair, finding)
    yield from (finding for _, finding in met[MOST_CURED:])


def _key(pair: BodyPair) -> tuple[str, ...]:
    first, second = pair.first, pair.second
    return (first.kind, first.lane, second.kind, second.lane, f"{first.number} {second.number}")


def _kept(solution: Solution, memo: Memo, stack: Stack, pair: BodyPair) -> tuple[Finding, ...]:
    key, reads = _key(pair), _reads(solution, stack, pair)
    if memo.may_stand_in and key in memo.kept.before:
        found: tuple[Finding, ...] = memo.kept.last(key)
        return found
    return memo.keep(key, reads, partial(_judged, stack, pair))


def _reads(solution: Solution, stack: Stack, pair: BodyPair) -> Reads:
    """Return what a pair's clearance depends on."""
    heights = [height for part in (pair.first, pair.second) for height in (part.bottom_mm, part.top_mm)]
    lanes = [solution.lanes.get(part.lane) for part in (pair.first, pair.second)]
    rods = [part.axle for part in (pair.first, pair.second) if part.kind == "spring rod"]
    places = [value for rod in rods if rod is not None for value in (rod.at.real, rod.at.imag)]
    return (stack, *lanes, *heights, *places)


def _judged(stack: Stack, pair: BodyPair) -> Iterator[Finding]:
    clearance = too_near(pair, stack.body_clearance_mm)
    if clearance is None:
        return
    first, second = pair.first, pair.second
    yield found(
        "interference",
        tuple(dict.fromkeys((first.lane, second.lane))),
        span=_in_cycle(_stretch(clearance), stack.turns),
        value=clearance.least_mm,
        limit=stack.body_clearance_mm,
        first=first.name,
        second=second.name,
        at_deg=wrap(clearance.at_deg) / stack.turns,
        place=_place(first) * MOST_PLACES + _place(second),
    )


def _place(part: BodyPart) -> int:
    """Return what tells the parts of a lane apart."""
    return part.number * len(KINDS) + KINDS.index(part.kind)


MOST_PLACES = 1000
"""Parts of one lane are fewer."""


def _stretch(clearance: Clearance) -> Arcs:
    """Return the stretch that is too near and holds the nearest place."""
    for stretch in clearance.too_near:
        if stretch.contains(wrap(clearance.at_deg)):
            return stretch
    return Arcs.span(clearance.at_deg, 0.0)


def _in_cycle(stretch: Arcs, turns: int) -> Arcs:
    """Turn angles of the stack into the cycle's, in the first turn of the stack."""
    if turns == 1:
        return stretch
    return Arcs.span(0.0 if stretch.is_full else stretch.start / turns, stretch.length / turns)


def _cured(finder: CureFinder, memo: Memo, pair: BodyPair, finding: Finding) -> tuple[Finding, ...]:
    """Add the cure: it is tried on all parts of the stack, and depends on them."""
    stack = finder.stack
    key = ("cured", *_key(pair))
    reads = (finding, stack, *finder.solution.on_stack(stack.id))
    if memo.is_quick:
        memo.kept.last(key)
        return (finding,)
    return memo.keep(key, reads, lambda: (replace(finding, cure=finder.cure(pair, finding)),))


INTERFERENCE = MachineCheck(("interference",), interference)
