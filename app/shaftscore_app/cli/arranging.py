"""What `arrange` prints, and how it ends."""

from __future__ import annotations

import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from shaftscore.base.errors import Cancelled
from shaftscore.base.whole_files import refuse_odd, write_whole
from shaftscore.model import Project
from shaftscore.model.saved import saved_form
from shaftscore.placing import Aim, ArrangeError, MayChange, Refusal, arrange
from shaftscore.placing.telling import arrangement_lines, refusal_lines
from shaftscore_app.cli.exporting import Lines

WRITTEN, NONE_FOUND = 0, 1
"""Exit codes of the command."""

POLL_S = 0.02
"""Seconds between two calls to stop a step, which may not have begun yet."""


class Stoppable(Lines):
    """Progress that raises Cancelled at the report after Ctrl+C, so that the best found so far is kept.

    A step that does not report is stopped at once (`shaftscore.base.progress.StopsWork`): Python hears of the
    signal only when such a step is over, so a thread of its own waits for what the signal leaves behind.
    """

    def __init__(self) -> None:
        """Begin without a wish to stop."""
        super().__init__()
        self._stopped = False
        self._before: object = None
        self._before_fd = -1
        self._stops: list[Callable[[], object]] = []
        self._over = threading.Event()
        self._heard, self._signals = socket.socketpair()
        self._signals.setblocking(False)
        self._thread = threading.Thread(target=self._listen, name="stop", daemon=True)

    def __enter__(self) -> Stoppable:
        """Begin to keep Ctrl+C for the next report."""
        self._before = signal.getsignal(signal.SIGINT)
        signal.signal(signal.SIGINT, self._stop)
        self._before_fd = signal.set_wakeup_fd(self._signals.fileno(), warn_on_full_buffer=False)
        self._thread.start()
        return self

    def __exit__(self, *_error: object) -> None:
        """Restore what Ctrl+C did before."""
        signal.set_wakeup_fd(self._before_fd)
        if callable(self._before):
            signal.signal(signal.SIGINT, self._before)
        self._over.set()
        self._signals.close()
        self._thread.join()
        self._heard.close()

    def report(self, fraction: float, what: str) -> None:
        """Show how far it is; raises Cancelled once after Ctrl+C."""
        if self._stopped:
            self._stopped = False
            raise Cancelled("cancelled")
        super().report(fraction, what)

    @contextmanager
    def stopping(self, stop: Callable[[], object]) -> Iterator[None]:
        """Call `stop` again and again after Ctrl+C, on another thread, until the context ends."""
        self._stops.append(stop)
        try:
            yield
        finally:
            self._stops.remove(stop)

    def _stop(self, _number: int, _frame: object) -> None:
        self._stopped = True

    def _listen(self) -> None:
        """Wait for signals, and stop what runs then, until the next report says so to the search."""
        while number := self._heard.recv(1):
            self._stopped = self._stopped or number[0] == signal.SIGINT
            while self._stopped and not self._over.wait(POLL_S):
                for stop in tuple(self._stops):
                    stop()


def print_arrangement(project: Project, out: Path, prefer: Aim, seed: int, may: MayChange) -> int:
    """Arrange a project, write it, print what changes or why there is none, and return the exit code.

    Where the person stops it, the best found until then is written. Raises OSError where the file cannot be
    written, Cancelled where the person stops it before anything better was found.
    """
    refuse_odd(out)  # before a search that takes a while
    progress = Stoppable()
    try:
        with progress:
            found = arrange(project, prefer, seed, progress, may)
    except ArrangeError as error:
        print(error, file=sys.stderr)
        return NONE_FOUND
    finally:
        progress.done()
    if isinstance(found, Refusal):
        print("\n".join(refusal_lines(found)))
        return NONE_FOUND
    write_whole(out, saved_form(found.project))
    print("\n".join(arrangement_lines(found, project)))
    print(f"Written to {out}.")
    return WRITTEN
