"""What is to be called to stop the work that runs, whoever asks for it: Ctrl+C or the window."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager


class StopsHeld:
    """Holds what stops the work that runs now, for a thread that calls it once stopping is asked for."""

    def __init__(self) -> None:
        self._stops: list[Callable[[], object]] = []

    @contextmanager
    def stopping(self, stop: Callable[[], object]) -> Iterator[None]:
        """Have `stop` called on another thread, again and again, once stopping is asked for."""
        self._stops.append(stop)
        try:
            yield
        finally:
            self._stops.remove(stop)

    def stop_all(self) -> None:
        """Call what stops the work that runs now."""
        for stop in tuple(self._stops):
            stop()
