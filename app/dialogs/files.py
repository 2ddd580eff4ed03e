"""Dialogs about files: refused, not saved, gone back."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.dialogs.base import Button, Dialog
from app.theme import Theme
from core.errors import ProjectError
from core.wording import counted


class RefusedDialog(Dialog):
    """A file that cannot be opened, with all that is wrong with it; the open project is untouched."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        name: str,
        error: ProjectError,
        again: Callable[[], object],
    ) -> None:
        """Say what is wrong; again: choose another file."""
        super().__init__(parent, theme, "Open", "This file cannot be opened.")
        lines = [str(fault) for fault in error.faults] + ["and more"] * error.more
        self.say(f"{name}: {counted(len(error.faults), 'fault')}")
        self.list = QPlainTextEdit("\n".join(lines))
        self.list.setReadOnly(True)
        self.list.setFont(theme.font(12))
        self.list.setAccessibleName("Faults")
        self.list.setMinimumSize(theme.px(520), theme.px(140))
        self.body.addWidget(self.list)
        self.set_buttons(
            (
                Button("Copy the list", self._copy, stays=True),
                Button("Choose another", again),
                Button("Close", default=True),
            )
        )

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.list.toPlainText())


class UnsavedDialog(Dialog):
    """Asks what to do with changes that are not saved; closing it means Cancel."""

    def __init__(
        self, parent: QWidget, theme: Theme, name: str, save: Callable[[], object], drop: Callable[[], object]
    ) -> None:
        """Ask about the file `name`."""
        super().__init__(parent, theme, "Not saved", f"Save the changes to {name}?")
        self.say("Changes that are not saved are lost.")
        self.set_buttons(
            (
                Button("Don’t save", drop),
                Button("Cancel"),
                Button("Save", save, default=True),
            )
        )


class RevertDialog(Dialog):
    """Asks before all changes since the last save are dropped."""

    def __init__(
        self, parent: QWidget, theme: Theme, name: str, steps: int, drop: Callable[[], object]
    ) -> None:
        """Ask; steps: how many steps would be lost."""
        super().__init__(parent, theme, "Go back to saved", f"Go back to {name} as it was saved?")
        self.say(f"{counted(steps, 'step')} would be lost; this cannot be undone.")
        self.set_buttons((Button("Cancel", default=True), Button("Go back", drop)))


class TroubleDialog(Dialog):
    """Something could not be done, and why."""

    def __init__(self, parent: QWidget, theme: Theme, title: str, heading: str, why: str) -> None:
        """Say what and why."""
        super().__init__(parent, theme, title, heading)
        self.say(why)
        self.set_buttons((Button("Close", default=True),))
