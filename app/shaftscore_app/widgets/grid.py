"""A grid as people know it from spreadsheets: keys, typing, copy and paste.

The grid says what the person asked for and where typing goes on; whoever owns it writes the cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.cell_line import CellLine

Index = QModelIndex | QPersistentModelIndex

GOES_ON: dict[Qt.Key, tuple[int, int]] = {
    Qt.Key.Key_Return: (1, 0),
    Qt.Key.Key_Enter: (1, 0),
    Qt.Key.Key_Down: (1, 0),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Tab: (0, 1),
    Qt.Key.Key_Backtab: (0, -1),
}
"""Where a key that ends typing goes: rows down, columns right."""


OWN_KEYS = (
    QKeySequence.StandardKey.Copy,
    QKeySequence.StandardKey.Cut,
    QKeySequence.StandardKey.Paste,
    QKeySequence.StandardKey.Delete,
    QKeySequence.StandardKey.SelectAll,
)
"""Keys that mean the table while it has the focus, whatever they mean in the window."""


REDO = (QKeySequence("Ctrl+Shift+Z"), QKeySequence("Ctrl+Y"))


def _is_own(event: QKeyEvent) -> bool:
    return event.key() == Qt.Key.Key_F2 or any(map(event.matches, OWN_KEYS))


def step_key(event: QKeyEvent) -> str:
    """Return "undo" or "redo" for a key that means it, on every system; else an empty text."""
    if event.matches(QKeySequence.StandardKey.Undo):
        return "undo"
    pressed = QKeySequence(event.keyCombination())
    redoes = event.matches(QKeySequence.StandardKey.Redo) or pressed in REDO
    return "redo" if redoes else ""


class Grid(QTableView):
    """The grid: keys, copy and paste.

    Signals: copied(), cut(), pasted(), cleared(), undone() and redone() when the person asked for these;
    undo and redo only where the grid `keeps_steps` of its own, else they are the window's.
    """

    copied = Signal()
    cut = Signal()
    pasted = Signal()
    cleared = Signal()
    undone = Signal()
    redone = Signal()

    def __init__(self, name: str, *, keeps_steps: bool = False) -> None:
        """Make an empty grid with an accessible name."""
        super().__init__()
        self._keeps_steps = keeps_steps
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(triggers.DoubleClicked | triggers.EditKeyPressed | triggers.AnyKeyPressed)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setTabKeyNavigation(False)  # Tab leaves the view
        self.setAccessibleName(name)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setWordWrap(False)
        EventWatch(self, self._on_event)

    def _on_event(self, event: QEvent) -> bool:
        """Keep the grid's keys from the window's commands."""
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.ShortcutOverride:
            return False
        if not _is_own(event) and not (self._keeps_steps and step_key(event)):
            return False
        event.accept()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy, cut, paste, clear; Enter goes down."""
        keys = QKeySequence.StandardKey
        signals = {keys.Copy: self.copied, keys.Cut: self.cut, keys.Paste: self.pasted}
        signal = next((s for key, s in signals.items() if event.matches(key)), None)
        step = step_key(event) if self._keeps_steps else ""
        if signal is not None:
            signal.emit()
        elif step:
            (self.undone if step == "undo" else self.redone).emit()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.cleared.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.go(-1 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1, 0)
        else:
            super().keyPressEvent(event)

    def go(self, rows: int, columns: int) -> None:
        """Make the cell so many rows down and columns right the current one."""
        at = self.currentIndex()
        to = self.model().index(at.row() + rows, at.column() + columns)
        if to.isValid():
            self.setCurrentIndex(to)
            self.scrollTo(to)


class GridCells(QStyledItemDelegate):
    """Makes the line in which a cell is typed.

    Signals: entered(text, rows, columns): what was typed, and where to go then. table_pasted() when more
    than one cell was pasted into the line: it is for the grid.
    """

    joiner = ""
    """What stands between two words of a cell."""

    entered = Signal(str, int, int)
    table_pasted = Signal()

    def __init__(self, theme: Theme, parent: QWidget, words_of: Callable[[Index], Iterable[str]]) -> None:
        """Paint in a theme; words_of: what may be typed into a cell, for completing it."""
        super().__init__(parent)
        self._theme, self.words_of = theme, words_of

    def more_words(self, index: Index) -> Iterable[str]:  # noqa: ARG002 - for who knows more of the cells
        """Return what a cell is completed to after its words."""
        return ()

    def createEditor(self, parent: QWidget, _option: QStyleOptionViewItem, index: Index) -> QWidget:
        """Return a line that completes levels as they are typed."""
        line = CellLine(parent, self.words_of(index), self.more_words(index), self.joiner)
        line.setProperty("cell", True)
        line.setFont(self._theme.font(12))
        line.setAccessibleName(str(index.data(Qt.ItemDataRole.AccessibleTextRole) or ""))
        return line

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Begin with what is there."""
        if isinstance(editor, QLineEdit):
            editor.setText(str(index.data(Qt.ItemDataRole.EditRole) or ""))

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, _index: Index) -> None:
        """Fill the cell."""
        editor.setGeometry(option.rect)

    def setModelData(self, editor: QWidget, _model: object, _index: Index) -> None:
        """Pass on what was typed when the line is left by the mouse."""
        if isinstance(editor, QLineEdit):
            self.entered.emit(editor.text(), 0, 0)

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:
        """End typing with Enter, Tab, Up and Down, and go on from there."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.matches(QKeySequence.StandardKey.Paste) and _holds_cells():
                self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)
                self.table_pasted.emit()
                return True
            to = GOES_ON.get(Qt.Key(event.key()))
            if to is not None and isinstance(editor, QLineEdit):
                text = editor.text()
                self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)
                back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier) and to[0] > 0
                self.entered.emit(text, -1 if back else to[0], to[1])
                return True
        return super().eventFilter(editor, event)


def _holds_cells() -> bool:
    """Return whether more than one cell was copied."""
    text = copied_text().rstrip("\r\n")
    return any(mark in text for mark in "\t\r\n")


def repeated_cells(cells: list[list[str]], rows: int, columns: int) -> list[list[str]]:
    """Return cells repeated to so many rows and columns, where these are whole multiples of theirs."""
    wide = max(map(len, cells), default=0)
    if not wide or rows % len(cells) or columns % wide:
        return cells
    padded = [[*row, *[""] * (wide - len(row))] for row in cells]
    return [row * max(1, columns // wide) for row in padded] * max(1, rows // len(cells))
