"""The count of the selected magazine over the run, below the faces of the Flow view.

From the first opening that finds nothing on it is hatched, with a sign there. A click near an opening, or
Left and Right, go from opening to opening and put the cursor of the machine there.
"""

from __future__ import annotations

from bisect import bisect_left

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
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

from shaftscore.base.angles import TURN
from shaftscore.base.wording import counted
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.theme.polygons import Places, polygon_of
from shaftscore_app.theme.signs import SIGNS
from shaftscore_app.timing.layers.look import halves, hatch
from shaftscore_app.views.flow_faces.magazine_run import MagazineRun, Opening

HEIGHT = 118
"""Height of the drawing, px of the design."""

PAD, HEAD, AXIS, SIGN = 12, 22, 16, 12
NEAR = 8
"""How near a click must be to an opening, px of the design."""

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop


class MagazineCounts(QWidget):
    """The drawing.

    Signals: cursor_wanted(deg) when the machine's cursor shall be at an opening; finding_wanted(key).
    """

    cursor_wanted = Signal(float)
    finding_wanted = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Draw nothing yet."""
        super().__init__()
        self._theme = theme
        self._run: MagazineRun | None = None
        self._chosen: int | None = None
        self._cursor_deg = 0.0
        self.setAccessibleName("Count of the magazine")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        EventWatch(self, self._on_event)

    @property
    def run(self) -> MagazineRun | None:
        """What is drawn."""
        return self._run

    def set_run(self, run: MagazineRun | None) -> None:
        """Draw another magazine or run."""
        if self._run is None or run is None or run.name != self._run.name:
            self._chosen = None
        self._run = run
        if run is not None:
            self.setAccessibleDescription(run.spoken)
        self.update()

    def set_cursor(self, deg: float) -> None:
        """Move the line of the shaft."""
        self._cursor_deg = deg
        self.update()

    def sizeHint(self) -> QSize:
        """Return a size at which it can be read."""
        return QSize(self._theme.px(420), self._theme.px(HEIGHT))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(120), self._theme.px(HEIGHT))

    # Places

    @property
    def plot(self) -> QRectF:
        """Where the run is drawn."""
        px, theme = self._theme.px, self._theme
        figures = QFontMetricsF(theme.font(12, 600)).horizontalAdvance("999 openings")
        scale = QFontMetricsF(theme.font(11)).horizontalAdvance(f"{self._run.capacity if self._run else 0:,}")
        left, right = px(PAD) + scale + px(6), self.width() - px(PAD) - figures - px(10)
        bottom = self.height() - px(AXIS) - px(4)
        return QRectF(left, px(HEAD), max(px(40), right - left), max(px(20), bottom - px(HEAD)))

    def x_of(self, at: float) -> float:
        """Return where a time (turns from the start) is drawn."""
        return float(self._across(np.array([at]))[0])

    def _across(self, times: Places) -> Places:
        """Return where n times (turns from the start) are drawn, px, shape (n,)."""
        plot, turns = self.plot, self._run.turns if self._run else 1
        return plot.left() + times / max(1, turns) * plot.width()

    def _y(self, counts: Places) -> Places:
        """Return where n counts are drawn, px, shape (n,)."""
        plot, capacity = self.plot, self._run.capacity if self._run else 1
        return plot.bottom() - counts / max(1, capacity) * plot.height()

    # Openings

    def opening_near(self, x: float) -> Opening | None:
        """Return the opening at a place across, the nearest one of those near."""
        run, plot = self._run, self.plot
        if run is None or not run.openings:
            return None
        at = (x - plot.left()) / plot.width() * run.turns
        place = bisect_left(run.openings, at, key=lambda one: one.at)
        near = min(run.openings[max(0, place - 1) : place + 1], key=lambda one: abs(one.at - at))
        return near if abs(self.x_of(near.at) - x) <= self._theme.px(NEAR) else None

    @property
    def chosen(self) -> Opening | None:
        """The opening that the keys stand on."""
        openings = self._run.openings if self._run else ()
        return openings[self._chosen] if self._chosen is not None and self._chosen < len(openings) else None

    def _go_to(self, opening: Opening) -> None:
        assert self._run is not None, "openings are of a run"
        self._chosen = self._run.openings.index(opening)
        self.setAccessibleDescription(opening.text)
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, opening.text))
        self.cursor_wanted.emit(opening.deg)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Put the cursor at the opening that was clicked."""
        opening = self.opening_near(event.position().x())
        if event.button() == Qt.MouseButton.LeftButton and opening is not None:
            self._go_to(opening)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show a hand near an opening."""
        near = self.opening_near(event.position().x()) is not None
        self.setCursor(Qt.CursorShape.PointingHandCursor if near else Qt.CursorShape.ArrowCursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from opening to opening; Enter goes to what is found about the magazine."""
        run = self._run
        by = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(event.key()), 0)
        if run is None or (by and not run.openings):
            return
        if by:
            now = -1 if self._chosen is None else self._chosen
            self._go_to(run.openings[min(max(now + by, 0), len(run.openings) - 1)])
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and run.finding is not None:
            self.finding_wanted.emit(run.finding.key)
        else:
            super().keyPressEvent(event)

    def _on_event(self, event: QEvent) -> bool:
        if not isinstance(event, QHelpEvent):
            return False
        opening = self.opening_near(event.pos().x())
        QToolTip.showText(event.globalPos(), "" if opening is None else opening.text, self)
        return True

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the run, its failure, and the figures at the right."""
        run = self._run
        if run is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_frame(painter, run)
        self._draw_failure(painter, run)
        self._draw_steps(painter, run)
        self._draw_empty(painter, run)
        self._draw_figures(painter, run)
        self._draw_cursor(painter)
        if self.hasFocus():
            painter.setPen(QPen(self._theme.color("accent"), 2 * self._theme.u))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 2.0, 2.0)

    def _token(self, token: str) -> str:
        return "muted" if self._run is not None and self._run.is_stale else token

    def _draw_frame(self, painter: QPainter, run: MagazineRun) -> None:
        theme, px, plot = self._theme, self._theme.px, self.plot
        painter.fillRect(plot, theme.color("strip"))
        painter.setFont(theme.font(12, 600))
        painter.setPen(theme.color("text"))
        painter.drawText(QRectF(px(PAD), 0, self.width(), px(HEAD)), _LEFT, run.title)
        painter.setFont(theme.font(11))
        step = self._label_step(painter, run)
        for turn in range(run.turns):
            left, right = self.x_of(turn), self.x_of(turn + 1)
            painter.setPen(QPen(theme.color("grid-major"), 1))
            painter.drawLine(QPointF(left, plot.top()), QPointF(left, plot.bottom()))
            if turn % step == 0:
                painter.setPen(theme.color("muted"))
                place = QRectF(left, plot.bottom() + px(2), (right - left) * step, px(AXIS))
                painter.drawText(place, _CENTRE if step == 1 else _LEFT, f"{turn + 1:,}")
        painter.setPen(theme.color("muted"))
        for count in {0, run.capacity}:
            y = float(self._y(np.array([count]))[0])
            box = QRectF(px(PAD), y - px(8), plot.left() - px(PAD) - px(6), px(16))
            painter.drawText(box, _RIGHT, f"{count:,}")
        painter.setPen(QPen(theme.color("line"), 1))
        painter.drawRect(plot)

    def _label_step(self, painter: QPainter, run: MagazineRun) -> int:
        """Return of how many turns each one is labelled, so that labels do not touch."""
        wanted = painter.fontMetrics().horizontalAdvance(f"{run.turns:,}") + self._theme.px(6)
        return max(1, int(-(-wanted * run.turns // max(1.0, self.plot.width()))))

    def _draw_steps(self, painter: QPainter, run: MagazineRun) -> None:
        x = halves(self._across(np.array([at for at, _ in run.steps])))
        y = halves(self._y(np.array([count for _, count in run.steps])))
        x = np.append(np.repeat(x, 2)[1:], self.plot.right())
        painter.setPen(QPen(self._theme.color(self._token("curve")), 1.5 * self._theme.u))
        painter.drawPolyline(polygon_of(x, np.repeat(y, 2)))

    def _draw_failure(self, painter: QPainter, run: MagazineRun) -> None:
        """Hatch from the first failure on."""
        first, theme, plot = run.first_empty, self._theme, self.plot
        if first is None:
            return
        x = self.x_of(first.at)
        area = QRectF(QPointF(x, plot.top()), plot.bottomRight())
        painter.fillRect(area, theme.color("error-soft", 0.5 if run.is_stale else 1.0))
        color = theme.color(self._token("error"))
        hatch(painter, area, QPen(color, theme.u * 0.5), 7.0 * theme.u, rising=False, from_x=x)

    def _draw_empty(self, painter: QPainter, run: MagazineRun) -> None:
        """Draw a mark at each opening that found nothing, and sign and words at the first."""
        first, theme, px, plot = run.first_empty, self._theme, self._theme.px, self.plot
        chosen = self.chosen
        if chosen is not None:
            painter.setPen(QPen(theme.color("accent"), theme.u))
            painter.drawLine(*(QPointF(self.x_of(chosen.at), y) for y in (plot.top(), plot.bottom())))
        if first is None:
            return
        painter.setPen(QPen(theme.color(self._token("error")), 2 * theme.u))
        for x in dict.fromkeys(halves(self._across(np.array([o.at for o in run.openings if o.is_empty])))):
            painter.drawLine(QPointF(x, plot.bottom() - px(5)), QPointF(x, plot.bottom()))
        x, size = self.x_of(first.at), px(SIGN)
        if run.finding is not None:
            sign = theme.pixmap(SIGNS[run.finding.severity], SIGN)
            painter.drawPixmap(
                QRectF(x - size / 2, plot.center().y() - size / 2, size, size), sign, QRectF(sign.rect())
            )
        painter.setFont(theme.font(12, 600))
        self._draw_words(painter, first.text, x)

    def _draw_words(self, painter: QPainter, text: str, x: float) -> None:
        """Write the words of the first failure beside it, on the side where there is room."""
        plot, px = self.plot, self._theme.px
        width = painter.fontMetrics().horizontalAdvance(text) + px(8)
        left = x + px(8) if x + px(8) + width <= plot.right() else max(plot.left(), x - px(4) - width)
        box = QRectF(left, plot.top() + px(1), min(width, plot.width()), px(17))
        painter.fillRect(box, self._theme.color("strip"))
        painter.setPen(self._theme.color(self._token("error")))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _draw_figures(self, painter: QPainter, run: MagazineRun) -> None:
        theme, px, plot = self._theme, self._theme.px, self.plot
        left = plot.right() + px(10)

        def line(y: float, text: str, token: str, weight: int = 400) -> None:
            painter.setFont(theme.font(12 if weight > 400 else 11, weight))
            painter.setPen(theme.color(token))
            painter.drawText(QRectF(left, y, self.width() - left, px(16)), _LEFT, text)

        line(plot.top(), f"capacity {run.capacity:,}", "muted")
        if run.empty_count:
            line(plot.center().y() - px(12), counted(run.empty_count, "opening"), self._token("error"), 600)
            line(plot.center().y() + px(4), "without an item", "muted")
        line(plot.bottom() + px(2), "turn", "muted")

    def _draw_cursor(self, painter: QPainter) -> None:
        """Draw the line of the shaft in the turn of the chosen opening, else in the first."""
        chosen, plot = self.chosen, self.plot
        turn = int(chosen.at) if chosen is not None else 0
        x = self.x_of(turn + self._cursor_deg / TURN)
        painter.setPen(QPen(self._theme.color("accent"), 1.5 * self._theme.u))
        painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))
