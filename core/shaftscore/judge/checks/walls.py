"""weak-part: walls, webs, floors and dogs that are too thin to print, or to last.

A *wall* is material between two openings or to an edge in plan view, a *floor* the height left under or
over one. What all parts of a stack share (dogs against the bore, against one another) is told once, with
the stack's name; what is a disc's own is told for its lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from shaftscore.base.tolerance import under
from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.kinematics.profiles import Profile
from shaftscore.kinematics.profiles.limits import WALL_MM
from shaftscore.model import Dogs, Stack
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import FLOOR_MM, GAP_MM, dog_gap, mark_depth, pocket_depth

Wall = tuple[str, float, float]
"""What it is called, how thick it is, and how thick it should be, mm."""


MOST_WALLS = 10
"""Walls that a stack's parts have in common are fewer, so that findings of two stacks are told apart."""


def stack_walls(stack: Stack, *, spacers: bool) -> Iterator[Wall]:
    """Yield the walls that all parts of a stack have, and those of its spacers if it has any."""
    hole = stack.bore.outer_radius_mm + stack.fit_clearance_mm
    outer = hole
    if stack.dogs is not None:
        inner, outer = stack.dogs.reach(stack.fit_clearance_mm)
        yield "wall between bore and dogs", inner - hole, WALL_MM
        yield from _dog_walls(stack.dogs, stack.fit_clearance_mm)
    if spacers:
        yield "wall of the spacer", stack.spacer_radius_mm - outer, WALL_MM
        if stack.dogs is not None:
            yield "floor over the spacer\u2019s pockets", stack.spacer_mm - pocket_depth(stack), FLOOR_MM


def _dog_walls(dogs: Dogs, clearance_mm: float) -> Iterator[Wall]:
    yield "dog", dogs.width_mm, WALL_MM
    yield "web between dogs", dog_gap(dogs) - 2 * clearance_mm, GAP_MM


def disc_walls(stack: Stack, solved: LaneSolution, profile: Profile) -> Iterator[Wall]:
    """Yield the walls and floors of a disc of its own."""
    disc, least = solved.lane.disc, profile.min_radius_mm
    if profile.limits.groove:
        least -= solved.lane.follower.groove_clearance_mm / 2
        yield "floor under the groove", disc.thickness_mm - disc.groove_depth_mm, FLOOR_MM
        yield "rim of the groove", disc.rim_mm, WALL_MM
    yield "wall between bore and rim", least - stack.bore.outer_radius_mm - stack.fit_clearance_mm, WALL_MM
    if stack.dogs is not None:
        yield "wall between dogs and rim", least - stack.dogs.reach(stack.fit_clearance_mm)[1], WALL_MM
        yield "floor over the pockets", disc.thickness_mm - pocket_depth(stack), FLOOR_MM
    yield "floor under the marks", disc.thickness_mm - mark_depth(disc.thickness_mm), FLOOR_MM


def walls(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find what is too thin, stack by stack."""
    for number, stack in enumerate(solution.project.stacks):
        lanes = tuple(
            solved
            for solved in solution.lanes.values()
            if solved.lane.has_disc and solution.project.stack_of(solved.lane) is stack
        )
        if lanes:
            compute = partial(_of_stack, number, stack, lanes)
            yield from memo.keep(("walls", number), (stack, *lanes), compute)


def _of_stack(number: int, stack: Stack, lanes: tuple[LaneSolution, ...]) -> Iterator[Finding]:
    spacers = stack.spacer_mm > 0 and len(lanes) > 1
    shared = stack_walls(stack, spacers=spacers)
    named = [(f"{stack.label}: {part}", thick, limit) for part, thick, limit in shared]
    yield from _thin((), named, number * MOST_WALLS)
    for solved in lanes:
        if solved.profile is not None:
            own = disc_walls(stack, solved, solved.profile)
            named = [(part.capitalize(), thick, limit) for part, thick, limit in own]
            yield from _thin((solved.lane.id,), named, 0)


def _thin(lanes: tuple[str, ...], found_walls: Sequence[Wall], first: int) -> Iterator[Finding]:
    for place, (part, thick, limit) in enumerate(found_walls, start=first):
        if under(thick, limit):
            yield found("weak-part", lanes, value=thick, limit=limit, place=place, part=part)


WALLS = MachineCheck(("weak-part",), walls)
