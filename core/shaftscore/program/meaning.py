"""What a painted cell means: the draft of a program, as a person makes it before it is applied.

Meanings of a lane's painted cells. *visit*: the lane goes to the level, holds it for the length given and
returns to its level at rest within the step. *step*: it is at the level through the whole step, and at rest
in steps that are not painted. *stay*: it stays at the level until the next painted step, round the turn.

Times of visits. The first visit of a step holds from `first_deg` after the step's start; each further one in
the same step starts `stagger_deg` later, in the order of the grid. Every move lasts `move_deg`. All are
degrees of the lane's own stack. Moves of lanes that visit lie before and after what they hold; those of the
others lie across the start of a step, half of them before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from shaftscore.base.wording import down_to
from shaftscore.edits.state_table.table import sizes
from shaftscore.model.grid import LaneGrid
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.program.frames import Frames

CellMeaning = Literal["visit", "step", "stay"]
"""What a lane does where it is painted."""

GRID_DEG = 0.5
"""Grid of the lengths that are proposed, degrees."""


@dataclass(frozen=True)
class PaintMeaning:
    """What painted cells of a lane mean: its level at rest, and how long a visit holds, degrees."""

    rest: str
    kind: CellMeaning
    hold_deg: float


@dataclass(frozen=True)
class ProgramTiming:
    """When visits start and how long moves last: degrees of the lane's own stack."""

    first_deg: float
    stagger_deg: float
    move_deg: float


@dataclass(frozen=True)
class ProgramDraft:
    """A program that is being made.

    grid: where the lanes sit. frames: one a step. meanings: of each lane with a place or a program, by id.
    timing: of all lanes.
    """

    grid: LaneGrid
    frames: Frames
    meanings: Mapping[str, PaintMeaning]
    timing: ProgramTiming

    def with_meaning(self, lane_ids: tuple[str, ...], **changes: object) -> ProgramDraft:
        """Return the draft with a part of the meaning of some lanes changed."""
        made = dict(self.meanings)
        for lane_id in lane_ids:
            made[lane_id] = replace(made[lane_id], **changes)  # type: ignore[arg-type]
        return replace(self, meanings=made)


def usual_timing_of(starts_deg: tuple[float, ...]) -> ProgramTiming:
    """Return the timing with which one visit fits into every step: a third for each of its three parts.

    starts_deg: of the steps, degrees.
    """
    third = max(down_to(min(sizes(starts_deg)) / 3, GRID_DEG), min(sizes(starts_deg)) / 4)
    return ProgramTiming(first_deg=third, stagger_deg=0.0, move_deg=third)


def usual_hold_deg(starts_deg: tuple[float, ...], timing: ProgramTiming) -> float:
    """Return the longest hold of a first visit in the shortest step, on the grid, degrees; at least 0."""
    room = min(sizes(starts_deg)) - timing.first_deg - timing.move_deg
    return max(0.0, down_to(room, GRID_DEG) if room > 0 else 0.0)


def usual_rest(lane: Lane) -> str:
    """Return the level at which a lane is longest; without blocks one named rest, else its lowest."""
    held: dict[str, float] = {}
    for block in lane.blocks:
        held[block.level] = held.get(block.level, 0.0) + block.length_deg
    if held:
        return max(held, key=lambda level: held[level])
    named = [level for level in lane.levels if level.casefold() == "rest"]
    return named[0] if named else min(lane.levels, key=lambda level: lane.levels[level])


def starts_of(project: Project, count: int) -> tuple[float, ...]:
    """Return the starts of the steps for so many frames, degrees: the shaft's own, else equal steps."""
    own = project.shaft.step_starts_deg
    return own if len(own) == count else tuple(360.0 * step / count for step in range(count))
