"""The room for marks on the top face of a disc, in plan view.

Marks keep clear of the bore, of dogs and pins, of one another, and of the edge of the face by a margin that
is wider than the chamfer, so that none ever reaches the running edge. Room is requested as *boxes*: a
box lies in a direction (degrees counterclockwise from the zero mark), begins at a radius, and has a
length outward and a width across. Lines are middle lines of strokes.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.make.solids.dogged import DogShapes
from shaftscore.make.solids.rings import Ring
from shaftscore.make.solids.strokes import Polyline
from shaftscore.stack import BulgePath

MARGIN_MM = 1.0
"""Least web between a mark and the bore, the dogs or the edge of the face."""

SAMPLE_MM = 0.2
"""Edges and strokes are looked at this densely."""

HALVINGS = 20
"""Steps in which the largest scale of a box is found."""

LARGEST_SCALE = 4.0
"""No box is made larger than this many times what was requested."""


@dataclass
class Face:
    """The room for marks; see the module's text.

    inner_mm: radius about the axis that must stay free. edge: of the face. margin_mm: to be kept from
    it. width_mm: of the strokes. obstacles: sampled outlines of what is on the face.
    """

    inner_mm: float
    edge: Ring
    margin_mm: float
    width_mm: float
    obstacles: Polyline

    def __post_init__(self) -> None:
        """Sample the edge; nothing is drawn yet."""
        self._edge = sampled(self.edge[:, 0] + 1j * self.edge[:, 1], closed=True)
        self._drawn: Polyline = np.zeros(0, np.complex128)
        self._direction_deg, self._ahead = math.nan, self._drawn

    @staticmethod
    def choices(
        holes: Sequence[BulgePath],
        dogs: DogShapes | None,
        edge: Ring,
        chamfer_mm: float,
        width_mm: float,
    ) -> list[Face]:
        """Return the faces to choose from: about the bore and, with dogs, also outside all of them.

        holes: the bore, then those of the pins. Small corrections for a printer stay within the margin.
        """
        margin = chamfer_mm + MARGIN_MM
        bore, *pins = holes
        inner = bore.largest_radius + MARGIN_MM
        beside_pins = _outlines(pins)
        if dogs is None:
            return [Face(inner, edge, margin, width_mm, beside_pins)]
        grown = dogs.grown_mm if dogs.grown_mm > MARGIN_MM / 2 else 0.0
        shapes = dogs.pockets if grown == 0 else (*dogs.printer_pockets, *dogs.printer_pegs)
        about = np.concatenate([_outlines(shapes), beside_pins])
        return [
            Face(inner, edge, margin, width_mm, about),
            Face(dogs.outer_mm + grown + MARGIN_MM, edge, margin, width_mm, beside_pins),
        ]

    def bare(self) -> Face:
        """Return the same face with nothing drawn on it."""
        return Face(self.inner_mm, self.edge, self.margin_mm, self.width_mm, self.obstacles)

    @property
    def line_mm(self) -> float:
        """Radius of the innermost line."""
        return self.inner_mm + self.width_mm / 2

    @property
    def clear_mm(self) -> float:
        """Radius of the outermost line that fits all round."""
        return float(np.abs(self._edge).min()) - self.margin_mm - self.width_mm / 2

    def reach(self, direction_deg: float, across_mm: float) -> float:
        """Radius, mm, to which lines may go in a strip of `across_mm` along a direction: the edge alone."""
        if direction_deg != self._direction_deg:  # many boxes are tried in one direction
            turned = self._edge * _turn(-direction_deg)
            self._direction_deg, self._ahead = direction_deg, turned[turned.real > 0]
        room = self.margin_mm + self.width_mm / 2
        ahead = self._ahead.real[np.abs(self._ahead.imag) <= across_mm / 2 + room]
        return float(ahead.min()) - room if len(ahead) else 0.0

    def fits(self, direction_deg: float, start_mm: float, outward_mm: float, across_mm: float) -> bool:
        """Return whether a box of lines is free."""
        if start_mm + outward_mm > self.reach(direction_deg, across_mm):
            return False
        turned = self._things(_turn(-direction_deg))
        beside = np.abs(turned.imag) <= across_mm / 2 + self._gap
        along = (turned.real >= start_mm - self._gap) & (turned.real <= start_mm + outward_mm + self._gap)
        return not bool((along & beside).any())

    def scale(self, direction_deg: float, start_mm: float, outward_mm: float, across_mm: float) -> float:
        """Largest scale (a factor) at which a box fits; 0 if none does."""
        low, high = 0.0, LARGEST_SCALE
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            fits = self.fits(direction_deg, start_mm, outward_mm * middle, across_mm * middle)
            low, high = (middle, high) if fits else (low, middle)
        return low

    def ring_fits(self, direction_deg: float, half_deg: float, low_mm: float, high_mm: float) -> bool:
        """Return whether a piece of a ring between two radii is free, `half_deg` to each side."""
        room = self.margin_mm + self.width_mm / 2
        edge = self._edge * _turn(-direction_deg)
        beside = np.abs(np.degrees(np.angle(edge))) <= half_deg + math.degrees(room / high_mm)
        if bool(np.any(beside & (np.abs(edge) < high_mm + room))):
            return False
        things = self._things(_turn(-direction_deg))
        radius = np.abs(things)
        near = (radius > low_mm - self._gap) & (radius < high_mm + self._gap)
        return not bool(
            np.any(
                near & (np.abs(np.degrees(np.angle(things))) <= half_deg + math.degrees(self._gap / low_mm))
            )
        )

    def draw(self, strokes: list[Polyline]) -> list[Polyline]:
        """Keep the room of strokes from further marks; gives them back."""
        self._drawn = np.concatenate([self._drawn, *(sampled(stroke, closed=False) for stroke in strokes)])
        return strokes

    @property
    def _gap(self) -> float:
        """Least distance between lines of different marks."""
        return 2.0 * self.width_mm

    def _things(self, turn: complex) -> Polyline:
        return np.concatenate([self.obstacles, self._drawn]) * turn


def _outlines(paths: Iterable[BulgePath]) -> Polyline:
    """Return points along closed outlines, (n,) mm."""
    flat = [path.flattened(SAMPLE_MM / 10) @ np.array([1, 1j]) for path in paths]
    return np.concatenate([np.zeros(0, np.complex128), *(sampled(ring, closed=True) for ring in flat)])


def _turn(degrees: float) -> complex:
    return cmath.exp(1j * math.radians(degrees))


def sampled(corners: Polyline, *, closed: bool) -> Polyline:
    """Return points along a line of straight pieces, at most SAMPLE_MM apart."""
    start = corners if closed else corners[:-1]
    along = (np.roll(corners, -1) if closed else corners[1:]) - start
    counts: npt.NDArray[np.int64] = np.maximum(1, np.ceil(np.abs(along) / SAMPLE_MM)).astype(np.int64)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(int(counts.sum())) - first) / np.repeat(counts, counts)
    points = np.repeat(start, counts) + share * np.repeat(along, counts)
    return np.asarray(points if closed else np.append(points, corners[-1]))
