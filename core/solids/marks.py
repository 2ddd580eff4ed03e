"""Where the marks stand on the top face of a disc, in plan view.

The zero mark is a radial line at +x. The lane's code stands above the bore and reads upright while the
zero mark points to the right; the word TOP stands to the left; below the bore an arc with a head shows
the way in which the stack turns. A small disc may have no room there: then a mark moves round the bore
to where the face is widest, letters with their feet towards the bore.

All marks stay on the *face*: outside the bore (and the dogs), inside the contour by a margin that is
wider than the chamfer, so that none ever reaches the running edge.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from core.angles import Arcs
from core.solids.rings import Ring
from core.solids.strokes import GRID_HEIGHT, Polyline, text_strokes, text_width

MARGIN_MM = 1.0
"""Least web between a mark and the bore, the dogs or the edge of the face."""

CODE_MM, TOP_MM = 8.0, 4.8
"""Largest height of the code and of the word TOP."""

EASY_MM = 5.0
"""A code at least this high stays where it is expected."""

LEAST_STROKES = 4.5
"""Letters lower than this many stroke widths cannot be read when they are printed."""

ARROW_HALF_DEG, ARROW_HEAD_MM = 34.0, 3.0
"""The arrow spans this much to each side of its middle; largest size of its head."""

CODE_DEG, TOP_DEG, ARROW_DEG = 90.0, 180.0, 270.0
"""Where the marks stand if there is room, degrees counterclockwise from the zero mark."""

STEP_DEG = 7.5
"""Angle between the places that are tried."""

SAMPLE_MM = 0.2
"""The edge of the face is looked at this densely."""


@dataclass(frozen=True)
class Marks:
    """Strokes of one width on the top face; `missing` says what found no room."""

    strokes: tuple[Polyline, ...]
    width_mm: float
    depth_mm: float
    missing: tuple[str, ...]


@dataclass
class Face:
    """The room for marks: from `inner_mm` about the axis to `margin_mm` inside the ring `edge`.

    width_mm: of the strokes. taken: directions in which marks stand already.
    """

    inner_mm: float
    edge: Ring
    margin_mm: float
    width_mm: float
    taken: Arcs = field(default_factory=Arcs.empty)

    def __post_init__(self) -> None:
        """Sample the edge, and know the circle that is free all round."""
        self._edge = _sampled(self.edge)
        self.clear_mm = float(np.abs(self._edge).min()) - self.margin_mm

    @property
    def line_mm(self) -> float:
        """Radius of the innermost middle line of a stroke."""
        return self.inner_mm + self.width_mm / 2

    def reach(self, direction_deg: float, across_mm: float) -> float:
        """Radius to which middle lines may go in a strip of `across_mm` along a direction."""
        turned = self._edge * cmath.exp(-1j * math.radians(direction_deg))
        room = self.margin_mm + self.width_mm / 2
        ahead = turned[(turned.real > 0) & (np.abs(turned.imag) <= across_mm / 2 + room)]
        return float(ahead.real.min()) - room if len(ahead) else 0.0

    def box_scale(self, direction_deg: float, outward: float, across: float) -> float:
        """Largest scale of a box `outward` by `across` that stands on the inner circle, by halving."""
        low, high = 0.0, 20.0
        for _ in range(24):
            middle = (low + high) / 2
            fits = self.line_mm + outward * middle <= self.reach(direction_deg, across * middle)
            low, high = (middle, high) if fits else (low, middle)
        return low

    def is_free(self, direction_deg: float, across_mm: float) -> bool:
        """Tell whether nothing stands in the sector that a box of this width on the inner circle takes."""
        return (self.taken & self._sector(direction_deg, across_mm)).length == 0

    def take(self, direction_deg: float, across_mm: float) -> None:
        """Keep the sector of such a box from further marks."""
        self.taken = self.taken | self._sector(direction_deg, across_mm)

    def _sector(self, direction_deg: float, across_mm: float) -> Arcs:
        half = math.degrees(math.atan2(across_mm / 2 + self.width_mm, self.line_mm))
        return Arcs.span(direction_deg - half, 2 * half)


def _sampled(ring: Ring) -> Polyline:
    """Give points on the edges of a ring, at most SAMPLE_MM apart."""
    start = ring[:, 0] + 1j * ring[:, 1]
    along = np.roll(start, -1) - start
    counts = np.maximum(1, np.ceil(np.abs(along) / SAMPLE_MM)).astype(int)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(counts.sum()) - first) / np.repeat(counts, counts)
    return np.asarray(np.repeat(start, counts) + share * np.repeat(along, counts))


def stroke_width(nozzle_mm: float) -> float:
    """Width of a mark's stroke: two lines of the nozzle, at least 0.8 mm (common practice)."""
    return max(2 * nozzle_mm, 0.8)


def mark_depth(thickness_mm: float) -> float:
    """Depth of the marks: 0.6 mm (three usual layers), on a thin disc two fifths of it."""
    return min(0.6, 0.4 * thickness_mm)


def face_marks(code: str, direction: int, face: Face, thickness_mm: float) -> Marks:
    """Lay the marks of a disc out; `direction` is +1 for a stack that turns counterclockwise."""
    drawn = {
        "zero mark": _zero(face),
        "code": _text(face, code, CODE_DEG, CODE_MM, beside=False),
        "arrow of turn": _arrow(face, direction),
        "word TOP": _text(face, "TOP", TOP_DEG, TOP_MM, beside=True),
    }
    strokes = tuple(stroke for group in drawn.values() for stroke in group)
    missing = tuple(name for name, group in drawn.items() if not group)
    return Marks(strokes, face.width_mm, mark_depth(thickness_mm), missing)


def _zero(face: Face) -> list[Polyline]:
    """Draw the radial line, no longer than the circle that is free all round if that is long enough."""
    outer = face.reach(0.0, 0.0)
    shorter = face.clear_mm - face.width_mm / 2
    if shorter - face.line_mm >= 2 * face.width_mm:
        outer = min(outer, shorter)
    face.take(0.0, face.width_mm)
    if outer - face.line_mm < face.width_mm:
        return []
    return [np.array([face.line_mm, outer], dtype=complex)]


def _places(first_deg: float) -> Iterable[float]:
    """Give directions, the wanted one first, then ever farther from it on both sides."""
    yield first_deg
    for step in range(1, round(180 / STEP_DEG) + 1):
        yield first_deg + step * STEP_DEG
        yield first_deg - step * STEP_DEG


def _text(face: Face, text: str, wanted_deg: float, largest_mm: float, *, beside: bool) -> list[Polyline]:
    """Write a text upright at its wanted place, above the bore or (`beside`) beside it.

    Where that leaves no easy height, it goes to the free place with the greatest one, feet to the bore.
    """
    height = _free_height(face, text, wanted_deg, largest_mm, beside=beside)
    if height >= min(EASY_MM, largest_mm):
        return _write(face, text, wanted_deg, height, beside=beside)
    heights = {at: _free_height(face, text, at, largest_mm) for at in _places(wanted_deg)}
    best = max(heights, key=lambda at: heights[at])
    if heights[best] < LEAST_STROKES * face.width_mm:
        return []
    return _write(face, text, best, heights[best])


def _box(text: str, height: float, *, beside: bool) -> tuple[float, float]:
    """Give the size of a text along a direction and across it."""
    wide = text_width(text) * height / GRID_HEIGHT
    return (wide, height) if beside else (height, wide)


def _free_height(
    face: Face, text: str, direction_deg: float, largest_mm: float, *, beside: bool = False
) -> float:
    """Largest height of a text in a direction; 0 where something stands."""
    box = _box(text, GRID_HEIGHT, beside=beside)
    height = min(largest_mm, GRID_HEIGHT * face.box_scale(direction_deg, *box))
    return height if face.is_free(direction_deg, _box(text, height, beside=beside)[1]) else 0.0


def _write(
    face: Face, text: str, direction_deg: float, height: float, *, beside: bool = False
) -> list[Polyline]:
    """Write a text in the middle of the room in a direction: upright beside the bore, else feet to it."""
    outward, across = _box(text, height, beside=beside)
    spare = min(face.reach(direction_deg, across), face.clear_mm) - face.line_mm - outward
    middle = face.line_mm + outward / 2 + max(0.0, spare) / 2
    face.take(direction_deg, across)
    outer = cmath.exp(1j * math.radians(direction_deg))
    turn = 1.0 if beside else -1j * outer
    return [middle * outer + stroke * turn for stroke in text_strokes(text, height)]


def _arrow(face: Face, direction: int) -> list[Polyline]:
    """Draw an arc about the axis and a head at the end that leads."""
    best, head = ARROW_DEG, _arrow_head(face, ARROW_DEG)
    if head < 2 * face.width_mm:
        head, place = max((_arrow_head(face, at), -index) for index, at in enumerate(_places(ARROW_DEG)))
        best = list(_places(ARROW_DEG))[-place]
    if head < 2 * face.width_mm:
        return []
    radius = face.line_mm + head
    face.take(best, _arrow_across(face))
    half = math.radians(ARROW_HALF_DEG)
    middle = radius * cmath.exp(1j * math.radians(best))
    arc = middle * np.exp(1j * direction * half * np.linspace(-1, 1, 35))
    tip, along = arc[-1], 1j * direction * arc[-1] / radius
    barbs = [tip + head * along * np.exp(1j * math.radians(turn)) for turn in (142, -142)]
    return [arc, np.array([barbs[0], tip, barbs[1]])]


def _arrow_across(face: Face) -> float:
    """Width of a box on the inner circle that takes the arrow's sector."""
    return 2 * face.line_mm * math.tan(math.radians(ARROW_HALF_DEG + 4.0))


def _arrow_head(face: Face, direction_deg: float) -> float:
    """Size of the head that fits along the whole arc in a direction; 0 where something stands."""
    if not face.is_free(direction_deg, _arrow_across(face)):
        return 0.0
    spread = np.linspace(-ARROW_HALF_DEG, ARROW_HALF_DEG, 9)
    outer = min(face.reach(direction_deg + float(by), face.width_mm) for by in spread)
    return min(ARROW_HEAD_MM, (outer - face.line_mm) / 1.7)
