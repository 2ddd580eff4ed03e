"""What is done once a window has been painted for the first time.

Work on another thread slows a window that is coming up: both wait for one interpreter. So what does not
belong to the first picture begins after it.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget

MOST_MS = 1000
"""So long a window is waited for: one that starts as an icon is not painted before somebody wants it."""


class FirstPainting(QObject):
    """Calls `then` once a window was painted, or was not for a second; then it goes."""

    def __init__(self, window: QWidget, then: Callable[[], object], most_ms: int = MOST_MS) -> None:
        """Wait for the first painting of a window; belongs to it until then."""
        super().__init__(window)
        self._window, self._then = window, then
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._go)
        self._timer.start(most_ms)
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the window and what is in it be painted, in this turn, and go on in the next one."""
        if watched is self._window and event.type() == QEvent.Type.Paint:
            self._window.removeEventFilter(self)
            self._timer.start(0)
        return False

    def _go(self) -> None:
        self._window.removeEventFilter(self)
        self.setParent(None)
        self.deleteLater()
        self._then()
