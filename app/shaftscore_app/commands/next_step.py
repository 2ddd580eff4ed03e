"""View > Next step: whether the line with the next step is shown, project by project.

It is shown until the first export of a project; then, and when the person closes it, it is hidden. What
became of it is kept in the person's settings, not in the file; of a project without a file, until it has one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Signal

from shaftscore.model import Project
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.settings import NextStepWish


class NextStepCommands(CommandGroup):
    """The command, and what an export does to the line.

    Signals: changed() when the line is to be shown, hidden, or says something else after an export.
    """

    changed = Signal()

    def __init__(self, services: Services) -> None:
        """Serve a window and its document."""
        super().__init__(services)
        self._unsaved: tuple[int, NextStepWish] | None = None
        self._exported: Project | None = None
        self._document.file_changed.connect(self._on_file)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what the command does."""
        return {"view.next_step": self.set_shown}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why the command cannot be done now."""
        return {"view.next_step": lambda: "" if self._document.is_started else "No machine is open"}

    @property
    def is_shown(self) -> bool:
        """Whether the line is to be shown for the project that is open."""
        if not self._document.is_started:
            return False
        wish = self._wish
        return self._settings.values.next_step if wish is None else wish == "shown"

    @property
    def is_exported(self) -> bool:
        """Whether the files written last are those of the project as it is."""
        return self._exported is not None and self._exported is self._document.committed

    def set_shown(self, shown: bool) -> None:
        """Show or hide the line for the project that is open."""
        self._remember("shown" if shown else "hidden")
        self.changed.emit()

    def on_exported(self, project: Project) -> None:
        """Hide the line after the first export of a project; a person who showed it again keeps it."""
        self._exported = project
        if self._wish is None:
            self._remember("exported")
        self.changed.emit()

    @property
    def _wish(self) -> NextStepWish | None:
        path = self._document.path
        if path is not None:
            return self._settings.next_step_of(path)
        unsaved = self._unsaved
        return unsaved[1] if unsaved is not None and unsaved[0] == self._document.opened else None

    def _remember(self, wish: NextStepWish) -> None:
        path = self._document.path
        if path is None:
            self._unsaved = (self._document.opened, wish)
        else:
            self._settings.remember_next_step(path, wish)

    def _on_file(self) -> None:
        """Keep what was said of a project that now has a file."""
        unsaved, path = self._unsaved, self._document.path
        if unsaved is not None and path is not None:
            self._unsaved = None
            if unsaved[0] == self._document.opened:
                self._settings.remember_next_step(path, unsaved[1])
        self.changed.emit()
