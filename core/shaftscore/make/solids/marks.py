"""The marks on the top face of a disc, in plan view.

The *zero mark* is a radial line at +x. From it, counterclockwise along the edge of the face, runs a row
of dots that says the code by touch. The *code* of the lane stands above the bore and reads upright while
the zero mark points to the right; the word TOP stands to the left; below the bore an arc with a head
shows the way in which the stack turns; the *revision* sets versions of a disc apart. What finds no
room in its place goes to where the face is widest, letters with their feet towards the bore. Where dogs
leave no room for the zero mark, the long dog stands for it.

The row of dots holds the code's letters and then, after a gap, its number, both in binary from the
highest digit on: a large dot is a 1, a small one a 0. A counts 1, Z 26, AA 27.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from shaftscore.make.solids.face import Face
from shaftscore.make.solids.strokes import GRID_HEIGHT, Polyline, text_strokes, text_width
from shaftscore.stack import mark_depth

CODE_MM, TOP_MM, REVISION_MM = 8.0, 4.8, 4.0
"""Largest heights of the texts."""

EASY_MM = 5.0
"""A code at least this high stays where it is expected."""

LEAST_STROKES = 4.5
"""Letters lower than this many stroke widths cannot be read when they are printed."""

ARROW_HALF_DEG, ARROW_HEAD_MM = 34.0, 3.0
"""The arrow spans this much to each side of its middle; largest size of its head."""

CODE_DEG, TOP_DEG, ARROW_DEG, REVISION_DEG = 90.0, 180.0, 270.0, 315.0
"""Where the marks stand if there is room, degrees counterclockwise from the zero mark."""

STEP_DEG, STEP_MM = 7.5, 2.0
"""Steps between the directions and the radii that are tried."""

DOT_PITCH = 3.2
"""Distance of dots in stroke widths."""

LARGE_DOT = 0.44
"""Radius of the circle that a stroke draws for a large dot, in stroke widths."""

COSTS = {"zero mark": 100, "code": 100, "arrow of turn": 20, "word TOP": 5, "row of dots": 4, "revision": 1}
"""What it is worth to find room for each mark."""

SMALL_CODE = 30
"""What it costs to make the code smaller than is easy to read."""


@dataclass(frozen=True)
class Marks:
    """Strokes of one width on the top face, by what they say; empty for what found no room."""

    groups: Mapping[str, tuple[Polyline, ...]]
    width_mm: float
    depth_mm: float

    @property
    def strokes(self) -> tuple[Polyline, ...]:
        """All strokes."""
        return tuple(stroke for group in self.groups.values() for stroke in group)

    @property
    def missing(self) -> tuple[str, ...]:
        """What found no room."""
        return tuple(name for name, group in self.groups.items() if not group)


def no_marks() -> Marks:
    """Return the marks of a part that has none."""
    return Marks(MappingProxyType({}), 0.0, 0.0)


def stroke_width(nozzle_mm: float) -> float:
    """Width of a mark's stroke: two lines of the nozzle, at least 0.8 mm (common practice)."""
    return max(2 * nozzle_mm, 0.8)


@dataclass(frozen=True)
class Wording:
    """What a disc says: its code, its revision, and the way its stack turns (+1 or -1)."""

    code: str
    revision: str
    direction: int


def face_marks(wording: Wording, faces: Sequence[Face], thickness_mm: float) -> Marks:
    """Lay the marks of a disc out on the best of the faces (each as new), with or without dots."""
    tried = [_laid(wording, face.bare(), dots=dots) for face in faces for dots in (True, False)]
    groups = {name: tuple(group) for name, group in min(tried, key=_cost).items()}
    if len(faces) > 1 and not groups["zero mark"]:
        del groups["zero mark"]
    return Marks(MappingProxyType(groups), faces[0].width_mm, mark_depth(thickness_mm))


def _laid(wording: Wording, face: Face, *, dots: bool) -> dict[str, list[Polyline]]:
    """Draw every mark that finds room, by name; the first ones take room from the later ones."""
    return {
        "zero mark": _zero(face),
        "row of dots": _dots(face, wording.code) if dots else [],
        "code": _text(face, wording.code, CODE_DEG, CODE_MM, beside=False),
        "arrow of turn": _arrow(face, wording.direction),
        "word TOP": _text(face, "TOP", TOP_DEG, TOP_MM, beside=True),
        "revision": _text(face, wording.revision, REVISION_DEG, REVISION_MM, beside=False),
    }


def _cost(drawn: dict[str, list[Polyline]]) -> int:
    missing = sum(COSTS[name] for name, group in drawn.items() if not group)
    code = np.concatenate([*drawn["code"], np.zeros(1)])
    height = max((float(np.ptp(np.abs(stroke))) for stroke in drawn["code"]), default=0.0)
    return missing + (SMALL_CODE if len(code) > 1 and height < EASY_MM / 2 else 0)


def _zero(face: Face) -> list[Polyline]:
    """Draw the radial line, no longer than the circle that is free all round if that is long enough."""
    outer = face.reach(0.0, 0.0)
    if face.clear_mm - face.line_mm >= 2 * face.width_mm:
        outer = min(outer, face.clear_mm)
    start = face.line_mm
    while start < outer and not face.fits(0.0, start, outer - start, 0.0):
        start += face.width_mm / 2
    if outer - start < face.width_mm:
        return []
    return face.draw([np.array([start, outer], dtype=complex)])


def _dots(face: Face, code: str) -> list[Polyline]:
    """Draw the row of dots along the circle that is free all round."""
    bits = dot_row(code)
    radius = face.clear_mm - LARGE_DOT * face.width_mm
    step = DOT_PITCH * face.width_mm / radius if radius > face.line_mm else math.inf
    span = step * (len(bits) + 0.5)
    if span > math.pi:
        return []
    middle, half = math.degrees(span / 2 + step * 0.6), math.degrees(span / 2 - step * 0.6)
    if not face.ring_fits(middle, half, radius - LARGE_DOT * face.width_mm, face.clear_mm):
        return []
    places = ((radius * cmath.exp(1j * step * (place + 1)), bit) for place, bit in enumerate(bits))
    return face.draw([_dot(at, bit, face.width_mm) for at, bit in places if bit != " "])


def dot_row(code: str) -> str:
    """Return the row of dots of a code: 1 and 0, a blank for the gap between letters and number."""
    letters = code.rstrip("0123456789")
    value = 0
    for letter in letters:
        value = 26 * value + ord(letter) - ord("A") + 1
    return f"{value:b} {int(code[len(letters) :]):b}"


def _dot(at: complex, bit: str, width_mm: float) -> Polyline:
    if bit == "0":
        return np.array([at, at + 0.05 * at / abs(at)])
    return np.asarray(at + LARGE_DOT * width_mm * np.exp(2j * np.pi * np.arange(9) / 8))


def _places(first_deg: float) -> Iterable[float]:
    """Return directions, the wanted one first, then ever farther from it on both sides."""
    yield first_deg
    for step in range(1, round(180 / STEP_DEG) + 1):
        yield first_deg + step * STEP_DEG
        yield first_deg - step * STEP_DEG


def _starts(face: Face) -> list[float]:
    """Return the radii at which a box may begin, innermost first."""
    return [
        float(start) for start in np.arange(face.line_mm, max(face.clear_mm, face.line_mm + 0.1), STEP_MM)
    ]


def _text(face: Face, text: str, wanted_deg: float, largest_mm: float, *, beside: bool) -> list[Polyline]:
    """Write a text upright at its wanted place, above the bore or (`beside`) beside it.

    Where that leaves no easy height, it goes to the free place with the greatest one, feet to the bore.
    """
    height = _height(face, text, wanted_deg, face.line_mm, largest_mm, beside=beside)
    if height >= min(EASY_MM, largest_mm):
        return _write(face, text, wanted_deg, face.line_mm, height, beside=beside)
    best, height, start = wanted_deg, 0.0, face.line_mm
    for at in _places(wanted_deg):
        for begin in _starts(face):
            found = _height(face, text, at, begin, largest_mm)
            if found > height + 1e-6:
                best, height, start = at, found, begin
        if height >= largest_mm - 1e-6:
            break
    if height < LEAST_STROKES * face.width_mm:
        return []
    return _write(face, text, best, start, height)


def _box(text: str, height: float, *, beside: bool) -> tuple[float, float]:
    """Return the size of a text along a direction and across it."""
    wide = text_width(text) * height / GRID_HEIGHT
    return (wide, height) if beside else (height, wide)


def _height(
    face: Face, text: str, at_deg: float, start: float, largest: float, *, beside: bool = False
) -> float:
    """Largest height of a text whose box begins at a radius in a direction."""
    if face.fits(at_deg, start, *_box(text, largest, beside=beside)):
        return largest
    least = LEAST_STROKES * face.width_mm
    if not face.fits(at_deg, start, *_box(text, least, beside=beside)):
        return 0.0
    return min(largest, least * face.scale(at_deg, start, *_box(text, least, beside=beside)))


def _write(
    face: Face, text: str, at_deg: float, start: float, height: float, *, beside: bool = False
) -> list[Polyline]:
    """Write a text from a radius on, in the middle of the room: upright, or feet to the bore."""
    outward, across = _box(text, height, beside=beside)
    spare = 0.0
    while _has_spare(face, at_deg, (start, outward + 2 * spare + 1.0, across)):
        spare += 0.5
    middle = start + spare + outward / 2
    outer = cmath.exp(1j * math.radians(at_deg))
    turn = 1.0 if beside else -1j * outer
    return face.draw([middle * outer + stroke * turn for stroke in text_strokes(text, height)])


def _has_spare(face: Face, at_deg: float, box: tuple[float, float, float]) -> bool:
    """Return whether a box is free and lies within the circle that is free all round."""
    start, outward, across = box
    return math.hypot(start + outward, across / 2) <= face.clear_mm and face.fits(at_deg, *box)


def _arrow(face: Face, direction: int) -> list[Polyline]:
    """Draw an arc about the axis and a head at the end that leads."""
    for head in (ARROW_HEAD_MM, 0.7 * ARROW_HEAD_MM, 2 * face.width_mm):
        for at in _places(ARROW_DEG):
            if _arrow_fits(face, at, head):
                return face.draw(_arrow_strokes(face.line_mm + head, head, at, direction))
    return []


def _arrow_fits(face: Face, at_deg: float, head: float) -> bool:
    low, high = face.line_mm + 0.3 * head, face.line_mm + 1.7 * head
    return face.ring_fits(at_deg, ARROW_HALF_DEG, low, high)


def _arrow_strokes(radius: float, head: float, at_deg: float, direction: int) -> list[Polyline]:
    half = math.radians(ARROW_HALF_DEG)
    middle = radius * cmath.exp(1j * math.radians(at_deg))
    arc = middle * np.exp(1j * direction * half * np.linspace(-1, 1, 35))
    tip, along = arc[-1], 1j * direction * arc[-1] / radius
    barbs = [tip + head * along * np.exp(1j * math.radians(turn)) for turn in (142, -142)]
    return [arc, np.array([barbs[0], tip, barbs[1]])]
