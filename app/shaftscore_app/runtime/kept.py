"""Things worked out once and kept while what they were made from is the same.

A thing is made from *objects*, compared by identity (a lane, its solution), and from a *key*, compared
by value (where it stands, how it looks). One of each name is kept: the one asked for last.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TypeVar, cast

T = TypeVar("T")


class KeptThings:
    """The things kept; `made` counts, by kind, those that had to be made."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._things: dict[tuple[str, str], tuple[tuple[object, ...], object, object]] = {}
        self.made: dict[str, int] = {}

    def forget(self, *, but: Collection[str] = ()) -> None:
        """Drop everything, since colours or sizes are others, but the things of some kinds."""
        self._things = {name: thing for name, thing in self._things.items() if name[0] in but}

    def get(
        self,
        kind: str,
        name: str,
        objects: tuple[object, ...],
        key: object,
        make: Callable[[], T],
        *,
        alike: Callable[[T, T], bool] | None = None,
    ) -> T:
        """Return the thing of a kind and name, and make it where objects or key differ from those before.

        alike: whether a new thing is like the one before, which then stays, and with it all that was made
        from it.
        """
        kept = self._things.get((kind, name))
        if kept is not None and _same(kept[0], objects) and kept[1] == key:
            return cast(T, kept[2])
        thing = make()
        self.made[kind] = self.made.get(kind, 0) + 1
        if kept is not None and alike is not None and alike(cast(T, kept[2]), thing):
            thing = cast(T, kept[2])
        self._things[kind, name] = (objects, key, thing)
        return thing


def _same(first: tuple[object, ...], second: tuple[object, ...]) -> bool:
    return len(first) == len(second) and all(a is b for a, b in zip(first, second, strict=True))
