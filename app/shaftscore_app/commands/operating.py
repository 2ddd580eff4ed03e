"""Commands of the menu Check about the machine in operation: each shows a page of one view."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from PySide6.QtCore import Qt

from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.menus.actions import Reason
from shaftscore_app.views.layout import Docks

PAGE_OF = {
    "prove.stuck": "Stuck lane",
    "prove.feed": "Feed",
    "prove.home": "Home and restart",
    "prove.wear": "Wear",
}
"""The page that each command shows."""


class OperatingCommands(CommandGroup):
    """The commands."""

    def __init__(self, services: Services, *, docks: Docks) -> None:
        """Serve a window and its Operation view."""
        super().__init__(services)
        self._docks = docks

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {command: partial(self.show, page) for command, page in PAGE_OF.items()}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return dict.fromkeys(PAGE_OF, self._why_not)

    def show(self, page: str) -> None:
        """Show a page with room."""
        from shaftscore_app.views.operation import OperationView  # late: it takes long

        view = self._docks.view(OperationView)
        view.show_page(page)
        self._docks.show_large("operation")
        view.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _why_not(self) -> str:
        return "" if self._document.project.lanes else "There are no lanes yet"
