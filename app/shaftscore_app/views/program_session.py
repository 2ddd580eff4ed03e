"""What the Program maker works on: the draft with its own undo, the chosen frame and cell, and the brush.

The draft belongs to the view until it is applied. While nothing in it is *unapplied* it follows the project,
and undo brings back what was shown; otherwise it is kept, and only what no longer exists goes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from PySide6.QtCore import QObject, Signal

from shaftscore.base.errors import EditError
from shaftscore.edits import Edited
from shaftscore.model import LaneGrid, Project
from shaftscore.program.apply import apply_program
from shaftscore.program.frames import (
    Frames,
    ProgramFrame,
    frame_moved,
    painted,
    ranked_levels,
    with_frame,
    with_frames,
    without_frame,
)
from shaftscore.program.laying import lanes_changed
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.places import lane_at
from shaftscore.program.present import draft_for, draft_of
from shaftscore.program.truth import paint_of
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit

MOST_STEPS = 200
"""So many steps can be taken back."""


@dataclass(frozen=True)
class DraftStep:
    """A step of the draft's own history: draft, chosen frame, and the frames painted by hand."""

    draft: ProgramDraft
    frame: int
    by_hand: frozenset[int]


class ProgramSession(QObject):
    """The work of the Program maker. Over 300 lines, since each thing that can be done is a small method.

    Signals: changed() when draft, chosen frame, cell or brush changed; status_message(sentence) with why
    something could not be done; spoken(text) with what screen readers shall hear.
    """

    changed = Signal()
    status_message = Signal(str)
    spoken = Signal(str)

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        """Begin with the program that the document has."""
        super().__init__(parent)
        self._document = document
        self._undone: list[DraftStep] = []
        self._done: list[DraftStep] = []
        self._stroke: DraftStep | None = None
        self._clip: Frames = ()
        self._clip_text = ""
        self.cell = (0, 0)
        self.brush = 0
        self._begin()

    def _begin(self) -> None:
        self._made_for = self._document.committed
        self._opened = self._document.opened
        self._draft = self._clean = draft_of(self._made_for)
        self.frame = 0
        self.by_hand: frozenset[int] = frozenset()
        self._done, self._undone, self._stroke = [], [], None
        self._keep_inside()
        self._take_usual_brush()

    def _take_usual_brush(self) -> None:
        """Begin with the highest level but rest of the lane in the cell."""
        lane_id = self.lane_id
        if lane_id is not None:
            levels = ranked_levels(self.project, lane_id)
            rest = self._draft.meanings[lane_id].rest
            self.brush = max((rank for rank, level in enumerate(levels) if level != rest), default=0)

    # What is there

    @property
    def project(self) -> Project:
        """The project that the draft is for."""
        return self._made_for

    @property
    def draft(self) -> ProgramDraft:
        """The draft."""
        return self._draft

    @property
    def opened(self) -> int:
        """Which project the draft is for, as the document counts them."""
        return self._opened

    @property
    def is_unapplied(self) -> bool:
        """Whether the draft has anything that the project has not."""
        return self._draft != self._clean

    @property
    def written(self) -> tuple[str, ...]:
        """Ids of the lanes that applying writes: those whose dwells the draft changes."""
        return lanes_changed(self._made_for, self._draft, self._clean)

    @property
    def chosen(self) -> ProgramFrame:
        """The chosen frame."""
        return self._draft.frames[self.frame]

    @property
    def lane_id(self) -> str | None:
        """The lane in the current cell; None where it is empty."""
        return lane_at(self._draft.grid, *self.cell)

    @property
    def can_undo(self) -> bool:
        """Whether there is a step of the draft to take back."""
        return bool(self._done)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step of the draft to do again."""
        return bool(self._undone)

    def level_of(self, lane_id: str, rank: int) -> str:
        """Return the level of a lane by rank, its highest where it has fewer."""
        levels = ranked_levels(self.project, lane_id)
        return levels[min(rank, len(levels) - 1)]

    # The project

    def follow(self) -> None:
        """Take the project as it is now; what is unapplied is kept as far as it fits."""
        project = self._document.committed
        if self._document.opened != self._opened:
            self._begin()
            self.changed.emit()
        elif project is not self._made_for:
            self._follow_edit(project)

    def _follow_edit(self, project: Project) -> None:
        was_unapplied = self.is_unapplied
        self._made_for = project
        self._clean = draft_of(project)
        if not was_unapplied:
            self._take_edit()
        else:
            self._draft = draft_for(project, self._draft)
            self._done = [replace(step, draft=draft_for(project, step.draft)) for step in self._done]
            self._undone = [replace(step, draft=draft_for(project, step.draft)) for step in self._undone]
        self._keep_inside()
        self.changed.emit()

    def _take_edit(self) -> None:
        """Show the program as it is now; undo brings back what was shown, as if it were painted."""
        if self._draft != self._clean:
            self._done = [replace(step, draft=draft_for(self._made_for, step.draft)) for step in self._done]
            kept = draft_for(self._made_for, self._draft)
            self._remember(DraftStep(kept, self.frame, self.by_hand))
            self._draft = self._clean

    def discard(self) -> None:
        """Drop what is unapplied."""
        self._begin()
        self.changed.emit()

    def restore(self, draft: ProgramDraft, frame: int, by_hand: Iterable[int]) -> None:
        """Show a draft that was kept, as one step."""
        self.follow()
        self._remember(self._step)
        self._draft, self.frame, self.by_hand = draft, frame, frozenset(by_hand)
        self._keep_inside()
        self.changed.emit()

    def apply(self, lane_ids: Collection[str] | None = None) -> bool:
        """Write the programs of some lanes, or of all that changed; returns whether they were written."""
        if self._document.is_read_only:
            self.status_message.emit("This file is opened read-only; File > Save as… makes a copy.")
            return False
        draft, lanes = self._draft, self.written if lane_ids is None else lane_ids

        def make() -> Edited:
            return apply_program(self._document.committed, draft, lanes)

        why = commit(self._document, make)
        if why:
            self.status_message.emit(f"Nothing was applied: {why}")
            return False
        if lane_ids is None:
            self._clean = draft
        self._made_for = self._document.committed
        self.changed.emit()
        return True

    # Steps

    def set_draft(self, draft: ProgramDraft, *, frame: int | None = None, by_hand: bool = False) -> None:
        """Change the draft as one step; by_hand: the chosen frame counts as painted by hand."""
        if draft == self._draft and frame in (None, self.frame):
            return
        if self._stroke is None:
            self._remember(self._step)
        self._draft = draft
        if by_hand:
            self.by_hand |= {self.frame}
        if frame is not None:
            self.frame = frame
        self._keep_inside()
        self.changed.emit()

    @property
    def _step(self) -> DraftStep:
        return DraftStep(self._draft, self.frame, self.by_hand)

    def _remember(self, step: DraftStep) -> None:
        self._done = [*self._done[1 - MOST_STEPS :], step]
        self._undone = []

    def begin_stroke(self) -> None:
        """Begin a stroke: all that is painted until it ends is one step."""
        self._stroke = self._step

    def end_stroke(self) -> None:
        """End a stroke."""
        before, self._stroke = self._stroke, None
        if before is not None and before.draft != self._draft:
            self._remember(before)
            self.changed.emit()

    def undo(self) -> None:
        """Take the last step of the draft back."""
        if self._done:
            self._undone.append(self._step)
            self._go_to(self._done.pop())

    def redo(self) -> None:
        """Do the step of the draft again that was taken back."""
        if self._undone:
            self._done.append(self._step)
            self._go_to(self._undone.pop())

    def _go_to(self, step: DraftStep) -> None:
        self._draft, self.frame, self.by_hand = step.draft, step.frame, step.by_hand
        self._keep_inside()
        self.changed.emit()

    def _keep_inside(self) -> None:
        grid = self._draft.grid
        self.frame = max(0, min(self.frame, len(self._draft.frames) - 1))
        self.cell = (min(self.cell[0], grid.rows - 1), min(self.cell[1], grid.columns - 1))

    # Choosing

    def choose_frame(self, frame: int) -> None:
        """Choose a frame, counted from 0; the ends stop."""
        self.choose_cell(frame, self.cell)

    def choose_cell(self, frame: int, cell: tuple[int, int]) -> None:
        """Choose a frame and a cell in it."""
        frame = max(0, min(frame, len(self._draft.frames) - 1))
        if (frame, cell) != (self.frame, self.cell):
            self.frame, self.cell = frame, cell
            self.changed.emit()

    def go(self, down: int, right: int) -> None:
        """Go to the next cell, beyond an end into the frame after or before."""
        grid, (row, column) = self._draft.grid, self.cell
        row, column, frame = row + down, column + right, self.frame
        if not 0 <= column < grid.columns or not 0 <= row < grid.rows:
            to = frame + (down or right)
            if not 0 <= to < len(self._draft.frames):
                return
            frame, row, column = to, row % grid.rows, column % grid.columns
        self.choose_cell(frame, (row, column))

    def set_brush(self, rank: int) -> None:
        """Paint with the level of a rank, counted from 0."""
        if rank != self.brush:
            self.brush = rank
            self.changed.emit()

    # Painting

    def paint(self, rank: int | None, cells: Iterable[tuple[int, int]] | None = None) -> None:
        """Paint cells of the chosen frame, the current one if None, with a level by rank; None is rest."""
        frame = self.chosen
        for cell in [self.cell] if cells is None else cells:
            lane_id = lane_at(self._draft.grid, *cell)
            if lane_id is not None:
                meaning = self._draft.meanings[lane_id]
                level = None if rank is None else self.level_of(lane_id, rank)
                frame = painted(frame, [lane_id], paint_of(meaning, level) if level else None)
        self._put(frame, by_hand=True)

    def change_frame(self, frame: ProgramFrame) -> None:
        """Put another picture in the place of the chosen frame."""
        self._put(frame, by_hand=True)

    def _put(self, frame: ProgramFrame, *, by_hand: bool) -> None:
        frames = with_frame(self._draft.frames, self.frame, frame)
        self.set_draft(replace(self._draft, frames=frames), by_hand=by_hand)

    # Frames

    def add_frame(self) -> None:
        """Add an empty frame after the chosen one."""
        self._insert([ProgramFrame()])

    def duplicate_frame(self) -> None:
        """Add the chosen frame once more after itself."""
        self._insert([self.chosen])

    def _insert(self, added: list[ProgramFrame]) -> None:
        try:
            frames = with_frames(self._draft.frames, self.frame + 1, added)
        except EditError as error:
            self.status_message.emit(str(error))
            return
        self.set_draft(replace(self._draft, frames=frames), frame=self.frame + len(added))

    def remove_frame(self) -> None:
        """Remove the chosen frame."""
        try:
            frames = without_frame(self._draft.frames, self.frame)
        except EditError as error:
            self.status_message.emit(str(error))
            return
        self.set_draft(replace(self._draft, frames=frames), frame=min(self.frame, len(frames) - 1))

    def move_frame(self, by: int) -> None:
        """Move the chosen frame by some places."""
        frames, to = frame_moved(self._draft.frames, self.frame, by)
        if to != self.frame:
            self.set_draft(replace(self._draft, frames=frames), frame=to)

    def rename_frame(self, name: str) -> None:
        """Name the chosen frame."""
        self._put(replace(self.chosen, name=name), by_hand=False)

    def set_count(self, count: int) -> None:
        """Have so many frames: empty ones are added at the end, or the last ones removed."""
        frames = self._draft.frames[:count]
        frames += tuple(ProgramFrame() for _ in range(count - len(frames)))
        self.set_draft(replace(self._draft, frames=frames))

    def copy_frame(self, text: str) -> None:
        """Keep the chosen frame for pasting; text: what goes over the clipboard with it."""
        self._clip, self._clip_text = (self.chosen,), text

    def pasted(self, text: str) -> Frames:
        """Return the frame that was copied here, if the clipboard still has its text; else none."""
        return self._clip if self._clip and text == self._clip_text else ()

    def insert_frames(self, frames: Iterable[ProgramFrame]) -> None:
        """Add frames after the chosen one."""
        self._insert(list(frames))

    # Made frames

    def take_made(self, frames: Frames) -> None:
        """Put frames that were made in the place of all; none of them is painted by hand then."""
        self._remember(self._step)
        self._draft, self.by_hand = replace(self._draft, frames=frames), frozenset()
        self._keep_inside()
        self.changed.emit()

    def place_frames(self, frames: list[ProgramFrame]) -> None:
        """Put pictures into the frames from the chosen one on; more are added where they do not fit."""
        own, at = self._draft.frames, self.frame
        named = [
            replace(frame, name=own[at + n].name if at + n < len(own) else "")
            for n, frame in enumerate(frames)
        ]
        self.take_made((*own[:at], *named, *own[at + len(named) :]))

    # Places, meaning, timing

    def set_grid(self, grid: LaneGrid) -> None:
        """Let the lanes sit otherwise."""
        self.set_draft(replace(self._draft, grid=grid))

    def set_meaning(self, lane_ids: tuple[str, ...], **changes: object) -> None:
        """Change a part of what painted cells of some lanes mean."""
        self.set_draft(self._draft.with_meaning(lane_ids, **changes))

    def set_timing(self, **changes: float) -> None:
        """Change when visits start, or how long moves last, degrees."""
        self.set_draft(replace(self._draft, timing=replace(self._draft.timing, **changes)))
