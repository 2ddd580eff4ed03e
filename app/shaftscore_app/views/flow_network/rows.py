"""An index of things by their heights: what is seen is found without looking at all of them; no Qt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Generic, TypeVar

T = TypeVar("T")

ROW = 256.0
"""Height of a row of the index, px."""

MOST_ROWS = 16
"""What reaches over more rows than this is looked at always."""


class RowIndex(Generic[T]):
    """Things with their upper and lower ends, px; their order is kept."""

    def __init__(self, things: Iterable[tuple[float, float, T]]) -> None:
        """Take things with top and bottom."""
        self._rows: defaultdict[int, list[tuple[int, T]]] = defaultdict(list)
        self._tall: list[tuple[int, T]] = []
        for number, (top, bottom, thing) in enumerate(things):
            rows = range(int(top // ROW), int(bottom // ROW) + 1)
            for holder in [self._tall] if len(rows) > MOST_ROWS else [self._rows[row] for row in rows]:
                holder.append((number, thing))

    def near(self, top: float, bottom: float) -> Iterator[T]:
        """Yield what may reach between two heights, each once, in the order in which it was given."""
        found = dict(self._tall)
        for row in range(int(top // ROW), int(bottom // ROW) + 1):
            found.update(self._rows.get(row, ()))
        return (found[number] for number in sorted(found))
