"""Commands of the File menu: new, open, save, close; recent files, samples, and unsaved changes.

Nothing here waits for an answer: a dialog is opened with what to do next, and the window stays alive.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Protocol

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMenu, QWidget

from app.actions import Reason
from app.dialogs.files import RefusedDialog, RevertDialog, TroubleDialog, UnsavedDialog
from app.document import Document
from app.settings import Settings
from app.theme import Theme
from core.errors import ProjectError
from core.model import Project
from core.model.loader import read_project

SUFFIX = ".shaft"
KINDS = f"Shaftscore projects (*{SUFFIX})"
TABLES = "Tables (*.csv *.tsv *.txt)"


class Picker(Protocol):
    """Lets the person choose a file or a folder; None where they did not."""

    def file_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a file that is there."""
        ...

    def file_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name."""
        ...

    def folder(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a folder."""
        ...

    def table_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a table that is there."""
        ...


class SystemPicker:
    """The system's own file dialogs."""

    def file_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a file that is there."""
        name, _ = QFileDialog.getOpenFileName(parent, "Open", folder, f"{KINDS};;All files (*)")
        return Path(name) if name else None

    def file_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name; the project's suffix is added where there is none."""
        name, _ = QFileDialog.getSaveFileName(parent, "Save as", proposed, KINDS)
        if not name:
            return None
        path = Path(name)
        return path if path.suffix else path.with_suffix(SUFFIX)

    def folder(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a folder."""
        name = QFileDialog.getExistingDirectory(parent, "Export into", proposed)
        return Path(name) if name else None

    def table_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a table that is there."""
        name, _ = QFileDialog.getOpenFileName(parent, "Points from CSV", folder, f"{TABLES};;All files (*)")
        return Path(name) if name else None


def samples() -> dict[str, bytes]:
    """Give the shipped samples: title to file contents."""
    found = {}
    for entry in sorted(files("sample_projects").iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(SUFFIX):
            title = entry.name.removesuffix(SUFFIX).replace("_", " ").capitalize()
            found[title] = entry.read_bytes()
    return found


class FileCommands(QObject):
    """The commands.

    Signals: close_wanted() when the window may close; saved() after a save.
    """

    close_wanted = Signal()
    saved = Signal()

    def __init__(
        self, window: QWidget, document: Document, theme: Theme, settings: Settings, picker: Picker
    ) -> None:
        """Serve a window and its document."""
        super().__init__(window)
        self._window, self._document, self._theme = window, document, theme
        self._settings, self._picker = settings, picker

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Give what each command does."""
        return {
            "file.new": self.new,
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
        """Give why a command cannot be done now."""
        document = self._document
        none_open = "No machine is open"
        unchanged = "Nothing has changed since the last save"
        return {
            "file.recent": lambda: "" if self._settings.recent_files() else "No recent files yet",
            "file.save": lambda: "" if document.is_modified or not document.path else unchanged,
            "file.save_as": lambda: "" if document.is_started else none_open,
            "file.revert": lambda: "" if document.path and document.is_modified else unchanged,
            "file.close": lambda: "" if document.is_started else none_open,
        }

    # Open

    def new(self) -> None:
        """Begin an empty machine."""
        self.when_kept(self._document.new)

    def ask_open(self) -> None:
        """Let the person choose a file and open it."""
        path = self._picker.file_to_open(self._window, self._folder())
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Open a file, after asking about changes; one that is refused leaves everything as it was."""
        self.when_kept(lambda: self._open_now(path))

    def open_sample(self, data: bytes, title: str) -> None:
        """Begin with a copy of a sample."""
        self.when_kept(lambda: self._document.new(_project(data, title)))

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
        try:
            self._document.open(path)
        except ProjectError as error:
            self._settings.forget_file(path)
            RefusedDialog(self._window, self._theme, path.name, error, self.ask_open).open()
            return
        self._settings.remember_file(path)

    def _folder(self) -> str:
        path = self._document.path
        recent = self._settings.recent_files()
        return str(path.parent if path else recent[0].parent if recent else Path.home())

    # Save

    def save(self, then: Callable[[], object] | None = None) -> None:
        """Write the file (asking for a name where there is none), then do `then`."""
        if self._document.path is None:
            self.save_as(then)
        else:
            self._write(self._document.path, then)

    def save_as(self, then: Callable[[], object] | None = None) -> None:
        """Ask for a name and write the file, then do `then`."""
        proposed = self._document.path or Path(self._folder()) / f"{self._document.project.name}{SUFFIX}"
        path = self._picker.file_to_save(self._window, str(proposed))
        if path is not None:
            self._write(path, then)

    def _write(self, path: Path, then: Callable[[], object] | None) -> None:
        try:
            self._document.save(path)
        except OSError as error:
            why = f"{path}: {error.strerror or error}. The old file, if there was one, is as it was."
            TroubleDialog(self._window, self._theme, "Save", "The file was not written.", why).open()
            return
        self._settings.remember_file(path)
        self.saved.emit()
        if then is not None:
            then()

    def revert(self) -> None:
        """Ask, then drop all changes since the last save."""
        path = self._document.path
        if path is not None:
            steps = max(1, len(self._document.undo_names))
            RevertDialog(self._window, self._theme, path.name, steps, lambda: self._open_now(path)).open()

    # Leave

    def when_kept(self, then: Callable[[], object]) -> None:
        """Do `then` once nothing unsaved is lost by it: at once, or after asking."""
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


def _project(data: bytes, title: str) -> Project:
    return read_project(data, title)
