"""Painting that lets what waits be heard first.

Qt paints a window in the same turn of the event loop in which it was changed. Where the change alone keeps
the window busy, its painting would be added to the time in which no key and no click is heard.
"""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QWidget


def paint_late(window: QWidget) -> None:
    """Have a window heard once before it paints what changed.

    A painting that is held back already is not held back longer, however many changes follow.
    """
    direct = Qt.FindChildOption.FindDirectChildrenOnly
    if window.isVisible() and window.findChild(LatePaint, options=direct) is None:
        LatePaint(window)


class LatePaint(QObject):
    """Keeps a window's request to be painted for two turns, then lets it go.

    In the first turn the views that take long refresh (`CalmRefresh`); after each, events are heard.
    """

    def __init__(self, window: QWidget) -> None:
        """Hold back the next painting of a window; belongs to the window until it goes."""
        super().__init__(window)
        self._window = window
        self._is_owed = self._is_second = False
        self._turn = QTimer(self)  # not a single shot of Qt's: that would come before keys that wait
        self._turn.timeout.connect(self._take_turn)
        self._turn.start(0)
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the window's request to be painted."""
        if watched is not self._window or event.type() != QEvent.Type.UpdateRequest:
            return False
        self._is_owed = True
        return True

    def _take_turn(self) -> None:
        if not self._is_second:
            self._is_second = True
            return
        self._turn.stop()
        self._window.removeEventFilter(self)
        self.setParent(None)
        if self._is_owed:
            QCoreApplication.postEvent(self._window, QEvent(QEvent.Type.UpdateRequest))
        self.deleteLater()
