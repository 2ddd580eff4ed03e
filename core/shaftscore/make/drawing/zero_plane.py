"""What the plane through the axis and the zero mark cuts of a part beside its plain body."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.make.solids import MadePart
from shaftscore.make.solids.rings import Ring

CHORD_MM = 0.05
"""Chord error of what is drawn."""


@dataclass(frozen=True)
class PlaneCut:
    """A rectangle of a section: x and z from and to, mm in the part's own heights; solid or hollow."""

    low: float
    high: float
    bottom: float
    top: float
    is_solid: bool


def cuts_of(part: MadePart) -> Iterator[PlaneCut]:
    """Yield holes of pins, pegs, pockets and groove where the plane through the zero mark cuts them."""
    thick = part.thickness_mm
    for hole in part.holes[1:]:
        for low, high in plane_pairs(hole.flattened(CHORD_MM)):
            yield PlaneCut(low, high, 0.0, thick, is_solid=False)
    for peg in part.dogs.pegs if part.dogs else ():
        for low, high in plane_pairs(peg.flattened(CHORD_MM)):
            yield PlaneCut(low, high, thick, part.top_mm, is_solid=True)
    for pocket in part.dogs.pockets if part.dogs else ():
        for low, high in plane_pairs(pocket.flattened(CHORD_MM)):
            yield PlaneCut(low, high, 0.0, part.dogs.depth_mm if part.dogs else 0.0, is_solid=False)
    if part.groove is not None:
        (inner,), (outer,) = plane_pairs(part.groove.inner), plane_pairs(part.groove.outer)
        floor = thick - part.groove.depth_mm
        yield PlaneCut(outer[0], inner[0], floor, thick, is_solid=False)
        yield PlaneCut(inner[1], outer[1], floor, thick, is_solid=False)


def plane_pairs(ring: Ring) -> list[tuple[float, float]]:
    """Return where a ring, (n, 2) mm, is on the line through axis and zero mark: x from and to, mm."""
    x, y = ring.T
    after_x, after_y = np.roll(x, -1), np.roll(y, -1)
    across = (y > 0) != (after_y > 0)
    share = y[across] / (y[across] - after_y[across])
    found = sorted(float(value) for value in x[across] + share * (after_x[across] - x[across]))
    return list(zip(found[::2], found[1::2], strict=True))
