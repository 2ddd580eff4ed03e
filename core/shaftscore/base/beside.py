"""Work that may be shared with a second process: the library says what, whoever calls it says how."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol, TypeVar

T = TypeVar("T")


class Beside(Protocol):
    """Where like pieces of work are done."""

    def each(self, work: Callable[[int], T], count: int) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in any order.

        work and what it gives may be pickled; what it changes of itself elsewhere is lost. What it raises
        is raised here.
        """
        ...


class Alone:
    """All work is done here, one piece after the other."""

    def each(self, work: Callable[[int], T], count: int) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in order."""
        return map(work, range(count))
