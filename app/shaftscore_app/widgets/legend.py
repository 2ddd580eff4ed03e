"""A legend: names of curves, each beside a short piece of its line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from shaftscore_app.theme import Theme

Entry = tuple[str, tuple[float, ...], str]
"""Colour token, dashes (none: a solid line) in widths of the line, and name."""

DASHES = (2.5, 1.5)
"""The usual dashes."""

ROW_PX, NAME_PX, ENTRY_PX = 20, 22, 36
"""Height of a row, where a name begins beside its line, and what an entry takes beside its name, px."""


class Legend(QWidget):
    """Names of curves, each beside a short piece of its line."""

    def __init__(self, theme: Theme) -> None:
        """Make an empty legend."""
        super().__init__()
        self._theme = theme
        self._entries: tuple[Entry, ...] = ()

    @property
    def entries(self) -> tuple[Entry, ...]:
        """What is shown."""
        return self._entries

    def set_entries(self, entries: tuple[Entry, ...]) -> None:
        """Show other names."""
        self._entries = entries
        self.setAccessibleName(", ".join(name for _, _, name in entries))
        self.setToolTip(self.accessibleName())
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for all names in one row."""
        metrics, px = QFontMetricsF(self._theme.font(12)), self._theme.px
        width = sum(metrics.horizontalAdvance(name) + px(ENTRY_PX) for _, _, name in self._entries)
        return QSize(math.ceil(width), px(ROW_PX))

    def minimumSizeHint(self) -> QSize:
        """Return way before the dock grows wider."""
        return QSize(1, self._theme.px(ROW_PX))

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows at a width."""
        margins = self.contentsMargins()
        wide = width - margins.left() - margins.right()
        rows = max((row for _, _, row in self._rows(wide)), default=0) + 1
        return rows * self._theme.px(ROW_PX)

    def stand_in(self, head: QBoxLayout, place: int, width: int) -> None:
        """Stand in a head of this width where all names fit beside what is there, else in rows below it.

        place: where in the head. The head is the first in its column, and has a stretch of 0 beside it.
        """
        items = filter(None, (head.itemAt(number) for number in range(head.count())))
        seen = [item for item in items if item.widget() is not self and not item.isEmpty()]
        taken = sum(item.sizeHint().width() + head.spacing() for item in seen)
        margins = head.contentsMargins()
        is_beside = width - margins.left() - margins.right() - taken >= self.sizeHint().width()
        column = head.parent()
        assert isinstance(column, QVBoxLayout)
        if is_beside == (head.indexOf(self) >= 0):
            return
        policy = self.sizePolicy()
        policy.setHeightForWidth(not is_beside)
        self.setSizePolicy(policy)
        (column if is_beside else head).removeWidget(self)
        if is_beside:
            self.setContentsMargins(0, 0, 0, 0)
            head.insertWidget(place, self, 1)
        else:
            self.setContentsMargins(margins.left(), 0, margins.right(), 0)
            column.insertWidget(1, self)

    def _rows(self, width: float) -> Iterator[tuple[Entry, float, int]]:
        """Yield each name with where it begins and in which row: the next one where it has no room."""
        metrics, px = QFontMetricsF(self._theme.font(12)), self._theme.px
        x, row = 0.0, 0
        for entry in self._entries:
            wide = metrics.horizontalAdvance(entry[2]) + px(NAME_PX) + 1
            if x > 0 and x + wide > width:
                x, row = 0.0, row + 1
            yield entry, x, row
            x += wide + px(ENTRY_PX - NAME_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the names, cut short where even a row of its own is too narrow; the tooltip says them all."""
        painter, theme, px = QPainter(self), self._theme, self._theme.px
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(theme.font(12))
        metrics, room = QFontMetricsF(painter.font()), self.contentsRect()
        painter.translate(room.topLeft())
        for (token, dashes, name), x, row in self._rows(room.width()):
            top = row * px(ROW_PX)
            middle = top + px(ROW_PX) / 2
            pen = QPen(theme.color(token), 2 * theme.u)
            if dashes:
                pen.setDashPattern(list(dashes))
            painter.setPen(pen)
            painter.drawLine(round(x), round(middle), round(x) + px(16), round(middle))
            painter.setPen(theme.color("text"))
            place = QRectF(x + px(NAME_PX), top, room.width() - x - px(NAME_PX), px(ROW_PX))
            shown = metrics.elidedText(name, Qt.TextElideMode.ElideRight, place.width())
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, shown)
