"""Colours, fonts and text pictures that the layers share.

A text is drawn once into a picture and then only copied, since a diagram shows the same words again and
again. A *halo* is an outline in the colour of the ground, so that no line crosses a letter.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Protocol

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
)

from shaftscore.make.drawing.timing.bodies import level_style
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.runtime.recent import RecentThings
from shaftscore_app.theme import Theme
from shaftscore_app.theme.pictures import picture, ratio_of
from shaftscore_app.theme.polygons import Places

HALO_PX = 2.4
"""Width of a halo's outline, px of the design."""

SMALL = 11.0
"""Size of text in the diagram, px of the design."""

MOST_TEXTS, MOST_WIDTHS = 2000, 8000
"""So many pictures of texts are kept, a few kB each, and so many widths: some times what a screen shows."""


@dataclass(frozen=True)
class Font:
    """A font of the design: size in px and weight."""

    size: float = SMALL
    weight: int = 400


SMALL_FONT = Font()
"""The font of most text in the diagram."""


@dataclass(frozen=True)
class LevelLook:
    """How a level's blocks look: fill, edge and text colour, pattern 0 to 4, whether the edge is double."""

    fill: QColor
    edge: QColor
    text: QColor
    pattern: int
    double: bool


class Memory(Protocol):
    """What is remembered until it is forgotten."""

    def clear(self) -> None:
        """Forget all."""
        ...


class DiagramStyle:
    """What a theme gives the layers, remembered until the theme changes."""

    def __init__(self, theme: Theme) -> None:
        """Take colours and fonts from `theme`."""
        self.theme = theme
        self._u = theme.u
        self._pens: dict[tuple[object, ...], QPen] = {}
        self._colors: dict[tuple[str, float], QColor] = {}
        self._levels: dict[int, LevelLook] = {}
        self._fonts: dict[Font, tuple[QFont, QFontMetricsF]] = {}
        self._widths = RecentThings[float](MOST_WIDTHS)
        self._texts = RecentThings[QPixmap](MOST_TEXTS)

    def forget(self) -> None:
        """Forget what was: the theme has changed. Fonts stay where no size did."""
        memories: list[Memory] = [self._pens, self._colors, self._levels, self._texts]
        if self._u != self.theme.u:
            memories += [self._fonts, self._widths]
        for memory in memories:
            memory.clear()
        self._u = self.theme.u

    @property
    def u(self) -> float:
        """Factor for every size of the design."""
        return self._u

    def color(self, token: str, alpha: float = 1.0) -> QColor:
        """Return a token's colour."""
        key = (token, alpha)
        if key not in self._colors:
            self._colors[key] = self.theme.color(token, alpha)
        return self._colors[key]

    def pen(self, token: str, width: float = 1.0, alpha: float = 1.0) -> QPen:
        """Return a solid pen with flat ends; width in px of the design. It is shared: do not change it."""
        key = (token, width, alpha)
        if key not in self._pens:
            self._pens[key] = self._made_pen(token, width, alpha)
        return self._pens[key]

    def _made_pen(self, token: str, width: float, alpha: float) -> QPen:
        pen = QPen(self.color(token, alpha), width * self._u)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        return pen

    def dashes(self, token: str, width: float, on: float, off: float, *, alpha: float = 1.0) -> QPen:
        """Return a dashed pen; on and off in px of the design. It is shared: do not change it."""
        key = (token, width, on, off, alpha)
        if key not in self._pens:
            pen = self._made_pen(token, width, alpha)
            pen.setDashPattern([on / width, off / width])
            self._pens[key] = pen
        return self._pens[key]

    def level(self, rank: int) -> LevelLook:
        """Return the look of the level of a rank, lowest 0; ranks above 5 begin again with a double edge."""
        if rank not in self._levels:
            self._levels[rank] = self._made_level(rank)
        return self._levels[rank]

    def _made_level(self, rank: int) -> LevelLook:
        style = level_style(rank)
        text = self.color("l0-text" if style.number == 0 else "on-level")
        fill, edge = self.color(f"l{style.number}"), self.color(f"l{style.number}-edge")
        return LevelLook(fill, edge, text, style.pattern, style.double)

    # Text

    def _font(self, font: Font) -> tuple[QFont, QFontMetricsF]:
        if font not in self._fonts:
            made = self.theme.font(font.size, font.weight)
            self._fonts[font] = (made, QFontMetricsF(made))
        return self._fonts[font]

    def width(self, text: str, font: Font = SMALL_FONT) -> float:
        """Return a text's width, px."""
        return self._widths.get((text, font), lambda: self._font(font)[1].horizontalAdvance(text))

    def shortened(self, text: str, font: Font, room: float) -> str:
        """Cut a text to a width, ending in an ellipsis."""
        if self.width(text, font) <= room:
            return text
        return self._font(font)[1].elidedText(text, Qt.TextElideMode.ElideRight, room)

    def text(
        self,
        painter: QPainter,
        x: float,
        baseline: float,
        text: str,
        color: QColor,
        *,
        font: Font = SMALL_FONT,
        halo: QColor | None = None,
    ) -> None:
        """Draw a text with its left end at x."""
        if not text:
            return
        ratio = ratio_of(painter)
        picture = self._picture(text, color, font, halo, ratio)
        margin, ascent = _margins(self._font(font)[1])
        left = round((x - margin) * ratio) / ratio
        top = round((baseline - margin - ascent) * ratio) / ratio
        painter.drawPixmap(QPointF(left, top), picture)

    def text_right(
        self,
        painter: QPainter,
        x: float,
        baseline: float,
        text: str,
        color: QColor,
        *,
        font: Font = SMALL_FONT,
        halo: QColor | None = None,
    ) -> None:
        """Draw a text with its right end at x."""
        self.text(painter, x - self.width(text, font), baseline, text, color, font=font, halo=halo)

    def text_middle(
        self,
        painter: QPainter,
        x: float,
        baseline: float,
        text: str,
        color: QColor,
        *,
        font: Font = SMALL_FONT,
        halo: QColor | None = None,
    ) -> None:
        """Draw a text with its middle at x."""
        self.text(painter, x - self.width(text, font) / 2, baseline, text, color, font=font, halo=halo)

    def baseline(self, middle: float, font: Font = SMALL_FONT) -> float:
        """Return the baseline of a text whose small letters' middle lies at `middle`."""
        return middle + 0.33 * font.size * self.u

    def _picture(self, text: str, color: QColor, font: Font, halo: QColor | None, ratio: float) -> QPixmap:
        key = (text, color.rgba(), font, halo.rgba() if halo else None, ratio)
        return self._texts.get(key, lambda: self._drawn(text, color, font, halo, ratio))

    def _drawn(self, text: str, color: QColor, font: Font, halo: QColor | None, ratio: float) -> QPixmap:
        qfont, metrics = self._font(font)
        margin, ascent = _margins(metrics)
        width = math.ceil((self.width(text, font) + 2 * margin) * ratio)
        height = math.ceil((ascent + math.ceil(metrics.descent()) + 2 * margin) * ratio)
        picture = QPixmap(width, height)
        picture.setDevicePixelRatio(ratio)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
        place = QPointF(margin, margin + ascent)
        if halo is not None:
            path = QPainterPath()
            path.addText(place, qfont, text)
            painter.strokePath(path, _halo_pen(halo, self.u))
        painter.setFont(qfont)
        painter.setPen(color)
        painter.drawText(place, text)
        painter.end()
        return picture

    def place(
        self,
        painter: QPainter,
        kept: KeptThings,
        *,
        name: tuple[str, str],
        objects: tuple[object, ...],
        key: object,
        area: QRectF,
        paint: Callable[[QPainter], None],
    ) -> None:
        """Copy a kept picture to its area, painting it first where it is not there yet.

        name: kind and name under which it is kept. objects, key: what it is made from. paint: paints it
        with its origin at the area's corner.
        """
        ratio = ratio_of(painter)
        whole = (key, area.width(), area.height(), ratio)
        shown = kept.get(*name, objects, whole, partial(picture, area, ratio, paint))
        painter.drawPixmap(area.topLeft(), shown)

    def sign(self, painter: QPainter, x: float, y: float, severity: str, size: float = 13.0) -> None:
        """Draw a severity's sign with its middle at a place."""
        self.icon(painter, x, y, f"severity-{severity}", severity, size=size)

    def icon(
        self, painter: QPainter, x: float, y: float, name: str, token: str, *, size: float = 16.0
    ) -> None:
        """Draw an icon with its middle at a place."""
        ratio = ratio_of(painter)
        picture = self.theme.pixmap(name, size, token, ratio)
        side = picture.width() / ratio
        left, top = (round((place - side / 2) * ratio) / ratio for place in (x, y))
        painter.drawPixmap(QPointF(left, top), picture)


def _margins(metrics: QFontMetricsF) -> tuple[int, int]:
    """Return the room round a text's picture and its ascent, whole px."""
    return 3, math.ceil(metrics.ascent())


def _halo_pen(color: QColor, u: float) -> QPen:
    pen = QPen(color, HALO_PX * u)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


def half(value: float) -> float:
    """Return the middle of the px line that holds a value: where a hairline is drawn crisply."""
    return math.floor(value) + 0.5


def halves(values: Places) -> Places:
    """Return `half` of n values, shape (n,)."""
    return np.floor(values) + 0.5


def hatch(
    painter: QPainter, area: QRectF, pen: QPen, spacing: float, *, rising: bool, from_x: float = 0.0
) -> None:
    """Fill an area with lines at 45 degrees, `spacing` px apart; from_x: through which x they run.

    The lines end where the area ends, since not every reader of an SVG clips.
    """
    painter.save()
    painter.setPen(pen)
    step = spacing * math.sqrt(2.0)
    height = area.height()
    x = from_x + math.floor((area.left() - height - from_x) / step) * step
    near, far = (area.bottom(), area.top()) if rising else (area.top(), area.bottom())
    count = math.ceil((area.right() - x) / step) + 1
    lines = (QLineF(x + n * step, near, x + n * step + height, far) for n in range(count))
    painter.drawLines([cut for line in lines if (cut := _cut(line, area)) is not None])
    painter.restore()


def _cut(line: QLineF, area: QRectF) -> QLineF | None:
    """Keep what lies between the sides of an area of a line that runs from its top to its bottom."""
    if line.dx() <= 0:
        return None
    first = max(0.0, (area.left() - line.x1()) / line.dx())
    last = min(1.0, (area.right() - line.x1()) / line.dx())
    return QLineF(line.pointAt(first), line.pointAt(last)) if last > first else None
