"""The draft that a project's present program makes: what each lane does in each step, as frames.

A lane's level at rest is where it is longest. A lane is read as one that *visits* where each dwell away from
rest, with the move that leads to it, lies within one step (the return may be late); else as one that is at a
level through whole steps.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from shaftscore.base.angles import ahead
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import up_to
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table.reading import read_states
from shaftscore.edits.state_table.table import filled, sizes, step_at
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project
from shaftscore.program.frames import ProgramFrame
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
from shaftscore.program.places import grid_of, is_programmed, without_place


def draft_of(project: Project) -> ProgramDraft:
    """Return the draft that the present program makes."""
    starts = project.shaft.step_starts_deg
    kinds = {lane.id: _kind(project, lane) for lane in project.lanes if is_programmed(lane)}
    timing = _timing(project, [lane_id for lane_id, kind in kinds.items() if kind == "visit"], [*kinds])
    usual_hold = usual_hold_deg(starts, timing)
    meanings = {lane_id: _meaning(project.lane(lane_id), kind, usual_hold) for lane_id, kind in kinds.items()}
    columns = {lane_id: _column(project, project.lane(lane_id), kind) for lane_id, kind in kinds.items()}
    frames = tuple(
        ProgramFrame(_name(project, step), _painted(columns, meanings, step)) for step in range(len(starts))
    )
    return ProgramDraft(grid_of(project), frames, meanings, timing)


def draft_for(project: Project, draft: ProgramDraft) -> ProgramDraft:
    """Return a draft as far as it still fits a project whose lanes or levels have changed.

    Lanes that are gone are left out, new ones have no place, and paint of levels that are gone goes.
    """
    present = draft_of(project)
    meanings = {own: _kept(project.lane(own), draft, new) for own, new in present.meanings.items()}
    grid = draft.grid
    for lane_id in grid.lanes:
        if lane_id not in meanings:
            grid = without_place(grid, lane_id)
    frames = tuple(
        replace(
            frame, cells={own: at for own, at in frame.cells.items() if _fits(project, meanings, own, at)}
        )
        for frame in draft.frames
    )
    return ProgramDraft(grid, frames, meanings, draft.timing)


def _kept(lane: Lane, draft: ProgramDraft, usual: PaintMeaning) -> PaintMeaning:
    own = draft.meanings.get(lane.id)
    return own if own is not None and own.rest in lane.levels else usual


def _fits(project: Project, meanings: Mapping[str, PaintMeaning], lane_id: str, level: str) -> bool:
    return lane_id in meanings and level in project.lane(lane_id).levels


def _name(project: Project, step: int) -> str:
    names = project.shaft.step_names
    return names[step] if step < len(names) else ""


def _timing(project: Project, visiting: list[str], lane_ids: list[str]) -> ProgramTiming:
    """Return the usual timing with the moves that the visits have now, and the stagger that items need."""
    starts = project.shaft.step_starts_deg
    usual = usual_timing_of(starts)
    lanes = [project.lane(lane_id) for lane_id in visiting if _away(project.lane(lane_id))]
    moves = [move for lane in lanes for move in moves_of(lane.blocks) if move > 0]
    firsts = [
        ahead(starts[step_at(starts, block.start_deg)], block.start_deg)
        for lane in lanes
        for block in _away(lane)
    ]
    stagger = up_to(least_stagger_deg(project, lane_ids), GRID_DEG)
    move = round(min(moves), 5) if moves else usual.move_deg
    first = round(min(firsts), 5) if firsts else usual.first_deg
    return ProgramTiming(first, stagger, move)


def _meaning(lane: Lane, kind: CellMeaning, usual_hold_deg: float) -> PaintMeaning:
    holds = [block.length_deg for block in _away(lane)] if kind == "visit" else []
    return PaintMeaning(usual_rest(lane), kind, round(min(holds), 5) if holds else usual_hold_deg)


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
    """Return whether a dwell, with the move that leads to it from rest, lies within one step."""
    starts, blocks, rest = project.shaft.step_starts_deg, lane.blocks, usual_rest(lane)
    at = blocks.index(block)
    before, after = blocks[at - 1], blocks[(at + 1) % len(blocks)]
    if {before.level, after.level} != {rest}:
        return False
    move = moves_of(blocks)[at - 1]
    step = step_at(starts, block.start_deg + block.length_deg / 2)
    into = ahead(starts[step], block.start_deg) - move
    return into >= -EDIT_DEG and into + move + block.length_deg <= sizes(starts)[step] + EDIT_DEG


def _column(project: Project, lane: Lane, kind: CellMeaning) -> tuple[str | None, ...]:
    """Return the level of a lane in each step; None where it does not visit, or has no blocks."""
    starts = project.shaft.step_starts_deg
    if kind != "visit":
        return filled(read_states(project, lane).column) or (None,) * len(starts)
    column: list[str | None] = [None] * len(starts)
    for block in _away(lane):
        column[step_at(starts, block.start_deg + block.length_deg / 2)] = block.level
    return tuple(column)


def _painted(
    columns: Mapping[str, tuple[str | None, ...]], meanings: Mapping[str, PaintMeaning], step: int
) -> dict[str, str]:
    """Return what is painted in a step, lane id to level: every level away from rest."""
    levels = ((lane_id, column[step]) for lane_id, column in columns.items())
    return {own: at for own, at in levels if at is not None and at != meanings[own].rest}
