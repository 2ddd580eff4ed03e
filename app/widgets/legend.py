"""A legend: names of curves, each beside a short piece of its line."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.theme import Theme

Entry = tuple[str, tuple[float, ...], str]
"""Colour token, dashes (none: a solid line) in widths of the line, and name."""

DASHES = (2.5, 1.5)
"""The usual dashes."""


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
        """Give room for all names."""
        metrics, px = QFontMetricsF(self._theme.font(12)), self._theme.px
        width = sum(metrics.horizontalAdvance(name) + px(36) for _, _, name in self._entries)
        return QSize(round(width), px(20))

    def minimumSizeHint(self) -> QSize:
        """Give way before the dock grows wider."""
        return QSize(1, self._theme.px(20))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the names that there is room for; the tooltip says them all."""
        painter, theme, px = QPainter(self), self._theme, self._theme.px
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(theme.font(12))
        metrics, x, middle = QFontMetricsF(painter.font()), 0.0, self.height() / 2
        for token, dashes, name in self._entries:
            width = metrics.horizontalAdvance(name) + 1
            if x + px(22) + width > self.width():
                break
            pen = QPen(theme.color(token), 2 * theme.u)
            if dashes:
                pen.setDashPattern(list(dashes))
            painter.setPen(pen)
            painter.drawLine(round(x), round(middle), round(x) + px(16), round(middle))
            painter.setPen(theme.color("text"))
            place = QRectF(x + px(22), 0, width, self.height())
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, name)
            x += width + px(36)
