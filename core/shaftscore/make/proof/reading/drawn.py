"""A part read as a drawing: lines on layers, in plan view as seen from the top."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import PROOF_SHAPE_MM
from shaftscore.base.wording import counted, millimetres
from shaftscore.make.proof.expected import CLOSED_LAYERS, OPEN_LAYERS, ExpectedPart, Place, engraved
from shaftscore.make.proof.faults import FileFault
from shaftscore.make.proof.reading.contents import LARGEST_MM, refuse_far
from shaftscore.make.proof.rim import Points, ReadRim, RimError, rim_of_rings, ring_area

DRAWN_MM = 1e-4
"""Chord error with which arcs are read."""

SAME_MM = 1e-9
"""Points nearer than this are one point."""

STRAIGHT = 1e-9
"""An arc with a smaller bulge is a straight line."""

MOST_POINTS, MOST_LINES = 500_000, 5_000
"""Most points and lines of one drawing: a fit coupon has 200 lines."""


@dataclass(frozen=True)
class DrawnLine:
    """A line of a drawing: its layer, complex vertices (n,), mm, and bulges (n,) of the pieces after them.

    A bulge is the tangent of a quarter of an arc's angle, positive counterclockwise, 0 for a straight piece.
    """

    layer: str
    vertices: Points
    bulges: npt.NDArray[np.float64]
    closed: bool

    @property
    def length_mm(self) -> float:
        """Distance of its first vertex from its last one."""
        return float(abs(self.vertices[-1] - self.vertices[0])) if len(self.vertices) else 0.0


@dataclass(frozen=True)
class _Flattened:
    """A line as points (m,), mm, within DRAWN_MM of its arcs."""

    points: Points
    closed: bool


def _counts(line: DrawnLine, where: str) -> npt.NDArray[np.float64]:
    """Return how many points each piece of a line takes, (n,); raises RimError where it reaches too far."""
    refuse_far(np.column_stack([line.vertices.real, line.vertices.imag]), where)
    if not np.isfinite(line.bulges).all():
        raise RimError(f"{where}: a bulge is not finite")
    chord = np.abs(np.roll(line.vertices, -1) - line.vertices)
    bulge = np.abs(line.bulges)
    is_arc = (bulge > STRAIGHT) & (chord > 0)
    bulge, chord = np.where(is_arc, bulge, 1.0), np.where(is_arc, chord, 1.0)
    radius = chord * (bulge + 1 / bulge) / 4
    if np.any((bulge > 1) & (radius > LARGEST_MM)):
        raise RimError(
            f"{where}: an arc reaches to {radius.max():,.4g} mm; {LARGEST_MM:,.0f} mm are the most"
        )
    step = 2 * np.sqrt(2 * DRAWN_MM / radius)
    return np.asarray(np.where(is_arc, np.maximum(2, np.ceil(4 * np.arctan(bulge) / step)), 1))


def _flattened(line: DrawnLine, counts: npt.NDArray[np.float64]) -> _Flattened:
    """Follow a line, so many points a piece."""
    ends = np.roll(line.vertices, -1)
    last = len(line.vertices) - (0 if line.closed else 1)
    pieces = [
        _piece(line.vertices[k], ends[k], float(line.bulges[k]), int(counts[k])) for k in range(max(0, last))
    ]
    if not line.closed:
        pieces.append(line.vertices[-1:])
    return _Flattened(np.concatenate([np.zeros(0, np.complex128), *pieces]), line.closed)


def _piece(start: complex, end: complex, bulge: float, count: int) -> Points:
    """Return the points of one piece without its end."""
    if count == 1:
        return np.array([start])
    centre = (start + end) / 2 + 1j * (end - start) * (1 / bulge - bulge) / 4
    turned: Points = np.exp(4j * math.atan(bulge) * np.arange(count) / count)
    return np.asarray(centre + (start - centre) * turned)


class DrawnPart:
    """Lines by layer; `where` names the drawing in errors."""

    chord_mm = DRAWN_MM

    def __init__(self, lines: Sequence[DrawnLine], where: str) -> None:
        """Take the lines; raises RimError if there are too many, or they have too many points."""
        if len(lines) > MOST_LINES:
            raise RimError(f"{where}: has {len(lines):,} lines; {MOST_LINES:,} are the most that are read")
        counts = [_counts(line, where) for line in lines]
        if sum(float(count.sum()) for count in counts) > MOST_POINTS:
            raise RimError(f"{where}: has over {MOST_POINTS:,} points, the most that are read")
        self.where = where
        self._lines: Mapping[str, list[_Flattened]] = {
            layer: [
                _flattened(line, count)
                for line, count in zip(lines, counts, strict=True)
                if line.layer == layer
            ]
            for layer in (*CLOSED_LAYERS, *OPEN_LAYERS)
        }

    @cached_property
    def digest(self) -> bytes:
        """A hash of all points as they were read."""
        hashed = hashlib.sha256()
        for layer, lines in self._lines.items():
            for line in lines:
                hashed.update(f"{layer} {line.closed} {len(line.points)}".encode() + line.points.tobytes())
        return hashed.digest()

    def structure(self, expected: ExpectedPart) -> list[FileFault]:
        """Return which layers hold other lines than they should, by number and kind."""
        return [*self._counts(expected), *self._centre()]

    def _counts(self, expected: ExpectedPart) -> Iterator[FileFault]:
        for layer, right in expected.closed_lines.items():
            lines = self._lines[layer]
            closed = sum(line.closed for line in lines)
            if closed != right:
                what = f"layer {layer} has {counted(closed, 'closed line')}, not {right}"
                yield FileFault("", "", what, closed - right, 0, "lines")
            if len(lines) > closed:
                extra = len(lines) - closed
                what = f"layer {layer} has {counted(extra, 'open line')} where there should be none"
                yield FileFault("", "", what, extra, 0, "lines")
        if self._lines["mark"] and not expected.shape.strokes:
            count = len(self._lines["mark"])
            what = f"layer mark has {counted(count, 'line')} where there should be none"
            yield FileFault("", "", what, count, 0, "lines")

    def _centre(self) -> Iterator[FileFault]:
        """Yield what is wrong with the lines through the axis, on one of which the zero mark lies."""
        lines = self._lines["centre"]
        off = [(np.abs(line.points.imag).max(), np.abs(line.points.real).max()) for line in lines]
        level, upright = ([pair[k] for pair in off if pair[k] <= PROOF_SHAPE_MM] for k in (0, 1))
        if len(lines) == 2 and len(level) == len(upright) == 1:
            return
        by = float(max((min(pair) for pair in off), default=0.0))
        what = f"layer centre has not just the two lines through the axis: off by {millimetres(by, 3)}"
        yield FileFault("", "", what, by, PROOF_SHAPE_MM, "mm")

    def has(self, place: Place) -> bool:
        """Return whether there is a line on a layer."""
        return isinstance(place, str) and bool(self._lines.get(place))

    def area(self, place: Place, expected: ExpectedPart) -> Any:
        """Return the area within a layer's lines, of marks what a tool covers along them.

        Raises RimError where a closed line crosses itself.
        """
        import shapely  # kept off the start-up path

        lines = self._lines[str(place)]
        if place == "mark":
            strokes = [_pairs(line.points) for line in lines if len(line.points) > 1]
            return engraved(strokes, expected.shape.stroke_mm)
        rings = [shapely.Polygon(_pairs(ring)) for ring in self._rings(str(place))]
        if not all(ring.is_valid for ring in rings):
            raise RimError(f"{self.where}: a line on layer {place} crosses itself")
        if place in ("dog", "step"):
            return shapely.union_all(rings)
        return rings[0].difference(shapely.union_all(rings[1:])) if rings else shapely.Polygon()

    def rim(self, low_mm: float, high_mm: float, *, grooved: bool = False) -> ReadRim:  # noqa: ARG002
        """Return the closed lines on layer `cut`, or on `groove`; raises RimError if there are none."""
        layer = "groove" if grooved else "cut"
        rings = list(self._rings(layer))
        if not rings:
            raise RimError(f"{self.where}: no closed line on its layer {layer}")
        return rim_of_rings(rings, outside=grooved)

    def _rings(self, layer: str) -> list[Points]:
        """Return the closed lines of a layer, largest first, without points that repeat."""
        found = [_distinct(line.points) for line in self._lines[layer] if line.closed]
        return sorted((ring for ring in found if len(ring) > 2), key=lambda ring: -abs(ring_area(ring)))


def _distinct(ring: Points) -> Points:
    """Drop points that repeat their predecessor, the closing point included."""
    return ring[np.abs(ring - np.roll(ring, 1)) > SAME_MM]


def _pairs(points: Points) -> npt.NDArray[np.float64]:
    return np.column_stack([points.real, points.imag])
