"""Marks of a drawing that is laid out in px of the design, y down, as the timing diagram is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shaftscore.base.angles import Angles
from shaftscore.make.drawing.fonts import POINT_MM, shortened, width_mm
from shaftscore.make.drawing.scene import (
    Anchor,
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
from shaftscore.make.drawing.timing.bodies import RADIUS, BodyBox

POINTS = 0.75
"""Points to a px of the design: 96 px are an inch."""

PX_MM = POINTS * POINT_MM
"""Mm to a px of the design."""

SIZE = 11.0
"""Size of text, px of the design."""

CORNER = np.array([0.0, 30.0, 60.0, 90.0])
"""Directions of the corners of a rounded corner, degrees."""


class Inking:
    """Marks that are collected in px, y down; `drawn` is the drawing in mm, its lower left corner at 0."""

    def __init__(self) -> None:
        """Begin without marks."""
        self._marks: list[Mark] = []

    def line(self, xs: Sequence[float] | Angles, ys: Sequence[float] | Angles, stroke: Stroke) -> None:
        """Draw a line through places, (n,) px each."""
        self._marks.append(Path(_points(xs, ys), stroke))

    def area(
        self,
        xs: Sequence[float] | Angles,
        ys: Sequence[float] | Angles,
        fill: Tone | None,
        stroke: Stroke | None = None,
        *,
        pattern: Pattern | None = None,
        name: str = "",
    ) -> None:
        """Fill a polygon of corners, (n,) px each."""
        corners = _points(xs, ys)
        self._marks.append(Path(corners, stroke, closed=True, fill=fill, pattern=pattern, name=name))

    def box(
        self,
        box: BodyBox,
        fill: Tone | None,
        stroke: Stroke | None = None,
        *,
        pattern: Pattern | None = None,
        name: str = "",
    ) -> None:
        """Fill a box, px."""
        xs = [box.left, box.right, box.right, box.left]
        ys = [box.bottom, box.bottom, box.top, box.top]
        self.area(xs, ys, fill, stroke, pattern=pattern, name=name)

    def rounded(
        self,
        box: BodyBox,
        fill: Tone | None,
        stroke: Stroke | None,
        *,
        pattern: Pattern | None = None,
        name: str = "",
        radius: float = RADIUS,
        within: tuple[float, float] = (-np.inf, np.inf),
    ) -> None:
        """Fill a box with round corners; radius: of these, px; within: left and right end of what is seen."""
        reach = min(radius, box.width / 2, box.height / 2)
        middles = [
            (box.right - reach, box.bottom - reach),
            (box.left + reach, box.bottom - reach),
            (box.left + reach, box.top + reach),
            (box.right - reach, box.top + reach),
        ]
        ways = [np.radians(CORNER + 90.0 * quarter) for quarter in range(4)]
        xs = [x + reach * np.cos(way) for (x, _), way in zip(middles, ways, strict=True)]
        ys = [y + reach * np.sin(way) for (_, y), way in zip(middles, ways, strict=True)]
        seen = np.clip(np.concatenate(xs), *within)
        self.area(seen, np.concatenate(ys), fill, stroke, pattern=pattern, name=name)

    def text(
        self,
        x: float,
        baseline: float,
        text: str,
        *,
        size: float = SIZE,
        anchor: Anchor = "start",
        tone: Tone = "ink",
        bold: bool = False,
    ) -> None:
        """Write a text in one line at a place, px."""
        if text:
            at = complex(x, -baseline) * PX_MM
            self._marks.append(Text(at, text, size * POINTS, anchor, tone, bold))

    def drawn(self, high: float) -> Scene:
        """Return the drawing of a height, px."""
        return scene(self._marks).placed(1.0, 1j * high * PX_MM)


def text_width(text: str, size: float = SIZE, bold: bool = False) -> float:
    """Return the width of a text, px."""
    return width_mm(text, size * POINTS, bold) / PX_MM


def fitted(text: str, room: float, size: float = SIZE, bold: bool = False) -> str:
    """Return a text that has room in so many px, shortened where it must be."""
    return shortened(text, size * POINTS, room * PX_MM, bold)


def baseline_of(middle: float, size: float = SIZE) -> float:
    """Return the baseline of a text whose small letters' middle is at `middle`, px."""
    return middle + 0.33 * size


def _points(xs: Sequence[float] | Angles, ys: Sequence[float] | Angles) -> Corners:
    return np.asarray((np.asarray(xs, float) - 1j * np.asarray(ys, float)) * PX_MM, complex)
