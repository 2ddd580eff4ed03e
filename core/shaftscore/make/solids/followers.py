"""The printed parts of followers, lane by lane, for those lanes whose followers are described as parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, partial

from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.pivots import lever_seats
from shaftscore.make.solids.bracket import bracket_part
from shaftscore.make.solids.lever import coupler_part, guide_link_part, lever_part
from shaftscore.make.solids.part import MadePart
from shaftscore.make.solids.slide import slide_part
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project
from shaftscore.solution import Solution

PartMaker = Callable[[Project, FollowerLayout], MadePart]
"""Makes one part of a follower; raises FollowerLayoutError where it cannot be made."""

MAKERS: dict[str, tuple[PartMaker, ...]] = {
    "slide": (slide_part, bracket_part),
    "lever": (lever_part, bracket_part),
    "straight-line": (lever_part, coupler_part, guide_link_part, bracket_part),
}
"""What is made by kind of follower parts."""


def follower_makers(solution: Solution) -> Iterator[Callable[[], MadePart]]:
    """Yield what makes each part of each follower; calling it raises SolidError where it cannot be made."""
    seats = lever_seats(solution)
    for solved in solution.lanes.values():
        if solved.lane.parts is not None and solved.profile is not None:
            lay_out = cache(partial(machine_follower, solution, solved, seats))  # once for all parts
            for maker in MAKERS[solved.lane.parts.kind]:
                yield partial(_made, maker, solution.project, lay_out)


def _made(maker: PartMaker, project: Project, lay_out: Callable[[], FollowerLayout | None]) -> MadePart:
    try:
        layout = lay_out()
    except FollowerLayoutError as error:
        raise SolidError(str(error)) from error
    assert layout is not None
    return follower_part(maker, project, layout)


def follower_part(maker: PartMaker, project: Project, layout: FollowerLayout) -> MadePart:
    """Make a part of a follower; raises SolidError where it cannot be made."""
    try:
        return maker(project, layout)
    except FollowerLayoutError as error:
        raise SolidError(str(error)) from error
