"""Work that may be shared with a second process: the library says what, whoever calls it says how."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol, TypeVar

T = TypeVar("T")


class Beside(Protocol):
    """Where like pieces of work are done."""

    def each(
        self, work: Callable[[int], T], count: int, meanwhile: Callable[[], object] | None = None
    ) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in any order, once meanwhile was called.

        work and what it gives may be pickled; what it changes of itself elsewhere is lost. What it raises
        is raised here. meanwhile: what is done here first, while pieces are done elsewhere.
        """
        ...


class Alone:
    """All work is done here, one piece after the other."""

    def each(
        self, work: Callable[[int], T], count: int, meanwhile: Callable[[], object] | None = None
    ) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in order, once meanwhile was called."""
        if meanwhile is not None:
            meanwhile()
        yield from map(work, range(count))
