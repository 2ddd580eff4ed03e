"""Upright prisms: what every picture of parts is made of.

Frame: that of the thing drawn, x along the reference line, y to the left of it, z up, mm. Contours are
complex, x + iy, counterclockwise, with as few corners as a picture needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from shaftscore.layout.placed import Points, Reals
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.rings import Ring
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import circle

COARSE_MM = 0.08
"""Corners of a contour that lie nearer to the line through their neighbours are left out."""

FINE_SHARE = 0.015
"""The same for small contours, as a share of their size."""

SOLID, INSERT, ROD = 0, 1, 2
"""Ranks of bodies: plates and discs; what is let into them, such as bearings; rods, which go through both."""

MarkName = Literal["zero mark", "phase mark", "phase mark 2", "mark of the tooth"]
"""Engraved marks that a picture shows."""

SHOWN_MARKS: tuple[MarkName, ...] = ("zero mark", "phase mark", "phase mark 2", "mark of the tooth")
"""Marks that are drawn on the face of a part."""


@dataclass(frozen=True, eq=False)
class UprightPrism:
    """An upright body between two heights, mm.

    outline: counterclockwise, (n,). name: which copy of a part it belongs to. holes: contours seen in its
    top face. marks: engraved lines on the top face, each (m,), by their names. is_new: what a step adds.
    inside: rank of what may be inside other bodies: what is inside one of a lower rank is not seen.
    groove: inner and outer flank of a groove in its top face, with its depth, mm.
    """

    outline: Points
    bottom_mm: float
    top_mm: float
    name: str = ""
    holes: tuple[Points, ...] = ()
    marks: tuple[tuple[str, Points], ...] = ()
    is_new: bool = False
    inside: int = SOLID
    groove: tuple[Points, Points, float] | None = None

    @cached_property
    def along(self) -> Points:
        """The edges of the outline, each from its corner to the next, (n,) mm."""
        return next_of(self.outline) - self.outline

    @cached_property
    def turns_rad(self) -> Reals:
        """By how much the outline turns at each corner, (n,) radians, without sign."""
        before = np.concatenate([self.along[-1:], self.along[:-1]])
        return np.asarray(np.abs(np.angle(self.along * np.conj(before))))

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, right, near and far ends in plan, mm."""
        x, y = self.outline.real, self.outline.imag
        return float(x.min()), float(x.max()), float(y.min()), float(y.max())

    def moved(self, by: complex = 0j, up_mm: float = 0.0) -> UprightPrism:
        """Return the body moved in plan and up, mm."""
        return self.posed(by, 1 + 0j, up_mm)

    def posed(self, at: complex, turn: complex, up_mm: float) -> UprightPrism:
        """Return the body turned about the origin, then moved in plan and up, mm; turn: of length 1."""
        groove = self.groove
        if groove is not None:
            groove = (at + turn * groove[0], at + turn * groove[1], groove[2])
        return replace(
            self,
            outline=at + turn * self.outline,
            bottom_mm=self.bottom_mm + up_mm,
            top_mm=self.top_mm + up_mm,
            holes=tuple(at + turn * hole for hole in self.holes),
            marks=tuple((name, at + turn * line) for name, line in self.marks),
            groove=groove,
        )

    def turned_over(self) -> UprightPrism:
        """Return the body turned over about its own x axis; marks and groove are then below."""
        return replace(
            self,
            outline=np.conj(self.outline)[::-1],
            bottom_mm=-self.top_mm,
            top_mm=-self.bottom_mm,
            holes=tuple(np.conj(hole)[::-1] for hole in self.holes),
            marks=(),
            groove=None,
        )


def next_of(corners: Points) -> Points:
    """Return the corner after each one of a closed contour, (n,) -> (n,) mm."""
    return np.concatenate([corners[1:], corners[:1]])


def coarse(corners: Points) -> Points:
    """Return a closed contour with fewer corners, counterclockwise, (n,) -> (m,) mm."""
    from shapely import Polygon  # kept off the start-up path

    size = float(np.abs(corners - corners.mean()).max())
    allowed = min(COARSE_MM, FINE_SHARE * size)
    ring = Polygon(np.column_stack([corners.real, corners.imag])).simplify(allowed)
    found = np.asarray(ring.exterior.coords)[:-1] @ np.array([1, 1j])
    return counterclockwise(found)


def counterclockwise(corners: Points) -> Points:
    """Return a closed contour counterclockwise, (n,) mm."""
    area = float((np.conj(corners) * next_of(corners)).imag.sum())
    return corners if area > 0 else corners[::-1]


def contour_of(path: BulgePath) -> Points:
    """Return the contour of a path with the corners that a picture needs, (n,) mm."""
    return coarse(np.asarray(path.flattened(COARSE_MM / 4) @ np.array([1, 1j])))


def round_prism(radius_mm: float, heights_mm: tuple[float, float], name: str = "") -> UprightPrism:
    """Return a round body about the origin between two heights, mm."""
    return UprightPrism(contour_of(circle(radius_mm)), *heights_mm, name)


def part_prisms(part: MadePart, name: str = "") -> tuple[UprightPrism, ...]:
    """Return the bodies of a made part in its own frame: the main one first, then what stands on it."""
    name = name or part.code
    groove = part.groove
    flanks = None
    if groove is not None:
        flanks = (_ring(groove.inner), _ring(groove.outer), groove.depth_mm)
    main = UprightPrism(
        outline=_ring(part.outline),
        bottom_mm=0.0,
        top_mm=part.thickness_mm,
        name=name,
        holes=tuple(contour_of(hole) for hole in part.holes),
        marks=tuple(_marks(part)),
        groove=flanks,
    )
    return (main, *_raised(part, name))


def _ring(ring: Ring) -> Points:
    return coarse(np.asarray(ring @ np.array([1, 1j])))


def _marks(part: MadePart) -> Iterator[tuple[str, Points]]:
    for name in SHOWN_MARKS:
        for line in part.marks.groups.get(name, ()):
            yield name, np.asarray(line)


def _raised(part: MadePart, name: str) -> Iterator[UprightPrism]:
    """Yield what stands on the main body: above it, where it does not pass beside it."""
    for body in part.raised:
        outline = contour_of(body.path)
        low = body.bottom_mm if _is_outside(outline, part) else max(body.bottom_mm, part.thickness_mm)
        holes = tuple(contour_of(hole) for hole in part.holes[:1]) if body.name in WITH_BORE else ()
        is_peg = body.name == "peg"
        yield UprightPrism(outline, low, body.top_mm, name, holes, inside=ROD if is_peg else SOLID)
    for peg in part.dogs.pegs if part.dogs else ():
        yield UprightPrism(contour_of(peg), part.thickness_mm, part.top_mm, name, inside=ROD)


WITH_BORE = ("collar", "post")
"""Bodies on a part that its first hole goes through."""


def _is_outside(outline: Points, part: MadePart) -> bool:
    """Return whether a contour passes beside the main body in plan."""
    reach = part.contour.largest_radius
    return bool(np.abs(outline).max() > reach + COARSE_MM)


def lifted(prisms: Iterable[UprightPrism], up_mm: float) -> tuple[UprightPrism, ...]:
    """Return bodies moved up, mm."""
    return tuple(one.moved(up_mm=up_mm) for one in prisms)


def as_new(prisms: Iterable[UprightPrism]) -> tuple[UprightPrism, ...]:
    """Return bodies as what a step adds."""
    return tuple(replace(one, is_new=True) for one in prisms)
