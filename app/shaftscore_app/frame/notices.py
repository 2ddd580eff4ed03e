"""A word at the end of long work: for whoever has gone to another window meanwhile.

Work over `LONG_S` seconds is reported by the system (its tray, where there is one), by a mark on the window's
entry in the task bar, and to screen readers. Shorter work says nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QApplication, QSystemTrayIcon, QWidget

from shaftscore_app.document import LATE
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme

LONG_S = 10.0
"""Work that took longer than this is reported, s."""

SHOWN_MS = 10_000
"""How long the system shows it, ms."""

QUIET = frozenset({LATE, "draft"})
"""Kinds of jobs that nobody waits for."""

NAMES = {
    "export": "The export",
    "bench": "The work on the bench",
    "chance": "The chance of working",
    "arrange": "Arranging the timing",
}
"""What people call a kind of job; others by their kind."""


class Notices(QObject):
    """Notices at the end of long work; `last` is the latest one, or None."""

    def __init__(
        self, window: QWidget, theme: Theme, jobs: Jobs, clock: Callable[[], float] = time.monotonic
    ) -> None:
        """Watch the jobs of a window; clock: gives seconds."""
        super().__init__(window)
        self._window, self._theme, self.clock = window, theme, clock
        self._begun: dict[str, float] = {}
        self._tray: QSystemTrayIcon | None = None
        self.last: str | None = None
        jobs.busy_changed.connect(self.busy)

    def busy(self, kind: str, busy: bool) -> None:
        """Handle the start or the end of a job of a kind."""
        if kind in QUIET:
            return
        if busy:
            self._begun[kind] = self.clock()
            return
        took = self.clock() - self._begun.pop(kind, self.clock())
        if took > LONG_S:
            self._tell(f"{NAMES.get(kind, kind.capitalize())} has ended")

    def _tell(self, text: str) -> None:
        self.last = text
        QApplication.alert(self._window)
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self._window, text))
        if QSystemTrayIcon.isSystemTrayAvailable() and QSystemTrayIcon.supportsMessages():
            self._show(text)

    def _show(self, text: str) -> None:
        """Let the system show it, through a tray icon that stays as long as the window."""
        if self._tray is None:
            self._tray = QSystemTrayIcon(self._theme.icon("crank"), self)
            self._tray.messageClicked.connect(self._window.activateWindow)
        self._tray.show()
        self._tray.showMessage("Shaftscore", text, self._theme.icon("crank"), SHOWN_MS)
