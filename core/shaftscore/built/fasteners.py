"""Screws and nuts that printed parts take: the sizes that their pockets and holes are made for.

Hexagon nuts ISO 4032 (greatest width across flats and height), clearance holes ISO 273 (medium), heads of
socket screws ISO 4762 (greatest diameter and height): all from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi


@dataclass(frozen=True)
class Fastener:
    """A metric screw with its nut, mm: nominal size, clearance hole, nut and socket head."""

    size_mm: float
    hole_mm: float
    nut_across_mm: float
    nut_mm: float
    head_across_mm: float
    head_mm: float

    @property
    def nut_corner_mm(self) -> float:
        """Width of the nut across its corners, mm."""
        return self.nut_across_mm / cos(pi / 6)


FASTENERS = (
    Fastener(2.0, 2.4, 4.0, 1.6, 3.8, 2.0),
    Fastener(2.5, 2.9, 5.0, 2.0, 4.5, 2.5),
    Fastener(3.0, 3.4, 5.5, 2.4, 5.5, 3.0),
    Fastener(4.0, 4.5, 7.0, 3.2, 7.0, 4.0),
    Fastener(5.0, 5.5, 8.0, 4.7, 8.5, 5.0),
    Fastener(6.0, 6.6, 10.0, 5.2, 10.0, 6.0),
    Fastener(8.0, 9.0, 13.0, 6.8, 13.0, 8.0),
)
"""Screws by size, smallest first."""


def fastener(size_mm: float) -> Fastener:
    """Return the screw of a nominal size; raises ValueError for one that is not in the table."""
    for row in FASTENERS:
        if row.size_mm == size_mm:
            return row
    sizes = ", ".join(f"{row.size_mm:g}" for row in FASTENERS)
    raise ValueError(f"no screw of {size_mm:g} mm is known; {sizes} mm are")
