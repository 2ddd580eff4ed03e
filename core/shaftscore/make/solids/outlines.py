"""Outlines of bars and plates: what encloses round bosses on a line, and boxes."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shaftscore.stack import BulgePath
from shaftscore.stack.paths import circle, polygon

Boss = tuple[float, float]
"""A round end or bulge of a bar: its place along the bar and its radius, mm."""


def bar_path(bosses: Sequence[Boss]) -> BulgePath:
    """Return the outline that a tight string about round bosses on the x axis makes, of lines and arcs.

    bosses: (place, radius) in mm, in any order. Raises ValueError where there is none, or one without
    radius.
    """
    if not bosses or min(radius for _, radius in bosses) <= 0:
        raise ValueError(f"a bar needs round ends with a radius over 0 mm, got {list(bosses)}")
    chain = _upper(sorted(bosses))
    if len(chain) == 1:
        (place, radius), _ = chain[0]
        return circle(radius, complex(place))
    vertices: list[complex] = []
    bulges: list[float] = []
    for (place, radius), (start, end) in [*reversed(chain), *(_mirrored(one) for one in chain[1:-1])]:
        vertices += [place + radius * _unit(start), place + radius * _unit(end)]
        bulges += [math.tan((end - start) / 4), 0.0]
    return _without_points(BulgePath(tuple(vertices), tuple(bulges)))


def box_path(corner: complex, opposite: complex) -> BulgePath:
    """Return the outline of a box along the axes between two opposite corners, mm."""
    low, high = min(corner.real, opposite.real), max(corner.real, opposite.real)
    near, far = min(corner.imag, opposite.imag), max(corner.imag, opposite.imag)
    return polygon((complex(low, near), complex(high, near), complex(high, far), complex(low, far)))


def _unit(angle: float) -> complex:
    return complex(math.cos(angle), math.sin(angle))


def _upper(bosses: list[Boss]) -> list[tuple[Boss, tuple[float, float]]]:
    """Return the bosses that touch the string, left to right, and between which angles each does.

    Angles on the upper side, counterclockwise; for both ends the arc runs round the end. The string leaves
    boss i for boss j at the angle whose cosine is (ri - rj) / (xj - xi); it goes to the first it meets.
    """
    at = min(range(len(bosses)), key=lambda k: (bosses[k][0] - bosses[k][1], -bosses[k][1]))
    order, angles = [at], []
    while True:
        x, r = bosses[at]
        onward = [
            ((r - bosses[k][1]) / (bosses[k][0] - x), k)
            for k in range(len(bosses))
            if bosses[k][0] - x > abs(r - bosses[k][1])
        ]
        if not onward:
            break
        cosine, at = min(onward, key=lambda one: (one[0], -one[1]))
        order.append(at)
        angles.append(math.acos(cosine))
    if len(order) == 1:
        return [(bosses[order[0]], (0.0, 2 * math.pi))]
    first = (angles[0], 2 * math.pi - angles[0])
    last = (-angles[-1], angles[-1])
    inner = [(angles[k + 1], angles[k]) for k in range(len(angles) - 1)]
    return [(bosses[k], ends) for k, ends in zip(order, [first, *inner, last], strict=True)]


def _mirrored(one: tuple[Boss, tuple[float, float]]) -> tuple[Boss, tuple[float, float]]:
    """Return a boss with its arc on the lower side."""
    boss, (start, end) = one
    return boss, (2 * math.pi - end, 2 * math.pi - start)


def _without_points(path: BulgePath) -> BulgePath:
    """Leave out arcs of no length: corners where bosses of one size follow one another."""
    kept = [(start, bulge) for start, end, bulge in path.edges() if abs(end - start) > 1e-9]
    return BulgePath(tuple(start for start, _ in kept), tuple(bulge for _, bulge in kept))
