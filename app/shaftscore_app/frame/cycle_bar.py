"""The strip of all cycles over the diagram, of a machine that repeats only after several of them.

The diagram shows one cycle; the strip shows them all: how far each slow or stepped stack has turned, where
findings are, and which cycle is shown. A click, the wheel or the arrow keys choose another one.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSlider

from shaftscore.base.angles import TURN
from shaftscore.judge.findings import Finding, Severity
from shaftscore.make.drawing.timing.cycle import cycle_of, slow_lines
from shaftscore_app.document import Document
from shaftscore_app.document.binding import muted
from shaftscore_app.theme import Theme

HEIGHT = 44
"""Height of the strip, px of the design."""

MOST_LINES = 4
"""Stacks whose turn is drawn at most, the fastest first."""

POINTS = 1500
"""Points of a stack's line."""

SIGN = 4
"""Height of a finding's mark, px of the design."""


class CycleStrip(QSlider):
    """All cycles side by side; its value is the cycle that is shown, from 1."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the strip of a document."""
        super().__init__(Qt.Orientation.Horizontal)
        self._document, self._theme = document, theme
        self._lines: list[tuple[str, np.ndarray]] = []
        self.setObjectName("cycle")
        self.setAccessibleName("Cycle")
        self.setMinimum(1)
        self.setPageStep(10)
        self.valueChanged.connect(document.set_cycle)

    def sizeHint(self) -> QSize:
        """Return the size of the strip."""
        return QSize(self._theme.px(400), self._theme.px(HEIGHT))

    def refresh(self) -> None:
        """Take over the cycles of the project, and draw them."""
        project, document = self._document.project, self._document
        with muted(self):
            self.setMaximum(project.period)
            self.setValue(document.cycle)
        angles = np.linspace(0.0, TURN * project.period, POINTS)
        self._lines = sorted(slow_lines(project, angles), key=lambda line: -_turns(line[1]))[:MOST_LINES]
        self.setAccessibleDescription(_described(document))
        self.update()

    def cell(self, cycle: int) -> QRectF:
        """Return the place of a cycle, from 1, px."""
        width = self.width() / self.maximum()
        return QRectF((cycle - 1) * width, 0.0, width, float(self.height()))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the cycle under the pointer."""
        self._go(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Go on to the cycle under the pointer while it is pressed."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._go(event)

    def _go(self, event: QMouseEvent) -> None:
        share = event.position().x() / max(1, self.width())
        self.setValue(int(share * self.maximum()) + 1)
        event.accept()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the cycle shown, the stacks' turns, and where findings are."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        shown = self.cell(self.value())
        least = float(self._theme.px(3))
        if shown.width() < least:
            shown = QRectF(shown.center().x() - least / 2, 0.0, least, shown.height())
        painter.fillRect(shown, self._colour("accent-soft"))
        self._paint_cells(painter)
        self._paint_lines(painter)
        self._paint_findings(painter)
        width = self._theme.px(2 if self.hasFocus() else 1)
        painter.setPen(QPen(self._colour("accent"), width))
        painter.drawRect(shown.adjusted(width / 2, width / 2, -width / 2, -width / 2))

    def _colour(self, token: str) -> QColor:
        return self._theme.color(token)

    def _paint_cells(self, painter: QPainter) -> None:
        """Paint lines between cycles, tens of them where they are many."""
        every = next(step for step in (1, 10, 100, 1000) if self.width() / self.maximum() * step >= 4)
        painter.setPen(QPen(self._colour("line"), 1.0))
        for cycle in range(1, self.maximum() + 1, every):
            x = self.cell(cycle).left()
            painter.drawLine(QPointF(x, 0.0), QPointF(x, float(self.height())))

    def _paint_lines(self, painter: QPainter) -> None:
        """Paint each stack's turn as a line that rises with it, and starts at the bottom again after each."""
        top = self._theme.px(SIGN + 3)
        room = (self.height() - top - 2) / max(1, len(self._lines))
        x = np.linspace(0.0, self.width(), POINTS)
        painter.setPen(QPen(self._colour("muted"), 1.2 * self._theme.u))
        for number, (_, turned) in enumerate(self._lines):
            foot = top + room * (number + 1) - 1
            y = foot - turned * (room - 3)
            for part in np.split(np.arange(POINTS), np.flatnonzero(np.diff(turned) < -0.5) + 1):
                painter.drawPolyline(QPolygonF([QPointF(x[at], y[at]) for at in part]))

    def _paint_findings(self, painter: QPainter) -> None:
        """Mark the cycles in which findings start: errors by a full bar, warnings by its lower half."""
        high = float(self._theme.px(SIGN))
        for finding in self._document.report.findings:
            if not _has_cycle(finding):
                continue
            cell = self.cell(cycle_of(finding))
            error = finding.severity is Severity.ERROR
            wide = max(float(self._theme.px(2)), cell.width() - 2)
            bar = QRectF(cell.left() + 1, 0.0 if error else high / 2, wide, high if error else high / 2)
            painter.fillRect(bar, self._colour("error" if error else "warning"))


def _has_cycle(finding: Finding) -> bool:
    worth = finding.severity in (Severity.ERROR, Severity.WARNING)
    return worth and finding.span is not None and not finding.span.is_full


def _turns(turned: np.ndarray) -> int:
    return int(np.count_nonzero(np.diff(turned) < -0.5))


def _described(document: Document) -> str:
    marked = sorted({cycle_of(one) for one in document.report.findings if _has_cycle(one)})
    where = f" Findings in cycles {', '.join(map(str, marked[:20]))}." if marked else ""
    return f"Cycle {document.cycle} of {document.project.period} is shown.{where}"


class CycleBar(QFrame):
    """The bar with the strip; it is there only while the machine has several cycles."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the bar of a document."""
        super().__init__()
        self._document, self._theme = document, theme
        self.setObjectName("cycles")
        self.text, self.strip = QLabel(), CycleStrip(document, theme)
        self.strip.setToolTip(
            "Cycles of the machine until it repeats: click one to show it in the diagram; "
            "lines show how far the slow stacks have turned"
        )
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.text)
        self._row.addWidget(self.strip, 1)
        for signal in (document.report_changed, document.project_changed, document.cycle_changed):
            signal.connect(self._refresh_late)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Show the cycles, or hide where each is like all others."""
        period = self._document.project.period
        self.setVisible(period > 1)
        if period > 1:
            self.text.setText(f"Cycle {self._document.cycle:,} of {period:,}")
            self.strip.refresh()

    def _refresh_late(self, *_given: object) -> None:
        self.refresh()

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._row.setContentsMargins(px(12), px(3), px(8), px(3))
        self._row.setSpacing(px(10))
        self.text.setFont(theme.font(12, 600))
        self.text.setMinimumWidth(px(120))
        self.setStyleSheet(
            f"QFrame#cycles {{ background: {theme.css('panel')};"
            f" border-bottom: 1px solid {theme.css('line')}; }}"
            f"QSlider#cycle {{ min-height: {px(HEIGHT)}px; max-height: {px(HEIGHT)}px; }}"
        )
        self.refresh()
