"""Commands about the state table: reading one from a file that a spreadsheet saved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.actions import Reason
from app.commands.files import Picker
from app.document import Document
from app.layout import Docks
from app.views.state_table import StateTableView


class TableCommands(QObject):
    """The commands."""

    def __init__(
        self, window: QWidget, document: Document, picker: Picker, docks: Docks, view: StateTableView
    ) -> None:
        """Serve a window and its state table."""
        super().__init__(window)
        self._window, self._document, self._picker = window, document, picker
        self._docks, self._view = docks, view
        view.import_wanted.connect(self.read_file)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Give what each command does."""
        return {"machine.table": self.read_file}

    def reasons(self) -> Mapping[str, Reason]:
        """Give why a command cannot be done now."""
        none = "There are no lanes yet: a table needs lanes with levels"
        return {"machine.table": lambda: "" if self._document.project.lanes else none}

    def read_file(self) -> None:
        """Let the person choose a file, and show it before it is written."""
        folder = self._document.path.parent if self._document.path else Path.home()
        path = self._picker.table_to_open(self._window, str(folder), "State table from a file")
        if path is not None:
            self._docks.show("table")
            self._view.open_file(path)
