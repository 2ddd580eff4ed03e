"""The Findings view: one row a finding, errors first, and its cure when it is chosen.

A row keeps its place and stays chosen while a block is dragged: rows are known by the finding's key.
Whoever shows the diagram hears `visited` and goes there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QMouseEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListView,
    QStackedLayout,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.binding import commit
from app.document import Document
from app.selection import FindingKey
from app.status_bar import SIGNS
from app.theme import Theme
from app.views.finding_rows import FindingRows
from app.words import clean_text
from core.edits import apply_edit
from core.findings import Finding, Severity, Words, words
from core.model import Project

Index = QModelIndex | QPersistentModelIndex

ROW = Qt.ItemDataRole.UserRole
"""Role under which a `Row` is found in the list."""


@dataclass(frozen=True)
class Row:
    """A finding and the project it was found in; stale: that is an earlier one than what is shown."""

    finding: Finding
    project: Project
    stale: bool

    @cached_property
    def words(self) -> Words:
        """The finding in words, made when they are first seen."""
        return words(self.finding, self.project)


class FindingsModel(QAbstractListModel):
    """The rows shown."""

    def __init__(self) -> None:
        """Begin without a row."""
        super().__init__()
        self._rows: tuple[Row, ...] = ()

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows shown, in order."""
        return self._rows

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other rows; the same findings keep their rows."""
        same = [row.finding.key for row in rows] == [row.finding.key for row in self._rows]
        if same:
            self._rows = tuple(rows)
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self._rows = tuple(rows)
        self.endResetModel()

    def row_of(self, key: FindingKey | None) -> int:
        """Give the row of a finding, -1 where it is not shown."""
        return next((i for i, row in enumerate(self._rows) if row.finding.key == key), -1)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Give a row, or what is read aloud of it."""
        row = self._rows[index.row()]
        if role == ROW:
            return row
        said = row.words
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.DisplayRole):
            return f"{row.finding.severity.value.capitalize()}: {said.title}, {said.lanes}. {said.what}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return "\n".join(
                filter(None, [f"{said.title}: {said.lanes}, {said.where}", said.what, said.cure])
            )
        return None


class FindingsView(QWidget):
    """The view.

    Signals: visited(key) when the person chose a finding and wants to see its place.
    """

    visited = Signal(object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's findings."""
        super().__init__()
        self._document, self._theme = document, theme
        self._filter: Severity | None = None
        self.model = FindingsModel()
        self.list = _List(self.model, theme)
        self._empty = QLabel()
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._chips = self._made_chips()
        self._build()
        self.setFocusProxy(self.list)
        self.list.selectionModel().currentChanged.connect(lambda now, _before: self._choose(now))
        self.list.clicked.connect(self._visit)
        self.list.cure_wanted.connect(self.do_cure)
        for signal in (document.report_changed, document.selection_changed, document.file_changed):
            signal.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    # What can be asked of it

    def refresh(self) -> None:
        """Show the document's findings."""
        report = self._document.report
        flow = set(map(id, report.flow.findings)) if report.flow is not None else set()
        for severity, chip in self._chips.items():
            count = len(report.findings) if severity is None else report.count(severity)
            chip.setText(f"All {count}" if severity is None else f" {count}")
            chip.setAccessibleName("All findings" if severity is None else f"{severity.value}s, {count}")
        rows = [
            self._row(finding, id(finding) in flow)
            for finding in report.findings
            if self._filter in (None, finding.severity)
        ]
        place = self.list.verticalScrollBar().value()
        self.model.set_rows(rows)
        self._show_chosen()
        self.list.verticalScrollBar().setValue(place)
        self._empty.setText(clean_text(self._document) if not report.findings else "None of this kind.")
        self._pages.setCurrentIndex(0 if rows else 1)

    def set_filter(self, severity: Severity | None) -> None:
        """Show findings of one severity only, or all."""
        self._filter = severity
        self._chips[severity].setChecked(True)
        self.refresh()

    def step(self, by: int) -> None:
        """Choose the next (1) or previous (-1) finding and go there; round at the ends."""
        count = len(self.model.rows)
        if not count:
            return
        row = self.model.row_of(self._document.selection.finding)
        row = (row + by) if row >= 0 else (0 if by > 0 else count - 1)
        index = self.model.index(row if 0 <= row < count else (0 if by > 0 else count - 1))
        self.list.setCurrentIndex(index)
        self._visit(index)

    @property
    def chosen(self) -> Finding | None:
        """The finding that is chosen, if it is still found."""
        key = self._document.selection.finding
        return next((f for f in self._document.report.findings if f.key == key), None)

    def do_cure(self) -> str:
        """Make the edit that the chosen finding proposes; give why not, or an empty text."""
        chosen = self.chosen
        if chosen is None or chosen.cure is None or chosen.cure.edit is None:
            return "Choose a finding whose cure is an edit first"
        cure, document = chosen.cure, self._document
        edit = cure.edit or ""
        return commit(document, lambda: apply_edit(document.committed, edit, **cure.arguments))

    def copy(self) -> None:
        """Copy the findings shown as text, a line for each of their lines."""
        blocks = []
        for row in self.model.rows:
            said = row.words
            head = f"{row.finding.severity.value.capitalize()}: {said.title}, {said.lanes}, {said.where}"
            blocks.append("\n".join(filter(None, [head, said.what, said.cure])))
        QGuiApplication.clipboard().setText("\n\n".join(blocks))

    # Inside

    def _row(self, finding: Finding, late: bool) -> Row:
        stale = late and not self._document.is_late_current
        project = self._document.report.flow_project if late else None
        return Row(finding, project or self._document.report.project, stale)

    def _show_chosen(self) -> None:
        row = self.model.row_of(self._document.selection.finding)
        index = self.model.index(row) if row >= 0 else QModelIndex()
        if self.list.currentIndex() != index:
            self.list.setCurrentIndex(index)
        self.list.scheduleDelayedItemsLayout()
        self.list.viewport().update()

    def _choose(self, index: QModelIndex) -> None:
        if index.isValid():
            self._document.select_finding(self.model.rows[index.row()].finding.key)

    def _visit(self, index: QModelIndex) -> None:
        if index.isValid():
            self._choose(index)
            self.visited.emit(self.model.rows[index.row()].finding.key)

    def _made_chips(self) -> dict[Severity | None, QToolButton]:
        group = QButtonGroup(self)
        chips: dict[Severity | None, QToolButton] = {}
        for severity in (None, *Severity):
            chip = QToolButton()
            chip.setObjectName("chip")
            chip.setCheckable(True)
            chip.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            chip.setToolTip("Show all findings" if severity is None else f"Show {severity.value}s only")
            chip.clicked.connect(lambda _checked, chosen=severity: self.set_filter(chosen))
            group.addButton(chip)
            chips[severity] = chip
        chips[None].setChecked(True)
        return chips

    def _build(self) -> None:
        self._copy = QToolButton()
        self._copy.setObjectName("plain")
        self._copy.setToolTip("Copy: the findings shown, as text")
        self._copy.setAccessibleName("Copy the findings")
        self._copy.clicked.connect(self.copy)
        self._bar = QHBoxLayout()
        for chip in self._chips.values():
            self._bar.addWidget(chip)
        self._bar.addStretch(1)
        self._bar.addWidget(self._copy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._bar)
        self._pages = QStackedLayout()
        self._pages.addWidget(self.list)
        self._pages.addWidget(self._empty)
        column.addLayout(self._pages, 1)

    def _fit(self) -> None:
        theme = self._theme
        self._bar.setContentsMargins(theme.px(12), theme.px(6), theme.px(12), theme.px(6))
        self._bar.setSpacing(theme.px(8))
        for severity, chip in self._chips.items():
            chip.setFont(theme.font(12))
            if severity is not None:
                chip.setIcon(theme.icon(SIGNS[severity], 14))
            chip.setIconSize(QSize(theme.px(14), theme.px(14)))
        self._copy.setIcon(theme.icon("copy", 16))
        self._copy.setIconSize(QSize(theme.px(16), theme.px(16)))
        self._empty.setFont(theme.font(12))
        self._empty.setContentsMargins(theme.px(24), 0, theme.px(24), 0)
        self.refresh()


class _List(QListView):
    """The list of rows; tells when the cure of the chosen one was clicked."""

    cure_wanted = Signal()

    def __init__(self, model: FindingsModel, theme: Theme) -> None:
        super().__init__()
        self.setModel(model)
        self._rows = FindingRows(theme, self)
        self.setItemDelegate(self._rows)
        self.setAccessibleName("Findings")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMouseTracking(True)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do the cure if its words were clicked."""
        super().mouseReleaseEvent(event)
        index = self.indexAt(event.position().toPoint())
        if index.isValid() and self._rows.cure_rect(index, self.visualRect(index)).contains(
            event.position().toPoint()
        ):
            self.cure_wanted.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show a hand over the words that do the cure."""
        super().mouseMoveEvent(event)
        index = self.indexAt(event.position().toPoint())
        over = index.isValid() and self._rows.cure_rect(index, self.visualRect(index)).contains(
            event.position().toPoint()
        )
        self.viewport().setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)
