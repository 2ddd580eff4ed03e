"""Bodies as the proof of the assembly sees them: cross-sections between levels, in the part's own frame.

A *level* is a height at which faces lie or walls begin; between two levels, in a *band*, walls stand upright
(one cross-section shows the whole band) or *lean* (chamfers, lead-ins: the cross-section changes evenly).
Bodies come from a file (`read_body`), with everything that was changed for a printer taken back, or stand for
something bought (`prism`). Frame: z from the part's own bottom, x towards the zero mark, mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from shaftscore.make.proof.reading.solid import Reals, SolidPart
from shaftscore.make.proof.rim import UPRIGHT
from shaftscore.make.solids.rings import Ring

SAME_LEVEL_MM = 0.002
"""Heights nearer to one another than this are one level: files keep five decimals or more."""

MOST_LEVELS = 80
"""Bodies with more levels are cut at this many heights, evenly, as if all their walls leaned."""

MOST_KEPT = 200
"""Cross-sections of one body that are kept at once, to bound the memory."""

MITRE = 5.0
"""Corners of bores stay corners when their walls are moved: no regular hole has a sharper one."""

ARC_SEGMENTS = 16
"""Chords of a quarter turn where a contour is moved back about a corner."""


@dataclass(frozen=True)
class PrinterChanges:
    """What a printer's file changes: by how much holes and contours are larger, mm, and its scale in plan."""

    hole_mm: float = 0.0
    contour_mm: float = 0.0
    scale: float = 1.0

    def taken_back(self, area: Any) -> Any:
        """Return a cross-section of a file, an area of shapely, as the part will be when it was printed."""
        from shapely import affinity  # kept off the start-up path

        if self.scale != 1:
            area = affinity.scale(area, 1 / self.scale, 1 / self.scale, origin=(0, 0))
        return area if not (self.hole_mm or self.contour_mm) else self._moved_back(area)

    def _moved_back(self, area: Any) -> Any:
        """Move outlines and holes; a hole with a piece in it is the outer flank of a groove, so a contour."""
        import shapely  # kept off the start-up path

        found = []
        pieces = shapely.get_parts(area)
        for piece in pieces:
            outline = shapely.Polygon(piece.exterior)
            outline = outline.buffer(-self.contour_mm, join_style="mitre", mitre_limit=MITRE)
            for hole in map(shapely.Polygon, piece.interiors):
                flank = any(hole.contains(other) for other in pieces if other is not piece)
                outline = outline.difference(self._hole_back(hole, flank=flank))
            found.append(outline)
        return shapely.union_all(found)

    def _hole_back(self, hole: Any, *, flank: bool) -> Any:
        if flank:
            return hole.buffer(self.contour_mm, quad_segs=ARC_SEGMENTS)
        return hole.buffer(-self.hole_mm, join_style="mitre", mitre_limit=MITRE)


@dataclass(frozen=True, eq=False)
class SectionedBody:
    """A body by its levels and cross-sections.

    levels_mm: ascending heights, two or more. leans: for each band between two of them, whether its walls
    lean. cut: cross-section at a height, mm, as an area of shapely. reach_mm: greatest distance from its z
    axis. is_round: whether it makes no difference how it is turned.
    """

    levels_mm: tuple[float, ...]
    leans: tuple[bool, ...]
    cut: Callable[[float], Any]
    reach_mm: float
    is_round: bool = False
    _found: dict[float, Any] = field(default_factory=dict, repr=False)

    @property
    def bottom_mm(self) -> float:
        """Its lowest height."""
        return self.levels_mm[0]

    @property
    def top_mm(self) -> float:
        """Its greatest height."""
        return self.levels_mm[-1]

    def turned_over(self) -> SectionedBody:
        """Return the body turned over about its own x axis, below its own z = 0."""
        from shapely import affinity  # kept off the start-up path

        levels = tuple(-level for level in reversed(self.levels_mm))
        leans = tuple(reversed(self.leans))
        return SectionedBody(
            levels,
            leans,
            lambda z: affinity.scale(self.cut(-z), 1, -1, origin=(0, 0)),
            self.reach_mm,
            self.is_round,
        )

    def band(self, height_mm: float) -> int:
        """Return the number of the band at a height, mm, between bottom and top."""
        found = int(np.searchsorted(self.levels_mm, height_mm, side="right")) - 1
        return min(max(found, 0), len(self.leans) - 1)

    def section(self, height_mm: float) -> Any:
        """Return the cross-section at a height, mm, prepared; the same one in all of an upright band.

        Raises RimError where a hole of it lies outside of the body.
        """
        band = self.band(height_mm)
        key = height_mm if self.leans[band] else (self.levels_mm[band] + self.levels_mm[band + 1]) / 2
        if key not in self._found:
            import shapely  # kept off the start-up path

            if len(self._found) >= MOST_KEPT:
                self._found.clear()
            self._found[key] = self.cut(key)
            shapely.prepare(self._found[key])
        return self._found[key]


def prism(area: Any, bottom_mm: float, top_mm: float, *, is_round: bool = False) -> SectionedBody:
    """Return the body between two heights, mm, that has an area of shapely for its cross-section.

    is_round: about its axis, so that it makes no difference how it is turned.
    """
    import shapely  # kept off the start-up path

    reach = float(np.hypot(*shapely.get_coordinates(area).T).max())
    return SectionedBody((bottom_mm, top_mm), (False,), lambda _: area, reach, is_round)


def outline_area(ring: Ring) -> Any:
    """Return the area of shapely within a ring (n, 2), mm."""
    import shapely  # kept off the start-up path

    return shapely.Polygon(ring)


def read_body(part: SolidPart, changes: PrinterChanges) -> SectionedBody:
    """Return the body of a part that was read from a file, as it will be when it was printed."""
    z = part.corners[:, :, 2]
    levels = _levels(z)
    leans = _leaning(part.corners, levels) if len(levels) <= MOST_LEVELS else ()
    if not leans:
        levels = tuple(np.linspace(levels[0], levels[-1], MOST_LEVELS).tolist())
        leans = (True,) * (len(levels) - 1)
    reach = float(np.hypot(part.corners[:, :, 0], part.corners[:, :, 1]).max()) / changes.scale
    back = abs(changes.contour_mm) + abs(changes.hole_mm)
    return SectionedBody(levels, leans, lambda height: changes.taken_back(part.section(height)), reach + back)


def _levels(z: Reals) -> tuple[float, ...]:
    """Return the distinct heights of corners, each group of near ones once."""
    found = np.unique(z)
    return tuple(float(value) for value in found[np.diff(found, prepend=-np.inf) > SAME_LEVEL_MM])


def _leaning(corners: Reals, levels: tuple[float, ...]) -> tuple[bool, ...]:
    """Return for each band whether a triangle in it leans."""
    sides = np.roll(corners, -1, axis=1) - corners
    normal = np.cross(sides[:, 0], sides[:, 1])
    leans = np.abs(normal[:, 2]) > UPRIGHT * np.linalg.norm(normal, axis=1)
    low, high = corners[leans, :, 2].min(axis=1), corners[leans, :, 2].max(axis=1)
    middles = ((below + above) / 2 for below, above in pairwise(levels))
    return tuple(bool(np.any((low < middle) & (high > middle))) for middle in middles)
