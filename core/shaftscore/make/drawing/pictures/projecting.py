"""Upright prisms painted in parallel projection, seen from the front and from above.

Frame of a picture: x to the right, y up, mm before scaling; what is farther back is farther up. A lower body
never hides a higher one, so a body is painted whole: its walls that face the looker, then its top with what
is cut into it and engraved on it. `hiding` says in which order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.layout.placed import Points
from shaftscore.make.drawing.pictures.hiding import SeenPrism, painted_order
from shaftscore.make.drawing.pictures.prisms import UprightPrism
from shaftscore.make.drawing.scene import Mark, Path, Stroke, Tone

ELEVATION_RAD = math.radians(24.0)
"""Height from which one looks."""

UP, BACK = math.cos(ELEVATION_RAD), math.sin(ELEVATION_RAD)
"""By how much 1 mm up, and 1 mm back, is up the picture."""

SHARP_RAD = math.radians(28.0)
"""Corners at which a contour turns by more are edges, and drawn."""

MANY_EDGES = 24
"""Contours with more edges than this have teeth."""

LIGHT = -0.35
"""Walls whose normal points to the left by more than this are in the light."""


@dataclass(frozen=True)
class PictureStyle:
    """How bodies that are there already are lined; what is new is always bold, in its own tones."""

    line: Stroke
    mark: Stroke


COVER = PictureStyle(Stroke("ink", "outline"), Stroke("ink", "bold"))
"""Of a picture of a machine."""

BEFORE = PictureStyle(Stroke("muted", "hair"), Stroke("muted", "outline"))
"""Of what the steps before have built."""

NEW = PictureStyle(Stroke("new", "bold"), Stroke("new", "bold"))
"""Of what a step adds."""


def seen(points: Points, z_mm: float) -> Points:
    """Return points at a height as they are seen, (n,) -> (n,) mm."""
    return np.asarray(points.real + 1j * (z_mm * UP + points.imag * BACK))


def seen_point(point: complex, z_mm: float) -> complex:
    """Return a point at a height as it is seen, mm."""
    return complex(point.real, z_mm * UP + point.imag * BACK)


def painted(prisms: Sequence[UprightPrism], style: PictureStyle = COVER) -> Iterator[Mark]:
    """Yield the marks of bodies, those that others hide first."""
    for one in painted_order(prisms, BACK / UP):
        yield from _body(one, NEW if one.prism.is_new else style)


def _body(body: SeenPrism, style: PictureStyle) -> Iterator[Mark]:
    if _is_toothed(body.prism.outline):
        style = replace(style, line=replace(style.line, weight="hair"))
    yield from _walls(body, body.prism.outline, style)
    if body.has_top:
        yield from _top(body.prism, style)


def _top(prism: UprightPrism, style: PictureStyle) -> Iterator[Mark]:
    """Yield the top face with what is cut into it, then what is engraved on it."""
    z, face, _, shade = prism.top_mm, *_tones(prism)
    yield _face(seen(prism.outline, z), style, face, prism.name)
    if prism.groove is not None:
        yield from _groove(prism, prism.groove, style)
    for hole in prism.holes:
        yield _face(seen(hole, z), style, shade, prism.name)
    for name, line in prism.marks:
        yield Path(seen(line, z), style.mark if name == "zero mark" else style.line, name=name)


def _tones(prism: UprightPrism) -> tuple[Tone, Tone, Tone]:
    """Return the tones of the top, of walls in the light and of others."""
    return ("new-face", "new-face", "new-shade") if prism.is_new else ("paper", "face", "shade")


def _face(corners: Points, style: PictureStyle, fill: Tone, name: str) -> Path:
    return Path(corners, style.line, closed=True, fill=fill, name=name)


def _walls(body: SeenPrism, outline: Points, style: PictureStyle) -> Iterator[Path]:
    """Yield the walls that face the looker, those farther back first."""
    prism = body.prism
    low, high = seen(outline, prism.bottom_mm), seen(outline, prism.top_mm)
    _, light, shade = _tones(prism)
    lit = _is_lit(outline)
    for start, end in _stretches(outline):
        places = np.arange(start, end + 1) % len(outline)
        for first, last in _even(lit[places[:-1]]):
            part = places[first : last + 1]
            fill = light if lit[part[0]] else shade
            wall = np.concatenate([low[part], high[part][::-1]])
            yield Path(wall, None, closed=True, fill=fill, name=prism.name)
        yield from _edges(low[places], high[places], body, style)


def _edges(below: Points, above: Points, body: SeenPrism, style: PictureStyle) -> Iterator[Path]:
    """Yield the lines about a wall: its upright ends, and its lower edge where it is a real one."""
    if body.has_bottom:
        line = np.concatenate([above[:1], below, above[-1:]])
        yield Path(line, style.line, name=body.prism.name)
        return
    for place in (0, -1):
        yield Path(np.array([above[place], below[place]]), style.line, name=body.prism.name)


def _even(lit: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Yield stretches of edges that are alike, as (first, last + 1)."""
    ends = [0, *(np.nonzero(lit[1:] != lit[:-1])[0] + 1).tolist(), len(lit)]
    yield from pairwise(ends)


def _turns(outline: Points) -> npt.NDArray[np.float64]:
    """Return by how much a contour turns at each corner, (n,) radians."""
    along = np.roll(outline, -1) - outline
    return np.asarray(np.abs(np.angle(along * np.conj(np.roll(along, 1)))))


def _is_toothed(outline: Points) -> bool:
    """Return whether a contour has teeth."""
    return int(np.count_nonzero(_turns(outline) > SHARP_RAD)) > MANY_EDGES


def _is_lit(outline: Points) -> npt.NDArray[np.bool_]:
    """Return which edges are in the light, (n,); of teeth, by where they are on the wheel."""
    along = np.roll(outline, -1) - outline
    normal = -1j * along
    if _is_toothed(outline):
        normal = (outline + np.roll(outline, -1)) / 2 - outline.mean()
    return np.asarray(normal.real < LIGHT * np.abs(normal))


def _stretches(outline: Points) -> list[tuple[int, int]]:
    """Return smooth stretches of edges that face the looker as (first, last + 1), farther back first.

    One may run on past the end of the contour.
    """
    front = (np.roll(outline, -1) - outline).real > 1e-9  # its outward normal then points to the looker
    sharp, count = _turns(outline) > SHARP_RAD, len(outline)
    found = []
    for start in np.nonzero(front & (~np.roll(front, 1) | sharp))[0].tolist():
        end = start + 1
        while end - start < count and front[end % count] and not sharp[end % count]:
            end += 1
        found.append((start, end))
    return sorted(found, key=lambda one: -float(max(outline.imag[one[0]], outline.imag[one[1] % count])))


def _groove(prism: UprightPrism, groove: tuple[Points, Points, float], style: PictureStyle) -> Iterator[Path]:
    """Yield the mouth, the floor and the near wall of a groove, as far as its mouth lets them be seen."""
    inner, outer, depth = groove
    face, _, shade = _tones(prism)
    mouth, floor = seen(outer, prism.top_mm), prism.top_mm - depth
    yield _face(mouth, style, shade, prism.name)
    for part in _common(seen(outer, floor), mouth):
        yield _face(part, style, face, prism.name)
    low, high = seen(inner, floor), seen(inner, prism.top_mm)
    for start, end in _stretches(inner):
        places = np.arange(start, end + 1) % len(inner)
        for part in _common(np.concatenate([low[places], high[places][::-1]]), mouth):
            yield _face(part, style, shade, prism.name)
    yield _face(high, style, face, prism.name)


def _common(area: Points, mouth: Points) -> Iterator[Points]:
    """Yield what two areas have in common."""
    from shapely import Polygon, get_parts  # kept off the start-up path

    one, other = (Polygon(np.column_stack([ring.real, ring.imag])).buffer(0) for ring in (area, mouth))
    for piece in get_parts(one.intersection(other)):
        if piece.geom_type == "Polygon" and not piece.is_empty:
            yield np.asarray(piece.exterior.coords)[:-1] @ np.array([1, 1j])


def hides(prism: UprightPrism, point: complex) -> bool:
    """Return whether a body covers a point of the picture, mm, if it is painted over what is there."""
    middle = (prism.bottom_mm + prism.top_mm) / 2
    return any(_is_in(seen(prism.outline, z), point) for z in (prism.bottom_mm, middle, prism.top_mm))


def _is_in(ring: Points, point: complex) -> bool:
    """Return whether a point is inside a closed contour: how often a line to the right crosses it."""
    start, end = ring - point, np.roll(ring, -1) - point
    across = (start.imag > 0) != (end.imag > 0)
    start, end = start[across], end[across]
    x = start.real - start.imag * (end.real - start.real) / (end.imag - start.imag)
    return bool(np.count_nonzero(x > 0) & 1)
