"""Commands about what lies on the bench: the build manual, folders of discs exported before, the fit.

Long ones run in a process of their own with the bytes of the project's file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeVar

from PySide6.QtCore import Signal

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Progress
from shaftscore.base.whole_files import write_whole
from shaftscore.edits import add_note, set_stack
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.commands.table_text import ask_table
from shaftscore_app.dialogs.bench import (
    CheckedDialog,
    CouponDialog,
    LogBookLink,
    MadeAgainDialog,
    MessageDialog,
    PaperSizeDialog,
)
from shaftscore_app.dialogs.logbook import LogBookDialog, newest_lines
from shaftscore_app.document.binding import commit
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.dates import today
from shaftscore_app.runtime.jobs import ProgressReport, Task

if TYPE_CHECKING:
    from shaftscore.make.exporting.against import FolderCheck
    from shaftscore.make.exporting.changes import Changes

A = TypeVar("A")
R = TypeVar("R")

KIND = "bench"

SIGHTINGS = "Table of sightings"
"""Title of the choice of a file with what was seen."""

MANUAL, FILES = "Build manual", "Exported files"
"""Titles of messages."""

TO_CHECK = "Folder of exported files to check"
TO_COMPARE = "Folder of the last export to compare with"
DOING = {MANUAL: "Writing the manual", FILES: "Reading"}
FAILED = {MANUAL: "The build manual could not be written.", FILES: "It could not be done."}
"""What the status bar says meanwhile, and what a message says of a failure, by its title."""

Paper = Literal["A4", "Letter"]
"""A size of paper."""


def manual_task(data: bytes, source: str, size: Paper, progress: Progress) -> bytes:
    """Write the build manual; runs in a process of its own."""
    from shaftscore.make.drawing.paper_sizes import A4, LETTER
    from shaftscore.make.exporting.alone import manual_alone  # its libraries take a second to load

    return manual_alone(read_project(data, source), A4 if size == "A4" else LETTER, progress)


def check_task(data: bytes, source: str, folder: Path, progress: Progress) -> FolderCheck:
    """Run followers over a folder's files; runs in a process of its own."""
    from shaftscore.make.exporting.against import check_folder  # its libraries take a second to load

    return check_folder(read_project(data, source), folder, progress)


def again_task(data: bytes, source: str, folder: Path, progress: Progress) -> Changes:
    """Compare a folder's parts with the project; runs in a process of its own."""
    from shaftscore.make.exporting.against import made_again  # its libraries take a second to load

    return made_again(read_project(data, source), folder, progress)


class BenchCommands(CommandGroup):
    """The commands.

    Signals: status_message(what, fraction) and ended(), of what runs.
    """

    status_message = Signal(str, float)
    ended = Signal()

    def __init__(self, services: Services) -> None:
        """Serve a window and its document."""
        super().__init__(services)
        self._task: Task | None = None
        self._doing = FILES

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {
            "file.manual": self.ask_manual,
            "prove.check_exported": lambda: self._ask_folder(check_task, self._show_checked, TO_CHECK),
            "prove.made_again": lambda: self._ask_folder(again_task, self._show_again, TO_COMPARE),
            "prove.log": self.show_log,
            "machine.fit": self.ask_fit,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        long = ("file.manual", "prove.check_exported", "prove.made_again")
        return {**dict.fromkeys(long, self._why_not), "machine.fit": self._no_discs}

    @property
    def is_running(self) -> bool:
        """Whether something runs."""
        return self._jobs.is_busy(KIND)

    def cancel(self) -> None:
        """Stop what runs."""
        if self._task is not None:
            self._task.cancel()

    def ask_manual(self) -> None:
        """Ask for the size of the paper, then for the file."""
        PaperSizeDialog(self._window, self._theme, self._ask_target).open()

    def ask_fit(self) -> None:
        """Ask for the hole of the coupon that fits."""
        document = self._document

        def use(stack_id: str, clearance_mm: float) -> str:
            return commit(
                document,
                lambda: set_stack(document.committed, stack_id, fit_clearance_mm=clearance_mm),
            )

        CouponDialog(self._window, self._theme, document.committed, use).open()

    # Inside

    def _no_discs(self) -> str:
        discs = any(lane.has_disc for lane in self._document.committed.lanes)
        return "" if discs else "There are no discs yet"

    def _why_not(self) -> str:
        return (
            "Something for the bench runs: Cancel is in the status bar"
            if self.is_running
            else self._no_discs()
        )

    def _ask_target(self, size: Paper) -> None:
        path = self._document.path
        proposed = f"{path.stem if path else 'machine'} build manual {size}.pdf"
        target = self._picker.pdf_to_save(self._window, str(path.parent / proposed if path else proposed))
        if target is not None:
            self._run(manual_task, size, lambda data: self._save(target, data), MANUAL)

    def _save(self, target: Path, data: bytes) -> None:
        try:
            write_whole(target, data)
        except OSError as error:
            why = f"{target} cannot be written: {error.strerror or error}"
            self._tell(MANUAL, "Nothing was written.", why)
        else:
            self._tell(MANUAL, "The build manual is written.", str(target))

    def _tell(self, title: str, heading: str, line: str) -> None:
        MessageDialog(self._window, self._theme, title, heading, [line]).open()

    def _ask_folder(
        self, task: Callable[[bytes, str, Path, Progress], R], then: Callable[[R], None], title: str
    ) -> None:
        path = self._document.path
        proposed = str(path.parent / f"{path.stem} discs") if path else ""
        folder = self._picker.folder(self._window, proposed, title)
        if folder is None:
            return
        from shaftscore.make.exporting.staging import MANIFEST_NAME  # its package takes a second to load

        if (folder / MANIFEST_NAME).is_file():
            self._run(task, folder, then)
        else:
            self._tell(FILES, "Nothing was exported there.", f"{folder} has no {MANIFEST_NAME}.")

    def _run(
        self,
        task: Callable[[bytes, str, A, Progress], R],
        what: A,
        then: Callable[[R], None],
        title: str = FILES,
    ) -> None:
        """Run a task in a process of its own; title: of the message if it fails."""
        self._doing = title
        self.status_message.emit(DOING[title], 0.0)
        data = saved_form(self._document.committed)
        self._task = self._jobs.request_process(
            KIND,
            task,
            (data, self._document.name, what),
            on_progress=self._on_progress,
            then=lambda result: self._end(lambda: then(result)),
            failed=lambda error: self._end(lambda: self._failed(error)),
        )

    def _on_progress(self, told: ProgressReport) -> None:
        if self._task is not None and not self._task.is_cancelled:
            self.status_message.emit(DOING[self._doing], told.fraction)

    def _end(self, show: Callable[[], object]) -> None:
        self._task = None
        self.ended.emit()
        show()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self._tell(self._doing, FAILED[self._doing], str(error))

    def _show_checked(self, found: FolderCheck) -> None:
        CheckedDialog(self._window, self._theme, found).open()

    def _show_again(self, found: Changes) -> None:
        MadeAgainDialog(self._window, self._theme, found, self.log_book()).open()

    def ask_sightings(self, take: Callable[[str], object]) -> None:
        """Ask for a table of sightings; take: gets its text."""
        ask_table(self.services, SIGHTINGS, take)

    # The log-book

    def log_book(self) -> LogBookLink:
        """Return the log-book as it stands beside another dialog."""
        document = self._document

        def note(text: str, revisions: Mapping[str, str]) -> str:
            return commit(document, lambda: add_note(document.committed, today(), text, revisions))

        return LogBookLink(lambda count: newest_lines(document.committed, count), note, self.show_log)

    def show_log(self) -> None:
        """Show the log-book."""
        document = self._document

        def revisions() -> Mapping[str, str]:
            from shaftscore.make.solids.revisions import disc_revisions  # late: the start can do without it

            return disc_revisions(document.report.solution)

        LogBookDialog(self._window, self._theme, document, day=today(), revisions=revisions).open()
