"""The walls between two rings, as triangles.

Rings are those of `shaftscore.stack.rings`, which moves them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shaftscore.stack.rings import Ring, can_move, mitred, moved, offset_rings, ring_area, rounded

Faces = npt.NDArray[np.int64]
"""Triangles by the indices of their corners, shape (m, 3)."""

PARALLEL_RAD = 1e-4
"""Sides that differ by less than this in direction are parallel: what rounding leaves of a short one."""

__all__ = ["Faces", "Ring", "can_move", "mitred", "moved", "offset_rings", "ring_area", "rounded", "wall"]


def wall(lower: Ring, upper: Ring, first: int) -> Faces:
    """Join two rings, whose vertices are numbered from `first` on, by triangles that face outward.

    Rings whose sides are parallel one by one are joined corner by corner, others along their shortest
    diagonals: two that have as many corners by chance need not begin beside one another.
    """
    if lower is upper or (len(lower) == len(upper) and _are_parallel(lower, upper)):
        return _even_wall(len(lower), first)
    return _uneven_wall(lower, upper, first)


def _are_parallel(lower: Ring, upper: Ring) -> bool:
    """Return whether each side of a ring runs as that of the same number in another one does."""
    sides = [np.roll(ring, -1, axis=0) - ring for ring in (lower, upper)]
    first, second = (side @ np.array([1, 1j]) for side in sides)
    return bool(np.all(np.abs(np.angle(first * np.conj(second))) < PARALLEL_RAD))


def _even_wall(count: int, first: int) -> Faces:
    low = first + np.arange(count)
    high, low_next = low + count, np.roll(low, -1)
    high_next = low_next + count
    return np.concatenate(
        [np.column_stack([low, low_next, high_next]), np.column_stack([low, high_next, high])]
    )


def _uneven_wall(lower: Ring, upper: Ring, first: int) -> Faces:
    """Walk along both rings from their closest corners, always along the shorter diagonal."""
    n, m = len(lower), len(upper)
    shift = int(np.argmin(np.hypot(*(upper - lower[0]).T)))
    faces: list[tuple[int, int, int]] = []
    i = j = 0
    while i < n or j < m:
        a, b = i % n, (j + shift) % m
        a_next, b_next = (i + 1) % n, (j + 1 + shift) % m
        by_lower = np.hypot(*(lower[a_next] - upper[b])) <= np.hypot(*(upper[b_next] - lower[a]))
        if i < n and (j == m or by_lower):
            faces.append((a, a_next, n + b))
            i += 1
        else:
            faces.append((a, n + b_next, n + b))
            j += 1
    return first + np.array(faces, dtype=np.int64)
