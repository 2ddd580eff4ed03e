"""Draws the rows of the Flow view: names, counts as steps or items as ticks, and the last column.

From a failure on a row is hatched, with the sign of its severity where it fails. The line of the shaft
stands in the first turn that is shown. A click on a failed row's hatching, sign or last column names
its finding; with the keyboard, Up and Down go from failure to failure, and Enter names the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import takewhile

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QToolTip, QWidget

from shaftscore.base import wording
from shaftscore.base.angles import TURN
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.theme.polygons import Places, polygon_of
from shaftscore_app.theme.signs import SIGNS
from shaftscore_app.timing.layers.look import halves, hatch
from shaftscore_app.views.flow_rows import ChannelItem, ChannelRow, FlowPicture, MagazineRow, Row

ROW, AXIS = 17, 18
"""Least height of a row, and the height of the axis, px of the design."""

MOST_ROW = 40
"""Height of a row where there is room, px of the design."""

TURN_WIDTH = 34
"""Least width of a turn, px of the design."""

PAD, GAP, SIGN = 12, 8, 12
TOP = 2
NEAR = 4
"""How near a tick counts as pointed at, px of the design."""

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignCenter


class FlowCanvas(QWidget):
    """The drawing.

    Over 300 lines, since what is drawn, what is pointed at and what a key reaches must agree row by row.

    Signals: failure_wanted(key) when a failure was clicked, or Enter pressed on it.
    """

    failure_wanted = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Draw nothing yet."""
        super().__init__()
        self._theme = theme
        self._picture: FlowPicture | None = None
        self._kept = KeptThings()
        self._cursor_deg = 0.0
        self._chosen: object = None
        self.setMouseTracking(True)
        EventWatch(self, self._on_event)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def set_picture(self, picture: FlowPicture) -> None:
        """Show other rows."""
        self._picture = picture
        self.setMinimumHeight(self._theme.px(ROW) * len(picture.rows) + self._theme.px(AXIS + TOP))
        self.updateGeometry()
        self.update()

    def set_cursor(self, deg: float) -> None:
        """Move the line of the shaft."""
        self._cursor_deg = deg
        self.update()

    def sizeHint(self) -> QSize:
        """Return a size at which all rows are seen."""
        return QSize(self._theme.px(320), self.minimumHeight())

    # Places

    @property
    def plot(self) -> QRectF:
        """Where the turns are drawn."""
        look = (self.width(), self.height(), self._theme.u)
        return self._kept.get("plot", "", (self._picture,), look, self._made_plot)

    def _made_plot(self) -> QRectF:
        px, rows = self._theme.px, self._picture.rows if self._picture else ()
        metrics = QFontMetricsF(self._theme.font(12))
        widest = max((metrics.horizontalAdvance(row.name) for row in rows), default=0.0)
        bold = QFontMetricsF(self._theme.font(12, 600))
        ends = [*(row.last for row in rows), "lowest count"]
        last = max(bold.horizontalAdvance(text) for text in ends)
        left = px(PAD) + min(widest, self.width() * 0.3) + px(GAP)
        right = max(left + px(TURN_WIDTH), self.width() - px(PAD) - last - px(GAP))
        top = px(TOP)
        height = min(self.height() - px(AXIS) - top, px(MOST_ROW) * max(1, len(rows)))
        return QRectF(left, top, right - left, height)

    @property
    def turns(self) -> tuple[int, int]:
        """The first and last turn that are shown."""
        if self._picture is None:
            return 1, 1
        return self._picture.turns_in_sight(int(self.plot.width() // self._theme.px(TURN_WIDTH)))

    def x_of(self, at: float) -> float:
        """Return where a time (turns from the start) is drawn."""
        return float(self._across([at])[0])

    def _across(self, times: Sequence[float]) -> Places:
        """Return where n times (turns from the start) are drawn, px, shape (n,)."""
        (first, last), plot = self.turns, self.plot
        return plot.left() + (np.asarray(times, float) - (first - 1)) / (last - first + 1) * plot.width()

    def band(self, index: int) -> QRectF:
        """Return a row's place in the plot."""
        plot = self.plot
        height = plot.height() / max(1, len(self._picture.rows) if self._picture else 1)
        return QRectF(plot.left(), plot.top() + index * height, plot.width(), height)

    # Pointing

    def row_at(self, place: QPointF) -> Row | None:
        """Return the row at a place, if there is one."""
        rows = self._picture.rows if self._picture else ()
        near = (row for index, row in enumerate(rows) if self._holds(index, place.y()))
        return next(near, None)

    def _holds(self, index: int, y: float) -> bool:
        band = self.band(index)
        return band.top() <= y < band.bottom()

    def is_failure(self, place: QPointF) -> bool:
        """Return whether a place shows a failure: its sign, its hatching, or its words."""
        row = self.row_at(place)
        if row is None or row.failure is None:
            return False
        return place.x() >= self.x_of(row.failure.at) - self._theme.px(SIGN) or place.x() > self.plot.right()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show a hand over a failure."""
        over = self.is_failure(event.position())
        self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Report whose failure was clicked."""
        row = self.row_at(event.position())
        left = event.button() == Qt.MouseButton.LeftButton
        if left and row is not None and row.failure is not None and self.is_failure(event.position()):
            self.failure_wanted.emit(row.failure.finding.key)

    def _on_event(self, event: QEvent) -> bool:
        """Show what is pointed at."""
        if isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.tip_at(event.pos()), self)
            return True
        return False

    def tip_at(self, place: QPoint) -> str:
        """Describe what a place shows, with counts and times; empty where there is no row."""
        picture, row = self._picture, self.row_at(QPointF(place))
        if picture is None or row is None:
            return ""
        lines = [row.name, *self._told(picture, row, place)]
        if row.failure is not None:
            lines.append(f"{row.failure.text.capitalize()}: {picture.place(row.failure.at)}")
        return "\n".join(lines)

    def _told(self, picture: FlowPicture, row: Row, place: QPoint) -> list[str]:
        plot = self.plot
        inside = plot.left() <= place.x() <= plot.right()
        first, last = self.turns
        at = first - 1 + (place.x() - plot.left()) / plot.width() * (last - first + 1)
        if isinstance(row, MagazineRow):
            said = [f"{row.count_at(at)} of {row.capacity} at {picture.place(at)}"] if inside else []
            return [*said, *_needs(row, picture)]
        item = self._item_near(row, place.x()) if inside else None
        return [row.last] if item is None else [_item(item, picture)]

    def _item_near(self, row: ChannelRow, x: float) -> ChannelItem | None:
        near = min(row.items, key=lambda item: abs(self.x_of(item.enters) - x), default=None)
        far = near is None or abs(self.x_of(near.enters) - x) > self._theme.px(NEAR)
        return None if far else near

    # Keys

    @property
    def chosen(self) -> Row | None:
        """The failing row that the keys stand on; None before they are used."""
        rows = self._picture.rows if self._picture else ()
        return next((row for row in rows if row.failure and row.failure.finding.key == self._chosen), None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from failure to failure, and tell whose it is."""
        steps = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}
        by = steps.get(Qt.Key(event.key()), 0)
        if by:
            self._go(by)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            if self.chosen is None:
                self._go(1)
            if self.chosen is not None and self.chosen.failure is not None:
                self.failure_wanted.emit(self.chosen.failure.finding.key)
        else:
            super().keyPressEvent(event)

    def _go(self, by: int) -> None:
        """Choose the next or previous failing row; those at the ends stay."""
        failing = [row for row in (self._picture.rows if self._picture else ()) if row.failure]
        if self._picture is None or not failing:
            return
        now = self.chosen
        at = failing.index(now) + by if now in failing else 0 if by > 0 else len(failing) - 1
        row = failing[min(max(at, 0), len(failing) - 1)]
        assert row.failure is not None
        self._chosen = row.failure.finding.key
        said = f"{row.name}: {row.failure.text}, {self._picture.place(row.failure.at)}"
        self.setAccessibleDescription(said)
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))
        self.update()

    def _draw_focus(self, painter: QPainter) -> None:
        """Draw the ring of the focus about the chosen row, or about all while none is."""
        if not self.hasFocus() or self._picture is None:
            return
        inset = self._theme.u
        area = QRectF(self.rect())
        if self.chosen is not None:
            band = self.band(self._picture.rows.index(self.chosen))
            area = QRectF(0.0, band.top(), self.width(), band.height())
        painter.setPen(QPen(self._theme.color("accent"), 2 * self._theme.u))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(area.adjusted(inset, inset, -inset, -inset), 2.0, 2.0)

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw all rows, the turns, and the line of the shaft."""
        if self._picture is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.plot, self._theme.color("strip"))
        self._draw_turns(painter)
        for index, row in enumerate(self._picture.rows):
            self._draw_row(painter, row, self.band(index))
        painter.setPen(QPen(self._theme.color("line"), 1))
        painter.drawRect(self.plot)
        self._draw_cursor(painter)
        self._draw_focus(painter)

    def _token(self, token: str) -> str:
        """Return `muted` for everything while what is shown is an earlier project's."""
        return "muted" if self._picture is not None and self._picture.stale else token

    def _draw_turns(self, painter: QPainter) -> None:
        theme, plot, (first, last) = self._theme, self.plot, self.turns
        painter.setFont(theme.font(11))
        every = self._label_step(painter)
        for turn in range(first, last + 1):
            left, right = self.x_of(turn - 1), self.x_of(turn)
            painter.setPen(QPen(theme.color("grid-major"), 1))
            painter.drawLine(QPointF(left, plot.top()), QPointF(left, plot.bottom()))
            painter.setPen(theme.color("muted"))
            if (turn - first) // every * every == turn - first:
                place = QRectF(left, plot.bottom(), (right - left) * every, theme.px(AXIS))
                painter.drawText(place, _LEFT if every > 1 else _CENTRE, self._label(painter, turn, first))
        painter.drawText(self._last_column(plot.bottom(), theme.px(AXIS)), _RIGHT, "lowest count")

    def _label_step(self, painter: QPainter) -> int:
        """Return of how many turns each one is labelled, so that labels do not touch."""
        first, last = self.turns
        room = self.plot.width() / (last - first + 1)
        wanted = painter.fontMetrics().horizontalAdvance(f"{last:,}") + self._theme.px(6)
        return max(1, int(-(-wanted // room)))

    def _label(self, painter: QPainter, turn: int, first: int) -> str:
        """Return a turn's label: with the word where there is room, else with it at the first one."""
        long = f"turn {turn:,}"
        room = self.x_of(first) - self.x_of(first - 1)
        fits = painter.fontMetrics().horizontalAdvance(f"turn {self.turns[1]:,}") + self._theme.px(2) <= room
        return long if fits or (turn == first and self._fits_first(painter, long, room)) else f"{turn:,}"

    def _fits_first(self, painter: QPainter, text: str, room: float) -> bool:
        return painter.fontMetrics().horizontalAdvance(text) <= room

    def _last_column(self, top: float, height: float) -> QRectF:
        left = self.plot.right() + self._theme.px(GAP)
        return QRectF(left, top, self.width() - self._theme.px(PAD) - left, height)

    def _draw_row(self, painter: QPainter, row: Row, band: QRectF) -> None:
        theme, px = self._theme, self._theme.px
        painter.setFont(theme.font(12))
        painter.setPen(theme.color(self._token("text")))
        name = QRectF(px(PAD), band.top(), band.left() - px(PAD) - px(GAP), band.height())
        metrics = QFontMetricsF(painter.font())
        painter.drawText(name, _LEFT, metrics.elidedText(row.name, Qt.TextElideMode.ElideRight, name.width()))
        if row.failure is not None:
            painter.setFont(theme.font(12, 600))
            painter.setPen(theme.color(self._token("error")))
        painter.drawText(self._last_column(band.top(), band.height()), _RIGHT, row.last)
        painter.save()
        painter.setClipRect(band)
        painter.setPen(QPen(theme.color("grid-major"), 1))
        painter.drawLine(band.bottomLeft(), band.bottomRight())
        if isinstance(row, MagazineRow):
            self._draw_steps(painter, row, band)
        else:
            self._draw_ticks(painter, row, band)
        painter.restore()
        self._draw_failure(painter, row, band)

    def _draw_steps(self, painter: QPainter, row: MagazineRow, band: QRectF) -> None:
        """Draw the counts up to a failure; 0 lies at the foot of the row, the capacity at its top."""
        inset = self._theme.px(3)
        height = band.height() - 2 * inset
        end = row.failure.at if row.failure else float(self.turns[1])
        steps = [step for place, step in enumerate(row.steps) if place == 0 or step[0] <= end]
        x = halves(self._across([at for at, _ in steps]))
        y = halves(band.bottom() - inset - np.array([count for _, count in steps]) / row.capacity * height)
        x = np.append(np.repeat(x, 2)[1:], self.x_of(end))
        painter.setPen(QPen(self._theme.color(self._token("curve")), 1.5 * self._theme.u))
        painter.drawPolyline(polygon_of(x, np.repeat(y, 2)))

    def _draw_ticks(self, painter: QPainter, row: ChannelRow, band: QRectF) -> None:
        inset = self._theme.px(3)
        painter.setPen(QPen(self._theme.color(self._token("curve")), 1.5 * self._theme.u))
        end = row.failure.at if row.failure else math.inf
        shown = takewhile(lambda item: item.enters <= end, row.items)
        for x in halves(self._across([item.enters for item in shown])):
            painter.drawLine(QPointF(x, band.top() + inset), QPointF(x, band.bottom() - inset))

    def _draw_failure(self, painter: QPainter, row: Row, band: QRectF) -> None:
        """Hatch a row from its failure on, and put the sign there."""
        failure, (_, last), theme = row.failure, self.turns, self._theme
        if failure is None or failure.at >= last:
            return
        x = max(band.left(), self.x_of(failure.at))
        area = QRectF(QPointF(x, band.top() + 1), band.bottomRight()).adjusted(0, 0, 0, -1)
        color = theme.color(self._token("error"))
        painter.fillRect(area, theme.color("error-soft", 0.5 if self._token("error") == "muted" else 1.0))
        hatch(painter, area, QPen(color, theme.u), 5.0 * theme.u, rising=False, from_x=area.left())
        size = theme.px(SIGN)
        place = QRectF(x - size / 2, band.center().y() - size / 2, size, size)
        sign = theme.pixmap(SIGNS[failure.finding.severity], SIGN)
        painter.drawPixmap(place, sign, QRectF(sign.rect()))

    def _draw_cursor(self, painter: QPainter) -> None:
        first, plot = self.turns[0], self.plot
        x = self.x_of(first - 1 + self._cursor_deg / TURN)
        painter.setPen(QPen(self._theme.color("accent"), 1.5 * self._theme.u))
        painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))


def _needs(row: MagazineRow, picture: FlowPicture) -> list[str]:
    """Describe when a magazine held fewest, and with what feed or capacity it would never be empty."""
    result = row.result
    at = result.turn - 1 + result.deg / TURN
    lines = [f"Fewest: {result.lowest_count} of {row.capacity}, {picture.place(at)}"]
    if result.needed_rate_per_min is not None:
        lines.append(f"Never empty when fed {wording.per_minute(result.needed_rate_per_min)} or more")
    if result.needed_capacity is not None:
        lines.append(f"Never empty with a capacity of {result.needed_capacity:,} or more")
    return lines


def _item(item: ChannelItem, picture: FlowPicture) -> str:
    """Describe what an item in a channel is and when it comes and goes."""
    leaves, latest = (wording.seconds(at * picture.turn_s) for at in (item.leaves, item.latest))
    out = leaves if leaves == latest else f"{leaves} to {latest}"
    return f"{item.name} enters {picture.place(item.enters)}; leaves at {out}"
