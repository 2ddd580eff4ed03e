"""The one document: which project is open, how it came to be, what is found in it.

The project is immutable; an edit makes a new one (`shaftscore.edits`) and `Document.perform` makes it the
current one as one undo step. A *preview* is a project shown while something is held with the mouse: it
has a report, but is no step until it is performed. Findings that are cheap are ready at once; what
takes longer (the flow) comes from a background job and is *stale* until then (`is_late_current`).

Views listen to the document and never to one another.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Collection, Hashable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Literal

from PySide6.QtCore import QObject, QTimer, Signal

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.errors import Cancelled
from shaftscore.base.whole_files import clear_leftovers, write_whole
from shaftscore.edits import BlockRef, Edited
from shaftscore.edits.beginnings import new_stack
from shaftscore.judge.report import FULL, QUICK, Report
from shaftscore.kinematics.course import LaneCycle, course_of
from shaftscore.model.project import VERSION, Project
from shaftscore.model.saved import saved_form
from shaftscore.model.shaft import Shaft, Stack
from shaftscore.solution import LaneSolution, work_left
from shaftscore_app.document.history import State, UndoHistory
from shaftscore_app.document.look import LateWanted, ShownReports, look
from shaftscore_app.document.opening import OpenedProject, opening_of, read_file
from shaftscore_app.document.outline import outline
from shaftscore_app.document.pace import MOST_MS, ExaminationPace
from shaftscore_app.document.selection import FindingKey, Selection
from shaftscore_app.runtime.files import Stamp
from shaftscore_app.runtime.jobs import Jobs

__all__ = ["Document", "FindingKey", "Selection", "blank_project"]

LOOK = "look"
"""Kind of the job that examines a project for which the window cannot wait."""

MOST_AT_ONCE = int(MOST_MS)
"""So many blocks are solved while the window waits, at the usual pace; more are solved beside it."""

LATE = "late"
"""Kind of the job that computes what takes longer than a frame."""

ONLY_TO_LOOK = "This file is opened read-only; File > Save as… makes a copy that can be changed."

PAINT_MS = 50
"""So long after a step late parts are begun: the window paints first, and need not share the time for it."""

LOOKS = 8
"""So many of the projects shown last are kept examined: undo and redo need not examine them again."""

REST_MS = 120
"""What is held must rest this long before late parts are computed for it: they would slow the drag."""


def blank_project() -> Project:
    """Return a project without lanes: one shaft, 12 steps, 6 turns a minute."""
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    return Project(format="shaftscore-project", version=VERSION, shaft=shaft, stacks=(new_stack(),))


class Document(QObject):
    """The open project with its history, selection, cursor and report.

    Over 300 lines, since it is the one thing that all views ask; most methods have a line or two, and what
    edits do is in `shaftscore.edits`.

    Signals:
    project_changed() - `project` is another one, the preview of a drag included.
    report_changed() - `report` is another one (also when only its late parts arrived).
    selection_changed() - `selection` is another one.
    cursor_changed(deg) - the shaft angle at which the machine stands.
    cycle_changed(cycle) - the cycle in which it stands, from 1; of a machine that repeats with each, 1.
    history_changed() - what undo and redo would do.
    file_changed() - path, or whether there is anything to save.
    refused(why) - an edit was asked of a project that is only to be looked at.
    """

    project_changed = Signal()
    report_changed = Signal()
    selection_changed = Signal()
    cursor_changed = Signal(float)
    cycle_changed = Signal(int)
    history_changed = Signal()
    file_changed = Signal()
    refused = Signal(str)

    def __init__(
        self,
        project: Project | None = None,
        *,
        jobs: Jobs | None = None,
        clock: Callable[[], float] = time.monotonic,
        still: bool = False,
        pace: ExaminationPace | None = None,
        parent: QObject | None = None,
    ) -> None:
        """Begin with `project`, or with a blank one that was not started yet.

        jobs: computes late parts in the background; without, they are computed at once whenever the
        project changes and nothing is held. clock: gives seconds, for joining steps. still: the project is
        only to be looked at, and nothing late is computed of it. pace: says which projects are examined while
        the window waits; left out, the usual one, which is not measured.
        """
        super().__init__(parent)
        self._jobs = jobs
        self._still = still
        self._pace = pace or ExaminationPace()
        self._read_only = still
        self._history = UndoHistory(clock)
        self._preview: State | None = None
        self._path: Path | None = None
        self._stamp: Stamp | None = None
        self._saved_depth = 0
        self._opened = 0
        self._is_migrated = False
        self._cursor_deg, self._cycle = 0.0, 1
        self._late_for: Project | None = None
        self._late_wanted = LateWanted()
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.timeout.connect(self._want_late)
        self._state: State
        self._saved: Project | None
        self._looks: deque[ShownReports] = deque(maxlen=LOOKS)
        self._look: ShownReports
        self._known: ShownReports
        self._lanes: frozenset[str] | None = None
        self._reset(look(project or blank_project(), None, None, stage=QUICK))
        self._started = project is not None
        self._want_late()

    # What is shown

    @property
    def project(self) -> Project:
        """The project shown: the preview while something is held, else the current one."""
        return self._shown.project

    @property
    def committed(self) -> Project:
        """The current project, without any preview: what undo steps and saving are about."""
        return self._state.project

    @property
    def report(self) -> Report:
        """Everything found in `project`, of `lanes` alone where there are some.

        Late parts may be those of `report.flow_project`.
        """
        return self._look.shown

    @property
    def whole_report(self) -> Report:
        """Everything found in the whole machine, also while lanes are checked alone."""
        return self._look.whole

    @property
    def lanes(self) -> frozenset[str] | None:
        """The lanes that are checked alone, or None for the whole machine."""
        return self._look.lanes

    def check_alone(self, lanes: Collection[str] | None) -> None:
        """Check some lanes alone (their ids), or the whole machine (None); file and export stay whole."""
        self._lanes = frozenset(lanes) if lanes else None
        self._take(look(self.project, self._known, self._lanes, stage=QUICK))
        self._late_for = None
        self.report_changed.emit()
        self._want_late_soon()

    @property
    def is_late_current(self) -> bool:
        """Whether the late parts of `report` belong to `project`; else they are stale."""
        return self._late_for is self.project

    @property
    def is_late_coming(self) -> bool:
        """Whether the late parts of `report` are still to come, or wait for what is held to rest."""
        return not (self._still or self.is_late_current)

    @property
    def selection(self) -> Selection:
        """What is selected in `project`."""
        return self._shown.selection

    @property
    def is_previewing(self) -> bool:
        """Whether a preview is shown."""
        return self._preview is not None

    @property
    def cursor_deg(self) -> float:
        """The angle of the master shaft for all views, 0 <= angle < 360."""
        return self._cursor_deg

    @property
    def cycle(self) -> int:
        """The cycle that all views show, from 1 to the project's period."""
        return min(self._cycle, self.project.period)

    @property
    def flow_deg(self) -> float:
        """The cursor in what the flow calls a turn: a cycle, or the round of its lanes; degrees."""
        cycles, deg = float(self.report.cycles), self._cursor_deg
        return deg if cycles == 1 else wrap((deg + TURN * (self.cycle - 1)) / cycles)

    def own_deg_of(self, stack: Stack) -> float:
        """Return the angle of a stack in its turn at the cursor, degrees."""
        return LaneCycle(course_of(self.project, stack), self.cycle).own(self._cursor_deg)

    def own_deg(self, solution: LaneSolution) -> float:
        """Return the angle of a lane's stack in its turn at the cursor, degrees."""
        return LaneCycle(solution.course, self.cycle).own(self._cursor_deg)

    # Edits

    def perform(
        self, edited: Edited, merge_key: Hashable | None = None, seen: ShownReports | None = None
    ) -> None:
        """Make an edit of `committed` the current project, as one named undo step.

        An edit that changes nothing makes no step. merge_key: presses of a key on the same thing give
        the same key, and join into one step while they follow each other within 600 ms. seen: what
        `look_at` gave for it, where it was examined beforehand.
        """
        if self._read_only:
            self.refused.emit(ONLY_TO_LOOK)
            self.project_changed.emit()  # what was typed makes room for what is
            return
        before = self._state
        was_shown = self._shown
        after = State(edited.project, self._selection_after(edited))
        self._preview = None
        if edited.project == before.project:
            self._state = State(before.project, after.selection)
        else:
            self._history.add(edited.name, before, after, merge_key)
            self._state = after
            self._started = True
        self._show(was_shown, seen)
        self.history_changed.emit()
        self.file_changed.emit()

    def look_at(self, project: Project) -> ShownReports:
        """Examine a project like the one shown, without showing it; may be called on any thread."""
        return look(project, self._known, self._lanes, stage=QUICK)

    def preview(self, edited: Edited | None) -> None:
        """Show an edit of `committed` without making it; None puts back what was before."""
        if self._read_only:
            return  # the drop says why
        was_shown = self._shown
        self._preview = None if edited is None else State(edited.project, self._selection_after(edited))
        self._show(was_shown)

    def undo(self) -> None:
        """Take back the last step; does nothing without one."""
        if self._history.done:
            self._go_to(self._history.undo)

    def redo(self) -> None:
        """Do again the step taken back last; does nothing without one."""
        if self._history.undone:
            self._go_to(self._history.redo)

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._history.done)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to do again."""
        return bool(self._history.undone)

    @property
    def undo_name(self) -> str:
        """Name of the step that undo takes back, empty without one."""
        return self._history.done[-1].name if self._history.done else ""

    @property
    def redo_name(self) -> str:
        """Name of the step that redo does again, empty without one."""
        return self._history.undone[-1].name if self._history.undone else ""

    @property
    def undo_names(self) -> tuple[str, ...]:
        """Names of all steps that can be taken back, the next one first."""
        return tuple(step.name for step in reversed(self._history.done))

    # Selection and cursor

    def select(self, selection: Selection) -> None:
        """Select something else; parts that the project does not have are left out."""
        selection = selection.within(self.project)
        if selection == self.selection:
            return
        if self._preview is not None:
            self._preview = State(self._preview.project, selection)
        else:
            self._state = State(self._state.project, selection)
        self.selection_changed.emit()

    def select_blocks(self, *blocks: BlockRef) -> None:
        """Select blocks and the lane of the last; none: select nothing."""
        self.select(Selection.of_blocks(blocks))

    def select_lane(self, lane_id: str | None) -> None:
        """Select a lane and none of its blocks."""
        self.select(Selection(lane_id))

    def select_finding(self, key: FindingKey | None) -> None:
        """Choose a finding; lane and blocks stay selected."""
        was = self.selection
        self.select(Selection(was.lane_id, was.blocks, key, was.lanes))

    def set_cursor(self, deg: float) -> None:
        """Turn the shaft to an angle (any; it is brought into one turn)."""
        deg = wrap(deg)
        if deg != self._cursor_deg:
            self._cursor_deg = deg
            self.cursor_changed.emit(deg)

    def set_cycle(self, cycle: int) -> None:
        """Go to a cycle of the machine, from 1; those beyond its period are taken as in its next round."""
        cycle = (cycle - 1) % self.project.period + 1
        if cycle != self._cycle:
            self._cycle = cycle
            self.cycle_changed.emit(cycle)
            self.cursor_changed.emit(self._cursor_deg)

    # Files

    @property
    def path(self) -> Path | None:
        """The file that is open; None before the first save."""
        return self._path

    @property
    def name(self) -> str:
        """Name for the title: the file's, or the machine's own while it has no file."""
        return self._path.name if self._path else self._state.project.name

    @property
    def is_modified(self) -> bool:
        """Whether the current project is not the one that was opened or saved last."""
        return self._state.project is not self._saved

    @property
    def is_started(self) -> bool:
        """Whether there is a project at all; before, the start page stands in the diagram's place."""
        return self._started

    @property
    def is_read_only(self) -> bool:
        """Whether the project is only to be looked at."""
        return self._read_only

    @property
    def is_migrated(self) -> bool:
        """Whether what was opened is of an earlier version of the file format, and not saved since."""
        return self._is_migrated

    @property
    def stamp(self) -> Stamp | None:
        """What the file was when it was read or written last; None without one."""
        return self._stamp

    @property
    def steps_since_save(self) -> int:
        """How many steps the current project is from the one that was opened or saved last."""
        return max(abs(len(self._history.done) - self._saved_depth), int(self.is_modified))

    def disk_state(self) -> Literal["same", "changed", "gone"]:
        """Return whether the file still is what was read or written last; "same" without a file."""
        if self._path is None or self._stamp is None or self._stamp.still(self._path):
            return "same"
        return "changed" if self._path.exists() else "gone"

    @property
    def opened(self) -> int:
        """How many projects were opened: it distinguishes them, whatever their names and paths are."""
        return self._opened

    def new(self, project: Project | None = None, *, path: Path | None = None) -> None:
        """Begin another project (a blank one if None); history and selection start afresh."""
        self.begin(opening_of(project or blank_project(), path))

    def begin(self, opening: OpenedProject, *, read_only: bool = False) -> None:
        """Show what was read; history and selection start afresh.

        read_only: no edit is made, and it is not saved under its own name.
        """
        self._path, self._stamp, self._read_only = opening.path, opening.stamp, read_only
        self._started = True
        self._opened += 1
        self._history.clear()
        self._reset(opening.look)
        if opening.is_unsaved:
            self._saved = None
        self._is_migrated = opening.is_migrated
        self._want_late_soon()
        self.set_cycle(1)
        self.set_cursor(0.0)
        for signal in (self.project_changed, self.report_changed, self.selection_changed):
            signal.emit()
        self.history_changed.emit()
        self.file_changed.emit()

    def open(self, path: Path, *, read_only: bool = False) -> None:
        """Open a file. Raises ProjectError (all its faults); what was open then stays.

        read_only: no edit is made, and it is not saved under its own name.
        """
        self.begin(read_file(path), read_only=read_only)

    def open_unsaved(self, project: Project, path: Path | None) -> None:
        """Open a project that no file holds; path: where it is saved, if it has a place."""
        self.begin(replace(opening_of(project, path), is_unsaved=True))

    def save(self, path: Path | None = None) -> None:
        """Write the current project to `path` (the open file if None), whole or not at all.

        Raises OSError, and ValueError where there is no file yet.
        """
        target = path or self._path
        if target is None:
            raise ValueError("this project has no file yet; a path is needed")
        if self._read_only and target == self._path:
            raise ValueError(f"{target} is opened read-only")
        project = self._state.project
        write_whole(target, saved_form(project))
        clear_leftovers(target)
        self._path, self._stamp, self._read_only = target, Stamp.of(target), False
        self._saved, self._saved_depth = project, len(self._history.done)
        self._is_migrated = False
        self.file_changed.emit()

    def close(self) -> None:
        """Forget the project: the start page is back."""
        self.new()
        self._started = False
        self.file_changed.emit()

    # Inside

    def _reset(self, shown: ShownReports) -> None:
        self._state = State(shown.whole.project, Selection())
        self._preview = None
        self._saved = shown.whole.project
        self._saved_depth = 0
        self._lanes = None
        self._take(shown)
        self._looks.clear()

    def _selection_after(self, edited: Edited) -> Selection:
        finding = self.selection.finding
        if edited.selection:
            return Selection.of_blocks(edited.selection, finding)
        kept = self._state.selection
        if edited.lane_id is not None and edited.lane_id not in (kept.lane_id, *kept.lanes):
            return Selection(edited.lane_id, (), finding).within(edited.project)
        blocks = tuple(ref for ref in kept.blocks if _same_blocks(self.committed, edited.project, ref))
        return Selection(kept.lane_id, blocks, finding, kept.lanes).within(edited.project)

    def _go_to(self, step: Callable[[], State]) -> None:
        was_shown = self._shown
        self._preview = None
        self._state = step()
        self._show(was_shown)
        self.history_changed.emit()
        self.file_changed.emit()

    @property
    def _shown(self) -> State:
        return self._preview or self._state

    def _show(self, was_shown: State, seen: ShownReports | None = None) -> None:
        """Bring report and views up to date after what is shown may have changed."""
        if self.project is not was_shown.project:
            self._end_late()
            self._look_again(seen)
            self.project_changed.emit()
            if self._look.whole.project is self.project:
                self.report_changed.emit()
        if self.selection != was_shown.selection:
            self.selection_changed.emit()
        if self._is_examined:
            self._want_late_soon()
        else:
            self._want_look()

    def _look_again(self, seen: ShownReports | None) -> None:
        """Bring the report up to date, as far as the window can wait for it."""
        kept = self._kept_look()
        if kept is not None:
            self._late_for = self.project
        work = 0 if seen or kept else work_left(self.project, self._known.whole.solution)
        if self._jobs is None or self._pace.is_short(work):
            with self._pace.timing(work):
                self._take(seen or kept or self.look_at(self.project))
        elif not _named_alike(self._look.whole.project, self.project):
            self._look = outline(self.project, self._known)

    def _take(self, seen: ShownReports) -> None:
        """Take a whole look: it is what is shown, and what the next one is made from."""
        self._look = self._known = seen

    @property
    def _is_examined(self) -> bool:
        """Whether the report is of the project shown, whole, and not still that of one before."""
        return self._look is self._known and self._look.whole.project is self.project

    def _want_look(self) -> None:
        """Have the project shown examined beside the window; the report before stands until then."""
        assert self._jobs is not None
        project, before, lanes = self.project, self._known, self._lanes

        take = partial(self._take_look, project, lanes)
        self._jobs.request(LOOK, lambda: look(project, before, lanes, stage=QUICK), take)

    def _take_look(self, project: Project, lanes: frozenset[str] | None, seen: ShownReports) -> None:
        """Take the look at a project, unless another one, or other lanes, are shown by now."""
        if project is self.project and lanes == self._lanes and not self._is_examined:
            self._take(seen)
            self.report_changed.emit()
            self._want_late_soon()

    def _want_late_soon(self) -> None:
        """Have late parts computed once what is shown was painted, or once what is held rests."""
        if self.is_previewing:
            self._rest.start(REST_MS)
        elif self._jobs is not None:
            self._rest.start(PAINT_MS)
        else:
            self._want_late()

    def _kept_look(self) -> ShownReports | None:
        """Return the whole look of a project that was shown a few steps ago, as undo and redo ask for it."""
        kept = (one for one in self._looks if one.whole.project is self.project and one.lanes == self._lanes)
        return next(kept, None)

    def _want_late(self) -> None:
        """Have what takes longer computed for the project shown, unless it is there already."""
        self._rest.stop()
        project, before, lanes = self.project, self._look, self._lanes
        if self._still or self.is_late_current or not self._is_examined:
            return
        if self._jobs is None and self.is_previewing:
            return
        if self._jobs is None:
            self._take_late(look(project, before, lanes, stage=FULL))
        else:
            ask = self._late_wanted.ask
            self._jobs.request_watched(
                LATE,
                lambda said: look(project, before, lanes, stage=FULL, between=partial(ask, said)),
                on_progress=_not_shown,
                then=self._take_late,
                failed=partial(_not_stopped, self._jobs.failed.emit),
            )

    def _end_late(self) -> None:
        """Let what is computed for a project that is not shown any more end soon."""
        self._late_wanted.is_over = True
        self._late_wanted = LateWanted()

    def _take_late(self, late: ShownReports) -> None:
        """Take a look with its late parts, unless another project or other lanes are shown by now."""
        if late.whole.project is self.project and late.lanes == self.lanes:
            self._take(late)
            self._late_for = self.project
            if not self.is_previewing:
                self._looks.append(late)
            self.report_changed.emit()


def _not_shown(_report: object) -> None:
    """Show nothing of a progress."""


def _not_stopped(failed: Callable[[Exception], None], error: Exception) -> None:
    """Hand an error on, unless it is that the work was stopped."""
    if not isinstance(error, Cancelled):
        failed(error)


def _named_alike(before: Project, after: Project) -> bool:
    """Return whether two projects have the same stacks, and lanes with as many blocks each."""
    return [stack.id for stack in before.stacks] == [stack.id for stack in after.stacks] and [
        (lane.id, lane.kind, len(lane.blocks), *lane.levels) for lane in before.lanes
    ] == [(lane.id, lane.kind, len(lane.blocks), *lane.levels) for lane in after.lanes]


def _same_blocks(before: Project, after: Project, ref: BlockRef) -> bool:
    """Return whether a reference names the same block in both projects."""
    if ref.lane_id not in after.lane_index:
        return False
    return before.lane(ref.lane_id).blocks == after.lane(ref.lane_id).blocks
