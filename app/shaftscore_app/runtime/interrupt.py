"""Ctrl+C for a command of the command line, also in a step that does not return to Python for long.

Python calls a signal's handler only when such a step is over. A thread of its own waits for what the signal
leaves behind (`signal.set_wakeup_fd`) and stops the step. It is not among the jobs of the editor, since the
command line loads no Qt.
"""

from __future__ import annotations

import os
import signal
import threading

from shaftscore_app.runtime.stopping import StopsHeld

POLL_S = 0.02
"""Seconds between two calls to stop a step, which may not have begun yet."""


class InterruptWatch(StopsHeld):
    """Keeps Ctrl+C while it is entered: `is_wanted` until it is taken, and what runs is stopped.

    Enter it on the main thread.
    """

    def __init__(self) -> None:
        """Begin without a wish to stop."""
        super().__init__()
        self._is_wanted = False
        self._before: object = None
        self._before_fd = -1
        self._over = threading.Event()
        self._heard, self._signals = os.pipe()
        if os.name != "nt":  # where a pipe may block, and Python asks that this one does not
            os.set_blocking(self._signals, False)
        self._thread = threading.Thread(target=self._listen, name="interrupt", daemon=True)

    def __enter__(self) -> InterruptWatch:
        """Begin to keep Ctrl+C."""
        self._before = signal.getsignal(signal.SIGINT)
        signal.signal(signal.SIGINT, self._want)
        self._before_fd = signal.set_wakeup_fd(self._signals, warn_on_full_buffer=False)
        self._thread.start()
        return self

    def __exit__(self, *_error: object) -> None:
        """Restore what Ctrl+C did before."""
        signal.set_wakeup_fd(self._before_fd)
        if callable(self._before):
            signal.signal(signal.SIGINT, self._before)
        self._over.set()
        os.close(self._signals)
        self._thread.join()
        os.close(self._heard)

    def take(self) -> bool:
        """Return whether Ctrl+C was pressed since this was last asked."""
        wanted, self._is_wanted = self._is_wanted, False
        return wanted

    def _want(self, _number: int, _frame: object) -> None:
        self._is_wanted = True

    def _listen(self) -> None:
        """Wait for signals, and stop what runs then."""
        while number := os.read(self._heard, 1):
            self._is_wanted = self._is_wanted or number[0] == signal.SIGINT
            while self._is_wanted and not self._over.wait(POLL_S):
                self.stop_all()
