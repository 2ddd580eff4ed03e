"""What came to each outlet and magazine in the first turns: typed counts beside those that are due."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QVBoxLayout, QWidget

from shaftscore.base.wording import part_name
from shaftscore.bringup.arrivals import ends_of, expected_counts
from shaftscore.bringup.items import TURNS
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.model.bench import MOST_ITEMS
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.ranking import made_of
from shaftscore_app.views.bring_up.session import BringUpSession, is_same
from shaftscore_app.widgets.grid import Grid, GridCells

JOB = "bring-up items"
"""Kind of the job that counts what is due."""

HEAD = (
    "Start full as drawn, turn once round, count, and type what came. Grey: what is due. "
    "Counts are compared with what each fault would bring."
)
WITHOUT = "This machine has no flow: there are no items to count."

Index = QModelIndex | QPersistentModelIndex
Role = Qt.ItemDataRole


class CountModel(QAbstractTableModel):
    """Counts of a session: a row an end, a column a turn. Signals: refused(sentence)."""

    refused = Signal(str)

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Hold the counts of a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self.ends: tuple[str, ...] = ()
        self.due: Mapping[str, tuple[int, ...]] = {}

    def take(self, due: Mapping[str, tuple[int, ...]] | None = None) -> None:
        """Show the session as it is now; due: what the drawn machine brings, as before if None."""
        flow = self._session.project.flow
        ends = () if flow is None else ends_of(flow)
        self.due = self.due if due is None else due
        if ends == self.ends:  # a field that is being typed in stays
            self.dataChanged.emit(self.index(0, 0), self.index(len(ends) - 1, TURNS - 1))
            return
        self.beginResetModel()
        self.ends = ends
        self.endResetModel()

    def rowCount(self, _parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own default)
        """Return how many ends there are."""
        return len(self.ends)

    def columnCount(self, _parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own default)
        """Return how many turns are counted."""
        return TURNS

    def counts(self, end: str) -> tuple[int | None, ...]:
        """Return what was counted at an end, (TURNS,)."""
        sheet = self._session.sheet
        found = () if sheet is None or sheet.arrived is None else sheet.arrived.get(end, ())
        return (*found, *(None,) * (TURNS - len(found)))

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let counts be typed once the safety ticks are set."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if self._session.is_ready else flags

    def data(self, index: Index, role: int = Role.DisplayRole) -> object:
        """Return a count, what is due where nothing was counted, and how both are painted and read aloud."""
        if not (0 <= index.row() < len(self.ends) and 0 <= index.column() < TURNS):
            return None
        end = self.ends[index.row()]
        seen, due = self.counts(end)[index.column()], self._due(end, index.column())
        answers: dict[int, Callable[[], object]] = {
            Role.EditRole: lambda: "" if seen is None else str(seen),
            Role.DisplayRole: lambda: self._text(seen, due),
            Role.TextAlignmentRole: lambda: Qt.AlignmentFlag.AlignCenter,
            Role.ForegroundRole: lambda: self._color(seen, due),
            Role.ToolTipRole: lambda: self._spoken(end, index.column(), seen, due),
            Role.AccessibleTextRole: lambda: self._spoken(end, index.column(), seen, due),
        }
        return answers[role]() if role in answers else None

    def setData(self, index: Index, value: object, role: int = Role.EditRole) -> bool:
        """Write a typed count down; an empty text removes it."""
        text = str(value).strip()
        if role != Role.EditRole or not index.isValid():
            return False
        if text and (not text.isdecimal() or int(text) > MOST_ITEMS):
            self.refused.emit(f'"{text}" is not a number of items, 0 to {MOST_ITEMS:,}.')
            return False
        end = self.ends[index.row()]
        counts = list(self.counts(end))
        counts[index.column()] = int(text) if text else None
        if tuple(counts) != self.counts(end):
            self._session.count(end, counts)
        return True

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Role.DisplayRole) -> object:
        """Return the name of a turn or an end."""
        if role != Role.DisplayRole:
            return None
        if orientation == Qt.Orientation.Horizontal:
            return f"Turn {section + 1}"
        return part_name(self.ends[section]) if section < len(self.ends) else None

    def _due(self, end: str, turn: int) -> int | None:
        return self.due[end][turn] if end in self.due else None

    def _color(self, seen: int | None, due: int | None) -> QColor:
        """Return the colour of a count: muted where nothing was counted, red where it is not what is due."""
        differs = seen is not None and due is not None and seen != due
        return self._theme.color("muted" if seen is None else "error" if differs else "text")

    @staticmethod
    def _text(seen: int | None, due: int | None) -> str:
        """Return a count with a sign where it is not what is due."""
        if seen is None:
            return "" if due is None else str(due)
        return f"{seen} ≠ {due}" if due is not None and seen != due else str(seen)

    @staticmethod
    def _spoken(end: str, turn: int, seen: int | None, due: int | None) -> str:
        counted = "not counted" if seen is None else f"{seen} counted"
        return f"{part_name(end)} in turn {turn + 1}: {counted}" + ("" if due is None else f", {due} due")


class CountTable(Grid):
    """The grid; its keys stay in it, since digits are counts here and levels elsewhere in the view."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Type, move and clear; nothing is passed on to the view."""
        super().keyPressEvent(event)
        event.accept()


class ItemsPanel(QWidget):
    """The panel. Signals: status_message(sentence)."""

    status_message = Signal(str)

    def __init__(self, session: BringUpSession, jobs: Jobs | None, theme: Theme) -> None:
        """Show the counts of a session."""
        super().__init__()
        self._session, self._jobs, self._theme = session, jobs, theme
        self.head, self.table = QLabel(), CountTable("Items counted: outlets by turns")
        self.counts = CountModel(session, theme)
        self.counts.setParent(self)
        self._cells = GridCells(theme, self.table, lambda _index: ())
        self._of: tuple[object, ...] | None = None
        self._build()
        session.changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Show the session's counts; count what is due where that is looked at and the machine is another."""
        session = self._session
        if not self.isVisible():
            return
        flow = session.project.flow
        self.head.setText(WITHOUT if flow is None else HEAD)
        self.table.setVisible(flow is not None)
        self.counts.take()
        wanted = (*made_of(session.solution), flow)
        if flow is None or (self._of is not None and is_same(wanted, self._of)):
            return
        self._of = wanted
        outputs = BuiltOutputs(session.solution)

        def work() -> dict[str, tuple[int, ...]]:
            return expected_counts(outputs)

        if self._jobs is None:
            self._take(wanted, work())
        else:
            self._jobs.request(JOB, work, lambda due: self._take(wanted, due))

    # Inside

    def _take(self, of: tuple[object, ...], due: dict[str, tuple[int, ...]]) -> None:
        if of is self._of:
            self.counts.take(due)

    def _enter(self, text: str, rows: int, columns: int) -> None:
        """Write a count down and go on: Enter to the next turn."""
        if not self.counts.setData(self.table.currentIndex(), text):
            return
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        if rows or columns:
            self.table.go(0 if rows > 0 else rows, 1 if rows > 0 else columns)

    def _clear(self) -> None:
        self.counts.setData(self.table.currentIndex(), "")

    def _build(self) -> None:
        self.setAccessibleName("Items counted")
        self.head.setWordWrap(True)
        self.head.setObjectName("muted")
        table = self.table
        table.setModel(self.counts)
        table.setItemDelegate(self._cells)
        self._cells.entered.connect(self._enter)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.cleared.connect(self._clear)
        table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for header in (table.horizontalHeader(), table.verticalHeader()):
            header.setHighlightSections(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.head)
        column.addWidget(table, 1)
        self.counts.refused.connect(self.status_message)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.head.setFont(theme.font(12))
        self.head.setContentsMargins(px(12), px(8), px(12), px(8))
        for widget in (self.table, self.table.horizontalHeader(), self.table.verticalHeader()):
            widget.setFont(theme.font(12))
        ground, line = theme.css("panel"), theme.css("line")
        self.table.setStyleSheet(
            f"QTableView {{ background: {ground}; border-top: 1px solid {line}; }}"
            f"QHeaderView, QTableCornerButton::section {{ background: {ground}; border: none; }}"
            f"QHeaderView::section {{ background: {ground}; border: none;"
            f" border-bottom: 1px solid {line}; padding: 0 {px(12)}px; }}"
        )
        self.table.verticalHeader().setDefaultSectionSize(px(28))
