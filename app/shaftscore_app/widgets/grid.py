"""A grid as people know it from spreadsheets: keys, typing, copy and paste.

The grid says what the person asked for and where typing goes on; whoever owns it writes the cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCompleter,
    QFrame,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme

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


def _is_own(event: QKeyEvent) -> bool:
    return event.key() == Qt.Key.Key_F2 or any(map(event.matches, OWN_KEYS))


class Grid(QTableView):
    """The grid: keys, copy and paste.

    Signals: copied(), cut(), pasted() and cleared() when the person asked for these.
    """

    copied = Signal()
    cut = Signal()
    pasted = Signal()
    cleared = Signal()

    def __init__(self, name: str) -> None:
        """Make an empty grid with an accessible name."""
        super().__init__()
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
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride and _is_own(event):
            event.accept()
            return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy, cut, paste, clear; Enter goes down."""
        keys = QKeySequence.StandardKey
        signals = {keys.Copy: self.copied, keys.Cut: self.cut, keys.Paste: self.pasted}
        signal = next((s for key, s in signals.items() if event.matches(key)), None)
        if signal is not None:
            signal.emit()
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

    Signals: entered(text, rows, columns): what was typed, and where to go then.
    """

    entered = Signal(str, int, int)

    def __init__(self, theme: Theme, parent: QWidget, words_of: Callable[[Index], Iterable[str]]) -> None:
        """Paint in a theme; words_of: what may be typed into a cell, for completing it."""
        super().__init__(parent)
        self._theme, self.words_of = theme, words_of

    def createEditor(self, parent: QWidget, _option: QStyleOptionViewItem, index: Index) -> QWidget:
        """Return a line that completes levels as they are typed."""
        line = QLineEdit(parent)
        line.setProperty("cell", True)
        line.setFont(self._theme.font(12))
        line.setAccessibleName(str(index.data(Qt.ItemDataRole.AccessibleTextRole) or ""))
        completer = QCompleter(list(self.words_of(index)), line)
        completer.setCompletionMode(QCompleter.CompletionMode.InlineCompletion)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        line.setCompleter(completer)
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
            to = GOES_ON.get(Qt.Key(event.key()))
            if to is not None and isinstance(editor, QLineEdit):
                text = editor.text()
                self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)
                back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier) and to[0] > 0
                self.entered.emit(text, -1 if back else to[0], to[1])
                return True
        return super().eventFilter(editor, event)
