"""Adds to the drawing of the Follower parts view what the follower goes into at the cursor's angle."""

from __future__ import annotations

from dataclasses import replace

from shaftscore.judge.bodies import BodyPair, parts_of
from shaftscore.layout.followers import FollowerLayout
from shaftscore.make.drawing.follower import FollowerDrawing
from shaftscore.make.drawing.follower_touching import overlap_text, overlaps, pairs_that_may_overlap
from shaftscore.solution import Solution
from shaftscore_app.runtime.kept import KeptThings


def with_overlaps(
    solution: Solution, layout: FollowerLayout, drawing: FollowerDrawing, deg: float, kept: KeptThings
) -> tuple[FollowerDrawing, str]:
    """Return a drawing with what overlaps hatched, and a line that names it; deg: of the master shaft.

    kept: keeps the pairs while the solution is the same.
    """
    stack = solution.project.stack_of(layout.lane)

    def pairs() -> tuple[BodyPair, ...]:
        return pairs_that_may_overlap(parts_of(solution, stack), stack, layout.lane.id)

    may = kept.get("pairs", "", (solution,), layout.lane.id, pairs)
    found = overlaps(may, stack.turns * deg, layout.station, drawing.top)
    touching = (shape for one in found for shape in one.shapes)
    return replace(drawing, top=(*drawing.top, *touching)), overlap_text(found)
