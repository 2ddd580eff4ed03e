"""Commands of the File menu: new, open, save, close; recent files, samples, and unsaved changes.

An editor *holds* the file that is open in it; a second one is told, and opens it to look, or as a copy.

Nothing here waits for an answer: a dialog is opened with what to do next, and the window stays alive.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu

from shaftscore.base.errors import ProjectError
from shaftscore.base.samples import sample_folder
from shaftscore.base.wording import time_of_day
from shaftscore.model.loader import read_project
from shaftscore_app.commands.picking import SUFFIX
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.files import (
    ChangedDialog,
    OpenElsewhereDialog,
    RefusedDialog,
    RevertDialog,
    TroubleDialog,
    UnsavedDialog,
)
from shaftscore_app.document.opening import OpenedProject, opening_of, read_file
from shaftscore_app.keeping.open_files import Holder
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.files import plain_name, why_not_written

log = logging.getLogger(__name__)

READ = "read"
"""Kind of the job that reads and examines a file."""


def samples() -> dict[str, bytes]:
    """Return the shipped samples: title to file contents."""
    found = {}
    for entry in sorted(sample_folder().iterdir()):
        if entry.suffix == SUFFIX:
            title = entry.stem.replace("_", " ").capitalize()
            found[title] = entry.read_bytes()
    return found


class FileCommands(CommandGroup):
    """The commands.

    Signals: close_wanted() when the window may close; saved() after a save; reading(name) while a file is
    read, an empty name once it is.
    """

    close_wanted = Signal()
    saved = Signal()
    reading = Signal(str)

    def __init__(self, services: Services) -> None:
        """Serve a window and its document."""
        super().__init__(services)
        self._wanted: object = None
        self.keep_first: Callable[[Callable[[], object]], object] | None = None
        """Does something once nothing else is lost by it; None where there is nothing else."""
        self._document.file_changed.connect(self._hold_no_other)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {
            "file.samples": self.fill_samples,
            "help.samples": self.fill_samples,
            "file.open": self.ask_open,
            "file.recent": self.fill_recent,
            "file.save": self.save,
            "file.save_as": self.save_as,
            "file.revert": self.revert,
            "file.close": self.close_file,
            "file.quit": self.quit,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        document = self._document
        none_open = "No machine is open"
        unchanged = "Nothing has changed since the last save"
        return {
            "file.recent": lambda: "" if self._settings.recent_files() else "No recent files yet",
            "file.save": self._why_not_save,
            "file.save_as": lambda: "" if document.is_started else none_open,
            "file.revert": lambda: "" if document.path and document.is_modified else unchanged,
            "file.close": lambda: "" if document.is_started else none_open,
        }

    def _why_not_save(self) -> str:
        document = self._document
        if document.is_read_only:
            return "This file is opened read-only: Save as… makes a copy"
        if document.is_modified or document.path is None or document.disk_state() == "gone":
            return ""
        return "Nothing has changed since the last save"

    # Open

    def ask_open(self) -> None:
        """Let the person choose a file and open it."""
        path = self._picker.file_to_open(self._window, self._folder())
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Open a file, after asking about changes; one that is refused leaves everything as it was."""
        self.when_kept(lambda: self._open_now(path))

    def open_again(self, path: Path) -> None:
        """Open a file at once, whatever is open."""
        self._open_now(path)

    def open_if_free(self, path: Path) -> bool:
        """Open a file at once; returns False where somebody else has it open, or it is refused."""
        if self._hold(path) is not None:
            return False
        try:
            self._document.open(path)
        except ProjectError:
            self._hold_no_other()
            return False
        self._settings.remember_file(path)
        return True

    def open_sample(self, data: bytes, title: str) -> None:
        """Start from a copy of a sample."""
        self.when_kept(
            lambda: self._read(title, lambda: opening_of(read_project(data, title)), self._document.begin)
        )

    def fill_samples(self, menu: QMenu) -> None:
        """List the samples."""
        for title, data in samples().items():
            action = menu.addAction(title)
            action.triggered.connect(lambda _checked=False, d=data, t=title: self.open_sample(d, t))

    def fill_recent(self, menu: QMenu) -> None:
        """List the recent files."""
        for path in self._settings.recent_files():
            action = menu.addAction(path.name)
            action.setStatusTip(str(path))
            action.triggered.connect(lambda _checked=False, p=path: self.open(p))

    def _open_now(self, path: Path) -> None:
        holder = self._hold(path)
        if holder is None:
            self._open_held(path, read_only=False)
            return
        OpenElsewhereDialog(
            self._window,
            self._theme,
            path.name,
            _since(holder),
            look=lambda: self._open_held(path, read_only=True),
            copy=lambda: self._open_copy(path),
        ).open()

    def _open_held(self, path: Path, *, read_only: bool) -> None:
        def begin(opening: OpenedProject) -> None:
            self._document.begin(opening, read_only=read_only)
            self._settings.remember_file(path)

        self._read(path.name, partial(read_file, path), begin, lambda error: self._refuse(path, error))

    def _open_copy(self, path: Path) -> None:
        def read() -> OpenedProject:
            return replace(read_file(path), path=None, stamp=None, is_unsaved=True)

        self._read(path.name, read, self._document.begin, lambda error: self._refuse(path, error))

    def _read(
        self,
        name: str,
        read: Callable[[], OpenedProject],
        begin: Callable[[OpenedProject], object],
        refused: Callable[[ProjectError], object] | None = None,
    ) -> None:
        """Read and examine a project beside the window, then begin with it: the newest one wanted.

        What was changed meanwhile is asked about, as at any time.
        """
        wanted = self._wanted = object()
        before = self._document.committed

        def arrived(opening: OpenedProject) -> None:
            if not self._ended(wanted):
                return
            if self._document.committed is before:
                begin(opening)
            else:
                self.when_kept(lambda: begin(opening))

        def failed(error: Exception) -> None:
            if not self._ended(wanted):
                return
            if refused is None or not isinstance(error, ProjectError):
                raise error
            refused(error)

        self.reading.emit(name)
        self._jobs.request(READ, read, arrived, failed)

    def _ended(self, wanted: object) -> bool:
        """Note that reading has ended; returns whether what was read still is what is wanted."""
        if wanted is not self._wanted:
            return False
        self._wanted = None
        self.reading.emit("")
        return True

    def _refuse(self, path: Path, error: ProjectError) -> None:
        self._settings.forget_file(path)
        self._hold_no_other()
        RefusedDialog(self._window, self._theme, path.name, error, self.ask_open).open()

    def _hold(self, path: Path) -> Holder | None:
        """Hold a file; gives who else has it open. Where no lock can be made, the file is free."""
        try:
            return self._store.open_files.hold(path)
        except OSError as error:
            log.warning("%s cannot be held: %s", path.name, error)
            return None

    def _hold_no_other(self) -> None:
        """Release the files that are not open here any more; one that is being read is kept until it is."""
        if self._wanted is not None:
            return
        document = self._document
        path = None if document.is_read_only else document.path
        self._store.open_files.release_all_but(path)

    def _folder(self) -> str:
        path = self._document.path
        recent = self._settings.recent_files()
        return str(path.parent if path else recent[0].parent if recent else Path.home())

    # Save

    def save(self, then: Callable[[], object] | None = None) -> None:
        """Write the file (asking for a name where there is none), then do `then`."""
        if self._document.path is None or self._document.is_read_only:
            self.save_as(then)
        elif self._document.disk_state() == "changed":
            self._ask_about_change(self._document.path, then)
        else:
            self._write(self._document.path, then)

    def _ask_about_change(self, path: Path, then: Callable[[], object] | None) -> None:
        ChangedDialog(
            self._window,
            self._theme,
            path.name,
            read=lambda: self._open_now(path),
            save_as=lambda: self.save_as(then),
            write=lambda: self._write(path, then),
        ).open()

    def save_as(self, then: Callable[[], object] | None = None) -> None:
        """Ask for a name and write the file, then do `then`."""
        name = f"{plain_name(self._document.project.name)}{SUFFIX}"
        proposed = self._document.path or Path(self._folder()) / name
        path = self._picker.file_to_save(self._window, str(proposed))
        if path is not None:
            self._write_unless_held(path, then)

    def _write_unless_held(self, path: Path, then: Callable[[], object] | None) -> None:
        holder = self._hold(path)
        if holder is None:
            self._write(path, then)
            return
        why = (
            f"{path.name} is open in another window{_since(holder)}. Choose another name, or close it there."
        )
        self._trouble("The file was not written.", why, lambda: self.save_as(then))

    def _write(self, path: Path, then: Callable[[], object] | None) -> None:
        self._keep_version(path)
        try:
            self._document.save(path)
        except OSError as error:
            self._hold_no_other()
            why = (
                f"{path}: {why_not_written(error)} The file on disk is unchanged and your work is still "
                "open. Free some space or save elsewhere."
            )
            self._trouble("The file was not written.", why, lambda: self.save_as(then))
            return
        self._settings.remember_file(path)
        self.saved.emit()
        if then is not None:
            then()

    def _keep_version(self, path: Path) -> None:
        """Keep what the file holds; where that cannot be, saving matters more."""
        try:
            self._store.versions.keep(path)
        except OSError as error:
            log.warning("the version before of %s was not kept: %s", path.name, error)

    def _trouble(self, heading: str, why: str, elsewhere: Callable[[], object]) -> None:
        TroubleDialog(self._window, self._theme, "Save", heading, why, save_as=elsewhere).open()

    def revert(self) -> None:
        """Ask, then drop all changes since the last save."""
        path = self._document.path
        if path is not None:
            steps = self._document.steps_since_save
            RevertDialog(self._window, self._theme, path.name, steps, lambda: self._open_now(path)).open()

    # Leave

    def when_kept(self, then: Callable[[], object]) -> None:
        """Do `then` once nothing unsaved is lost by it: at once, or after asking."""
        if self.keep_first is None:
            self._when_saved(then)
        else:
            self.keep_first(lambda: self._when_saved(then))

    def _when_saved(self, then: Callable[[], object]) -> None:
        document = self._document
        if document.is_modified:
            save, name = (lambda: self.save(then)), document.name
            UnsavedDialog(self._window, self._theme, name, save, then).open()
        else:
            then()

    def close_file(self) -> None:
        """Close the file; the start page is back."""
        self.when_kept(self._document.close)

    def quit(self) -> None:
        """Leave the program."""
        self.when_kept(self.close_wanted.emit)


def _since(holder: Holder) -> str:
    """Write since when somebody has a file open, with a space before it; nothing where it is not known."""
    if holder.since is None:
        return ""
    return f" since {time_of_day(holder.since.astimezone(), datetime.now().astimezone())}"
