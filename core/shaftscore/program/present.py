"""The draft that a project's present program makes: what each lane does in each step, as frames.

A lane's level at rest is where it is longest. A lane is read as one that *visits* where each dwell away from
rest, with the moves beside it, lies within one step; else as one that is at a level through whole steps.
"""

from __future__ import annotations

from shaftscore.base.angles import ahead
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import up_to
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table.reading import read_states
from shaftscore.edits.state_table.table import filled, sizes, step_at
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project
from shaftscore.program.frames import Frames, ProgramFrame
from shaftscore.program.headway import least_stagger_deg
from shaftscore.program.meaning import (
    GRID_DEG,
    CellMeaning,
    PaintMeaning,
    ProgramDraft,
    ProgramTiming,
    usual_hold_deg,
    usual_rest,
    usual_timing_of,
)
from shaftscore.program.places import grid_of, is_programmed

SAME_DEG = 1e-3
"""Lengths that differ by less are one, degrees."""


def draft_of(project: Project) -> ProgramDraft:
    """Return the draft that the present program makes."""
    starts = project.shaft.step_starts_deg
    lanes = [lane for lane in project.lanes if is_programmed(lane)]
    timing = _timing(project, lanes)
    meanings = {lane.id: _meaning(project, lane, usual_hold_deg(starts, timing)) for lane in lanes}
    frames = tuple(
        ProgramFrame(_name(project, step), _painted(project, lanes, meanings, step))
        for step in range(len(starts))
    )
    return ProgramDraft(grid_of(project), frames, meanings, timing)


def cleared(draft: ProgramDraft) -> ProgramDraft:
    """Return the draft with nothing painted."""
    frames: Frames = tuple(ProgramFrame(frame.name) for frame in draft.frames)
    return ProgramDraft(draft.grid, frames, draft.meanings, draft.timing)


def _name(project: Project, step: int) -> str:
    names = project.shaft.step_names
    return names[step] if step < len(names) else ""


def _timing(project: Project, lanes: list[Lane]) -> ProgramTiming:
    """Return the usual timing with the moves that the visits have now, and the stagger that items need."""
    starts = project.shaft.step_starts_deg
    usual = usual_timing_of(starts)
    visiting = [lane for lane in lanes if _kind(project, lane) == "visit"]
    moves = [move for lane in visiting for move in moves_of(lane.blocks) if move > 0]
    firsts = [
        ahead(starts[step_at(starts, block.start_deg)], block.start_deg)
        for lane in visiting
        for block in _away(lane)
    ]
    stagger = up_to(least_stagger_deg(project, [lane.id for lane in lanes]), GRID_DEG)
    move = round(min(moves), 5) if moves else usual.move_deg
    first = round(min(firsts), 5) if firsts else usual.first_deg
    return ProgramTiming(first, stagger, move)


def _meaning(project: Project, lane: Lane, usual_hold: float) -> PaintMeaning:
    kind, holds = _kind(project, lane), [block.length_deg for block in _away(lane)]
    return PaintMeaning(usual_rest(lane), kind, round(min(holds), 5) if holds else usual_hold)


def _kind(project: Project, lane: Lane) -> CellMeaning:
    """Return how a lane is read; one without blocks, or at rest only, visits where it has three levels."""
    away = _away(lane)
    if not away:
        return "visit" if len(lane.levels) > 2 else "step"
    return "visit" if all(_is_visit(project, lane, block) for block in away) else "step"


def _away(lane: Lane) -> list[Block]:
    """Return the dwells away from rest."""
    rest = usual_rest(lane)
    return [block for block in lane.blocks if block.level != rest]


def _is_visit(project: Project, lane: Lane, block: Block) -> bool:
    """Return whether a dwell, with the moves beside it from rest and back, lies within one step."""
    starts, blocks, rest = project.shaft.step_starts_deg, lane.blocks, usual_rest(lane)
    at, gaps = blocks.index(block), moves_of(blocks)
    before, after = blocks[at - 1], blocks[(at + 1) % len(blocks)]
    if {before.level, after.level} != {rest}:
        return False
    step = step_at(starts, block.start_deg + block.length_deg / 2)
    into = ahead(starts[step], block.start_deg) - gaps[at - 1]
    return into >= -EDIT_DEG and into + gaps[at - 1] + block.length_deg + gaps[at] <= sizes(starts)[step] + (
        EDIT_DEG
    )


def _painted(
    project: Project, lanes: list[Lane], meanings: dict[str, PaintMeaning], step: int
) -> dict[str, str]:
    """Return what is painted in a step: every level away from rest."""
    found = {}
    for lane in lanes:
        level = _level(project, lane, meanings[lane.id], step)
        if level is not None and level != meanings[lane.id].rest:
            found[lane.id] = level
    return found


def _level(project: Project, lane: Lane, meaning: PaintMeaning, step: int) -> str | None:
    """Return the level of a lane in a step, None for a lane without blocks."""
    starts = project.shaft.step_starts_deg
    if meaning.kind == "visit":
        own = [
            block.level
            for block in _away(lane)
            if step_at(starts, block.start_deg + block.length_deg / 2) == step
        ]
        return own[0] if own else None
    column = filled(read_states(project, lane).column)
    return column[step] if column else None
