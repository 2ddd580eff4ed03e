"""Series of values for several lanes: "0, 120, 240" over and over, "0, 30, ..." ever on."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

_APART = re.compile(r"\s*(?:;|,(?=\s)|,(?=\.\.|…))\s*")
_GOES_ON = re.compile(r"[\s,;]*(?:…|\.{2,})\s*$")


@dataclass(frozen=True)
class ValueSeries:
    """Values for one lane after the other; goes_on: by the last difference, else they begin again."""

    values: tuple[float, ...]
    goes_on: bool

    def at(self, index: int) -> float:
        """Return the value of a lane, counted from 0, in the unit of the values."""
        count = len(self.values)
        if index < count or not self.goes_on:
            return self.values[index % count]
        return self.values[-1] + (index - count + 1) * (self.values[-1] - self.values[-2])


def read_series(text: str, read: Callable[[str], float]) -> ValueSeries | None:
    """Read a series; None where the text is a single value.

    Values stand between semicolons, or commas with a space behind. read: reads one, and raises ValueError or
    EditError. Raises ValueError where a series goes on that has no difference.
    """
    goes_on = bool(_GOES_ON.search(text))
    parts = [part for part in _APART.split(_GOES_ON.sub("", text).strip()) if part]
    if len(parts) < 2:
        if goes_on:
            raise ValueError(f'"{text.strip()}" goes on by no difference; write two values, as in 0, 30, …')
        return None
    return ValueSeries(tuple(read(part) for part in parts), goes_on)
