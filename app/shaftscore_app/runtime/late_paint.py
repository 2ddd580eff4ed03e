"""Painting that lets waiting events be handled first.

Qt paints a window in the same turn of the event loop in which it was changed. Where the change alone keeps
the window busy, its painting would be added to the time in which no key and no click is handled.
"""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt
from PySide6.QtWidgets import QWidget

from shaftscore_app.runtime.turns import LAST, Later


def paint_late(window: QWidget, turns: int = 1) -> None:
    """Have the waiting events of a window handled before it paints what changed.

    turns: so often; in the last of them what is put off by as many turns (`Later`) is still done before.
    A painting that is held back already is not held back longer, however many changes follow.
    """
    direct = Qt.FindChildOption.FindDirectChildrenOnly
    if window.isVisible() and window.findChild(LatePaint, options=direct) is None:
        LatePaint(window, turns)


class LatePaint(QObject):
    """Keeps a window's request to be painted for some turns, then lets it pass, and goes with it."""

    def __init__(self, window: QWidget, turns: int) -> None:
        """Hold back the next painting of a window; belongs to the window until it goes."""
        super().__init__(window)
        self._window = window
        self._is_owed = self._is_over = False
        self._request = QEvent(QEvent.Type.UpdateRequest)  # kept: see `turns`
        window.installEventFilter(self)
        Later(self, self._end, turns).ask()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the window's request to be painted, or let it pass."""
        if watched is not self._window or event.type() != QEvent.Type.UpdateRequest:
            return False
        if self._is_over:
            self._go()
            return False
        self._is_owed = True
        return True

    def _end(self) -> None:
        """End the last turn, and repeat the request to paint where one was held back."""
        self._is_over = True
        if self._is_owed:
            QCoreApplication.postEvent(self._window, self._request, LAST)
        else:
            self._go()

    def _go(self) -> None:
        self._window.removeEventFilter(self)
        self.setParent(None)
        self.deleteLater()
