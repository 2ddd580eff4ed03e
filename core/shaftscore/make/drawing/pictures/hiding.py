"""Which body is painted after which, and what of a body is inside another one.

Seen from above, along lines that fall to the back, a body hides what is lower and farther back. So one is
painted after another where they overlap in the picture and it is above, or in front at one height. Where
bodies hide one another in a circle, the tallest of them is cut level, and painted in two.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.layout.placed import Points
from shaftscore.make.drawing.pictures.prisms import UprightPrism, counterclockwise, next_of

LEVEL_MM = 0.02
"""Heights nearer to one another than this are one."""

COLUMNS = 7
"""Lines of sight at which two bodies of one height are compared."""

MOST_CUTS = 60
"""Circles that are cut, at most; the rest is painted from the bottom up."""


@dataclass(frozen=True, eq=False)
class SeenPrism:
    """A body as it is painted: a piece of one, perhaps. has_top, has_bottom: whether its ends are real."""

    prism: UprightPrism
    has_top: bool = True
    has_bottom: bool = True


def painted_order(prisms: Sequence[UprightPrism], slope: float) -> list[SeenPrism]:
    """Return bodies in the order in which they are painted, without what is inside others.

    slope: by how much farther up the picture a thing is that is 1 mm farther back, over 1 mm higher.
    """
    order, left = _sorted([SeenPrism(one) for one in outside(prisms)], slope, is_exact=False)
    for _ in range(MOST_CUTS):
        more, left = _sorted(left, slope, is_exact=True)
        order += more
        cut = _cut(left) if left else None
        if cut is None:
            break
        left = cut
    rest = sorted(left, key=lambda one: (one.prism.bottom_mm, -float(one.prism.outline.imag.mean())))
    return [*order, *rest]


def _cut(circle: Sequence[SeenPrism]) -> list[SeenPrism] | None:
    """Return bodies with the tallest one cut level in two; None where none can be."""
    ends = {height for one in circle for height in (one.prism.bottom_mm, one.prism.top_mm)}
    for tall in sorted(circle, key=lambda one: one.prism.bottom_mm - one.prism.top_mm):
        low, high = tall.prism.bottom_mm, tall.prism.top_mm
        inside = [height for height in ends if low + LEVEL_MM < height < high - LEVEL_MM]
        if inside:
            at = min(inside, key=lambda height: abs(height - (low + high) / 2))
            lower = SeenPrism(replace(tall.prism, top_mm=at), False, tall.has_bottom)
            upper = SeenPrism(replace(tall.prism, bottom_mm=at), tall.has_top, False)
            return [*(one for one in circle if one is not tall), lower, upper]
    return None


def _sorted(
    seen: Sequence[SeenPrism], slope: float, *, is_exact: bool
) -> tuple[list[SeenPrism], list[SeenPrism]]:
    """Return bodies in their order as far as there is one, and those that hide one another in a circle."""
    over = _over(seen, slope, is_exact=is_exact)
    waiting = over.sum(axis=1)
    free = [_height_key(seen, place) for place in np.flatnonzero(waiting == 0).tolist()]
    heapq.heapify(free)
    order: list[int] = []
    while free:
        *_, place = heapq.heappop(free)
        order.append(place)
        for upper in np.flatnonzero(over[:, place]).tolist():
            waiting[upper] -= 1
            if waiting[upper] == 0:
                heapq.heappush(free, _height_key(seen, upper))
    done = set(order)
    return [seen[place] for place in order], [one for place, one in enumerate(seen) if place not in done]


def _height_key(seen: Sequence[SeenPrism], place: int) -> tuple[float, float, int]:
    """Return by what bodies that hide one another nowhere are sorted: from below, from the back."""
    prism = seen[place].prism
    return prism.bottom_mm, -(prism.box[2] + prism.box[3]), place


def _over(seen: Sequence[SeenPrism], slope: float, *, is_exact: bool) -> npt.NDArray[np.bool_]:
    """Return whether a body is painted after another one because it may hide it, (n, n).

    A body that is above another one may always be painted after it, and must be unless it is behind it:
    is_exact looks at that along lines of sight, else by their boxes.
    """
    prisms = [one.prism for one in seen]
    left, right, near, far, low, high = np.array([_box(one) for one in prisms]).reshape(-1, 6).T
    lower, upper = low + slope * near, high + slope * far
    meet = (left[:, None] < right) & (left < right[:, None])
    meet &= (lower[:, None] < upper) & (lower < upper[:, None])
    above, behind = low[:, None] >= high - LEVEL_MM, near[:, None] >= far
    over = meet & above & ~behind
    if is_exact:
        for one, other in np.argwhere(over).tolist():
            pair = prisms[one], prisms[other]
            over[one, other] = _front(*pair) >= 0 or _overlap(*pair)
    level = meet & ~above & ~above.T
    over |= level & behind.T & ~behind
    for one, other in np.argwhere(np.triu(level & ~behind & ~behind.T, 1)).tolist():
        way = _front(prisms[one], prisms[other])
        over[one, other], over[other, one] = way > 0, way < 0
    return np.asarray(over)


def _box(prism: UprightPrism) -> tuple[float, ...]:
    """Return left, right, near, far, bottom and top of a body, mm."""
    return *prism.box, prism.bottom_mm, prism.top_mm


def _overlap(one: UprightPrism, other: UprightPrism) -> bool:
    """Return whether two bodies have places in plan in common, judged by lines of sight."""
    found = _ranges(one, other)
    return found is not None and bool(np.any(np.minimum(found[1], found[3]) > np.maximum(found[0], found[2])))


def _front(one: UprightPrism, other: UprightPrism) -> int:
    """Return 1 where the first is in front of the second, -1 where behind, 0 where not beside one another."""
    found = _ranges(one, other)
    if found is None:
        return 0
    near_one, far_one, near_other, far_other = found
    before = np.sign((near_other + far_other) - (near_one + far_one))
    # by how far one is clear of the other counts more than middles of bodies that are side by side
    clear = np.maximum(near_other - far_one, near_one - far_other)
    weight = np.where(clear > -LEVEL_MM, 1.0 + np.maximum(clear, 0.0), 0.01)
    total = float((before * weight).sum())
    return int(np.sign(round(total, 9)))


@lru_cache(maxsize=20_000)
def _ranges(one: UprightPrism, other: UprightPrism) -> tuple[Points, ...] | None:
    """Return from where to where both reach to the back at common lines of sight; None without any.

    Kept, since each step of the assembly paints the same bodies again with a few more.
    """
    left, right = max(one.box[0], other.box[0]), min(one.box[1], other.box[1])
    if right - left <= 1e-9:
        return None
    x = left + (right - left) * (np.arange(COLUMNS) + 0.5) / COLUMNS
    near_one, far_one = _reach(one.outline, x)
    near_other, far_other = _reach(other.outline, x)
    return near_one, far_one, near_other, far_other


def _reach(outline: Points, x: Any) -> tuple[Any, Any]:
    """Return the least and the largest y of a contour at each x, (n,) mm."""
    start, end = outline[None, :], next_of(outline)[None, :]
    across = (start.real <= x[:, None]) != (end.real <= x[:, None])
    wide = np.where(across, end.real - start.real, 1.0)
    y = start.imag + (x[:, None] - start.real) / wide * (end.imag - start.imag)
    return np.where(across, y, np.inf).min(axis=1), np.where(across, y, -np.inf).max(axis=1)


def outside(prisms: Sequence[UprightPrism]) -> list[UprightPrism]:
    """Return the bodies, those that are inside others without what is hidden there."""
    found: list[UprightPrism] = []
    for one in prisms:
        around = [other for other in prisms if other.inside < one.inside]
        found += _seen_pieces(one, around) if one.inside else [one]
    return found


def _seen_pieces(inner: UprightPrism, solid: Sequence[UprightPrism]) -> Sequence[UprightPrism]:
    """Return what of a body is outside all others."""
    return _pieces_beside(inner, tuple(one for one in solid if _covers(one, inner)))


@lru_cache(maxsize=4_000)
def _pieces_beside(inner: UprightPrism, around: tuple[UprightPrism, ...]) -> Sequence[UprightPrism]:
    """Return what of a body others leave: by bands of heights, less what they cover in plan; kept too."""
    ends = {inner.bottom_mm, inner.top_mm}
    for one in around:
        ends |= {min(max(end, inner.bottom_mm), inner.top_mm) for end in (one.bottom_mm, one.top_mm)}
    levels = sorted(ends)
    pieces: list[UprightPrism] = []
    for low, high in pairwise(levels):
        if high - low < LEVEL_MM:
            continue
        here = [one for one in around if one.bottom_mm < high - LEVEL_MM and one.top_mm > low + LEVEL_MM]
        pieces += [
            replace(inner, outline=outline, bottom_mm=low, top_mm=high) for outline in _less(inner, here)
        ]
    return _joined(pieces)


def _joined(pieces: Sequence[UprightPrism]) -> list[UprightPrism]:
    """Return pieces with those that stand on one another and are alike as one."""
    found: list[UprightPrism] = []
    for piece in pieces:
        below = next((one for one in found if _continues(one, piece)), None)
        if below is None:
            found.append(piece)
        else:
            found[found.index(below)] = replace(below, top_mm=piece.top_mm)
    return found


def _continues(below: UprightPrism, piece: UprightPrism) -> bool:
    if abs(below.top_mm - piece.bottom_mm) >= LEVEL_MM or len(below.outline) != len(piece.outline):
        return False
    return bool(np.allclose(below.outline, piece.outline))


def _covers(outer: UprightPrism, inner: UprightPrism) -> bool:
    """Return whether a body may hide a part of another one that goes through it, by their boxes."""
    if outer.bottom_mm >= inner.top_mm or outer.top_mm <= inner.bottom_mm:
        return False
    own, their = inner.box, outer.box
    beside = own[1] <= their[0] or own[0] >= their[1]
    return not beside and not (own[3] <= their[2] or own[2] >= their[3])


def _less(inner: UprightPrism, around: Sequence[UprightPrism]) -> list[Points]:
    """Return contours of what is left of a body's plan beside others."""
    middle = complex(inner.outline.mean())
    reach = float(np.abs(inner.outline - middle).max())
    rooms = [_room(one, middle) for one in around]
    if any(room >= reach for room in rooms):
        return []
    around = [one for one, room in zip(around, rooms, strict=True) if room > -reach]
    if not around:
        return [inner.outline]
    from shapely import Polygon, get_parts  # kept off the start-up path

    area: Any = Polygon(_pairs(inner.outline))
    for one in around:
        area = area.difference(Polygon(_pairs(one.outline)).buffer(LEVEL_MM))
    found = [part for part in get_parts(area) if part.geom_type == "Polygon" and part.area > LEVEL_MM]
    return [counterclockwise(np.asarray(one.exterior.coords)[:-1] @ np.array([1, 1j])) for one in found]


def _room(outer: UprightPrism, point: complex) -> float:
    """Return how far a point is inside a body's outline in plan, negative outside, mm."""
    start, along = outer.outline, outer.along
    share = np.clip(((point - start) * np.conj(along)).real / np.abs(along) ** 2, 0.0, 1.0)
    far = float(np.abs(point - start - share * along).min())
    return far if is_inside(outer.outline, point) else -far


def is_inside(ring: Points, point: complex) -> bool:
    """Return whether a point is inside a closed contour, (n,) mm: a line to the right crosses it oddly."""
    start, end = ring - point, next_of(ring) - point
    across = (start.imag > 0) != (end.imag > 0)
    start, end = start[across], end[across]
    x = start.real - start.imag * (end.real - start.real) / (end.imag - start.imag)
    return bool(np.count_nonzero(x > 0) & 1)


def _pairs(outline: Points) -> Any:
    return np.column_stack([outline.real, outline.imag])
