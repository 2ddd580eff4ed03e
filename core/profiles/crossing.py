"""Whether an offset curve cuts itself, and where: undercut between distant parts of the whole curve.

A roller that touches the profile at K while its centre is at z leaves K there only if no other centre
z' of the turn comes nearer to K than the roller's radius. Most profiles are *star-shaped* (their polar
angle about the axis never turns back): those cannot cut themselves, and that is tested first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.followers import Points, Reals

CUT_MM = 1e-4
"""A place is cut when another position of the roller reaches deeper into it than this, mm."""

ROWS = 256
"""Points compared with all others at a time, to bound the memory."""


@dataclass(frozen=True)
class Cut:
    """The deepest place of one stretch that is cut away: node indices of it and of the cutting centre."""

    at: int
    by: int
    depth_mm: float


def is_star_shaped(curve: Points, direction: int) -> bool:
    """Tell whether a closed curve (n,) goes once round the axis without ever turning back.

    direction: d of the stack; the curve runs against it. Steps between points must be under 180 degrees.
    """
    step = np.angle(np.roll(curve, -1) * np.conj(curve)) * -direction
    return bool(np.all(step > -1e-9) and abs(np.sum(step) - 2 * np.pi) < 1.0)


def cuts(pitch: Points, curve: Points, radius_mm: float) -> tuple[Cut, ...]:
    """Find the places of `curve` (n,) that a roller on `pitch` (n,) reaches into from elsewhere."""
    depth, by = np.empty(len(curve)), np.empty(len(curve), np.intp)
    for start in range(0, len(curve), ROWS):
        apart = np.abs(curve[start : start + ROWS, None] - pitch[None, :])
        by[start : start + ROWS] = np.argmin(apart, axis=1)
        depth[start : start + ROWS] = radius_mm - np.min(apart, axis=1)
    return tuple(_deepest(depth, by))


def _deepest(depth: Reals, by: np.ndarray[tuple[int], np.dtype[np.intp]]) -> list[Cut]:
    """Give the deepest node of each stretch of neighbouring cut nodes."""
    (cut,) = np.nonzero(depth > CUT_MM)
    if not len(cut):
        return []
    stretches = np.split(cut, np.nonzero(np.diff(cut) > 1)[0] + 1)
    worst = [int(stretch[np.argmax(depth[stretch])]) for stretch in stretches]
    return [Cut(at, int(by[at]), float(depth[at])) for at in worst]
