"""Rods for the far ends of extension springs: which springs hook on each.

A spring pulls its lever towards the disc (`FollowerLayout.spring_ends`). Its other loop is on a threaded rod
through both plates, in whose thread it keeps its height; springs that end at one place share the rod.
"""

from __future__ import annotations

from collections.abc import Iterable

from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.frame_plan import SpringRod
from shaftscore.model.parts_fit import PIVOT_MM


def spring_rods(layouts: Iterable[FollowerLayout]) -> tuple[SpringRod, ...]:
    """Return the rods that the springs of followers need, each once."""
    found: list[tuple[complex, list[str]]] = []
    for layout in layouts:
        at = layout.spring_rod
        if at is None:
            continue
        own = next((names for other, names in found if abs(other - at) <= PIVOT_MM), None)
        if own is None:
            found.append((at, own := []))
        own.append(layout.lane.code or layout.lane.label)
    return tuple(
        SpringRod(f"H{number}", at, tuple(names)) for number, (at, names) in enumerate(found, start=1)
    )
