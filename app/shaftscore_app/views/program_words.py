"""What the Program maker says: heads, counts, and what a screen reader hears of a cell."""

from __future__ import annotations

from collections import Counter

from shaftscore.base import wording
from shaftscore.model import Project
from shaftscore.program.laying import visits_of
from shaftscore.program.meaning import CellMeaning, ProgramDraft, starts_of
from shaftscore.program.summary import ProgramSummary
from shaftscore_app.views.program_session import ProgramSession

MEANINGS: dict[CellMeaning, str] = {
    "visit": "visit, then return",
    "step": "whole step",
    "stay": "until the next",
}
"""What a painted cell may mean, in words."""

SPOKEN: dict[CellMeaning, str] = {"visit": "visit", "step": "whole step", "stay": "stays"}
HINT = "Click or drag over cells; right-click is rest. Keys: arrows, 1 to 9, Space, Backspace."
PLACE_HINT = "As they sit on the front of the machine. Drag a lane to another place; Ctrl+arrows move it."
EMPTY = "States are made for lanes: add one with its levels first."


def lane_code(project: Project, lane_id: str) -> str:
    """Return the code of a lane, or its name where it has none."""
    lane = project.lane(lane_id)
    return lane.code or lane.label


def frame_name(draft: ProgramDraft, frame: int) -> str:
    """Return number and name of a frame, counted from 0."""
    return f"{frame + 1} {draft.frames[frame].name}".strip()


def frame_count_text(project: Project, draft: ProgramDraft) -> str:
    """Return how many frames there are, and how long a step is."""
    count, starts = len(draft.frames), starts_of(project, len(draft.frames))
    even = {round(wide, 6) for wide in (b - a for a, b in zip(starts, [*starts[1:], 360.0], strict=True))}
    each = f", {wording.degrees(even.pop())} each" if len(even) == 1 else ""
    return f"{wording.counted(count, 'frame')}, one a step{each}"


def visits_texts(project: Project, draft: ProgramDraft) -> tuple[str, ...]:
    """Return what each frame holds, in a word or two."""
    visits = Counter(visit.step for visit in visits_of(project, draft))
    placed = set(draft.grid.lanes)
    found = []
    for step, frame in enumerate(draft.frames):
        own = sum(lane_id in placed for lane_id in frame.cells)
        count = wording.counted(visits[step], "visit") if visits[step] == own else f"{own} painted"
        found.append(count if own else "all at rest")
    return tuple(found)


def cell_text(session: ProgramSession) -> str:
    """Return what is in the current cell, for the status line and screen readers."""
    row, column = session.cell
    name = session.chosen.name
    head = f"Frame {session.frame + 1}, {name}." if name else f"Frame {session.frame + 1}."
    place = f"Row {row + 1}, column {column + 1}"
    lane_id = session.lane_id
    if lane_id is None:
        return f"{head} {place}, empty."
    return f"{head} {place}, lane {lane_code(session.project, lane_id)}: {_level_text(session, lane_id)}."


def _level_text(session: ProgramSession, lane_id: str) -> str:
    meaning = session.draft.meanings[lane_id]
    level = session.chosen.level(lane_id)
    if level is None:
        return "as before" if meaning.kind == "stay" else f"{meaning.rest}, at rest"
    height = session.project.lane(lane_id).levels[level]
    return f"{level}, {wording.plain(height)} millimetres, {SPOKEN[meaning.kind]}"


def visit_text(project: Project, draft: ProgramDraft, frame: int, lane_id: str | None) -> str:
    """Return when a lane holds what is painted in a frame; empty where it does not visit."""
    for visit in visits_of(project, draft):
        if visit.step == frame and visit.lane_id == lane_id:
            end = visit.start_deg + visit.hold_deg
            return f"Block {wording.degrees(visit.start_deg)} to {wording.degrees(end)}"
    return ""


def summary_rows(summary: ProgramSummary) -> tuple[tuple[str, str], ...]:
    """Return the rows of the result: name and value."""
    rows = [
        ("Visits", _visits_text(summary)),
        ("Blocks", f"{summary.blocks_new} new, {summary.blocks_kept} kept"),
        ("Moves", _moves_text(summary)),
    ]
    if summary.gates:
        rows.append(
            ("Not used", f"{summary.gates_shut} of {wording.counted(summary.gates, 'gate')} never open")
        )
    return (*rows, ("Checked", _checked_text(summary)))


def _visits_text(summary: ProgramSummary) -> str:
    if not summary.visits:
        return "none"
    return f"{summary.visits} in {wording.counted(summary.visiting, 'lane')}"


def _moves_text(summary: ProgramSummary) -> str:
    if summary.moves_deg is None:
        return "none"
    low, high = summary.moves_deg
    laws = wording.listed([law.replace("-", " ") for law in summary.laws[:2]])
    same = wording.degrees(low) == wording.degrees(high)
    lengths = f"{wording.degrees(low)} each" if same else f"{wording.degrees(low)} to {wording.degrees(high)}"
    return f"{summary.moves}, {lengths}, {laws}"


def _checked_text(summary: ProgramSummary) -> str:
    if summary.refused and not summary.problems:
        return "cannot be applied"
    late = sum(problem.is_late for problem in summary.problems)
    without = len(summary.problems) - late
    if without:
        return f"no time for {wording.counted(without, 'level')}"
    if late:
        returns = "returns" if late == 1 else "return"
        return f"every move has time; {wording.counted(late, 'visit')} {returns} late"
    return "every move has time"


def problem_text(project: Project, summary: ProgramSummary) -> str:
    """Return what is wrong, in a sentence or two: at most two problems are named."""
    if not summary.problems:
        return f"{summary.refused}.".replace("..", ".") if summary.refused else ""
    ordered = sorted(summary.problems, key=lambda problem: problem.is_late)
    named = [problem.text(project) for problem in ordered[:2]]
    more = len(ordered) - len(named)
    return " ".join([*named, f"And {more} more."] if more else named)
