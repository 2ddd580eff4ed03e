"""Export discs: asks, runs in a process of its own, shows how far it is, and says how it ended."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypedDict, final

from PySide6.QtCore import Signal

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Progress
from shaftscore.judge.findings import Severity
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.exporting import (
    AnotherMachineDialog,
    ErrorsOpenDialog,
    ExportDialog,
    ExportedDialog,
    ExportFailedDialog,
)
from shaftscore_app.document.coverage import coverage_rows
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.jobs import ProgressReport, Task
from shaftscore_app.runtime.left_words import removed_lines

KIND = "export"

INTO = "Folder to export the discs into"
NAMED = 3
"""So many removed files are named for each reason; the manifest names all."""


@dataclass(frozen=True)
class ExportJob:
    """What a process is to export: the bytes of the project's file, and where and how to."""

    data: bytes
    source: str
    out: Path
    formats: tuple[str, ...]
    despite_errors: bool
    only_changed: bool = False
    replace_other: bool = False


@dataclass(frozen=True)
class ExportChoice:
    """What was chosen last. opened, path: for which project (`Document.opened`)."""

    opened: int
    path: Path | None
    folder: str
    formats: tuple[str, ...]


@final
class Exported(TypedDict):
    """What an export wrote, as `ExportedDialog` shows it."""

    out: Path
    files: tuple[str, ...]
    proved: int
    unproved: list[str]
    assembly: str
    changes: str
    verdict: tuple[str, ...]
    notes: tuple[str, ...]
    left: int
    removed: list[str]


@final
class OfAnother(TypedDict):
    """Why an export wrote nothing: the folder holds another machine's; both names."""

    theirs: str
    ours: str


@final
class Unproved(TypedDict):
    """Why an export wrote nothing: a proof failed, at a lane and an angle of its stack, degrees."""

    why: str
    place: tuple[str, float] | None


def export_task(order: ExportJob, progress: Progress) -> Exported | Unproved | OfAnother:
    """Export a project; runs in a process of its own.

    Raises what the export raises, but for a proof that failed: then gives its text and its place; and for
    another machine in the folder: then gives both names. Else gives the folder, the names of the files, how
    many were proved, the parts that were not, what was found of the assembly, what differs from the export
    before, the notes, how many files of other formats were kept, and lines about those that were removed.
    """
    from shaftscore.make.assembly import assembly_text
    from shaftscore.make.exporting import (  # its libraries take a second to load
        AnotherMachineError,
        ProofError,
        changes_text,
        export_project,
    )

    project = read_project(order.data, order.source)
    try:
        result = export_project(
            project,
            order.out,
            order.formats,
            only_changed=order.only_changed,
            despite_errors=order.despite_errors,
            replace_other=order.replace_other,
            progress=progress,
        )
    except AnotherMachineError as error:
        return {"theirs": error.theirs, "ours": error.ours}
    except ProofError as error:
        return {"why": str(error), "place": error.place}
    return {
        "out": result.out,
        "files": result.files,
        "proved": sum(not proof.faults for proof in result.proofs),
        "unproved": sorted({proof.part for proof in result.proofs if proof.faults}),
        "assembly": "" if result.assembly is None else assembly_text(result.assembly),
        "changes": changes_text(result.changes),
        "verdict": result.verdict,
        "notes": result.notes,
        "left": len(result.left),
        "removed": list(removed_lines(result.removed, NAMED)),
    }


class ExportCommands(CommandGroup):
    """The command.

    Signals: errors_wanted() when the person wants to see the errors; status_message(what, fraction) and
    ended() of what runs; exported(project) when the files of a project were written.
    """

    errors_wanted = Signal()
    status_message = Signal(str, float)
    ended = Signal()
    exported = Signal(object)

    def __init__(self, services: Services) -> None:
        """Serve a window and its document."""
        super().__init__(services)
        self._task: Task | None = None
        self._last: ExportChoice | None = None

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what the command does."""
        return {"file.export": self.ask}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why the command cannot be done now."""
        return {"file.export": self._why_not}

    def _why_not(self) -> str:
        if self._jobs.is_busy(KIND):
            return "An export is running: Cancel is in the status bar"
        discs = any(lane.has_disc for lane in self._document.committed.lanes)
        return "" if discs else "There are no discs to export yet"

    @property
    def is_running(self) -> bool:
        """Whether an export runs."""
        return self._jobs.is_busy(KIND)

    def ask(self) -> None:
        """Ask about open errors, then for folder and formats."""
        errors = self._document.whole_report.count(Severity.ERROR)
        if errors:
            ErrorsOpenDialog(
                self._window, self._theme, errors, self.errors_wanted.emit, lambda: self._ask_where(True)
            ).open()
        else:
            self._ask_where(False)

    def cancel(self) -> None:
        """Stop what runs; what was there before stays."""
        if self._task is not None:
            self._task.cancel()
            self.status_message.emit("Cancelling", 0.0)

    def _ask_where(self, despite: bool) -> None:
        # Its libraries take a second to load.
        from shaftscore.make.exporting.formats import FORMATS, format_named, missing

        path, last = self._document.path, self._last_of_this
        folder = last.folder if last else str(path.parent / f"{path.stem} discs") if path else ""
        formats = last.formats if last else self._settings.formats_of(path) if path else None
        ExportDialog(
            self._window,
            self._theme,
            folder=folder,
            formats={name: missing(name) for name in FORMATS},
            ticked=formats if formats is None else tuple(map(format_named, formats)),
            verdict=coverage_rows(self._document.whole_report, late_coming=self._document.is_late_coming),
            start=lambda out, formats, only: self.start(out, formats, despite=despite, only_changed=only),
            choose=lambda proposed: self._picker.folder(self._window, proposed, INTO),
        ).open()

    @property
    def _last_of_this(self) -> ExportChoice | None:
        """What was chosen for the project that is open; it may have been saved under another name since."""
        last, document = self._last, self._document
        reopened = last is not None and last.path is not None and last.path == document.path
        return last if last is not None and (reopened or last.opened == document.opened) else None

    def start(
        self,
        out: Path,
        formats: tuple[str, ...],
        *,
        despite: bool,
        only_changed: bool = False,
        replace_other: bool = False,
    ) -> None:
        """Export the project as it is now; edits made meanwhile do not matter.

        replace_other: another machine's export in the folder gives way.
        """
        document, project = self._document, self._document.committed
        self._last = ExportChoice(document.opened, document.path, str(out), formats)
        if document.path is not None:
            self._settings.remember_formats(document.path, formats)
        order = ExportJob(
            saved_form(project),
            document.name,
            out,
            formats,
            despite_errors=despite,
            only_changed=only_changed,
            replace_other=replace_other,
        )
        self.status_message.emit("Export", 0.0)
        self._task = self._jobs.request_process(
            KIND,
            export_task,
            (order,),
            on_progress=self._on_progress,
            then=lambda result: self._on_done(result, order, project),
            failed=self._on_failed,
        )

    def _on_progress(self, told: ProgressReport) -> None:
        if self._task is not None and not self._task.is_cancelled:
            self.status_message.emit("Export", told.fraction)

    def _on_done(self, result: Exported | Unproved | OfAnother, order: ExportJob, project: Project) -> None:
        self._end()
        if "theirs" in result:
            self._ask_about_other(order, **result)
        elif "why" in result:
            show = partial(self._show_place, *result["place"]) if result["place"] else None
            ExportFailedDialog(self._window, self._theme, result["why"], self.ask, show).open()
        else:
            self.exported.emit(project)
            ExportedDialog(self._window, self._theme, **result).open()

    def _ask_about_other(self, order: ExportJob, theirs: str, ours: str) -> None:
        """Ask what to do about another machine's export in the folder."""
        AnotherMachineDialog(
            self._window,
            self._theme,
            out=order.out,
            theirs=theirs,
            ours=ours,
            elsewhere=lambda: self._ask_where(order.despite_errors),
            replace=partial(
                self.start,
                order.out,
                order.formats,
                despite=order.despite_errors,
                only_changed=order.only_changed,
                replace_other=True,
            ),
        ).open()

    def _show_place(self, lane_id: str, deg: float) -> None:
        """Select a lane and turn its stack to an angle."""
        project = self._document.project
        if lane_id in project.lane_index:
            self._document.select_lane(lane_id)
            self._document.set_cursor(deg / project.stack_of(project.lane(lane_id)).turns)

    def _on_failed(self, error: Exception) -> None:
        self._end()
        if not isinstance(error, Cancelled):
            ExportFailedDialog(self._window, self._theme, str(error), self.ask).open()

    def _end(self) -> None:
        self._task = None
        self.ended.emit()
