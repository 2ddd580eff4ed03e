"""not-checked: what a project uses and this version does not compute, so that clean means clean.

`GAPS` is the list of what is missing: what it is called, and which lanes of a project use it. A row is
taken off when its computation lands. What a lane's own solution lacks (a motion, a disc) is told by the
solution and needs no row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from core.checks.base import LaneCheck, MachineCheck, Memo
from core.findings import Finding, Severity, found
from core.model import Project
from core.solution import LaneSolution, Solution

Lanes = tuple[str, ...]

Used = Callable[[Project], Lanes | None]
"""Gives the lanes that use something, () where the whole machine does, None where nothing does."""


@dataclass(frozen=True)
class Gap:
    """Something that is not computed; what: plural, in sentence case ("Drive trains")."""

    what: str
    used: Used


def _machine(uses: Callable[[Project], bool]) -> Used:
    """Make a gap's test of a test of the whole machine."""
    return lambda project: () if uses(project) else None


GAPS: tuple[Gap, ...] = (
    Gap("Dogs", _machine(lambda project: any(stack.dogs is not None for stack in project.stacks))),
)
"""What this version does not compute."""


def unsolved(_solution: Solution, lane: LaneSolution) -> Iterator[Finding]:
    """Find lanes without a motion or a disc, for whatever reason but a clash of blocks.

    A follower that cannot stand where it is put is an error: no version could check its disc.
    """
    nothing, missing = lane.no_motion, lane.no_profile
    if nothing is not None and nothing.reason == "empty":
        yield found("not-checked", (lane.lane.id,), why="It has no blocks: there is nothing to check.")
    elif nothing is not None and nothing.reason != "clash":
        yield found("not-checked", (lane.lane.id,), why=f"It has no motion to check: {nothing.what}.")
    elif missing is not None and missing.reason != "kind":
        why = f"There is no disc to check: {missing.what}."
        yield found("not-checked", (lane.lane.id,), severity=Severity.ERROR, why=why)
    elif nothing is None and lane.profile is None and lane.lane.load is not None:
        yield found("not-checked", (lane.lane.id,), why="Its load is not checked: it has no disc.")


def gaps(solution: Solution, _memo: Memo) -> Iterator[Finding]:
    """Find everything on the list that the project uses; of some lanes alone, what those use."""
    for place, gap in enumerate(GAPS):
        used = gap.used(solution.project)
        if used is None:
            continue
        here = tuple(lane_id for lane_id in used if lane_id in solution.lanes)
        if here or not used:
            yield found("not-checked", here, what=gap.what, place=place)


NOT_CHECKED = MachineCheck(("not-checked",), gaps)
UNSOLVED = LaneCheck(("not-checked",), unsolved)
