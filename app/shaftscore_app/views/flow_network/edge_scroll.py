"""Scrolling while something is dragged near an edge of what is seen."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, QTimer, Signal
from PySide6.QtWidgets import QAbstractScrollArea

from shaftscore_app.theme import Theme

EDGE = 24
"""So near an edge it scrolls, px of the design."""

STEP = 14
"""It scrolls so far at a time, px of the design."""

TICK_MS = 30


class EdgeScroll(QObject):
    """Scrolls an area while the pointer is near one of its edges.

    Signals: scrolled(place) after each step, with the place of the pointer in the viewport.
    """

    scrolled = Signal(QPointF)

    def __init__(self, area: QAbstractScrollArea, theme: Theme) -> None:
        """Scroll an area."""
        super().__init__(area)
        self._area, self._theme = area, theme
        self._place = QPointF()
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._tick)

    def follow(self, place: QPointF) -> None:
        """Take where the pointer is, and scroll while it stays near an edge."""
        self._place = place
        if self._steps() == (0, 0):
            self._timer.stop()
        elif not self._timer.isActive():
            self._timer.start()

    def stop(self) -> None:
        """Scroll no further."""
        self._timer.stop()

    def _steps(self) -> tuple[int, int]:
        view = self._area.viewport()
        return self._step(self._place.x(), view.width()), self._step(self._place.y(), view.height())

    def _step(self, at: float, room: int) -> int:
        """Return by how much to scroll along one side."""
        edge, step = self._theme.px(EDGE), self._theme.px(STEP)
        return -step if at < edge else step if at > room - edge else 0

    def _tick(self) -> None:
        across, down = self._steps()
        for bar, by in (
            (self._area.horizontalScrollBar(), across),
            (self._area.verticalScrollBar(), down),
        ):
            bar.setValue(bar.value() + by)
        self.scrolled.emit(self._place)
