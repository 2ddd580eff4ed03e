"""States carried over to lanes that are described again: by the names of lanes and levels, step by step.

A lane goes by its name; where exactly that is new, by its place. A level goes by its name; where as many
names are new as are gone, the lane's levels were renamed, the lowest first. What finds no place is *lost*,
and said, never dropped in silence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.errors import EditError
from shaftscore.base.wording import listed
from shaftscore.edits.base import changed, with_blocks
from shaftscore.edits.state_table import (
    Column,
    StepCell,
    completed,
    read_states,
    renamed_cell,
    shown_text,
    write_states,
)
from shaftscore.edits.state_table.table import usual_timing
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project


@dataclass(frozen=True)
class CarriedStates:
    """A project with the states of another, and a sentence for each lane that loses some."""

    project: Project
    lost: tuple[str, ...] = ()


def carry_states(before: Project, project: Project) -> CarriedStates:
    """Bring the states of the lanes of `before` to a project whose lanes have no blocks."""
    lost = []
    pairs = paired_lanes(before.lanes, project.lanes)
    for lane in project.lanes:
        old = pairs.get(lane.id)
        if old is not None and old.blocks:
            project, gone = _carried(before, old, project, lane)
            lost += [gone] if gone else []
    kept = {old.id for old in pairs.values()}
    lost += [f"{old.label} goes with its states" for old in before.lanes if old.blocks and old.id not in kept]
    return CarriedStates(project, tuple(lost))


def paired_lanes(before: Sequence[Lane], now: Sequence[Lane]) -> dict[str, Lane]:
    """Return by id of a lane the one that it was: that of its name, else that of its place."""
    pairs, free = {}, list(before)
    for lane in now:
        same = next((old for old in free if old.name == lane.name), None)
        if same is not None:
            pairs[lane.id] = same
            free.remove(same)
    for place, lane in enumerate(now):
        if lane.id not in pairs and place < len(before) and before[place] in free:
            pairs[lane.id] = before[place]
            free.remove(before[place])
    return pairs


def renamed_levels(before: Mapping[str, float], now: Mapping[str, float]) -> dict[str, str]:
    """Return the new name of every level that is there under some name; heights in mm."""
    gone = sorted((name for name in before if name not in now), key=lambda name: before[name])
    new = sorted((name for name in now if name not in before), key=lambda name: now[name])
    names = {name: name for name in before if name in now}
    return {**names, **dict(zip(gone, new, strict=True))} if len(gone) == len(new) else names


def _carried(before: Project, old: Lane, project: Project, lane: Lane) -> tuple[Project, str]:
    """Bring one lane's states over; returns why some are lost, else an empty text."""
    names = renamed_levels(old.levels, lane.levels)
    same_steps = before.shaft.step_starts_deg == project.shaft.step_starts_deg
    if same_steps and all(block.level in names for block in old.blocks):
        blocks = [changed(block, level=names[block.level]) for block in old.blocks]
        return with_blocks(project, lane.id, blocks), ""
    return _rewritten(before, old, project, lane, names)


def _rewritten(
    before: Project, old: Lane, project: Project, lane: Lane, names: Mapping[str, str]
) -> tuple[Project, str]:
    """Write the steps that both have with the levels that both have."""
    reading = read_states(before, old)
    cells, count = completed(reading.column), len(project.shaft.step_starts_deg)
    levels = [shown_text(cell) for cell in cells]
    if not levels:
        return project, f"{old.label} {reading.incomplete}: it has no steps to keep"
    kept = [renamed_cell(cell, names) for cell in cells[:count]]
    column: Column = tuple(kept + [None] * (count - len(kept)))
    gone = _gone(levels, kept)
    if not any(column):
        return project, f"{old.label}: {gone}"
    same = before.shaft.step_starts_deg == project.shaft.step_starts_deg
    timing = reading.timing if same else usual_timing(project.shaft.step_starts_deg)
    try:
        made = write_states(project, {lane.id: column}, {lane.id: timing}).project
    except EditError as error:
        return project, f"{old.label}: {error}"
    return made, f"{old.label}: {gone}" if gone else ""


def _gone(levels: Sequence[str], kept: Sequence[StepCell]) -> str:
    """Name the steps that are not kept, by their level."""
    steps: dict[str, list[str]] = {}
    for step, level in enumerate(levels):
        same_as_before = step >= len(kept) and level == levels[len(kept) - 1]
        if (step >= len(kept) or kept[step] is None) and not same_as_before:
            steps.setdefault(level, []).append(str(step + 1))
    return ", ".join(
        f"{level} in step{'s' if len(places) > 1 else ''} {listed(places)}" for level, places in steps.items()
    )
