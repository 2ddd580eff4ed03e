"""Things made once and kept while they are among those used last: so many, and no more."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

T = TypeVar("T")


class RecentThings(Generic[T]):
    """The things used last, by key; the one unused for longest makes room for a new one."""

    def __init__(self, most: int) -> None:
        """Begin with nothing; most: so many are kept."""
        self._most = most
        self._things: dict[Hashable, T] = {}  # in the order of their last use

    def __len__(self) -> int:
        """Return how many are kept."""
        return len(self._things)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return the thing of a key, and make it where it is not there."""
        things = self._things
        thing = things.pop(key) if key in things else make()
        things[key] = thing
        if len(things) > self._most:
            del things[next(iter(things))]
        return thing

    def clear(self) -> None:
        """Forget all."""
        self._things.clear()
