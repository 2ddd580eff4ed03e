"""Dialogs about files: refused, not saved, gone back."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from shaftscore.base.errors import ProjectError
from shaftscore.base.wording import counted
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog


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
        """Show what is wrong; again: choose another file."""
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
        super().__init__(parent, theme, "Revert to saved", f"Revert {name} to its last save?")
        self.say(f"{counted(steps, 'step')} will be lost; this cannot be undone.")
        self.set_buttons((Button("Cancel", default=True), Button("Revert", drop)))


class TroubleDialog(Dialog):
    """Something could not be done, and why."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        title: str,
        heading: str,
        why: str,
        *,
        save_as: Callable[[], object] | None = None,
    ) -> None:
        """Show what and why; save_as: saves it elsewhere, where that would help."""
        super().__init__(parent, theme, title, heading)
        self.say(why)
        if save_as is None:
            self.set_buttons((Button("Close", default=True),))
        else:
            self.set_buttons((Button("Close"), Button("Save as…", save_as, default=True)))


class ChangedDialog(Dialog):
    """Asks what to save into a file that somebody else wrote meanwhile; closing it saves nothing."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        name: str,
        *,
        read: Callable[[], object],
        save_as: Callable[[], object],
        write: Callable[[], object],
    ) -> None:
        """Ask about the file `name`."""
        heading = f"{name} was changed on disk since it was read here."
        super().__init__(parent, theme, "Save", heading)
        self.say(
            "It was saved by another program. Overwriting keeps that version in File > Earlier versions; "
            "reloading discards the changes made here."
        )
        self.set_buttons(
            (
                Button("Cancel", default=True),
                Button("Discard mine and reload", read),
                Button("Overwrite", write),
                Button("Save as…", save_as),
            )
        )


class OpenElsewhereDialog(Dialog):
    """A message that a file is open in another window; closing it opens nothing."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        name: str,
        since: str,
        *,
        look: Callable[[], object],
        copy: Callable[[], object],
    ) -> None:
        """Offer the file `name`; since: when it was opened there, with a space before it, or empty."""
        super().__init__(parent, theme, "Open", f"{name} is open in another window{since}.")
        self.say("It can be opened here to look at, or as a copy that is saved under another name.")
        self.set_buttons(
            (Button("Cancel"), Button("Open a copy", copy), Button("Open to look", look, default=True))
        )
