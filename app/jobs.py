"""Work beside the window: the only place with threads.

A *kind* of job has one worker. While it works, a newer request of its kind waits, and the newest wins:
an older one that waits is dropped unseen. Answers come back on the thread of the window.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal, Slot

log = logging.getLogger(__name__)

THREAD_NAME = "shaftscore-job"
"""Beginning of the name of every worker thread."""


@dataclass(frozen=True)
class _Request:
    kind: str
    work: Callable[[], Any]
    then: Callable[[Any], None]
    failed: Callable[[Exception], None]


@dataclass(frozen=True)
class _Answer:
    request: _Request
    result: Any
    error: Exception | None


class Jobs(QObject):
    """Runs jobs and brings back their answers.

    Signals: busy_changed(kind, busy) when a worker starts and when it has nothing left to do.
    """

    busy_changed = Signal(str, bool)
    _answered = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        """Begin without a worker."""
        super().__init__(parent)
        self._workers: dict[str, ThreadPoolExecutor] = {}
        self._running: set[str] = set()
        self._waiting: dict[str, _Request] = {}
        self._closed = threading.Event()
        self._answered.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    def request(
        self,
        kind: str,
        work: Callable[[], Any],
        then: Callable[[Any], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Have `work` done on the worker of `kind`, and `then` called with its result.

        work must touch nothing of Qt and nothing that changes. failed gets an exception that it
        raised; left out, the exception is logged.
        """
        request = _Request(kind, work, then, failed or _log_failure)
        if kind in self._running:
            self._waiting[kind] = request
            return
        self._running.add(kind)
        self.busy_changed.emit(kind, True)
        self._start(request)

    def is_busy(self, kind: str | None = None) -> bool:
        """Tell whether a worker (of `kind`, or any) has work."""
        return bool(self._running) if kind is None else kind in self._running

    def close(self) -> None:
        """Wait for what runs, drop what waits; no answer arrives afterwards."""
        self._closed.set()
        self._waiting.clear()
        for worker in self._workers.values():
            worker.shutdown(wait=True, cancel_futures=True)
        self._workers.clear()
        self._running.clear()

    def _start(self, request: _Request) -> None:
        worker = self._workers.get(request.kind)
        if worker is None:
            worker = ThreadPoolExecutor(1, thread_name_prefix=f"{THREAD_NAME}-{request.kind}")
            self._workers[request.kind] = worker
        worker.submit(self._work, request)

    def _work(self, request: _Request) -> None:
        """Do the work; runs on the worker's thread."""
        try:
            answer = _Answer(request, request.work(), None)
        except Exception as error:  # handed to whoever asked
            answer = _Answer(request, None, error)
        if not self._closed.is_set():
            self._answered.emit(answer)

    @Slot(object)
    def _deliver(self, answer: _Answer) -> None:
        if self._closed.is_set():
            return
        kind = answer.request.kind
        waiting = self._waiting.pop(kind, None)
        if waiting is not None:
            self._start(waiting)
        else:
            self._running.discard(kind)
        if answer.error is None:
            answer.request.then(answer.result)
        else:
            answer.request.failed(answer.error)
        if kind not in self._running:
            self.busy_changed.emit(kind, False)


def _log_failure(error: Exception) -> None:
    log.error("a job failed", exc_info=error)
