"""A table of words that is only read: a caption and rows of texts, as high as its rows."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QTableView, QVBoxLayout, QWidget

from shaftscore.bringup.sheets import SheetTable
from shaftscore_app.theme import Theme

MOST_ROWS = 14
"""Rows that a table is high; further ones scroll."""

Index = QModelIndex | QPersistentModelIndex


class SheetModel(QAbstractTableModel):
    """The texts of one table."""

    def __init__(self) -> None:
        """Begin without rows."""
        super().__init__()
        self.table = SheetTable("", (), ())

    def show_table(self, table: SheetTable) -> None:
        """Show another table."""
        self.beginResetModel()
        self.table = table
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self.table.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the columns."""
        return 0 if parent.isValid() else len(self.table.heads)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name the columns."""
        is_text = role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal
        return self.table.heads[section] if is_text else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a text; its tooltip says it whole."""
        text = self.table.rows[index.row()][index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self.table.heads[index.column()]}: {text}"
        return None


class SheetTableView(QWidget):
    """The caption and the table. Signals: row_chosen(key) when a row was chosen that is about something."""

    row_chosen = Signal(str)

    def __init__(self, theme: Theme) -> None:
        """Make it; it shows nothing before `show_table`."""
        super().__init__()
        self._theme = theme
        self.caption, self.view, self.model = QLabel(), QTableView(), SheetModel()
        self.view.setModel(self.model)
        self._build()
        self.fit()

    def show_table(self, table: SheetTable) -> None:
        """Show a table."""
        same = table.heads == self.model.table.heads and len(table.rows) == len(self.model.table.rows)
        self.caption.setText(table.caption)
        self.view.setAccessibleName(table.caption)
        chosen = self.view.currentIndex().row()
        self.model.show_table(table)
        if same and 0 <= chosen < len(table.rows):
            self.view.setCurrentIndex(self.model.index(chosen, 0))
        self._fit_height()
        self._fit_columns()

    def fit(self) -> None:
        """Follow the size of texts."""
        theme, px = self._theme, self._theme.px
        self.caption.setFont(theme.font(12, 600))
        self.view.setFont(theme.font(12))
        header = self.view.horizontalHeader()
        header.setFont(theme.font(11, 500))
        header.setMinimumSectionSize(px(48))
        self.view.verticalHeader().setDefaultSectionSize(px(24))
        self._column.setSpacing(px(4))
        self._fit_height()
        self._fit_columns()

    # Inside

    def _build(self) -> None:
        view = self.view
        view.verticalHeader().hide()
        view.setShowGrid(False)
        view.setWordWrap(False)
        view.setTabKeyNavigation(False)
        view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        view.horizontalHeader().setStretchLastSection(True)
        view.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        view.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        view.selectionModel().currentRowChanged.connect(self._choose)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(self.caption)
        self._column.addWidget(view)

    def _choose(self, index: QModelIndex) -> None:
        keys = self.model.table.keys
        if 0 <= index.row() < len(keys):
            self.row_chosen.emit(keys[index.row()])

    def _fit_height(self) -> None:
        rows = min(max(len(self.model.table.rows), 1), MOST_ROWS)
        px, bar = self._theme.px, self.view.horizontalScrollBar().sizeHint().height()
        self.view.setFixedHeight(rows * px(24) + px(26) + bar)

    def _fit_columns(self) -> None:
        """Make columns as wide as their texts, up to a limit; the last one takes what is left."""
        view, px = self.view, self._theme.px
        view.resizeColumnsToContents()
        for column in range(self.model.columnCount()):
            view.setColumnWidth(column, min(view.columnWidth(column) + px(10), px(280)))
