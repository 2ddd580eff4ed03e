"""Room for texts in a drawing: names beside points, texts along lines, none over another. Mm on paper."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Stroke, Text, box

Box = tuple[float, float, float, float]
"""Left, bottom, right and top, mm."""

DIRECTIONS_DEG = (45, -45, 135, -135, 0, 180, 90, -90)
"""Directions in which a name is tried beside its point."""

DISTANCES_MM = (0.8, 2.5, 5.0, 8.0, 12.0, 17.0, 23.0, 30.0)
"""Distances at which it is tried; from the second on a line leads to it."""

ASIDE = (0, 1, -1, 2, -2, 3, -3, 4, -4)
"""By so many of its heights a text is moved off its line where it has no room on it."""

STEPS = 24
"""Places along a line at which a text is tried."""


@dataclass
class LabelRoom:
    """Knows what is taken: boxes of texts, and circles that no text may cover. low, high: of the sheet."""

    low: complex
    high: complex
    boxes: list[Box] = field(default_factory=list)
    rounds: list[tuple[complex, float]] = field(default_factory=list)

    def keep_round(self, at: complex, radius_mm: float) -> None:
        """Keep a circle free of texts, mm."""
        self.rounds.append((at, radius_mm))

    def beside(self, at: complex, radius_mm: float, text: str, size_pt: float) -> Iterator[Mark]:
        """Yield a name beside a circle, with a line to it where it has to be farther away, mm."""
        half = _half(text, size_pt)
        tried = [
            (at + (radius_mm + away) * way + complex(half.real * way.real, half.imag * way.imag), away)
            for away in DISTANCES_MM
            for way in (cmath.rect(1.0, math.radians(turn)) for turn in DIRECTIONS_DEG)
        ]
        middle = self._first_free([one for one, _ in tried], half)
        away = next(away for one, away in tried if one == middle)
        self._take(middle, half)
        if away > DISTANCES_MM[0]:
            way = (middle - at) / abs(middle - at)
            yield Path(
                np.array([at + radius_mm * way, middle - min(half.imag, abs(middle - at)) * way]), LEADER
            )
        yield from grounded(middle, text, size_pt, bold=True)

    def along(self, start: complex, end: complex, text: str, size_pt: float) -> Iterator[Mark]:
        """Yield a text on a line, as near to its end as there is room, mm."""
        half = _half(text, size_pt)
        shares = [1.0 - step / STEPS for step in range(STEPS - 4)]
        aside = [1j * 2.2 * step * half.imag for step in ASIDE]
        tried = [start + share * (end - start) + by for share in shares for by in aside]
        middle = self._first_free(tried, half)
        self._take(middle, half)
        yield from grounded(middle, text, size_pt)

    def _first_free(self, tried: Sequence[complex], half: complex) -> complex:
        """Return the first free place; where there is none, the first at which only circles are covered."""
        for rounds in (self.rounds, ()):
            for middle in tried:
                if self._is_free(middle, half, rounds):
                    return middle
        return tried[0]

    def _is_free(self, middle: complex, half: complex, rounds: Iterable[tuple[complex, float]]) -> bool:
        left, bottom, right, top = _box(middle, half)
        if left < self.low.real or bottom < self.low.imag or right > self.high.real or top > self.high.imag:
            return False
        for at, radius in rounds:
            aside = max(left - at.real, at.real - right, 0.0)
            if math.hypot(aside, max(bottom - at.imag, at.imag - top, 0.0)) < radius:
                return False
        return not any(
            left < other[2] and other[0] < right and bottom < other[3] and other[1] < top
            for other in self.boxes
        )

    def _take(self, middle: complex, half: complex) -> None:
        self.boxes.append(_box(middle, half))


LEADER = Stroke("muted", "hair")
"""Line from a name to its point."""


def _half(text: str, size_pt: float) -> complex:
    return complex(width_mm(text, size_pt, bold=True) / 2 + 0.5, 0.55 * size_pt * POINT_MM)


def _box(middle: complex, half: complex) -> Box:
    low, high = middle - half, middle + half
    return low.real, low.imag, high.real, high.imag


def grounded(
    middle: complex,
    text: str,
    size_pt: float,
    *,
    bold: bool = False,
) -> Iterator[Mark]:
    """Yield a text about a point, on a piece of paper-white ground."""
    half = complex(width_mm(text, size_pt, bold) / 2 + 0.6, 0.5 * size_pt * POINT_MM)
    yield Path(box(middle - half, middle + half), None, True, fill="paper")
    yield Text(middle - 0.36j * size_pt * POINT_MM, text, size_pt, "middle", bold=bold)
