"""Where things are in the drawing of the Follower parts view: mm to px, texts of dimensions, what is hit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from shaftscore.base import wording
from shaftscore.make.drawing.follower import DrawnDimension, DrawnShape, FollowerDrawing
from shaftscore_app.theme import Theme

SIDE_SHARE = 0.3
"""Share of the height that the view from the side takes."""

ROW = 26.0
"""Distance between two rows of dimension lines, px of the design."""

HEAD = 22.0
"""Height of the words over each drawing, px of the design."""


@dataclass(frozen=True)
class PlacedDimension:
    """A dimension in px: its line, where its extension lines begin, and the box of its number."""

    dimension: DrawnDimension
    start: QPointF
    end: QPointF
    feet: tuple[QPointF, QPointF]
    box: QRectF
    text: str


@dataclass(frozen=True)
class DrawingFrame:
    """One of the two drawings: its box in px, the scale px by mm, and the mm in the middle of the box."""

    box: QRectF
    scale: float
    middle: complex

    def at(self, point: complex) -> QPointF:
        """Return the place of a point of the drawing."""
        shifted = (point - self.middle) * self.scale
        return self.box.center() + QPointF(shifted.real, -shifted.imag)

    def mm(self, place: QPointF) -> complex:
        """Return the point of the drawing at a place."""
        shifted = place - self.box.center()
        return complex(shifted.x(), -shifted.y()) / self.scale + self.middle


def fitted(shapes: Iterable[DrawnShape], box: QRectF, margins: tuple[float, float]) -> DrawingFrame:
    """Return the frame in which all shapes fit into a box, with margins beside and above them, px."""
    corners = np.concatenate([shape.corners for shape in shapes] or [np.zeros(1, np.complex128)])
    low = complex(corners.real.min(), corners.imag.min())
    high = complex(corners.real.max(), corners.imag.max())
    size = high - low
    wide, tall = (
        max(room - 2 * margin, 20.0)
        for room, margin in zip((box.width(), box.height()), margins, strict=True)
    )
    scale = min(wide / max(size.real, 1.0), tall / max(size.imag, 1.0))
    return DrawingFrame(box, scale, (low + high) / 2)


class FollowerPlaces:
    """Where the two drawings and their dimensions are in a widget of a size."""

    def __init__(self, drawing: FollowerDrawing, box: QRectF, theme: Theme) -> None:
        """Lay a drawing out in a box, px."""
        self._theme = theme
        head, margin = theme.px(HEAD), theme.px(ROW) * 1.9
        low = box.height() * SIDE_SHARE
        above = QRectF(box.left(), box.top() + head, box.width(), box.height() - low - head)
        below = QRectF(box.left(), above.bottom() + head, box.width(), max(low - head, 20.0))
        self.top = fitted(drawing.top, above, (margin, margin))
        self.side = fitted(drawing.side, below, (2.4 * theme.px(ROW), 0.3 * theme.px(ROW)))
        self.heads = (
            QRectF(box.left(), box.top(), box.width(), head),
            QRectF(box.left(), above.bottom(), box.width(), head),
        )
        self.dimensions = tuple(self._placed(self.top, one) for one in drawing.top_dimensions)
        self.side_dimensions = tuple(self._placed(self.side, one) for one in drawing.side_dimensions)

    def _placed(self, frame: DrawingFrame, one: DrawnDimension) -> PlacedDimension:
        away = QPointF(one.aside.real, -one.aside.imag) * (self._theme.px(ROW) * one.step)
        feet = frame.at(one.start), frame.at(one.end)
        start, end = feet[0] + away, feet[1] + away
        text = wording.number(one.value_mm, 1)
        metrics = QFontMetricsF(self._theme.font(11, 600))
        wide, high = metrics.horizontalAdvance(text) + self._theme.px(10), metrics.height() + 2
        middle, line = (start + end) / 2, end - start
        if abs(complex(line.x(), line.y())) < wide:  # no room within the line: beside it
            middle += QPointF(one.aside.real * (wide / 2 + 4), -one.aside.imag * (high / 2 + 4))
        box = QRectF(middle.x() - wide / 2, middle.y() - high / 2, wide, high)
        return PlacedDimension(one, start, end, feet, box, text)

    def dimension_at(self, place: QPointF) -> PlacedDimension | None:
        """Return the dimension that a person may change whose number is at a place."""
        both = (*self.dimensions, *self.side_dimensions)
        return next((one for one in both if one.dimension.field and one.box.contains(place)), None)
