"""Upright prisms painted in parallel projection, seen from the front and from above.

Frame of a picture: x to the right, y up, mm before scaling; what is farther back is farther up. A lower body
never hides a higher one, so a body is painted whole: its walls that face the looker, then its top with what
is cut into it and engraved on it. `hiding` says in which order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.layout.placed import Points
from shaftscore.make.drawing.pictures.hiding import SeenPrism, is_inside, painted_order
from shaftscore.make.drawing.pictures.prisms import UprightPrism, counterclockwise, next_of
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
    """How bodies that are there already are lined; what is new is always bold, in its own tones.

    is_small: the picture is of a whole machine, in which teeth are lines on a round wall.
    """

    line: Stroke
    mark: Stroke
    is_small: bool = False


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
    new = replace(NEW, is_small=style.is_small)
    for one in painted_order(prisms, BACK / UP):
        own = new if one.prism.is_new else style
        yield from _marks(one.prism, one.has_top, one.has_bottom, own)


@lru_cache(maxsize=4_000)
def _marks(prism: UprightPrism, has_top: bool, has_bottom: bool, style: PictureStyle) -> tuple[Mark, ...]:
    """Return the marks of a body; kept, since each step of the assembly paints the same ones again."""
    return tuple(_body(SeenPrism(prism, has_top, has_bottom), style))


def _body(body: SeenPrism, style: PictureStyle) -> Iterator[Mark]:
    if _is_toothed(body.prism):
        style = replace(style, line=replace(style.line, weight="hair"))
        if style.is_small:
            yield from _toothed_wall(body, style)
        else:
            yield from _walls(body, style)
    else:
        yield from _walls(body, style)
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


def _walls(body: SeenPrism, style: PictureStyle) -> Iterator[Path]:
    """Yield the walls that face the looker, those farther back first."""
    prism, outline = body.prism, body.prism.outline
    low, high = seen(outline, prism.bottom_mm), seen(outline, prism.top_mm)
    _, light, shade = _tones(prism)
    lit = _is_lit(prism)
    for start, end in _stretches(prism):
        places = np.arange(start, end + 1) % len(outline)
        runs = list(_even(lit[places[:-1]]))
        if len(runs) == 1 and body.has_bottom:
            fill = light if lit[places[0]] else shade
            yield _face(np.concatenate([low[places], high[places][::-1]]), style, fill, prism.name)
            continue
        for first, last in runs:
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


def _toothed_wall(body: SeenPrism, style: PictureStyle) -> Iterator[Path]:
    """Yield the wall of a toothed body as a round one, with a line at each corner of the tips."""
    from shapely import MultiPoint  # kept off the start-up path

    prism, outline = body.prism, body.prism.outline
    hull = MultiPoint(np.column_stack([outline.real, outline.imag])).convex_hull
    round_one = replace(prism, outline=counterclockwise(np.asarray(hull.exterior.coords)[:-1] @ AXES))
    yield from _walls(replace(body, prism=round_one), style)
    start, end = int(np.argmin(outline.real)), int(np.argmax(outline.real))
    front = np.arange(start, end + 1 if end > start else end + 1 + len(outline)) % len(outline)
    low, high = seen(outline, prism.bottom_mm)[front], seen(outline, prism.top_mm)[front]
    out = np.abs(outline - outline.mean())
    is_tip = (prism.turns_rad > SHARP_RAD) & (out > (out.min() + out.max()) / 2)
    down = np.where(is_tip[front], low, high)
    yield Path(np.column_stack([high, down, high]).ravel(), style.line, name=prism.name)


AXES = np.array([1, 1j])
"""Makes complex points of pairs of coordinates."""


def _even(lit: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Yield stretches of edges that are alike, as (first, last + 1)."""
    ends = [0, *(np.nonzero(lit[1:] != lit[:-1])[0] + 1).tolist(), len(lit)]
    yield from pairwise(ends)


def _is_toothed(prism: UprightPrism) -> bool:
    """Return whether a body has teeth."""
    return int(np.count_nonzero(prism.turns_rad > SHARP_RAD)) > MANY_EDGES


def _is_lit(prism: UprightPrism) -> npt.NDArray[np.bool_]:
    """Return which edges are in the light, (n,); of teeth, by where they are on the wheel."""
    outline, normal = prism.outline, -1j * prism.along
    if _is_toothed(prism):
        normal = (outline + next_of(outline)) / 2 - outline.mean()
    return np.asarray(normal.real < LIGHT * np.abs(normal))


def _stretches(prism: UprightPrism) -> list[tuple[int, int]]:
    """Return smooth stretches of edges that face the looker as (first, last + 1), farther back first.

    One may run on past the end of the contour.
    """
    outline, front = prism.outline, prism.along.real > 1e-9  # its outward normal then points to the looker
    before = np.concatenate([front[-1:], front[:-1]])
    sharp, count = (prism.turns_rad > SHARP_RAD).tolist(), len(outline)
    starts = np.nonzero(front & (~before | (prism.turns_rad > SHARP_RAD)))[0].tolist()
    faces, found = front.tolist(), []
    for start in starts:
        end = start + 1
        while end - start < count and faces[end % count] and not sharp[end % count]:
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
    for start, end in _stretches(UprightPrism(inner, floor, prism.top_mm)):
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
    left, right, near, far = prism.box
    low, high = prism.bottom_mm * UP + near * BACK, prism.top_mm * UP + far * BACK
    if not (left <= point.real <= right and low <= point.imag <= high):
        return False
    middle = (prism.bottom_mm + prism.top_mm) / 2
    return any(is_inside(seen(prism.outline, z), point) for z in (prism.bottom_mm, middle, prism.top_mm))
