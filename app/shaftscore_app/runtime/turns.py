"""Work put off by turns of the event loop, so that keys and clicks that wait are handled before it.

A turn is a posted event, not a timer: timers wait as long as keys wait, of which there are always some
while one is held; and all timers that are due come at once, with no key handled between them.

WORKAROUND: a posted event is kept by Python until Qt is done with it. Where Qt deletes an event that Python
made and nobody holds, PySide6 6.11 frees the event's wrapper, then reads it again when a wrapper of something
deleted before is still known at the same address, which ends the process.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt

LAST = Qt.EventPriority.LowEventPriority.value - 1
"""Priority of what comes after all that Qt itself puts off in a turn, layouts and painting."""

UNPAINTED, PAINTED = 2, 4
"""After so many turns nothing of a change of the theme is painted yet (`late_paint`); all of it is."""


class Later(QObject):
    """Does something some turns after it was asked for; asked for again meanwhile, it is done once."""

    def __init__(self, parent: QObject, does: Callable[[], object], turns: int = PAINTED) -> None:
        """Be ready to do something; belongs to `parent`."""
        super().__init__(parent)
        self._does, self._turns, self._left = does, turns, 0
        self._posted: deque[QEvent] = deque(maxlen=2)  # the one being handled, and the next

    def ask(self) -> None:
        """Have it done."""
        if not self._left:
            self._left = self._turns
            self._post()

    def customEvent(self, event: QEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Count a turn."""
        self._left -= 1
        if self._left:
            self._post()
        else:
            self._does()

    def _post(self) -> None:
        self._posted.append(QEvent(QEvent.Type.User))
        QCoreApplication.postEvent(self, self._posted[-1], LAST)
