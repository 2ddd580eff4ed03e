"""How long work reports its progress, and learns that it must stop.

A function that may take more than half a second takes a `Progress`, reports to it between its steps,
and knows nothing of threads, processes or windows. Whoever waits makes `report` raise `Cancelled`.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from typing import Protocol, runtime_checkable


class Progress(Protocol):
    """Where long work reports."""

    def report(self, fraction: float, what: str) -> None:
        """Report that `fraction` (0 to 1) is done and that `what` is being done now.

        Raises shaftscore.base.errors.Cancelled if the person asked to stop.
        """


@runtime_checkable
class StopsWork(Protocol):
    """A progress that can stop a step which does not report while it lasts."""

    def stopping(self, stop: Callable[[], object]) -> AbstractContextManager[object]:
        """Return a context in which `stop` is called, on another thread, if the person asks to stop.

        It is called again and again until the context ends. The next report raises Cancelled as ever.
        """


def stopping(progress: Progress, stop: Callable[[], object]) -> AbstractContextManager[object]:
    """Return a context in which a progress calls `stop` if the person asks to stop; not all can do so."""
    if isinstance(progress, Share):
        return stopping(progress.whole, stop)
    return progress.stopping(stop) if isinstance(progress, StopsWork) else nullcontext()


class Silent:
    """A progress that nobody looks at and nobody cancels."""

    def report(self, fraction: float, what: str) -> None:
        """Do nothing; fraction: 0 to 1."""


@dataclass(frozen=True)
class Share:
    """The part of a longer job from `start` to `end` (fractions of the whole)."""

    whole: Progress
    start: float
    end: float

    def report(self, fraction: float, what: str) -> None:
        """Report a fraction, 0 to 1, to the whole job; raises Cancelled as the whole does."""
        self.whole.report(self.start + (self.end - self.start) * fraction, what)
