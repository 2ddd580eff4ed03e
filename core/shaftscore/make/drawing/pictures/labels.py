"""Labels beside a picture: in a column, level with what they name where they can be, none over another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.make.drawing.fonts import POINT_MM, shortened, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Text, scene

LABEL_PT = 8.0
"""Size of labels, points."""

LINE_SHARE = 1.3
"""Distance of two lines of text over the size of their letters."""

LEADER = Stroke("muted", "hair")
"""Line from a label to its part."""

DOT_MM = 0.5
"""Radius of the dot at the end of a leader."""

ELBOW_MM = 6.0
"""Length over which a leader slants where its label cannot be level with its part."""


@dataclass(frozen=True)
class PartLabel:
    """A label: its code in bold, its name, and the point that it is for, mm on paper."""

    code: str
    name: str
    at: complex


def line_high_mm(size_pt: float) -> float:
    """Return the distance of two lines of text, mm."""
    return size_pt * POINT_MM * LINE_SHARE


def labelled(labels: Sequence[PartLabel], left_mm: float, wide_mm: float, size_pt: float = LABEL_PT) -> Scene:
    """Return labels in a column of a width whose left edge is at left_mm, with their leaders, mm."""
    if not labels:
        return Scene()
    ordered = sorted(labels, key=lambda one: one.at.imag)
    places = centred_places([one.at.imag for one in ordered], line_high_mm(size_pt))
    codes = max(width_mm(one.code, size_pt, bold=True) for one in ordered)
    marks: list[Mark] = []
    for one, y in zip(ordered, places, strict=True):
        marks += _one(one, y, (left_mm, wide_mm, codes), size_pt)
    return scene(marks)


def _one(one: PartLabel, y: float, room: tuple[float, float, float], size_pt: float) -> Iterator[Mark]:
    left, wide, codes = room
    base = y - 0.36 * size_pt * POINT_MM
    start, end = one.at + 1.0, complex(left - 1.2, y)
    yield Path(_leader(start, end), LEADER)
    yield dot(one.at)
    yield Text(complex(left, base), one.code, size_pt, bold=True)
    after = left + codes + 1.8 if one.code else left
    if one.name:
        name = shortened(one.name, size_pt, left + wide - after)
        yield Text(complex(after, base), name, size_pt)


def _leader(start: complex, end: complex) -> np.ndarray:
    """Return a leader: level, with a slanting piece before its label where that is higher or lower."""
    if abs(start.imag - end.imag) < 1e-6:
        return np.array([start, end])
    knee = complex(max(end.real - ELBOW_MM, start.real), start.imag)
    return np.array([start, knee, complex(max(end.real - 1.5, knee.real), end.imag), end])


def dot(at: complex, radius_mm: float = DOT_MM) -> Path:
    """Return a small dot, mm on paper."""
    ring = at + radius_mm * np.exp(2j * np.pi * np.arange(12) / 12)
    return Path(ring, None, closed=True, fill="ink")


def centred_places(wanted: Sequence[float], pitch: float) -> list[float]:
    """Return rising places near those wanted, which rise, no two nearer than a pitch, mm.

    Each run of places that would overlap is centred about where its members want to be.
    """
    runs: list[tuple[list[float], float]] = []
    for place in wanted:
        members, low = [place], place
        while runs and low - (runs[-1][1] + pitch * (len(runs[-1][0]) - 1)) < pitch - 1e-9:
            before, _ = runs.pop()
            members = before + members
            low = sum(one - pitch * step for step, one in enumerate(members)) / len(members)
        runs.append((members, low))
    return [low + pitch * step for members, low in runs for step in range(len(members))]
