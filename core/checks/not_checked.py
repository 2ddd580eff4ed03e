"""not-checked: what a project uses and this version does not compute, so that clean means clean.

`GAPS` is the list of what is missing: what it is called, and which lanes of a project use it. A row is
taken off when its computation lands. What a lane's own solution lacks (a kind of lane, a law, a follower
that cannot stand where it is put) is told by the solution and needs no row.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from core.checks.base import Check, Memo, each_lane
from core.findings import Finding, found
from core.model import Lane, Project, Record
from core.solution import LaneSolution, Solution

Lanes = tuple[str, ...]


@dataclass(frozen=True)
class Gap:
    """Something that is not computed.

    what: plural, in sentence case, as in "Drive trains are not checked". used: the lanes that use it,
    an empty tuple where the whole machine does, None where nothing does.
    """

    what: str
    used: Callable[[Project, Collection[Lane]], Lanes | None]


def _lanes(uses: Callable[[Lane], bool]) -> Callable[[Project, Collection[Lane]], Lanes | None]:
    """Make a gap's test of a test of one lane."""

    def used(_project: Project, lanes: Collection[Lane]) -> Lanes | None:
        return tuple(lane.id for lane in lanes if uses(lane)) or None

    return used


def _machine(uses: Callable[[Project], bool]) -> Callable[[Project, Collection[Lane]], Lanes | None]:
    """Make a gap's test of a test of the whole machine."""
    return lambda project, _lanes: () if uses(project) else None


def _says(record: Record, *fields: str) -> bool:
    """Tell whether the maker gave any of a record's fields."""
    return bool(record.model_fields_set.intersection(fields))


GAPS: tuple[Gap, ...] = (
    Gap("Loads, contact forces and torque", _lanes(lambda lane: lane.load is not None)),
    Gap("Drive trains", _machine(lambda project: project.drive is not None)),
    Gap("Riders and their followers", _lanes(lambda lane: lane.kind == "rider")),
    Gap(
        "Bodies that may meet",
        _lanes(lambda lane: _says(lane.follower, "body_width_mm", "guide_start_mm", "pivot_rod_mm")),
    ),
    Gap(
        "Clearances between stacked followers",
        _machine(lambda p: any(_says(s, "follower_height_mm", "body_clearance_mm") for s in p.stacks)),
    ),
    Gap("Tolerances", _machine(lambda project: _says(project, "tolerances"))),
    Gap(
        "Play and backlash",
        _machine(
            lambda p: (
                any(s.backlash_deg > 0 or s.keying == "chain" for s in p.stacks)
                or any(lane.follower.link_play_mm > 0 for lane in p.lanes)
            )
        ),
    ),
    Gap("Dogs", _machine(lambda project: any(stack.dogs is not None for stack in project.stacks))),
)
"""What this version does not compute."""


def unsolved(_solution: Solution, lane: LaneSolution) -> Iterator[Finding]:
    """Find lanes without a motion or a disc, for whatever reason but a clash of blocks."""
    if lane.no_motion is not None:
        if lane.no_motion.reason == "empty":
            yield found("not-checked", (lane.lane.id,), why="It has no blocks: there is nothing to check.")
        elif lane.no_motion.reason != "clash":
            yield found("not-checked", (lane.lane.id,), why=_sentence(lane.no_motion.what))
    elif lane.no_profile is not None and lane.lane.has_disc:
        yield found("not-checked", (lane.lane.id,), why=f"There is no disc to check: {lane.no_profile.what}.")


def _sentence(what: str) -> str:
    return f"{what[:1].upper()}{what[1:]}: not checked by this version."


def gaps(solution: Solution, _memo: Memo) -> Iterator[Finding]:
    """Find everything on the list that the project uses."""
    lanes = [lane.lane for lane in solution.lanes.values()]
    for place, gap in enumerate(GAPS):
        used = gap.used(solution.project, lanes)
        if used is not None:
            yield found("not-checked", used, what=gap.what, place=place)


NOT_CHECKED = Check(("not-checked",), gaps)
UNSOLVED = each_lane(unsolved, "not-checked")
