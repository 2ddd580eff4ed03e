"""Closed walks: what a table of followers runs through before it comes back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence


def closed_walks(following: Sequence[int]) -> Iterator[list[int]]:
    """Yield the closed walks of three places and more through a table of what follows what, (n,) numbers."""
    seen = bytearray(len(following))
    for first in range(len(following)):
        ring, at = [], first
        while not seen[at]:
            seen[at] = 1
            ring.append(at)
            at = following[at]
        if len(ring) > 2:
            yield ring
