"""weak-part: walls, webs, floors and dogs that are too thin to print, or to last. bad-part: missing ones.

What counts as a wall is in `shaftscore.stack.walls`, where the export reads it too. What all parts of a
stack share (dogs against the bore, against one another) is found once, with the stack's name; what is a
disc's own is found for its lane.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial

from shaftscore.base.tolerance import under
from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.model import Print, Stack
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack.walls import PartWall, disc_walls, shared_walls, spacer_walls

MOST_WALLS = 20
"""Walls that a stack's parts have in common are fewer, so that findings of two stacks are told apart."""


def walls(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find what is too thin, stack by stack."""
    printer = solution.project.print
    for number, stack in enumerate(solution.project.stacks):
        lanes = tuple(
            solved
            for solved in solution.lanes.values()
            if solved.lane.has_disc and solution.project.stack_of(solved.lane) is stack
        )
        if lanes:
            compute = partial(_of_stack, number, printer, stack, len(lanes))
            yield from memo.keep(("walls", number), (stack, printer, len(lanes) > 1), compute)
        for solved in lanes:
            own = partial(_of_disc, printer, stack, solved)
            yield from memo.keep(("walls", number, solved.lane.id), (stack, printer, solved), own)


def _of_stack(number: int, printer: Print, stack: Stack, discs: int) -> Iterator[Finding]:
    shared = [*shared_walls(printer, stack)]
    if stack.spacer_mm > 0 and discs > 1:
        shared += spacer_walls(printer, stack)
    yield from _thin((), f"{stack.label}: ", shared, number * MOST_WALLS)


def _of_disc(printer: Print, stack: Stack, solved: LaneSolution) -> Iterator[Finding]:
    if solved.profile is not None:
        yield from _thin((solved.lane.id,), "", disc_walls(printer, stack, solved.lane, solved.profile), 0)


def _thin(lanes: tuple[str, ...], whose: str, shared: Iterable[PartWall], first: int) -> Iterator[Finding]:
    for place, wall in enumerate(shared, start=first):
        part = f"{whose}{wall.part}" if whose else wall.part.capitalize()
        if not wall.is_there:
            yield found("bad-part", lanes, value=wall.least_mm, limit=0.0, place=place, part=part)
        elif under(wall.thick_mm, wall.limit_mm):
            yield found("weak-part", lanes, value=wall.thick_mm, limit=wall.limit_mm, place=place, part=part)


WALLS = MachineCheck(("weak-part", "bad-part"), walls)
