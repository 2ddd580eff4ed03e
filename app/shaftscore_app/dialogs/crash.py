"""The dialog after an error of the program: what happened, where the work is, and the report."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QLabel, QPlainTextEdit, QWidget

from shaftscore.base.wording import counted
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog


class CrashDialog(Dialog):
    """The dialog; there is one, however many errors come."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        what: str,
        where: str,
        report: str,
        file: Path | None,
        save_as: Callable[[], object],
    ) -> None:
        """Show what happened and where the work is; file: where the report was written, None: nowhere."""
        super().__init__(parent, theme, "Error", "Shaftscore hit an unexpected error.")
        self.where: QLabel = self.say(where)
        self.say(
            "You can continue. If something looks wrong, save under another name and start Shaftscore again."
        )
        self.what: QLabel = self.say(what, muted=True)
        self._what = what
        self.report = QPlainTextEdit(report)
        self.report.setReadOnly(True)
        self.report.setFont(theme.font(11))
        self.report.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.report.setAccessibleName("Report")
        self.report.setMinimumSize(theme.px(520), theme.px(180))
        self.body.addWidget(self.report)
        kept = f"Kept as {file}." if file is not None else "It could not be written to the disk."
        self.say(f"The report names no files, folders or lanes. {kept}", muted=True)
        self.set_buttons(
            (
                Button("Copy the report", self._copy, stays=True),
                Button("Save as…", save_as),
                Button("Continue", default=True),
            )
        )

    def count(self, errors: int) -> None:
        """Show that there were more errors since."""
        self.what.setText(f"{self._what}; {counted(errors, 'error')} in all")

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.report.toPlainText())
