"""A chart over one turn: curves, level lines and dots with their words, and the cursor.

Drawn with the painter alone, so that it costs nothing at start; angles of the master shaft run to the
right. The cursor follows the pointer while the button is down.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
)
from PySide6.QtWidgets import QWidget

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.theme.pictures import picture
from shaftscore_app.theme.polygons import polygon_of
from shaftscore_app.widgets.chart_layout import (
    Chart,
    ChartBand,
    ChartBox,
    ChartLine,
    Scale,
    placed,
    round_ticks,
    sentences,
    thinned,
    value_at,
    value_range,
)

Flag = Qt.AlignmentFlag


class ChartCanvas(QWidget):
    """The chart; `set_chart` shows another.

    Signals: moved(deg) while the person drags the cursor.
    """

    moved = Signal(float)

    def __init__(self, theme: Theme, name: str) -> None:
        """Make an empty chart with an accessible name."""
        super().__init__()
        self._theme = theme
        self._chart = Chart("")
        self._cursor_deg: float | None = None
        self._kept = KeptThings()
        self.setAccessibleName(name)
        self.setCursor(Qt.CursorShape.CrossCursor)
        theme.changed.connect(self._forget)

    @property
    def chart(self) -> Chart:
        """What is shown."""
        return self._chart

    @property
    def cursor_deg(self) -> float | None:
        """Where the cursor stands."""
        return self._cursor_deg

    def set_chart(self, chart: Chart) -> None:
        """Show another chart."""
        self._chart = chart
        self.setAccessibleDescription(chart.summary)
        self.update()

    def set_cursor(self, deg: float | None) -> None:
        """Put the cursor at an angle; None takes it away."""
        self._cursor_deg = deg
        self.update()

    def minimumSizeHint(self) -> QSize:
        """Return the least size at which its words can be read."""
        return QSize(self._theme.px(220), self._theme.px(90))

    def scale_now(self) -> Scale:
        """Return where values stand at this size."""
        px = self._theme.px
        plot = ChartBox(px(46), px(6), max(1, self.width() - px(46 + 18)), max(1, self.height() - px(6 + 22)))
        return Scale(plot, *value_range(self._chart))

    def word_boxes(self) -> tuple[ChartBox, ...]:
        """Return where the sentences of rules and marks stand."""
        metrics = QFontMetricsF(self._theme.font(11, 600))
        gap = self._theme.px(8)
        return placed(self._chart, self.scale_now(), metrics.horizontalAdvance, metrics.height(), gap)

    # Events

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Bring the cursor to the pointer."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._move(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Let the cursor follow the pointer."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._move(event)

    def _move(self, event: QMouseEvent) -> None:
        self.moved.emit(wrap(self.scale_now().deg(event.position().x())))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw everything, words last; what lies under and over the cursor is kept as pictures."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawPixmap(0, 0, self._picture("under", self._paint_under))
        self._paint_cursor(painter, self.scale_now())
        painter.drawPixmap(0, 0, self._picture("over", self._paint_over))

    def _forget(self) -> None:
        self._kept.forget()
        self.update()

    def _picture(self, name: str, paint: Callable[[QPainter], None]) -> QPixmap:
        area, ratio = QRectF(self.rect()), self.devicePixelRatioF()
        make = partial(picture, area, ratio, paint, clear=True)
        return self._kept.get("layer", name, (self._chart,), (self.width(), self.height(), ratio), make)

    def _paint_under(self, painter: QPainter) -> None:
        scale = self.scale_now()
        self._paint_ground(painter, scale)
        for band in self._chart.bands:
            self._paint_band(painter, scale, band)
        for line in self._chart.lines:
            self._paint_line(painter, scale, line)
        for rule in self._chart.rules:
            painter.setPen(self._pen("text", 2.0, dashed=True))
            self._level(painter, scale, rule.value)

    def _paint_over(self, painter: QPainter) -> None:
        self._paint_marks(painter, self.scale_now())
        self._paint_words(painter)

    # Parts

    def _paint_ground(self, painter: QPainter, scale: Scale) -> None:
        plot, theme = scale.plot, self._theme
        painter.fillRect(QRectF(plot.x, plot.y, plot.width, plot.height), theme.color("strip"))
        painter.setFont(theme.font(11))
        self._paint_values(painter, scale)
        step = 30 if plot.width > theme.px(520) else 60
        bottom = plot.y + plot.height
        for deg in range(0, 361, step):
            x = scale.x(deg)
            painter.setPen(QPen(theme.color("grid-major"), 1))
            painter.drawLine(QPointF(x, plot.y), QPointF(x, bottom))
            painter.setPen(theme.color("muted"))
            place = QRectF(x - theme.px(24), bottom + theme.px(3), theme.px(48), theme.px(18))
            painter.drawText(place, Flag.AlignCenter, f"{deg}°")

    def _paint_values(self, painter: QPainter, scale: Scale) -> None:
        plot, theme = scale.plot, self._theme
        most = max(2, int(plot.height / theme.px(24)))
        ticks = round_ticks(scale.low, scale.high, most)
        for tick in ticks:
            zero = tick == 0
            painter.setPen(self._pen("edge", 1.5) if zero else QPen(theme.color("grid-major"), 1))
            self._level(painter, scale, tick)
            painter.setPen(theme.color("muted"))
            place = QRectF(0, scale.y(tick) - theme.px(9), plot.x - theme.px(6), theme.px(18))
            painter.drawText(place, Flag.AlignRight | Flag.AlignVCenter, wording.plain(tick, 4))

    def _level(self, painter: QPainter, scale: Scale, value: float) -> None:
        y, plot = scale.y(value), scale.plot
        painter.drawLine(QPointF(plot.x, y), QPointF(plot.x + plot.width, y))

    def _paint_band(self, painter: QPainter, scale: Scale, band: ChartBand) -> None:
        """Tint the ground of a range and draw its two edges, run by run."""
        most = math.ceil(2 * scale.plot.width)
        finite = np.isfinite(band.low + band.high)
        for run in np.split(np.arange(len(finite)), np.flatnonzero(~finite)):
            part = run[finite[run]]
            if not len(part):
                continue
            high, low = (
                scale.places(*thinned(band.theta_deg[part], values[part], most))
                for values in (band.high, band.low)
            )
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._theme.color("material"))
            painter.drawPolygon(polygon_of(*np.concatenate([high, low[::-1]]).T))
            painter.setPen(self._pen(band.token, 0.75))
            for edge in (high, low):
                painter.drawPolyline(polygon_of(*edge.T))

    def _paint_line(self, painter: QPainter, scale: Scale, line: ChartLine) -> None:
        theta, values = thinned(line.theta_deg, line.values, math.ceil(2 * scale.plot.width))
        gaps = np.flatnonzero(~np.isfinite(values))
        for part in np.split(np.arange(len(values)), gaps):
            places = scale.places(theta[part], values[part])
            if len(places):
                self._paint_run(painter, scale, line, polygon_of(*places.T))

    def _paint_run(self, painter: QPainter, scale: Scale, line: ChartLine, run: QPolygonF) -> None:
        if line.filled:
            zero = scale.y(0.0)
            ground = QPolygonF(run)
            ground.append(QPointF(run.last().x(), zero))
            ground.append(QPointF(run.first().x(), zero))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._theme.color("material"))
            painter.drawPolygon(ground)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pen(line.token, line.width, dashed=line.dashed))
        painter.drawPolyline(run)

    def _paint_cursor(self, painter: QPainter, scale: Scale) -> None:
        if self._cursor_deg is None:
            return
        plot = scale.plot
        x = math.floor(scale.x(self._cursor_deg)) + 0.5  # on the middle of a pixel, so that it is crisp
        painter.setPen(self._pen("accent", 1.5))
        painter.drawLine(QPointF(x, plot.y), QPointF(x, plot.y + plot.height))
        for line in self._chart.lines[-1:]:
            value = value_at(line, self._cursor_deg)
            if math.isfinite(value):
                painter.setBrush(self._theme.color("panel"))
                self._dot(painter, x, scale.y(value))

    def _paint_marks(self, painter: QPainter, scale: Scale) -> None:
        for mark in self._chart.marks:
            painter.setPen(self._pen("curve", 1.25))
            painter.setBrush(self._theme.color("panel" if mark.hollow else "curve"))
            self._dot(painter, scale.x(mark.deg), scale.y(mark.value))

    def _dot(self, painter: QPainter, x: float, y: float) -> None:
        radius = 3.2 * self._theme.u
        painter.drawEllipse(QPointF(x, y), radius, radius)

    def _paint_words(self, painter: QPainter) -> None:
        theme = self._theme
        painter.setFont(theme.font(11, 600))
        metrics = QFontMetricsF(painter.font())
        texts = sentences(self._chart, self.scale_now(), metrics.horizontalAdvance, metrics.height())
        quiet_ones = [*(False for _ in self._chart.rules), *(mark.quiet for mark in self._chart.marks)]
        ground: QColor = theme.color("strip", 0.88)
        for text, quiet, box in zip(texts, quiet_ones, self.word_boxes(), strict=True):
            if not text:
                continue
            place = QRectF(box.x, box.y, box.width, box.height)
            painter.fillRect(place.adjusted(-2, 0, 2, 0), ground)
            painter.setFont(theme.font(11, 400 if quiet else 600))
            painter.setPen(theme.color("muted" if quiet else "text"))
            painter.drawText(place, Flag.AlignCenter, text)

    def _pen(self, token: str, width: float, *, dashed: bool = False) -> QPen:
        pen = QPen(self._theme.color(token), width * self._theme.u)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if dashed:
            pen.setDashPattern([4.0, 2.5])
        return pen
