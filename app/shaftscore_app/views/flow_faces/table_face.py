"""The Table face: every part of the flow as a row; what is typed or pasted is one undo step each time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QAbstractTableModel, QItemSelectionModel, QModelIndex, Qt, Signal
from PySide6.QtGui import QBrush, QFontMetricsF, QGuiApplication, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QVBoxLayout, QWidget

from shaftscore.base.errors import EditError
from shaftscore.edits.flow_network import (
    COLUMNS,
    PartKey,
    cell_text,
    is_open,
    part_label,
    table_rows,
    words_for,
    write_flow_cells,
)
from shaftscore.edits.flow_network.parts import FlowPart, flow_of
from shaftscore.edits.state_table import split_text
from shaftscore.model import Project
from shaftscore.model.cells import text_cell
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.grid import Grid, GridCells, Index, repeated_cells

HINT = (
    "Double-click or type to change a cell; copy and paste as in a spreadsheet. Each change is one undo step."
)

WIDTHS = (84, 140, 64, 110, 130, 130, 130, 0, 0, 0, 0, 0, 0, 0, 0, 190)
"""Least widths of the columns, px of the design; each is as wide as its heading at least."""


HIGH = 220
"""From this height on the hint is below the table, px of the design."""


class FlowTableModel(QAbstractTableModel):
    """The cells of the parts of a project's flow."""

    def __init__(self, theme: Theme) -> None:
        """Begin without rows."""
        super().__init__()
        self._theme = theme
        self._project: Project | None = None
        self._parts: list[FlowPart] = []
        self.keys: tuple[PartKey, ...] = ()

    def show_project(self, project: Project) -> None:
        """Show the flow of a project."""
        if project is self._project:
            return
        keys, flow = table_rows(project), flow_of(project)
        kinds = (flow.supplies, flow.magazines, flow.gates, flow.channels, flow.outlets)
        parts: list[FlowPart] = [part for own in kinds for part in own]
        same = keys == self.keys
        if not same:
            self.beginResetModel()
        self._project, self.keys, self._parts = project, keys, parts
        if not same:
            self.endResetModel()
        elif keys:
            self.dataChanged.emit(self.index(0, 0), self.index(len(keys) - 1, len(COLUMNS) - 1))

    def words(self, index: Index) -> Iterable[str]:
        """Return what a cell may be completed to."""
        if self._project is None or not index.isValid():
            return ()
        return words_for(self._project, self.keys[index.row()], COLUMNS[index.column()])

    # As Qt asks

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self.keys)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let those cells be edited that the part has."""
        usual = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        has = index.isValid() and is_open(self.keys[index.row()], COLUMNS[index.column()])
        return usual | Qt.ItemFlag.ItemIsEditable if has else usual

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name columns with their units."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = COLUMNS[section]
        title = f"{column.title}, {column.unit}" if column.unit else column.title
        return title if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole) else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return what stands in a cell."""
        if self._project is None:
            return None
        column, key = COLUMNS[index.column()], self.keys[index.row()]
        if role == Qt.ItemDataRole.ForegroundRole and not is_open(key, column):
            return QBrush(self._theme.color("muted"))
        if role not in (
            Qt.ItemDataRole.DisplayRole,
            Qt.ItemDataRole.EditRole,
            Qt.ItemDataRole.AccessibleTextRole,
            Qt.ItemDataRole.ToolTipRole,
        ):
            return None
        text = cell_text(self._project, self._parts[index.row()], column)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{part_label(self._project, key)}, {column.title}: {text or 'empty'}"
        return text


class FlowTable(QWidget):
    """The face.

    Signals: selected(keys) when other rows were chosen; status_message(sentence) with why something cannot
    be.
    """

    selected = Signal(object)
    status_message = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Show the flow of a document when asked to."""
        super().__init__()
        self._document, self._theme = document, theme
        self.model = FlowTableModel(theme)
        self.model.setParent(self)  # what listens to it goes with the table
        self.grid = Grid("Parts of the flow")
        self.hint = QLabel(HINT)
        self._cells = GridCells(theme, self.grid, self.model.words)
        self._build()
        theme.changed.connect(self._fit)
        self._fit()

    def show_now(self) -> None:
        """Show the document as it is now; the place stays."""
        self.model.show_project(self._document.project)

    @property
    def keys(self) -> tuple[PartKey, ...]:
        """The parts of the chosen cells."""
        rows = sorted({index.row() for index in self.grid.selectedIndexes()})
        return tuple(self.model.keys[row] for row in rows if row < len(self.model.keys))

    def select(self, keys: Iterable[PartKey]) -> None:
        """Choose the rows of parts."""
        wanted = set(keys)
        rows = [row for row, key in enumerate(self.model.keys) if key in wanted]
        flags = QItemSelectionModel.SelectionFlag
        choice = self.grid.selectionModel()
        for number, row in enumerate(rows):
            how = flags.ClearAndSelect if number == 0 else flags.Select
            choice.select(self.model.index(row, 1), how)
        if rows:
            choice.setCurrentIndex(self.model.index(rows[-1], 1), flags.NoUpdate)
            self.grid.scrollTo(self.model.index(rows[-1], 1))

    # Inside

    def _build(self) -> None:
        grid = self.grid
        grid.setModel(self.model)
        grid.setItemDelegate(self._cells)
        grid.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        grid.verticalHeader().hide()
        grid.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        grid.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        self._cells.entered.connect(self._enter)
        self._cells.table_pasted.connect(self._paste)
        grid.pasted.connect(self._paste)
        grid.copied.connect(self._copy)
        grid.cut.connect(self._copy)
        grid.cleared.connect(self._clear)
        grid.selectionModel().selectionChanged.connect(lambda *_: self.selected.emit(self.keys))
        self.model.modelReset.connect(lambda: self.selected.emit(self.keys))
        self.hint.setObjectName("muted")
        self.hint.setWordWrap(True)  # it must not make the dock wider
        self.setFocusProxy(grid)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(grid, 1)
        column.addWidget(self.hint)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the hint where there is room for it."""
        super().resizeEvent(event)
        self._show_hint()

    def _show_hint(self, fault: str = "") -> None:
        self.hint.setText(fault or HINT)
        self.hint.setVisible(bool(fault) or self.height() >= self._theme.px(HIGH))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.grid.setFont(theme.font(12))
        self.grid.horizontalHeader().setFont(theme.font(12, 600))
        self.grid.verticalHeader().setDefaultSectionSize(px(24))
        self.hint.setFont(theme.font(12))
        self.hint.setContentsMargins(px(12), px(2), px(12), px(2))
        metrics = QFontMetricsF(theme.font(12, 600))
        for number, width in enumerate(WIDTHS):
            title = str(self.model.headerData(number, Qt.Orientation.Horizontal))
            self.grid.setColumnWidth(number, max(px(width), round(metrics.horizontalAdvance(title)) + px(16)))

    def _enter(self, text: str, rows: int, columns: int) -> None:
        """Write a text into all chosen cells of the current column, then go on."""
        current = self.grid.currentIndex()
        chosen = [i for i in self.grid.selectedIndexes() if i.column() == current.column()]
        places = chosen if current in chosen else [current]
        if text != current.data(Qt.ItemDataRole.EditRole) or len(places) > 1:
            self._write({(self.model.keys[i.row()], i.column()): text for i in places})
        self.grid.setFocus(Qt.FocusReason.OtherFocusReason)
        if rows or columns:
            self.grid.go(rows, columns)

    def _write(self, cells: Mapping[tuple[PartKey, int], str]) -> None:
        """Make one undo step of typed cells, or say why not."""
        row = self.grid.currentIndex().row()
        column = self.grid.currentIndex().column()
        fault = commit(self._document, lambda: write_flow_cells(self._document.committed, cells))
        if fault:
            self.status_message.emit(fault)
        self.show_now()
        self._show_hint(fault)
        self.hint.setObjectName("fault" if fault else "muted")
        self.hint.style().polish(self.hint)
        place = self.model.index(min(row, self.model.rowCount() - 1), column)
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect  # whatever key is held just now
        self.grid.selectionModel().setCurrentIndex(place, flags)

    def _paste(self) -> None:
        try:
            typed = split_text(copied_text())
        except EditError as error:
            self.status_message.emit(str(error))
            return
        chosen = self.grid.selectedIndexes() or [self.grid.currentIndex()]
        top, left = min(i.row() for i in chosen), min(i.column() for i in chosen)
        size = len({i.row() for i in chosen}), len({i.column() for i in chosen})
        cells = {
            (self.model.keys[top + down], left + right): text
            for down, texts in enumerate(repeated_cells(typed, *size))
            for right, text in enumerate(texts)
            if top + down < len(self.model.keys) and left + right < len(COLUMNS)
        }
        if cells:
            self._write(cells)

    def _copy(self) -> None:
        chosen = sorted(
            (i.row(), i.column(), str(i.data(Qt.ItemDataRole.EditRole) or "")) for i in self._chosen
        )
        rows: dict[int, list[str]] = {}
        for row, _, text in chosen:
            rows.setdefault(row, []).append(text_cell(text))
        QGuiApplication.clipboard().setText("\n".join("\t".join(texts) for texts in rows.values()))

    @property
    def _chosen(self) -> list[QModelIndex]:
        return self.grid.selectedIndexes()

    def _clear(self) -> None:
        """Empty the chosen cells that may be empty."""
        cells = {(self.model.keys[i.row()], i.column()): "" for i in self._chosen}
        if cells:
            self._write(cells)
