"""What every group of commands works with, and the beginning that all groups share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QMainWindow

from shaftscore_app.commands.picking import Picker
from shaftscore_app.document import Document
from shaftscore_app.keeping import PersonStore
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme


@dataclass(frozen=True)
class Services:
    """The window that commands serve and what they share.

    store: where drafts and earlier versions are kept. picker: how files, folders and printers are chosen.
    """

    window: QMainWindow
    document: Document
    theme: Theme
    settings: Settings
    jobs: Jobs
    store: PersonStore
    picker: Picker


class CommandGroup(QObject):
    """Commands of one subject: what each does, and why it cannot be done now."""

    def __init__(self, services: Services) -> None:
        """Serve the window of `services`, which owns the group."""
        super().__init__(services.window)
        self.services = services
        self._window, self._document, self._theme = services.window, services.document, services.theme
        self._settings, self._jobs = services.settings, services.jobs
        self._store, self._picker = services.store, services.picker

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does, by its id."""
        return {}

    def reasons(self) -> Mapping[str, Reason]:
        """Return what says why a command cannot be done now, by its id."""
        return {}
