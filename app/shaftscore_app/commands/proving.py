"""Commands of the menu Prove about real machines: the chance that one works."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from shaftscore_app.dialogs.chance import ChanceDialog
from shaftscore_app.document import Document
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme


class ProvingCommands(QObject):
    """The commands."""

    def __init__(self, window: QWidget, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Serve a window and its document."""
        super().__init__(window)
        self._window, self._document, self._theme, self._jobs = window, document, theme, jobs
        self._chance: ChanceDialog | None = None

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {"prove.chance": self.show_chance}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return {"prove.chance": lambda: "" if self._document.project.lanes else "There are no lanes yet"}

    def show_chance(self) -> None:
        """Show the chance beside the window; where it is shown already, bring it to the front."""
        if self._chance is None:
            self._chance = ChanceDialog(self._window, self._theme, self._document, self._jobs)
            self._chance.finished.connect(self._forget)
            self._chance.show()
        self._chance.raise_()
        self._chance.activateWindow()

    def _forget(self) -> None:
        self._chance = None
