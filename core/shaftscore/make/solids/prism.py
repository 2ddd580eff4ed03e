"""Bodies that are added to the main body of a part, or cut out of it, between two heights."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.solids.rings import rounded
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import polygon

FINE_MM = CHORD_MM / 5
"""Chord error of arcs that are moved outward for a printer."""


@dataclass(frozen=True)
class PartPrism:
    """An upright body: its outline in plan view between two heights of the part, mm.

    name: for sentences ("boss", "bearing seat"). path, printer_path: outline as drawn, and as a printer's
    file holds it.
    """

    name: str
    path: BulgePath
    printer_path: BulgePath
    bottom_mm: float
    top_mm: float

    def printed(self) -> PartPrism:
        """Return the body as a printer's file holds it."""
        return replace(self, path=self.printer_path)

    def scaled(self, factor: float) -> PartPrism:
        """Return the body enlarged in plan by a factor."""
        return replace(self, path=self.path.scaled(factor))


def prism(name: str, path: BulgePath, heights_mm: tuple[float, float], grown_mm: float = 0.0) -> PartPrism:
    """Make a body between two heights; grown_mm: by which a printer's file moves its walls outward.

    Raises ValueError if nothing of it is left.
    """
    return PartPrism(name, path, grown(path, grown_mm), *heights_mm)


def grown(path: BulgePath, by_mm: float) -> BulgePath:
    """Return a closed outline moved outward, its corners rounded; raises ValueError if it vanishes."""
    if by_mm == 0:
        return path
    ring = rounded(path.flattened(FINE_MM), by_mm, FINE_MM)
    return polygon(tuple(complex(x, y) for x, y in ring))
