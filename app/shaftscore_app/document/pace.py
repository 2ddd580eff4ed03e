"""How long it takes to examine a project, estimated from how long it took before."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

MOST_MS = 40.0
"""How long the window may wait for an examination; views and painting need the rest of 100 ms."""

BLOCK_MS = 1.0
"""How long the examination of a block takes where none was measured; slower machines take longer."""

FORGET = 0.25
"""Share of a new measurement in the pace."""

LEAST_WORK = 8
"""Examinations of fewer blocks are not measured: the rest of the machine takes longer than they do."""


class ExaminationPace:
    """Estimates whether examining so many blocks is short enough for the window to wait.

    clock: gives the seconds that the thread worked; None leaves the pace at BLOCK_MS, as tests need it.
    """

    def __init__(self, clock: Callable[[], float] | None = None) -> None:
        """Begin with the usual pace."""
        self._clock = clock
        self.block_ms = BLOCK_MS

    @staticmethod
    def measured() -> ExaminationPace:
        """Return a pace that is measured in processor time of the thread that examines."""
        return ExaminationPace(time.thread_time)

    def is_short(self, work: int) -> bool:
        """Return whether the window can wait for the examination of so many blocks."""
        return work * self.block_ms <= MOST_MS

    @contextmanager
    def timing(self, work: int) -> Iterator[None]:
        """Measure an examination of so many blocks; never quicker than the usual pace."""
        begin = self._clock() if self._clock else 0.0
        yield
        if self._clock and work >= LEAST_WORK:
            took = 1000.0 * (self._clock() - begin) / work
            self.block_ms = max(BLOCK_MS, (1 - FORGET) * self.block_ms + FORGET * took)
