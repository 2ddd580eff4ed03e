"""A grid of plain texts that is typed, copied and pasted row by row, with empty rows to go on in."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt, Signal
from PySide6.QtGui import QBrush, QGuiApplication
from PySide6.QtWidgets import QHeaderView

from shaftscore.base.errors import EditError
from shaftscore.edits.state_table import MARKS, split_text
from shaftscore.model.cells import text_cell
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.grid import Grid, GridCells, Index, repeated_cells

SPARE = 2
"""Empty rows below the last one used."""

LEAST = 3
"""So many rows are there at first, without the spare ones."""

MOST_UNDONE = 100
"""So many steps can be taken back."""

Cells = Mapping[tuple[int, int], str]
"""Texts by row and column."""


class TextModel(QAbstractTableModel):
    """The cells, as text. Signals: edited() when a cell is another."""

    edited = Signal()

    def __init__(self, theme: Theme, heads: Sequence[str]) -> None:
        """Begin with empty rows; heads: of the columns."""
        super().__init__()
        self._theme, self.heads = theme, tuple(heads)
        self._rows: list[list[str]] = []
        self._done: list[list[list[str]]] = []
        self._undone: list[list[list[str]]] = []
        self._lay({})

    def assumed(self, row: int, column: int) -> str:  # noqa: ARG002 - for who knows more of the cells
        """Describe what counts where a cell is empty; shown muted."""
        return ""

    def texts(self) -> list[list[str]]:
        """Return the texts of all rows, the empty ones too."""
        return [list(row) for row in self._rows]

    def words(self, column: int) -> list[str]:
        """Return what stands in a column already, for completing."""
        return list(dict.fromkeys(row[column] for row in self._rows if row[column]))

    def write(self, cells: Cells) -> None:
        """Write texts as one step; empty rows are kept below the last one used."""
        self._remember()
        self._lay(cells)

    def _remember(self) -> None:
        """Keep the texts as they are, so that the step that follows can be taken back."""
        self._done = [*self._done, self.texts()][-MOST_UNDONE:]
        self._undone = []

    def undo(self) -> bool:
        """Undo the last change; return whether there was one."""
        return self._go_to(self._done, self._undone)

    def redo(self) -> bool:
        """Do the step again that was taken back; return whether there was one."""
        return self._go_to(self._undone, self._done)

    def _go_to(self, taken: list[list[list[str]]], kept: list[list[list[str]]]) -> bool:
        if not taken:
            return False
        kept.append(self.texts())
        self._show(taken.pop())
        return True

    def _lay(self, cells: Cells) -> None:
        """Lay texts into their cells."""
        last = max((row for row, _ in cells), default=-1)
        wanted = max(last + 1, self._used_after(cells)) + SPARE
        if wanted > len(self._rows):
            self.beginInsertRows(QModelIndex(), len(self._rows), wanted - 1)
            self._rows += [[""] * len(self.heads) for _ in range(wanted - len(self._rows))]
            self.endInsertRows()
        for (row, column), text in cells.items():
            self._rows[row][column] = " ".join(text.split())
        self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(self.heads) - 1))
        self.edited.emit()

    def replace(self, rows: Sequence[Sequence[str]]) -> None:
        """Show other rows in place of all, as one step."""
        self._remember()
        self._show(rows)

    def _show(self, rows: Sequence[Sequence[str]]) -> None:
        self.beginResetModel()
        self._rows = []
        self.endResetModel()
        self._lay({(i, j): text for i, row in enumerate(rows) for j, text in enumerate(row)})

    # As Qt asks

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the columns."""
        return 0 if parent.isValid() else len(self.heads)

    def flags(self, _index: Index) -> Qt.ItemFlag:
        """Let every cell be edited."""
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name columns, number rows."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        return self.heads[section] if orientation == Qt.Orientation.Horizontal else str(section + 1)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text, or what counts where there is none."""
        row, column = index.row(), index.column()
        text = self._rows[row][column]
        assumed = "" if text else self.assumed(row, column)
        if role == Qt.ItemDataRole.DisplayRole:
            return text or assumed
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == Qt.ItemDataRole.ForegroundRole and assumed:
            return QBrush(self._theme.color("muted"))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self.heads[column]} {row + 1}: {text or assumed or 'empty'}"
        return None

    def _used_after(self, cells: Cells) -> int:
        rows = [row for row, texts in enumerate(self._rows) if any(texts)]
        written = [row for (row, _), text in cells.items() if text]
        return max([LEAST, *(row + 1 for row in (*rows, *written))])


class TextGrid(Grid):
    """The grid: Tab goes from cell to cell and on to the next row; from an empty row it leaves the grid.

    Signals: paste_refused(text) with what was to be pasted and is no rows of this grid.
    """

    paste_refused = Signal(str)

    def __init__(
        self,
        theme: Theme,
        name: str,
        model: TextModel,
        words_of: Callable[[Index], list[str]],
        *,
        marks: str = MARKS,
    ) -> None:
        """Show a model under an accessible name.

        words_of: what a cell may be completed to. marks: what may stand between pasted cells.
        """
        super().__init__(name, keeps_steps=True)
        self._texts, self._marks = model, marks
        self._cells = GridCells(theme, self, words_of)
        self.setModel(model)
        self.setItemDelegate(self._cells)
        self.setFont(theme.font(12))
        self.verticalHeader().setDefaultSectionSize(theme.px(24))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.horizontalHeader().setFont(theme.font(12, 600))
        self.setCurrentIndex(model.index(0, 0))
        self._cells.entered.connect(self.enter)
        self._cells.table_pasted.connect(self._paste)
        self.pasted.connect(self._paste)
        self.undone.connect(lambda: self._keep_place(self._texts.undo))
        self.redone.connect(lambda: self._keep_place(self._texts.redo))
        self.copied.connect(self._copy)
        self.cut.connect(self._cut)
        self.cleared.connect(self._clear)

    def enter(self, text: str, rows: int = 0, columns: int = 0) -> None:
        """Write a text into all chosen cells of the current column, then go on."""
        current = self.currentIndex()
        chosen = [i for i in self.selectedIndexes() if i.column() == current.column()]
        places = chosen if current in chosen else [current]
        self._texts.write({(index.row(), index.column()): text for index in places})
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        if columns:
            self.walk(columns)
        elif rows:
            self.go(rows, 0)

    def walk(self, by: int) -> bool:
        """Go to the next cell (by = 1) or the one before (-1); False where there is none."""
        at, columns = self.currentIndex(), self._texts.columnCount()
        row, column = at.row(), at.column() + by
        if column not in range(columns):
            row, column = row + by, 0 if by > 0 else columns - 1
        to = self.model().index(row, column)
        if to.isValid():
            self.setCurrentIndex(to)
            self.scrollTo(to)
        return to.isValid()

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go on while there is something in the row."""
        row = self.currentIndex().row()
        if forward and not any(self._texts.texts()[row]):
            return super().focusNextPrevChild(True)
        return self.walk(1 if forward else -1) or super().focusNextPrevChild(forward)

    # Inside

    def fits(self, grid: Sequence[Sequence[str]], column: int) -> bool:
        """Return whether pasted cells are rows of this grid, from a column on."""
        return column + max(map(len, grid), default=0) <= self._texts.columnCount()

    def _paste(self) -> None:
        """Write what was copied from the first chosen cell on, repeated where that fills the rest."""
        text = copied_text()
        try:
            grid = split_text(text, self._marks)
        except EditError:
            self.paste_refused.emit(text)
            return
        row, column = self._first_chosen()
        if not self.fits(grid, column):
            self.paste_refused.emit(text)
            return
        chosen = {i.row() for i in self.selectedIndexes()}, {i.column() for i in self.selectedIndexes()}
        self._texts.write(
            {
                (row + down, column + right): text
                for down, texts in enumerate(repeated_cells(grid, *map(len, chosen)))
                for right, text in enumerate(texts)
            }
        )

    def _first_chosen(self) -> tuple[int, int]:
        """Return row and column of the upper left one of the chosen cells."""
        at = self.currentIndex()
        chosen = [i for i in self.selectedIndexes() if i.isValid()] or [at]
        return max(0, min(i.row() for i in chosen)), max(0, min(i.column() for i in chosen))

    def _keep_place(self, does: Callable[[], bool]) -> None:
        """Do something to the rows and stay in the cell."""
        at = self.currentIndex()
        row, column = at.row(), at.column()
        does()
        last = self._texts.rowCount() - 1
        self.setCurrentIndex(self._texts.index(max(0, min(row, last)), max(0, column)))

    def _copy(self) -> None:
        chosen = sorted(
            (i.row(), i.column(), str(i.data(Qt.ItemDataRole.EditRole))) for i in self.selectedIndexes()
        )
        rows: dict[int, list[str]] = {}
        for row, _, text in chosen:
            rows.setdefault(row, []).append(text_cell(text))
        QGuiApplication.clipboard().setText("\n".join("\t".join(texts) for texts in rows.values()))

    def _cut(self) -> None:
        self._copy()
        self._clear()

    def _clear(self) -> None:
        self._texts.write({(i.row(), i.column()): "" for i in self.selectedIndexes()})
