"""Work beside the window: the only place with threads and processes.

A *kind* of job has one worker. While it works, a newer request of its kind waits, and the newest wins:
an older one that waits is dropped unseen. Answers come back on the thread of the window.

Who asks is often an object of Qt, and so is what a piece of work refers to. Such an object may only be
destroyed on the window's thread, so a worker never has the last reference to one: it hands the request back
with the answer, through a queue that belongs to no window and is emptied on the window's thread.

Work that would slow the window down although it runs on a thread (pure Python, such as an export) runs
in a *process* of its own, started for it. It reports its progress and is told to stop through a
pipe; the worker's thread only waits for it.
"""

from __future__ import annotations

import multiprocessing
import sys
import threading
import time
import weakref
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeAlias, TypeVar, TypeVarTuple

import shiboken6
from PySide6.QtCore import QObject, Qt, Signal, Slot

from shaftscore.base.errors import Cancelled, ShaftscoreError
from shaftscore.base.progress import Progress
from shaftscore_app.runtime.safe_start import UnsafeStart, safe_path
from shaftscore_app.runtime.stopping import StopsHeld

T = TypeVar("T")
Ts = TypeVarTuple("Ts")

Sent: TypeAlias = Any
"""What comes from a worker or through a pipe: Any, since no checker knows what the other end sends."""

THREAD_NAME = "shaftscore-job"
"""Beginning of the name of every worker thread."""

TURN_S = 0.0001
"""So long a worker keeps the interpreter before it gives way. The window gives it up in each of its many
calls into Qt and numpy, and would wait Python's usual 5 ms for it each time."""

POLL_S = 0.05
PATIENCE_S = 10.0
"""A process that was asked to stop is ended after this time."""


_STARTING = threading.Lock()
"""Held while a process is started: the environment that it gets is that of all threads."""


class JobError(ShaftscoreError):
    """What a process said went wrong; `kind` is the name of the error's class."""

    def __init__(self, kind: str, text: str) -> None:
        """Keep class name and text of an error raised elsewhere."""
        self.kind = kind
        super().__init__(text)


@dataclass(frozen=True)
class ProgressReport:
    """How far a process is: fraction 0 to 1, and what it does."""

    fraction: float
    what: str


@dataclass
class Task:
    """A piece of work in a process, which can be cancelled.

    target: a function of a module, called in the process as target(*arguments, progress).
    """

    target: Callable[..., object]
    arguments: tuple[object, ...]
    on_progress: Callable[[ProgressReport], None]
    _stop: threading.Event = field(default_factory=threading.Event)

    def cancel(self) -> None:
        """Ask it to stop; it then fails with `Cancelled`."""
        self._stop.set()

    @property
    def is_cancelled(self) -> bool:
        """Whether it was asked to stop."""
        return self._stop.is_set()


@dataclass(frozen=True)
class _Request:
    """What is to be done, and what gets its result or its error on the window's thread."""

    kind: str
    work: Callable[[], Sent]
    then: Callable[[Sent], None]
    failed: Callable[[Exception], None]


@dataclass(frozen=True)
class JobAnswer:
    """What a worker hands back: the request, and what it gave, or the error that it raised."""

    request: _Request
    result: Sent = None
    error: Exception | None = None


class WorkerMail(QObject):
    """Calls that workers leave for the window's thread, one a turn of its event loop.

    There is one for all jobs, which is never destroyed: a worker may still post when its jobs are gone.
    """

    _posted = Signal()

    def __init__(self) -> None:
        """Begin without a call."""
        super().__init__()
        self._calls: deque[Callable[[], object]] = deque()
        self._posted.connect(self._call_next, Qt.ConnectionType.QueuedConnection)

    def post(self, call: Callable[[], object]) -> None:
        """Leave a call; may be called on any thread."""
        self._calls.append(call)
        del call
        self._posted.emit()

    def hand_back(self, box: list[JobAnswer], to: weakref.ref[Jobs]) -> None:
        """Leave an answer for jobs, if they are still there; the box is empty then."""
        self._calls.append(partial(_deliver, box.pop(), to))
        self._posted.emit()

    @Slot()
    def _call_next(self) -> None:
        call = self._calls.popleft()
        if _is_there(call):
            call()


def _deliver(answer: JobAnswer, to: weakref.ref[Jobs]) -> None:
    jobs = to()
    if jobs is not None and shiboken6.isValid(jobs):
        jobs.deliver(answer)


_MAILS: list[WorkerMail] = []


def mail() -> WorkerMail:
    """Return the mail of all workers; called on the window's thread."""
    if not _MAILS or not shiboken6.isValid(_MAILS[0]):
        _MAILS[:] = [WorkerMail()]
    return _MAILS[0]


def _is_there(call: Callable[..., object]) -> bool:
    """Return whether the object of Qt whose method is called, if it is one, still exists."""
    while isinstance(call, partial):
        call = call.func
    owner = getattr(call, "__self__", None)
    return not isinstance(owner, QObject) or shiboken6.isValid(owner)


def _report(task: Task, message: ProgressReport, closed: threading.Event) -> None:
    """Report how far a task is, on the window's thread, unless its jobs are closed by now."""
    if not closed.is_set() and _is_there(task.on_progress):
        task.on_progress(message)


def _work(box: list[_Request], mails: WorkerMail, to: weakref.ref[Jobs]) -> None:
    """Do a request on a worker's thread, and hand it back with its answer: no reference stays here."""
    request = box.pop()
    try:
        answer = [JobAnswer(request, result=request.work())]
    except Exception as error:  # handed to whoever asked
        answer = [JobAnswer(request, error=error)]
    del request
    mails.hand_back(answer, to)


class Jobs(QObject):
    """Runs jobs and brings back their answers.

    Signals: busy_changed(kind, busy) when a worker starts and when it has nothing left to do.
    failed(error) when a job failed that nobody waits for, or another thread.
    """

    busy_changed = Signal(str, bool)
    failed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        """Begin without a worker."""
        super().__init__(parent)
        sys.setswitchinterval(TURN_S)
        self._mail = mail()
        self._workers: dict[str, ThreadPoolExecutor] = {}
        self._running: set[str] = set()
        self._waiting: dict[str, _Request] = {}
        self._closed = threading.Event()

    def request(
        self,
        kind: str,
        work: Callable[[], T],
        then: Callable[[T], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Have `work` done on the worker of `kind`, and `then` called with its result.

        work must touch nothing of Qt and nothing that changes. failed gets an exception that it
        raised; left out, the signal `failed` has it. After `close` nothing is done any more.
        """
        if self._closed.is_set():
            return
        request = _Request(kind, work, then, failed or self.failed.emit)
        if kind in self._running:
            self._waiting[kind] = request
            return
        self._running.add(kind)
        self.busy_changed.emit(kind, True)
        self._start(request)

    def request_process(
        self,
        kind: str,
        target: Callable[[*Ts, Progress], T],
        arguments: tuple[*Ts],
        *,
        on_progress: Callable[[ProgressReport], None],
        then: Callable[[T], None],
        failed: Callable[[Exception], None],
    ) -> Task:
        """Have target(*arguments, progress) called in a process; arguments and result are pickled.

        on_progress gets how far it is. failed gets `Cancelled` after `Task.cancel`, else a `JobError`.
        """
        task = Task(target, arguments, on_progress)
        self.request(kind, lambda: self._supervise(task), then, failed)
        return task

    def request_watched(
        self,
        kind: str,
        work: Callable[[Progress], T],
        *,
        on_progress: Callable[[ProgressReport], None],
        then: Callable[[T], None],
        failed: Callable[[Exception], None],
    ) -> Task:
        """Have work(progress) done on the worker of `kind`: for numpy, which leaves the window its time.

        on_progress gets how far it is. failed gets `Cancelled` after `Task.cancel`, else what was raised.
        """
        task = Task(work, (), on_progress)
        progress = _ThreadProgress(task, self._closed, self._mail.post)
        self.request(kind, lambda: work(progress), then, failed)
        return task

    def watch_threads(self) -> Callable[[], None]:
        """Report by `failed` errors that nobody caught on any thread; returns what ends that."""
        before = threading.excepthook

        def uncaught(told: threading.ExceptHookArgs) -> None:
            if told.exc_value is not None:
                error = told.exc_value.with_traceback(told.exc_traceback)
                self._mail.post(lambda: self.failed.emit(error))

        threading.excepthook = uncaught

        def unwatch() -> None:
            threading.excepthook = before

        return unwatch

    def is_busy(self, kind: str | None = None) -> bool:
        """Return whether a worker (of `kind`, or any) has work."""
        return bool(self._running) if kind is None else kind in self._running

    def close(self) -> None:
        """Stop processes, wait for what runs, drop what waits; no answer arrives afterwards."""
        self._closed.set()
        self._waiting.clear()
        for worker in self._workers.values():
            worker.shutdown(wait=True, cancel_futures=True)
        self._workers.clear()
        self._running.clear()

    # On the window's thread

    def _start(self, request: _Request) -> None:
        worker = self._workers.get(request.kind)
        if worker is None:
            worker = ThreadPoolExecutor(1, thread_name_prefix=f"{THREAD_NAME}-{request.kind}")
            self._workers[request.kind] = worker
        worker.submit(_work, [request], self._mail, weakref.ref(self))

    def deliver(self, answer: JobAnswer) -> None:
        """Take an answer of a worker, on the window's thread; whoever Qt has destroyed gets none."""
        if self._closed.is_set():
            return
        kind = answer.request.kind
        waiting = self._waiting.pop(kind, None)
        if waiting is not None:
            self._start(waiting)
        else:
            self._running.discard(kind)
            self.busy_changed.emit(kind, False)
        request = answer.request
        take = request.failed if answer.error is not None else request.then
        if _is_there(take):
            take(answer.result if answer.error is None else answer.error)

    # On a worker's thread

    def _supervise(self, task: Task) -> Sent:
        """Run a task's process to its end and give its result; raises what it failed with."""
        here, there = multiprocessing.get_context("spawn").Pipe()
        arguments = (there, task.target, task.arguments)
        process = multiprocessing.get_context("spawn").Process(
            target=_in_process, args=arguments, daemon=True
        )
        _start_safely(process)
        there.close()  # the process has the other end; without this its death would not be seen
        try:
            return self._listen(task, here)
        finally:
            process.join(PATIENCE_S)
            if process.is_alive():
                process.terminate()
                process.join()
            here.close()

    def _listen(self, task: Task, pipe: Connection) -> Sent:
        asked_at: float | None = None
        while True:
            if asked_at is None and (task.is_cancelled or self._closed.is_set()):
                asked_at = time.monotonic()
                pipe.send("stop")
            if asked_at is not None and time.monotonic() - asked_at > PATIENCE_S:
                raise Cancelled("cancelled")
            if pipe.poll(POLL_S):
                message = _receive(pipe)
                if not isinstance(message, ProgressReport):
                    return _result(*message)
                self._mail.post(partial(_report, task, message, self._closed))


class _ThreadProgress:
    """A `shaftscore.base.progress.Progress` on a worker's thread."""

    def __init__(
        self, task: Task, closed: threading.Event, tell: Callable[[Callable[[], None]], object]
    ) -> None:
        self._task, self._closed, self._tell = task, closed, tell

    def report(self, fraction: float, what: str) -> None:
        if self._task.is_cancelled or self._closed.is_set():
            raise Cancelled("cancelled")
        self._tell(partial(_report, self._task, ProgressReport(fraction, what), self._closed))


def _start_safely(process: BaseProcess) -> None:
    """Start a process that imports nothing from the current folder; raises JobError where that cannot be."""
    try:
        with _STARTING, safe_path():
            process.start()
    except UnsafeStart as error:
        raise JobError(type(error).__name__, str(error)) from error


def _receive(pipe: Connection) -> Sent:
    try:
        return pipe.recv()
    except EOFError as error:
        raise JobError("EOFError", "the program's second process ended without a word") from error


def _result(kind: str, value: Sent) -> Sent:
    """Return what a process returned; raise what it raised."""
    if kind == "done":
        return value
    raise Cancelled(value) if kind == "Cancelled" else JobError(kind, value)


class _PipeProgress(StopsHeld):
    """A `shaftscore.base.progress.Progress` at the other end of a pipe, which `StopsWork`.

    A thread of its own listens, so that a step that does not report is stopped as well.
    """

    def __init__(self, pipe: Connection) -> None:
        super().__init__()
        self._pipe = pipe
        self._asked, self._over = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._listen, name=f"{THREAD_NAME}-stop", daemon=True)
        self._thread.start()

    def report(self, fraction: float, what: str) -> None:
        if self._asked.is_set():
            raise Cancelled("cancelled")
        self._pipe.send(ProgressReport(fraction, what))

    def close(self) -> None:
        """Listen no more."""
        self._over.set()
        self._thread.join()

    def _listen(self) -> None:
        """Wait until the window asks to stop, or is gone, and stop what runs then."""
        while not self._over.is_set() and not self._asked.is_set():
            if self._pipe.poll(POLL_S):
                self._asked.set()
        while not self._over.wait(POLL_S):  # a step that only begins does not hear of it yet
            self.stop_all()


def _in_process(pipe: Connection, target: Callable[..., object], arguments: tuple[object, ...]) -> None:
    """Do a task; runs in the process."""
    progress = _PipeProgress(pipe)
    try:
        answer = ("done", target(*arguments, progress))
    except Exception as error:  # told to the window, which shows it
        answer = (type(error).__name__, str(error))
    progress.close()
    pipe.send(answer)
    pipe.close()
