"""Name and notes of the machine."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QPlainTextEdit, QWidget

from shaftscore.model import Project
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog


class NamesDialog(Dialog):
    """Asks for name and notes."""

    def __init__(
        self, parent: QWidget, theme: Theme, project: Project, use: Callable[[str, str], str]
    ) -> None:
        """Show what is there; use: sets name and notes, gives a fault or an empty text."""
        super().__init__(parent, theme, "Name and notes", "Name of the machine, and notes on its purpose")
        self._use = use
        self.name = QLineEdit(project.name)
        self.name.setAccessibleName("Name")
        self.name.setFont(theme.font(12))
        self.notes = QPlainTextEdit(project.notes)
        self.notes.setAccessibleName("Notes")
        self.notes.setFont(theme.font(12))
        self.notes.setTabChangesFocus(True)
        self.notes.setMinimumSize(theme.px(480), theme.px(180))
        for text, widget in (("Name", self.name), ("Notes", self.notes)):
            label = QLabel(text)
            label.setFont(theme.font(12))
            label.setBuddy(widget)
            self.body.addWidget(label)
            self.body.addWidget(widget)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.set_buttons((Button("Cancel"), Button("OK", self._go, default=True, stays=True)))
        self.name.setFocus(Qt.FocusReason.OtherFocusReason)

    def _go(self) -> None:
        fault = self._use(self.name.text().strip(), self.notes.toPlainText())
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)
