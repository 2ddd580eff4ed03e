"""Undo and redo in a line of text: its own steps first, then those of the document.

A line of Qt's keeps both keys for itself even where it has nothing to take back. Here it lets them go on to
the commands of the window then.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit

from shaftscore_app.runtime.watching import EventWatch


def share_undo(line: QLineEdit) -> None:
    """Let the window have the keys of undo and redo while `line` has no step of its own for them."""

    def heard(event: QEvent) -> bool:
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return False
        undoes = event.matches(QKeySequence.StandardKey.Undo)
        redoes = event.matches(QKeySequence.StandardKey.Redo)
        if (undoes and not line.isUndoAvailable()) or (redoes and not line.isRedoAvailable()):
            event.ignore()
            return True
        return False

    EventWatch(line, heard)
