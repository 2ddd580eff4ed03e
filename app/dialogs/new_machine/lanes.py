"""The page of lanes: a grid with a row a lane, its name, its group and its levels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt, Signal
from PySide6.QtGui import QBrush, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QHeaderView, QPushButton, QVBoxLayout, QWidget

from app.theme import Theme
from app.widgets.grid import Grid, GridCells, Index
from core.edits.first_draft import LaneWish, read_levels
from core.edits.state_table import split_text
from core.errors import EditError
from core.wording import plain

HEADS = ("Lane", "Group", "Levels, lowest first")
NAME, GROUP, LEVELS = range(3)
USUAL = "closed, open"
"""Levels of a lane where none are typed."""

SPARE = 2
"""Empty rows below the last lane."""

Cells = Mapping[tuple[int, int], str]
"""Texts by row and column."""


class LanesModel(QAbstractTableModel):
    """The cells, as text. Signals: edited() when a cell is another."""

    edited = Signal()

    def __init__(self, theme: Theme) -> None:
        """Begin without a lane."""
        super().__init__()
        self._theme = theme
        self._rows: list[list[str]] = []
        self.write({})

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the columns."""
        return 0 if parent.isValid() else len(HEADS)

    def flags(self, _index: Index) -> Qt.ItemFlag:
        """Let every cell be edited."""
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name columns, number rows."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        return HEADS[section] if orientation == Qt.Orientation.Horizontal else str(section + 1)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Give the text; the usual levels, muted, where a lane has none typed."""
        text = self._rows[index.row()][index.column()]
        assumed = not text and index.column() == LEVELS and bool(self._rows[index.row()][NAME])
        if role == Qt.ItemDataRole.DisplayRole:
            return USUAL if assumed else text
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == Qt.ItemDataRole.ForegroundRole and assumed:
            return QBrush(self._theme.color("muted"))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{HEADS[index.column()]} {index.row() + 1}: {USUAL if assumed else text or 'empty'}"
        return None

    def write(self, cells: Cells) -> None:
        """Write texts; empty rows are kept below the last lane."""
        last = max((row for row, _ in cells), default=-1)
        wanted = max(last + 1, self._used_after(cells)) + SPARE
        if wanted > len(self._rows):
            self.beginInsertRows(QModelIndex(), len(self._rows), wanted - 1)
            self._rows += [["", "", ""] for _ in range(wanted - len(self._rows))]
            self.endInsertRows()
        for (row, column), text in cells.items():
            self._rows[row][column] = " ".join(text.split())
        self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(HEADS) - 1))
        self.edited.emit()

    def replace(self, rows: Sequence[Sequence[str]]) -> None:
        """Show other lanes in place of all."""
        self.beginResetModel()
        self._rows = []
        self.endResetModel()
        self.write({(i, j): text for i, row in enumerate(rows) for j, text in enumerate(row)})

    def lanes(self) -> tuple[LaneWish, ...]:
        """Give the lanes. Raises EditError with the row at fault."""
        wishes = []
        for number, (name, group, levels) in enumerate(self._rows, start=1):
            if not name and not levels:
                continue
            if not name:
                raise EditError(f"Row {number} has levels but no lane")
            wishes.append(LaneWish(name, group, read_levels(levels or USUAL, name)))
        return tuple(wishes)

    def words(self, column: int) -> list[str]:
        """Give what stands in a column already, for completing."""
        return list(dict.fromkeys(row[column] for row in self._rows if row[column]))

    def _used_after(self, cells: Cells) -> int:
        rows = [row for row, texts in enumerate(self._rows) if any(texts)]
        return max([row + 1 for row in rows] + [row + 1 for (row, _), text in cells.items() if text] + [3])


def levels_text(wish: LaneWish) -> str:
    """Write levels as they are read."""
    return ", ".join(f"{level} {plain(mm)}" for level, mm in wish.levels.items())


class LanesGrid(Grid):
    """The grid: Tab goes from cell to cell and on to the next row; from an empty row it leaves the grid."""

    def walk(self, by: int) -> bool:
        """Go to the next cell (by = 1) or the one before (-1); False where there is none."""
        at = self.currentIndex()
        row, column = at.row(), at.column() + by
        if column not in range(len(HEADS)):
            row, column = row + by, 0 if by > 0 else len(HEADS) - 1
        to = self.model().index(row, column)
        if to.isValid():
            self.setCurrentIndex(to)
            self.scrollTo(to)
        return to.isValid()

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go on while there is something in the row."""
        at, model = self.currentIndex(), self.model()
        texts = [model.index(at.row(), column).data(Qt.ItemDataRole.EditRole) for column in range(len(HEADS))]
        if forward and not any(texts):
            return super().focusNextPrevChild(True)
        return self.walk(1 if forward else -1) or super().focusNextPrevChild(forward)


class LanesPage(QWidget):
    """The page. Signals: table_wanted(text) when a whole table was pasted; file_wanted() to choose one."""

    table_wanted = Signal(str)
    file_wanted = Signal()

    def __init__(self, theme: Theme) -> None:
        """Make the page without lanes."""
        super().__init__()
        self.model, self.grid = LanesModel(theme), LanesGrid("Lanes: name, group, levels")
        self._cells = GridCells(theme, self.grid, self._words_of)
        self.grid.setModel(self.model)
        self.grid.setItemDelegate(self._cells)
        self.grid.setFont(theme.font(12))
        self.grid.verticalHeader().setDefaultSectionSize(theme.px(24))
        self.grid.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.grid.horizontalHeader().setFont(theme.font(12, 600))
        self.grid.setCurrentIndex(self.model.index(0, NAME))
        self._connect()
        self.paste_button = _button(
            theme, "Paste a table", "Heads are the lanes, words below them their levels"
        )
        self.file_button = _button(theme, "Table from a file…", "CSV or TSV, as a spreadsheet saves it")
        self.paste_button.clicked.connect(lambda: self.table_wanted.emit(QGuiApplication.clipboard().text()))
        self.file_button.clicked.connect(self.file_wanted)
        column, row = QVBoxLayout(self), QHBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.grid, 1)
        row.addWidget(self.paste_button)
        row.addWidget(self.file_button)
        row.addStretch(1)
        column.addLayout(row)
        self.setFocusProxy(self.grid)

    def show_lanes(self, wishes: Sequence[LaneWish]) -> None:
        """Show other lanes in place of all."""
        self.model.replace([(wish.name, wish.group, levels_text(wish)) for wish in wishes])
        self.grid.setCurrentIndex(self.model.index(0, NAME))

    def enter(self, text: str, rows: int = 0, columns: int = 0) -> None:
        """Write a text into all chosen cells of the current column, then go on."""
        current = self.grid.currentIndex()
        chosen = [i for i in self.grid.selectedIndexes() if i.column() == current.column()]
        places = chosen if current in chosen else [current]
        self.model.write({(index.row(), index.column()): text for index in places})
        self.grid.setFocus(Qt.FocusReason.OtherFocusReason)
        if columns:
            self.grid.walk(columns)
        elif rows:
            self.grid.go(rows, 0)

    # Inside

    def _words_of(self, index: Index) -> list[str]:
        return [] if index.column() == NAME else self.model.words(index.column())

    def _connect(self) -> None:
        self._cells.entered.connect(self.enter)
        self.grid.pasted.connect(self._paste)
        self.grid.copied.connect(self._copy)
        self.grid.cut.connect(self._cut)
        self.grid.cleared.connect(self._clear)

    def _paste(self) -> None:
        at = self.grid.currentIndex()
        grid = split_text(QGuiApplication.clipboard().text())
        cells = {
            (at.row() + down, at.column() + right): text
            for down, texts in enumerate(grid)
            for right, text in enumerate(texts)
            if at.column() + right < len(HEADS)
        }
        self.model.write(cells)

    def _copy(self) -> None:
        chosen = sorted(
            (i.row(), i.column(), str(i.data(Qt.ItemDataRole.EditRole))) for i in self.grid.selectedIndexes()
        )
        rows: dict[int, list[str]] = {}
        for row, _, text in chosen:
            rows.setdefault(row, []).append(text)
        QGuiApplication.clipboard().setText("\n".join("\t".join(texts) for texts in rows.values()))

    def _cut(self) -> None:
        self._copy()
        self._clear()

    def _clear(self) -> None:
        self.model.write({(i.row(), i.column()): "" for i in self.grid.selectedIndexes()})


def _button(theme: Theme, text: str, tip: str) -> QPushButton:
    button = QPushButton(text)
    button.setFont(theme.font(12))
    button.setToolTip(tip)
    button.setAutoDefault(False)
    return button
