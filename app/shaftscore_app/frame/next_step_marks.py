"""The row of marks from the state table to the export: one stop of Tab, arrows go along it.

No state is shown by its colour alone: what is done is a filled disc with a tick, an error has its own sign,
what is left to do is an empty ring; the mark that comes next is bold.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QIcon, QKeyEvent, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QFrame, QHBoxLayout, QToolButton, QWidget

from shaftscore.judge.findings import Severity
from shaftscore_app.document.coverage import RowState
from shaftscore_app.document.next_step import MARKS, MarkState, StepMark
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import SIGNS
from shaftscore_app.views.coverage_signs import SIZE, draw_state

Titles = Literal["all", "next", "none"]
"""Which marks have their titles beside them."""


class StepMarks(QWidget):
    """The marks, left to right.

    Signals: visited(key) when the person chose a mark.
    """

    visited = Signal(str)

    def __init__(self, theme: Theme) -> None:
        """Make the marks; they show nothing before `show_marks`."""
        super().__init__()
        self._theme = theme
        self._titles: Titles = "all"
        self._marks: Sequence[StepMark] = ()
        self.buttons = [self._made(key) for key, *_ in MARKS]
        self._lines = [_line() for _ in MARKS[1:]]
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        for place, button in enumerate(self.buttons):
            if place:
                self._row.addWidget(self._lines[place - 1])
            self._row.addWidget(button)
        self.setAccessibleName("Steps from the state table to the export")

    def show_marks(self, marks: Sequence[StepMark]) -> None:
        """Show the state of each mark; the same ones again cost nothing."""
        if marks != self._marks:
            self._marks = marks
            self._show()

    def set_titles(self, titles: Titles) -> None:
        """Write titles beside all marks, the next one or none; they stay in tooltips."""
        if titles != self._titles:
            self._titles = titles
            self._show()

    def fit(self) -> None:
        """Take the size and the colours of the theme."""
        px = self._theme.px
        self._row.setSpacing(px(2))
        for line in self._lines:
            line.setFixedSize(px(8), 1)
        self._show()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go along the marks by the arrows."""
        by = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(event.key()), 0)
        held = next((n for n, button in enumerate(self.buttons) if button.hasFocus()), None)
        if by and held is not None and 0 <= held + by < len(self.buttons):
            self._let_stop_at(held + by)
            self.buttons[held + by].setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            super().keyPressEvent(event)

    # Inside

    def _made(self, key: str) -> QToolButton:
        button = _MarkButton()
        button.setObjectName("plain")
        button.setAutoRaise(True)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.clicked.connect(lambda: self.visited.emit(key))
        return button

    def _show(self) -> None:
        for button, mark in zip(self.buttons, self._marks, strict=False):
            self._show_mark(button, mark)
        for line in self._lines:
            line.setVisible(self._titles == "all")
        if self._marks and not any(button.hasFocus() for button in self.buttons):
            self._let_stop_at(next((n for n, mark in enumerate(self._marks) if mark.is_next), 0))

    def _show_mark(self, button: QToolButton, mark: StepMark) -> None:
        theme = self._theme
        titled = self._titles == "all" or (self._titles == "next" and mark.is_next)
        style = Qt.ToolButtonStyle
        button.setToolButtonStyle(style.ToolButtonTextBesideIcon if titled else style.ToolButtonIconOnly)
        button.setText(f" {mark.title}")
        button.setFont(theme.font(12, 600 if mark.is_next else 400))
        button.setMinimumWidth(self._bold_width(mark) if self._titles == "all" else 0)
        button.setIcon(QIcon(sign_of(theme, mark, self.devicePixelRatioF())))
        button.setIconSize(QSize(theme.px(SIZE), theme.px(SIZE)))
        button.setAccessibleName(mark.text)
        button.setToolTip(f"{mark.text}: {GO_TO[mark.key]}")

    def _bold_width(self, mark: StepMark) -> int:
        """Return the width of a mark that comes next, which it keeps so that nothing moves."""
        words = QFontMetrics(self._theme.font(12, 600)).horizontalAdvance(f" {mark.title}")
        return words + self._theme.px(SIZE + 14)

    def _let_stop_at(self, place: int) -> None:
        """Let Tab stop at one mark only."""
        for number, button in enumerate(self.buttons):
            policy = Qt.FocusPolicy.TabFocus if number == place else Qt.FocusPolicy.NoFocus
            button.setFocusPolicy(policy)


class _MarkButton(QToolButton):
    """A button that leaves the arrows to the row: Qt's own go to whatever is beside it in the window."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            event.ignore()
        else:
            super().keyPressEvent(event)


GO_TO = {
    "table": "go to the state table",
    "timing": "go to the timing diagram",
    "items": "go to the flow",
    "loads": "go to torque and contact force",
    "stack": "go to the shaft",
    "fit": "go to the coverage",
    "export": "choose folder and formats",
}
"""What a click on a mark does."""


def sign_of(theme: Theme, mark: StepMark, ratio: float) -> QPixmap:
    """Return the sign of a mark; ratio: pixels of the screen for one of the window."""
    if mark.state is MarkState.ERROR:
        return theme.pixmap(SIGNS[Severity.ERROR], SIZE)
    side = theme.px(SIZE)
    sign = QPixmap(QSize(side, side) * ratio)
    sign.setDevicePixelRatio(ratio)
    sign.fill(Qt.GlobalColor.transparent)
    painter = QPainter(sign)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(side / SIZE, side / SIZE)
    if mark.state is MarkState.DONE:
        draw_state(painter, theme, RowState.CHECKED)
    else:
        painter.setPen(QPen(theme.color("accent" if mark.is_next else "edge"), 2.4 if mark.is_next else 1.4))
        painter.drawEllipse(QRectF(2, 2, 12, 12))
    painter.end()
    return sign


def _line() -> QFrame:
    line = QFrame()
    line.setObjectName("line")
    return line
