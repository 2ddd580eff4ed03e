"""Commands of the Program maker: showing it, and the files that it reads."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

from shaftscore.program.places import is_programmed
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.menus.actions import Reason
from shaftscore_app.views.layout import Docks

if TYPE_CHECKING:
    from shaftscore_app.views.program import ProgramView


class ProgramCommands(CommandGroup):
    """The commands."""

    def __init__(self, services: Services, *, docks: Docks) -> None:
        """Serve a window and its Program maker."""
        super().__init__(services)
        self._docks = docks
        docks.late.when_made("program", self._connect)

    def _connect(self, view: ProgramView) -> None:
        view.image_wanted.connect(self.read_image)
        view.text_wanted.connect(self.read_text)

    @property
    def _view(self) -> ProgramView:
        from shaftscore_app.views.program import ProgramView  # late: it takes long

        return self._docks.view(ProgramView)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {"lane.program": self.show}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        none = "There are no lanes with levels yet"
        return {"lane.program": lambda: "" if self._has_lanes() else none}

    def _has_lanes(self) -> bool:
        return any(is_programmed(lane) for lane in self._document.project.lanes)

    def show(self) -> None:
        """Show the Program maker with room."""
        self._docks.show_large("program")
        self._view.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def read_image(self) -> None:
        """Let the person choose an image, and make frames of it."""
        path = self._picker.image_to_open(self._window, self._folder())
        if path is not None:
            self._view.open_image(path)

    def read_text(self) -> None:
        """Let the person choose a text, and make frames of it."""
        path = self._picker.table_to_open(self._window, self._folder(), "Frames from a text")
        if path is not None:
            self._view.open_text(path)

    def _folder(self) -> str:
        return "" if self._document.path is None else str(self._document.path.parent)
