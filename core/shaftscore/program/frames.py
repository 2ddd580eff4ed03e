"""Frames: one picture of the machine a step, as levels painted into the places of lanes.

A *frame* holds what was painted, lane id to level; a lane that is not in it is not painted, and what it does
then is said by its meaning (`meaning`). Every change gives a new frame.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from shaftscore.base.errors import EditError
from shaftscore.model.grid import LaneGrid
from shaftscore.model.project import Project
from shaftscore.program.places import lane_at, places_of

MOST_FRAMES = 720
"""Most frames, as a shaft has at most so many steps."""


@dataclass(frozen=True)
class ProgramFrame:
    """The picture of one step: its name, and the painted levels by lane id."""

    name: str = ""
    cells: Mapping[str, str] = field(default_factory=dict)

    def level(self, lane_id: str) -> str | None:
        """Return the level that is painted for a lane; None where none is."""
        return self.cells.get(lane_id)


Frames = tuple[ProgramFrame, ...]
"""One frame a step."""

Target = Callable[[int, int], tuple[int, int]]
"""Row and column, counted from 0, to those where they go."""


def painted(frame: ProgramFrame, lane_ids: Iterable[str], level: str | None) -> ProgramFrame:
    """Return the frame with lanes painted; None takes the paint away."""
    cells = dict(frame.cells)
    for lane_id in lane_ids:
        cells.pop(lane_id, None)
        if level is not None:
            cells[lane_id] = level
    return frame if cells == frame.cells else replace(frame, cells=cells)


def ranked_levels(project: Project, lane_id: str) -> tuple[str, ...]:
    """Return the levels of a lane from the lowest up: their ranks, counted from 0, are their places."""
    levels = project.lane(lane_id).levels
    return tuple(sorted(levels, key=lambda level: levels[level]))


def level_for(project: Project, level: str, source_id: str, target_id: str) -> str:
    """Return the level of one lane that stands for that of another: named alike, else of the same rank.

    The highest one stands for a rank that the lane does not have.
    """
    if source_id == target_id or level in project.lane(target_id).levels:
        return level
    own = ranked_levels(project, target_id)
    rank = ranked_levels(project, source_id).index(level)
    return own[min(rank, len(own) - 1)]


def mirrored(project: Project, grid: LaneGrid, frame: ProgramFrame) -> ProgramFrame:
    """Return the frame with left and right exchanged."""
    return _moved(project, grid, frame, lambda row, column: (row, grid.columns - 1 - column))


def shifted(
    project: Project, grid: LaneGrid, frame: ProgramFrame, *, by: tuple[int, int], wraps: bool
) -> ProgramFrame:
    """Return the frame moved by rows and columns; what leaves the grid is lost, or comes back if it wraps."""
    down, right = by

    def target(row: int, column: int) -> tuple[int, int]:
        row, column = row + down, column + right
        return (row % grid.rows, column % grid.columns) if wraps else (row, column)

    return _moved(project, grid, frame, target)


def _moved(project: Project, grid: LaneGrid, frame: ProgramFrame, target: Target) -> ProgramFrame:
    """Return the frame with each painted level where `target` puts its row and column.

    Lanes without a place keep theirs.
    """
    placed = {lane_id: (row, column) for lane_id, row, column in places_of(grid)}
    cells = {lane_id: level for lane_id, level in frame.cells.items() if lane_id not in placed}
    for lane_id, level in frame.cells.items():
        if lane_id in placed:
            there = lane_at(grid, *target(*placed[lane_id]))
            if there is not None:
                cells[there] = level_for(project, level, lane_id, there)
    return replace(frame, cells=cells)


def with_frames(frames: Frames, at: int, added: Sequence[ProgramFrame]) -> Frames:
    """Return the frames with others before place `at`, counted from 0.

    Raises EditError if there are more of them then than a shaft has steps.
    """
    if len(frames) + len(added) > MOST_FRAMES:
        raise EditError(f"there are {MOST_FRAMES} frames at most, one a step")
    return (*frames[:at], *added, *frames[at:])


def without_frame(frames: Frames, at: int) -> Frames:
    """Return the frames without one; raises EditError if it is the last one left."""
    if len(frames) == 1:
        raise EditError("a machine has at least one step: the last frame stays")
    return (*frames[:at], *frames[at + 1 :])


def with_frame(frames: Frames, at: int, frame: ProgramFrame) -> Frames:
    """Return the frames with another one in place `at`, counted from 0."""
    return (*frames[:at], frame, *frames[at + 1 :])


def frame_moved(frames: Frames, at: int, by: int) -> tuple[Frames, int]:
    """Return the frames with one moved by some places, and its new place; the ends stop it."""
    to = max(0, min(at + by, len(frames) - 1))
    rest = without_frame(frames, at) if len(frames) > 1 else ()
    return (*rest[:to], frames[at], *rest[to:]), to
