"""Commands of the menu Check about real machines: the chance that one works."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.chance import ChanceDialog
from shaftscore_app.menus.actions import Reason


class ProvingCommands(CommandGroup):
    """The commands."""

    def __init__(self, services: Services) -> None:
        """Serve a window and its document."""
        super().__init__(services)
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
