"""What is done once when the program comes to rest: freed memory is given back to the system."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.memory import give_back

REST_MS = 3000
"""So long after the last job ended the program rests; whoever edits begins another job before."""


class MemoryAtRest(QObject):
    """Returns memory some time after the last job: once, so that no timer runs while nothing is done."""

    def __init__(self, jobs: Jobs, parent: QObject) -> None:
        """Watch jobs; belongs to `parent`."""
        super().__init__(parent)
        self._jobs = jobs
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(REST_MS)
        self._timer.timeout.connect(give_back)
        jobs.busy_changed.connect(self._on_busy)

    @property
    def is_waiting(self) -> bool:
        """Whether a job ended not long ago."""
        return self._timer.isActive()

    def end(self) -> None:
        """Wait no more: the window goes."""
        self._timer.stop()

    def _on_busy(self, _kind: str, busy: bool) -> None:
        if busy:
            self._timer.stop()
        elif not self._jobs.is_busy():
            self._timer.start()
