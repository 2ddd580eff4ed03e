"""Hearing a widget's events before it does.

`QWidget.event` and `viewportEvent` are never overridden in this program: what they call for an event then
runs inside the override, and an error of the program in there, which should be told and leave the work
alone, ends the process instead.
WORKAROUND: PySide6 6.11 on Python 3.11 reads the arguments of such an error before it is complete
(`Shiboken::Errors::storePythonOverrideErrorOrPrint`); a TypeError in a handler two overrides deep crashes.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject


class EventWatch(QObject):
    """Passes each event of `watched` to `heard` first, which returns True where it has dealt with it."""

    def __init__(self, watched: QObject, heard: Callable[[QEvent], bool]) -> None:
        """Begin to hear; it lasts as long as `watched`."""
        super().__init__(watched)
        self._heard = heard
        watched.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's signature
        """Ask."""
        return self._heard(event)
