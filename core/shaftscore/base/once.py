"""What is worked out from an object that never changes, once: it is kept with it, and goes with it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any, TypeVar

Result = TypeVar("Result")

NAME = "_worked_out_once"
"""Under this name it is kept among the attributes of the object."""


@dataclass(eq=False)
class _Kept:
    """Results by their keys; by itself equal to no other, so that records compare by their fields alone."""

    results: dict[Hashable, Any] = field(default_factory=dict)


def once(owner: object, key: Hashable, make: Callable[[], Result]) -> Result:
    """Return what was made under a key from an object, or make it now.

    owner: never changes (a record, or a frozen dataclass without slots); with the key it says all that the
    result depends on. Raises what `make` raises; nothing is then kept.
    """
    kept: _Kept = owner.__dict__.setdefault(NAME, _Kept())
    if key not in kept.results:
        kept.results[key] = make()
    result: Result = kept.results[key]
    return result
