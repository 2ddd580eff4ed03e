"""Frames from pasted cells: a whole state table as a spreadsheet copies it, with or without heads."""

from __future__ import annotations

from shaftscore.base.errors import EditError
from shaftscore.edits.state_table.sheets import read_sheet, split_text
from shaftscore.edits.state_table.table import filled
from shaftscore.model.project import Project
from shaftscore.program.frames import Frames, painted
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.truth import paint_of


def is_table(text: str) -> bool:
    """Return whether a text is a table of cells, and not text art."""
    return any(mark in text for mark in "\t;,")


def frames_of_cells(project: Project, draft: ProgramDraft, text: str) -> Frames:
    """Return the draft's frames with the lanes of a pasted table painted as it says.

    Raises EditError if a cell cannot be read, no lane is found, or there are not as many frames as steps.
    """
    steps = len(project.shaft.step_starts_deg)
    if len(draft.frames) != steps:
        raise EditError(f"pasted cells take as many frames as the shaft has steps, {steps}")
    sheet = read_sheet(project, split_text(text), lane_ids=draft.grid.lanes)
    if sheet.faults:
        fault = sheet.faults[0]
        raise EditError(f"row {fault.row + 1}, column {fault.column + 1}: {fault.message}")
    columns = {own: filled(column) for own, column in sheet.columns.items() if own in draft.grid.lanes}
    if not columns:
        raise EditError("no cell of the table belongs to a lane with a place in the grid")
    frames = []
    for step, frame in enumerate(draft.frames):
        made = frame
        for lane_id, column in columns.items():
            made = painted(made, [lane_id], paint_of(draft.meanings[lane_id], column[step]))
        frames.append(made)
    return tuple(frames)
