"""The log-book: dated notes of what was printed, measured and changed, with revisions of parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from shaftscore.base.errors import EditError
from shaftscore.edits import Edited, add_note, change_note, delete_note
from shaftscore.model import LogEntry, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog

EXPLAINED = (
    "Notes of what was printed, measured and changed, kept in the project’s file. Parts are written as code "
    "and revision, as they are engraved: A1 R0F3, A2 R1B2."
)
HEADS = ("Date", "Note", "Parts")


def parts_text(revisions: Mapping[str, str] | None) -> str:
    """Write revisions of parts ("A1 R0F3, A2 R1B2")."""
    return ", ".join(f"{code} {revision}" for code, revision in (revisions or {}).items())


def read_parts(text: str) -> dict[str, str]:
    """Read codes with their revisions; raises EditError for what is neither."""
    found: dict[str, str] = {}
    for piece in (piece.strip() for piece in text.split(",")):
        if not piece:
            continue
        code, _, revision = piece.rpartition(" ")
        if not code:
            raise EditError(f'"{piece}" needs a code and a revision, such as A1 R0F3')
        found[code.strip()] = revision.upper()
    return found


def newest_lines(project: Project, count: int) -> list[str]:
    """Return the newest notes, a line each, newest first."""
    return [note_line(note) for note in reversed(project.log[-count:])]


def note_line(note: LogEntry) -> str:
    """Write a note in one line; of many parts the rest are counted."""
    parts = list((note.revisions or {}).items())
    named = ", ".join(f"{code} {revision}" for code, revision in parts[:4])
    more = f" and {len(parts) - 4} more" if len(parts) > 4 else ""
    return f"{note.date}  {note.text}" + (f"  ({named}{more})" if parts else "")


class LogBookDialog(Dialog):
    """The dialog: all notes, and below them the one that is chosen or written."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        *,
        day: str,
        revisions: Callable[[], Mapping[str, str]],
    ) -> None:
        """Show the notes of a document; day: of today; revisions: of all discs as they are now."""
        super().__init__(parent, theme, "Log-book", "Log-book")
        self._document, self._day, self._revisions = document, day, revisions
        self.table = QTableWidget(0, len(HEADS))
        self.date, self.note, self.parts = QLineEdit(day), QLineEdit(), QLineEdit()
        self.now = QPushButton("Discs as they are now")
        self.say(EXPLAINED, muted=True)
        self._build()
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.set_buttons(
            (
                Button("Remove", self._remove, stays=True),
                Button("Change", self._change, stays=True),
                Button("Add", self._add, default=True, stays=True),
                Button("Close"),
            )
        )
        document.project_changed.connect(self.refresh)
        self.refresh()
        self.resize(theme.px(760), theme.px(480))
        self.note.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def fault(self) -> str:
        """Why nothing was done, as shown."""
        return self._fault.text()

    def refresh(self) -> None:
        """Show the notes as they are now, the newest chosen in sight."""
        log = self._document.committed.log
        chosen = self.table.currentRow()
        self.table.setRowCount(len(log))
        for row, note in enumerate(log):
            for column, text in enumerate((note.date, note.text, parts_text(note.revisions))):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        if not 0 <= chosen < len(log):
            self.table.setCurrentCell(-1, -1)
            self.table.scrollToBottom()
        self._show_buttons()

    # Inside

    def _build(self) -> None:
        theme, px = self._theme, self._theme.px
        table = self.table
        table.setHorizontalHeaderLabels(list(HEADS))
        table.setAccessibleName("Notes: date, text, parts with their revisions")
        table.setFont(theme.font(12))
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(px(24))
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setWordWrap(False)
        table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        table.setColumnWidth(0, px(96))
        table.setColumnWidth(2, px(210))
        table.itemSelectionChanged.connect(self._show_chosen)
        self.body.addWidget(table, 1)
        self.body.addLayout(self._fields())

    def _fields(self) -> QGridLayout:
        """Return the fields of one note."""
        grid, row = QGridLayout(), QHBoxLayout()
        row.addWidget(self.parts, 1)
        row.addWidget(self.now)
        for line, (text, widget) in enumerate(
            (("Date", self.date), ("Note", self.note), ("Parts", self.parts))
        ):
            label = QLabel(text)
            label.setFont(self._theme.font(12))
            label.setBuddy(widget)
            widget.setFont(self._theme.font(12))
            widget.setAccessibleName(text)
            grid.addWidget(label, line, 0)
            if widget is self.parts:
                grid.addLayout(row, line, 1)
            else:
                grid.addWidget(widget, line, 1)
        self.date.setToolTip("Year, month and day, such as 2026-03-14")
        self.note.setMaxLength(2000)
        self.parts.setToolTip("Codes and revisions of the parts that the note is about; may be empty")
        self.now.setFont(self._theme.font(12))
        self.now.setAutoDefault(False)
        self.now.setToolTip("Fill in the revision of every disc as it would be exported now")
        self.now.clicked.connect(lambda: self.parts.setText(parts_text(self._revisions())))
        return grid

    def _show_chosen(self) -> None:
        row, log = self.table.currentRow(), self._document.committed.log
        if 0 <= row < len(log) and self.table.selectedItems():
            note = log[row]
            self.date.setText(note.date)
            self.note.setText(note.text)
            self.parts.setText(parts_text(note.revisions))
            self.parts.setCursorPosition(0)
        self._show_buttons()

    def _show_buttons(self) -> None:
        chosen = bool(self.table.selectedItems())
        for text in ("Remove", "Change"):
            self.button(text).setEnabled(chosen)

    def _add(self) -> None:
        self._do(
            lambda: add_note(
                self._document.committed, self.date.text().strip(), self.note.text().strip(), self._read()
            )
        )

    def _change(self) -> None:
        row = self.table.currentRow()
        self._do(
            lambda: change_note(
                self._document.committed,
                row,
                self.date.text().strip(),
                self.note.text().strip(),
                self._read(),
            )
        )

    def _remove(self) -> None:
        row = self.table.currentRow()
        self._do(lambda: delete_note(self._document.committed, row))

    def _read(self) -> dict[str, str]:
        return read_parts(self.parts.text())

    def _do(self, make: Callable[[], Edited]) -> None:
        """Make an edit; what was written goes once it is in."""
        fault = commit(self._document, make)
        self._fault.setText(fault)
        if not fault:
            self.table.clearSelection()
            self.date.setText(self._day)
            self.note.clear()
            self.parts.clear()
            self.note.setFocus(Qt.FocusReason.OtherFocusReason)
