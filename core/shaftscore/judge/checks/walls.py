"""weak-part: walls, webs, floors and dogs that are too thin to print, or to last. bad-part: missing ones.

What counts as a wall is in `shaftscore.stack.walls`, where the export reads it too. What all parts of a
stack share (dogs against the bore, against one another) is found once, with the stack's name; what is a
disc's own is found for its lane.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from shaftscore.judge.checks.base import Curable, MachineCheck, Memo
from shaftscore.judge.checks.wall_cures import Look, disc_cure, stack_cure
from shaftscore.judge.findings import Finding, found
from shaftscore.model import Project, Stack
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.incremental import runs_of
from shaftscore.stack.walls import PartWall, disc_walls, shared_walls, spacer_walls

MOST_WALLS = 20
"""Walls that a stack's parts have in common are fewer, so that findings of two stacks stay distinct."""


def walls(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find what is too thin, stack by stack."""
    project = solution.project
    for number, stack in enumerate(project.stacks):
        lanes = tuple(solved for solved in solution.on_stack(stack.id) if solved.lane.has_disc)
        if lanes:
            compute = partial(_of_stack, number, project, stack, len(lanes))
            yield from memo.keep_curable(("walls", number), (stack, project.print, len(lanes) > 1), compute)
        for part, run in runs_of(lanes):
            reads = (stack, project.print, *run)
            yield from memo.keep_together(
                ("walls", number, part), reads, partial(_of_discs, project, stack, number, run)
            )


def _of_discs(
    project: Project, stack: Stack, number: int, run: Sequence[LaneSolution], memo: Memo
) -> Iterator[Finding]:
    for solved in run:
        own = partial(_of_disc, project, stack, solved)
        key = ("walls", number, solved.lane.id)
        yield from memo.keep_curable(key, (stack, project.print, solved), own)


def _of_stack(number: int, project: Project, stack: Stack, discs: int) -> Iterator[Finding | Curable]:
    shared = [*shared_walls(project.print, stack)]
    if stack.spacer_mm > 0 and discs > 1:
        shared += spacer_walls(project.print, stack)
    look = partial(stack_cure, project, stack)
    yield from _thin((), f"{stack.label}: ", shared, number * MOST_WALLS, look)


def _of_disc(project: Project, stack: Stack, solved: LaneSolution) -> Iterator[Finding | Curable]:
    profile = solved.profile
    if profile is not None:
        least = profile.radii_within_mm[0]
        if not any(map(_is_amiss, disc_walls(project.print, stack, solved.lane, profile, least))):
            return
        own = disc_walls(project.print, stack, solved.lane, profile)
        yield from _thin((solved.lane.id,), "", own, 0, partial(disc_cure, project, solved.lane))


def _is_amiss(wall: PartWall) -> bool:
    return wall.is_weak or not wall.is_there


def _thin(
    lanes: tuple[str, ...], whose: str, shared: Iterable[PartWall], first: int, look: Look
) -> Iterator[Finding | Curable]:
    """Yield what is missing or weak, with what looks for its cure."""
    for place, wall in enumerate(shared, start=first):
        part = f"{whose}{wall.part}" if whose else wall.part.capitalize()
        if not wall.is_there:
            finding = found("bad-part", lanes, value=wall.least_mm, limit=0.0, place=place, part=part)
        elif wall.is_weak:
            thick, limit = wall.thick_mm, wall.limit_mm
            finding = found("weak-part", lanes, value=thick, limit=limit, place=place, part=part)
        else:
            continue
        yield Curable(finding, partial(look, wall), slow=True)


WALLS = MachineCheck(("weak-part", "bad-part"), walls)
