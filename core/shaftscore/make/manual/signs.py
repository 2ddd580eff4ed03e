"""Small drawings of the manual: levels, dials, and what one sees when something is wrong."""

from __future__ import annotations

import cmath
import math

import numpy as np

from shaftscore.make.drawing.scene import (
    Bounds,
    Corners,
    Mark,
    Path,
    Pattern,
    Scene,
    Stroke,
    Text,
    Tone,
    scene,
)
from shaftscore.make.drawing.timing.bodies import level_style
from shaftscore.make.drawing.timing.page_lane import LEVELS, PATTERNS

LEVEL_BOX = Bounds(0.0, 0.0, 4.4, 4.2)
"""Room of the picture of a level, mm."""

DIAL_BOX = Bounds(-2.5, -2.5, 2.5, 2.5)
"""Room of a dial, mm."""

SYMPTOM_BOX = Bounds(0.0, 0.0, 30.0, 16.0)
"""Room of the picture of a symptom, mm."""

_HAIR = Stroke("ink", "hair")
_OUTLINE, _BOLD, _WRONG = (
    Stroke("ink", "outline"),
    Stroke("ink", "bold"),
    Stroke("muted", "outline", "dashed"),
)


def _box(low: complex, high: complex, fill: Tone | None = None, pattern: Pattern | None = None) -> Path:
    corners = np.array([low, complex(high.real, low.imag), high, complex(low.real, high.imag)])
    return Path(corners, Stroke("ink", "hair"), closed=True, fill=fill, pattern=pattern)


def level_sign(rank: int, share: float) -> Scene:
    """Return the picture of a level: a bar as high as the share of the travel, filled as in the diagram."""
    style = level_style(rank)
    top = 3.6 + (1.3 + 2.5 * share) * 1j
    bar = _box(0.8 + 0.4j, top, LEVELS[style.number], PATTERNS[style.pattern])
    base = Path(np.array([0.2 + 0.4j, 4.2 + 0.4j]), _OUTLINE)
    return scene([bar, base])


def dial(angle_deg: float, turn: str) -> Scene:
    """Return a dial whose hand has turned by an angle from the top in the sense of rotation."""
    sign = -1.0 if turn == "clockwise" else 1.0
    tip = cmath.rect(2.0, math.radians(90.0 + sign * angle_deg))
    marks: list[Mark] = [Path(_ring(0j, 2.3), Stroke("muted", "hair"), closed=True)]
    marks += [Path(np.array([2.3j, 1.8j]), Stroke("muted", "hair")), Path(np.array([0.25 * tip, tip]), _BOLD)]
    return scene(marks)


DIAL_MM, DIAL_EDGE_MM = 42.0, 6.0
"""Outer radius of the dial that is cut out, and the length of its longest marks."""


def paper_dial(turn: str, hole_mm: float) -> Scene:
    """Return the dial to cut out, full size, about its middle, 0 to the right; hole_mm: its hole’s radius."""
    sign = -1.0 if turn == "clockwise" else 1.0
    marks: list[Mark] = [Path(_ring(0j, DIAL_MM, 180), _OUTLINE, closed=True)]
    marks += [Path(_ring(0j, hole_mm, 48), _OUTLINE, closed=True)]
    marks += [Path(np.array([-3.0 + 0j, 3.0 + 0j]), _HAIR), Path(np.array([-3.0j, 3.0j]), _HAIR)]
    for angle in range(0, 360, 2):
        way = cmath.rect(1.0, math.radians(sign * angle))
        strong, named = angle in range(0, 360, 30), angle in range(0, 360, 10)
        long = DIAL_EDGE_MM if strong else 4.0 if named else 2.2
        line = _OUTLINE if strong else _HAIR
        marks.append(Path(np.array([DIAL_MM * way, (DIAL_MM - long) * way]), line))
        if named:
            at = (DIAL_MM - DIAL_EDGE_MM - 3.4) * way - 0.9j
            marks.append(Text(at, f"{angle}°" if strong else str(angle), 7.0, "middle", bold=strong))
    return scene(marks)


def _ring(at: complex, radius: float, count: int = 32) -> Corners:
    return np.asarray(at + radius * np.exp(2j * np.pi * np.arange(count) / count))


def _pulse(start: float, base: float, *, high: float = 4.0, wide: float = 9.0) -> Corners:
    """Return the course of an output with one visit, over 30 mm."""
    x = np.linspace(0.0, 1.0, 9)
    ramp = 2.4 * x + 1j * high * (x - np.sin(2 * np.pi * x) / (2 * np.pi))
    rise = complex(start, base) + ramp
    fall = complex(start + wide, base) - np.conj(ramp)[::-1]
    return np.concatenate([[complex(1.0, base)], rise, fall, [complex(29.0, base)]])


def _arrow(start: complex, end: complex) -> list[Mark]:
    way = (end - start) / abs(end - start)
    barbs = np.array([end - (1.6 - 0.9j) * way, end, end - (1.6 + 0.9j) * way])
    return [Path(np.array([start, end]), _OUTLINE), Path(barbs, _OUTLINE)]


def _cross(at: complex, half: float = 1.6) -> list[Mark]:
    return [Path(np.array([at - half * way, at + half * way]), _BOLD) for way in (1 + 1j, 1 - 1j)]


def all_late() -> Scene:
    """Return two lanes late by the same angle."""
    marks: list[Mark] = []
    for base in (10.0, 3.0):
        marks += [Path(_pulse(6.0, base), _WRONG), Path(_pulse(11.0, base), _OUTLINE)]
    return scene([*marks, *_arrow(9.0 + 1.2j, 15.0 + 1.2j)])


def reversed_order() -> Scene:
    """Return two lanes in reverse order."""
    marks: list[Mark] = [Path(_pulse(3.0, 10.0), _WRONG), Path(_pulse(17.0, 10.0), _OUTLINE)]
    marks += [Path(_pulse(17.0, 3.0), _WRONG), Path(_pulse(3.0, 3.0), _OUTLINE)]
    return scene(marks)


def one_late() -> Scene:
    """Return one lane of three that is late."""
    marks: list[Mark] = [
        Path(_pulse(4.0, 11.0, high=3.0), _OUTLINE),
        Path(_pulse(9.0, 6.0, high=3.0), _WRONG),
    ]
    marks += [Path(_pulse(16.0, 6.0, high=3.0), _OUTLINE), Path(_pulse(14.0, 1.0, high=3.0), _OUTLINE)]
    return scene(marks)


def swapped() -> Scene:
    """Return two lanes that do each other's work."""
    marks: list[Mark] = [Path(_pulse(4.0, 10.0), _OUTLINE), Path(_pulse(15.0, 3.0), _OUTLINE)]
    around = np.exp(1j * np.radians(np.linspace(-75.0, 75.0, 16)))
    arc = np.asarray(24.0 + 7.5j + 4.2 * around, np.complex128)
    return scene([*marks, Path(arc, _OUTLINE), *_arrow(arc[1], arc[0]), *_arrow(arc[-2], arc[-1])])


def too_short() -> Scene:
    """Return a lane that does not move far enough."""
    marks: list[Mark] = [Path(_pulse(9.0, 3.0, high=9.0, wide=11.0), _WRONG)]
    marks += [Path(_pulse(9.0, 3.0, high=6.0, wide=11.0), _OUTLINE)]
    return scene([*marks, *_arrow(14.5 + 9.2j, 14.5 + 11.8j)])


def _disc() -> Corners:
    angles = np.linspace(0.0, 2 * np.pi, 72, endpoint=False)
    bulge = np.exp(-(((angles - 0.45) / 0.45) ** 2))
    return np.asarray(11.0 + 7.5j + (5.6 + 2.6 * bulge) * np.exp(1j * angles))


def binds() -> Scene:
    """Return a roller that a disc meets where it should not."""
    marks: list[Mark] = [
        Path(_disc(), _OUTLINE, closed=True),
        Path(_ring(11.0 + 7.5j, 1.0), _OUTLINE, closed=True),
    ]
    marks += [
        Path(_ring(21.0 + 12.6j, 2.3), _OUTLINE, closed=True),
        Path(np.array([22.8 + 11.2j, 27 + 8.6j]), _OUTLINE),
    ]
    return scene([*marks, *_cross(24.0 + 3.0j)])


def lifts_off() -> Scene:
    """Return a roller above the falling side of its disc."""
    x = np.linspace(0.0, 26.0, 60)
    hill = 2.0 + x + 1j * (2.5 + 7.0 * np.exp(-(((x - 10.0) / 5.5) ** 2)))
    marks: list[Mark] = [Path(hill, _OUTLINE), Path(_ring(18.0 + 11.6j, 2.3), _OUTLINE, closed=True)]
    return scene([*marks, Path(np.array([18.0 + 9.3j, 18.0 + 6.6j]), _WRONG)])


def motor_stops() -> Scene:
    """Return a motor that does not turn its wheel."""
    marks: list[Mark] = [
        _box(2.0 + 4.0j, 13.0 + 12.0j),
        Path(np.array([13.0 + 8j, 17.0 + 8j]), _OUTLINE),
    ]
    return scene([*marks, Path(_ring(20.0 + 8j, 3.0), _OUTLINE, closed=True), *_cross(26.6 + 8j)])


def crank_is_hard() -> Scene:
    """Return a crank that is hard to turn."""
    marks: list[Mark] = [
        Path(_ring(8.0 + 8j, 2.2), _OUTLINE, closed=True),
        Path(np.array([8.0 + 8j, 18 + 11j]), _BOLD),
    ]
    return scene(
        [*marks, Path(_ring(18.0 + 11j, 1.4), _OUTLINE, closed=True, fill="paper"), *_cross(25.5 + 8j)]
    )


def wrong_count() -> Scene:
    """Return a gate that lets two items by."""
    funnel = np.array([4 + 15j, 4 + 10j, 7 + 7j, 7 + 2j])
    marks: list[Mark] = [Path(funnel, _OUTLINE), Path(18.0 - np.conj(funnel), _OUTLINE)]
    marks += [Path(_ring(9.0 + at * 1j, 1.2), None, closed=True, fill="ink") for at in (7.5, 4.5)]
    marks += [*_arrow(14.0 + 8j, 20.0 + 8j)]
    return scene(
        [*marks, *[Path(_ring(24.0 + at * 1j, 1.2), None, closed=True, fill="ink") for at in (9.5, 6.5)]]
    )


def shafts_differ() -> Scene:
    """Return two wheels in mesh whose marks do not meet."""
    marks: list[Mark] = []
    for at, radius, mark in ((9.0 + 8j, 6.0, 0.0), (20.0 + 8j, 4.6, math.pi + 0.6)):
        marks.append(Path(_ring(at, radius, 48), _OUTLINE, closed=True))
        tip = at + cmath.rect(radius, mark)
        marks.append(Path(np.array([at + cmath.rect(radius - 2.5, mark), tip]), _BOLD))
    return scene(marks)
