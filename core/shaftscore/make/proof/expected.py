"""What a reader must find of a part: faces at which heights, and which area at each place.

A *place* is a height of a solid, in mm, or a layer of a drawing. The area found there must hold all of
the *least* area and lie within the *most*: the area drawn, less and more the limit along every edge.
Between two neighbouring faces the walls are upright, so one height shows the whole stretch; on a
chamfer the middle is looked at, with a wider limit for its edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from shaftscore.base.tolerance import PROOF_MARK_MM, PROOF_SHAPE_MM
from shaftscore.make.proof.shape import PartShape
from shaftscore.make.solids.rings import Ring

Place = float | str
"""A height, mm, or the name of a layer."""

CLOSED_LAYERS = ("cut", "groove", "dog", "step")
"""Layers of a drawing that hold closed lines only."""

OPEN_LAYERS = ("mark", "centre")
"""Layers of a drawing that hold open lines only."""

THIN_MM = 2 * PROOF_SHAPE_MM
"""Stretches between two faces that are thinner than this are not looked at by themselves."""

CHAMFER_SHARE = 0.25
"""The middle of a chamfer may lie off by this share of it: sharp crests round it."""


@dataclass(frozen=True)
class ExpectedEdge:
    """A line of the part that a fault can name: "contour", "bore", "pocket 1" and so on.

    area: what it bounds once that is moved outward by by_mm.
    """

    name: str
    area: Any
    by_mm: float = 0.0

    @property
    def line(self) -> Any:
        """The line, which is made where a fault is named."""
        return _moved(self.area, self.by_mm).boundary


@dataclass(frozen=True)
class ExpectedArea:
    """What must be found at a place; least, most: prepared areas. limit_mm: along its edges."""

    place: Place
    least: Any
    most: Any
    edges: tuple[ExpectedEdge, ...]
    limit_mm: float

    @property
    def title(self) -> str:
        """The place, for a sentence."""
        return f"on layer {self.place}" if isinstance(self.place, str) else f"at z = {self.place:.2f} mm"


@dataclass(frozen=True)
class _Band:
    """An area with its limits: what must be there, and what may be."""

    least: Any
    most: Any

    @staticmethod
    def about(area: Any, limit_mm: float) -> _Band:
        """Return an area with the limit along its edges."""
        return _Band(_moved(area, -limit_mm), _moved(area, limit_mm))

    def less(self, other: _Band) -> _Band:
        """Cut an area out."""
        return _Band(self.least.difference(other.most), self.most.difference(other.least))


class ExpectedPart:
    """What a reader must find of a part; areas are made when they are first read."""

    def __init__(self, shape: PartShape, *, drawn: bool) -> None:
        """Take the shape; drawn: a drawing with layers is read, else a solid."""
        self.shape = shape
        self.drawn = drawn
        self.limit_mm = PROOF_SHAPE_MM + shape.slack_mm
        self.mark_limit_mm = PROOF_MARK_MM + shape.slack_mm
        self._bands: dict[tuple[tuple[int, ...], float], _Band] = {}
        self._polygons: dict[int, Any] = {}

    @cached_property
    def levels_mm(self) -> tuple[float, ...]:
        """Heights of all faces, ascending; two nearer than a hair are one."""
        shape, top = self.shape, self.shape.thickness_mm
        found = {0.0, top}
        found |= {shape.top_mm} if shape.pegs else set()
        found |= {shape.pocket_mm} if shape.pockets else set()
        found |= {top - shape.groove_mm} if shape.groove is not None else set()
        found |= {top - shape.mark_mm} if shape.strokes else set()
        ends = {end for body in (*shape.raised, *shape.sunk) for end in (body.bottom_mm, body.top_mm)}
        found |= {end for end in ends if 0.0 < end < shape.top_mm} | {shape.top_mm}
        return tuple(sorted(found))

    @cached_property
    def slopes_mm(self) -> tuple[tuple[float, float], ...]:
        """Stretches of height within which walls may lean: the chamfers."""
        shape, top = self.shape, self.shape.thickness_mm
        c, foot, tip = shape.chamfer_mm, shape.foot_mm, shape.tip_mm if shape.pegs else 0.0
        tips = top + shape.peg_mm
        stretches = ((0.0, c), (0.0, foot), (top - c, top), (tips - tip, tips))
        return tuple((low, high) for low, high in stretches if high > low)

    @cached_property
    def areas(self) -> tuple[ExpectedArea, ...]:
        """What must be found at each place."""
        made = self._layers() if self.drawn else (self._cross_section(z) for z in self._heights())
        return tuple(made)

    @cached_property
    def closed_lines(self) -> dict[str, int]:
        """Number of closed lines on each layer of a drawing."""
        shape = self.shape
        return {
            "cut": 1 + len(shape.holes),
            "groove": 2 if shape.groove else 0,
            "dog": len(shape.pegs),
            "step": len(shape.raised) + len(shape.sunk),
        }

    def _heights(self) -> Iterator[float]:
        """Yield a height in each stretch between faces and ends of chamfers; the middle of a thin part."""
        ends = {*self.levels_mm, *(end for slope in self.slopes_mm for end in slope)}
        stretches = [(low, high) for low, high in pairwise(sorted(ends)) if high - low > THIN_MM]
        yield from ((low + high) / 2 for low, high in stretches or [(0.0, self.shape.thickness_mm)])

    def _cross_section(self, z: float) -> ExpectedArea:
        shape, top = self.shape, self.shape.thickness_mm
        if z > top:
            standing = shape.pegs if z < top + shape.peg_mm else ()
            inset = max(0.0, z - (top + shape.peg_mm - shape.tip_mm))
            edges = list(self._named("peg", standing, -inset))
            return self._section(z, self._together(standing, -inset), edges)
        inset = max(0.0, max(shape.chamfer_mm, shape.foot_mm) - z, z - (top - shape.chamfer_mm))
        band = self._within(shape.contour, -inset)
        edges = list(self._named("contour", (shape.contour,), -inset))
        if shape.groove is not None and z > top - shape.groove_mm:
            mouth = max(0.0, z - (top - shape.chamfer_mm)) if shape.chamfer_mm else 0.0
            inner, outer = (
                self._within(ring, way * mouth) for ring, way in zip(shape.groove, (-1, 1), strict=True)
            )
            band = _Band(
                band.least.difference(outer.most).union(band.least.intersection(inner.least)),
                band.most.difference(outer.least).union(band.most.intersection(inner.most)),
            )
            edges += self._named("groove, inner flank", shape.groove[:1], -mouth)
            edges += self._named("groove, outer flank", shape.groove[1:], mouth)
        if shape.strokes and z > top - shape.mark_mm:
            band = band.less(_Band.about(self._engraved, self.mark_limit_mm))
            edges.append(ExpectedEdge("marks", self._engraved))
        if z < shape.pocket_mm:
            band = self._without(band, shape.pockets, self._flare(z))
            edges += self._named("pocket", shape.pockets, self._flare(z))
        return self._section(z, band, edges)

    def _flare(self, z: float) -> float:
        """Return by how much openings in the bottom face are wider at a height, mm: their foot chamfers."""
        return max(0.0, self.shape.foot_mm - z)

    def _section(self, z: float, band: _Band, edges: list[ExpectedEdge]) -> ExpectedArea:
        """Add what stands at a height, cut what is sunk there, and the holes, which go through everything."""
        for body in self.shape.raised:
            if body.bottom_mm < z < body.top_mm:
                own = self._within(body.ring, 0.0)
                band = _Band(band.least.union(own.least), band.most.union(own.most))
                edges += self._named(body.name, (body.ring,))
        for body in self.shape.sunk:
            if body.bottom_mm < z < body.top_mm:
                flare = self._flare(z) if body.bottom_mm <= 0 else 0.0
                band = self._without(band, (body.ring,), flare)
                edges += self._named(body.name, (body.ring,), flare)
        holes, flare = self.shape.holes, self._flare(z)
        band = self._without(band, holes, flare)
        edges += self._named("bore" if len(holes) == 1 else "hole", holes, flare)
        return _area(z, band, edges, self.limit_mm)

    def _layers(self) -> Iterator[ExpectedArea]:
        shape = self.shape
        band = self._without(self._within(shape.contour, 0.0), shape.holes)
        holes = self._named("bore" if len(shape.holes) == 1 else "hole", shape.holes)
        yield _area("cut", band, [*self._named("contour", (shape.contour,)), *holes], self.limit_mm)
        if shape.groove is not None:
            inner, outer = (self._within(ring, 0.0) for ring in shape.groove)
            band = _Band(outer.least.difference(inner.most), outer.most.difference(inner.least))
            edges = [
                *self._named("inner flank", shape.groove[:1]),
                *self._named("outer flank", shape.groove[1:]),
            ]
            yield _area("groove", band, edges, self.limit_mm)
        if shape.pegs:
            yield _area(
                "dog", self._together(shape.pegs), list(self._named("peg", shape.pegs)), self.limit_mm
            )
        bodies = (*shape.raised, *shape.sunk)
        if bodies:
            rings = tuple(body.ring for body in bodies)
            edges = [edge for body in bodies for edge in self._named(body.name, (body.ring,))]
            yield _area("step", self._together(rings), edges, self.limit_mm)
        if shape.strokes:
            marks = self._engraved
            band = _Band.about(marks, self.mark_limit_mm)
            yield _area("mark", band, [ExpectedEdge("marks", marks)], self.mark_limit_mm)

    def _together(self, rings: tuple[Ring, ...], by_mm: float = 0.0) -> _Band:
        """Return the area of several outlines together, moved outward; the same object every time."""
        from shapely import union_all  # kept off the start-up path

        key = (tuple(map(id, rings)), round(by_mm, 9))
        if key not in self._bands:
            limit = self._limit(by_mm)
            drawn = [self._polygon(ring) for ring in rings]
            areas = ([_moved(one, by_mm + by) for one in drawn] for by in (-limit, limit))
            self._bands[key] = _Band(*(each[0] if len(each) == 1 else union_all(each) for each in areas))
        return self._bands[key]

    def _polygon(self, ring: Ring) -> Any:
        """Return what a ring encloses, the same object every time."""
        if id(ring) not in self._polygons:
            self._polygons[id(ring)] = _polygon(ring)
        return self._polygons[id(ring)]

    def _limit(self, by_mm: float) -> float:
        """Return the limit along a ring that is moved: moved ones have a wider one."""
        shape = self.shape
        widest = max(shape.chamfer_mm, shape.foot_mm, shape.tip_mm)
        return self.limit_mm + CHAMFER_SHARE * widest * (by_mm != 0)

    def _within(self, ring: Ring, by_mm: float) -> _Band:
        """Return what lies within a ring that is moved outward."""
        return self._together((ring,), by_mm)

    def _without(self, band: _Band, rings: tuple[Ring, ...], by_mm: float = 0.0) -> _Band:
        """Cut rings, moved outward, out of an area."""
        return band.less(self._together(rings, by_mm)) if rings else band

    def _named(self, name: str, rings: tuple[Ring, ...], by_mm: float = 0.0) -> Iterator[ExpectedEdge]:
        for number, ring in enumerate(rings, start=1):
            title = f"{name} {number}" if len(rings) > 1 else name
            yield ExpectedEdge(title, self._polygon(ring), by_mm)

    @cached_property
    def _engraved(self) -> Any:
        """The area that the marks take."""
        return engraved(list(self.shape.strokes), self.shape.stroke_mm)


def engraved(strokes: list[Ring], width_mm: float) -> Any:
    """Return the area that a round tool covers along strokes, (n, 2) mm each."""
    from shapely import LineString, union_all  # kept off the start-up path

    return union_all([LineString(stroke).buffer(width_mm / 2) for stroke in strokes])


def _area(place: Place, band: _Band, edges: list[ExpectedEdge], limit_mm: float) -> ExpectedArea:
    from shapely import prepare  # kept off the start-up path

    prepare(band.most)
    return ExpectedArea(place, band.least, band.most, tuple(edges), limit_mm)


def _polygon(ring: Ring) -> Any:
    """Return what a ring encloses; one that crosses itself encloses what its sound parts do."""
    from shapely import Polygon  # kept off the start-up path

    drawn = Polygon(ring)
    return drawn if drawn.is_valid else drawn.buffer(0)


def _moved(area: Any, by_mm: float) -> Any:
    return area if by_mm == 0 else area.buffer(by_mm, join_style="mitre")
