"""The signs of the Coverage view: one a row, and a bar of eight pieces with the same states.

No state is shown by its colour alone: what is not described is an outline, what is out of date is hatched,
and each row has the sign and the word beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.judge.findings import Severity
from shaftscore_app.document.coverage import RowState
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import SIGNS

SIZE = 16
"""Width and height of a sign, px of the design."""

PIECE, GAP = 5, 4
"""Height of the bar, and the distance of its pieces, px of the design."""

_FOUND = {RowState(str(severity)): sign for severity, sign in SIGNS.items()}
_FILLED = {RowState.CHECKED: "text", RowState.NOT_NEEDED: "muted"} | {
    RowState(str(severity)): str(severity) for severity in Severity
}


class CoverageSign(QWidget):
    """The sign of one row."""

    def __init__(self, theme: Theme) -> None:
        """Make a sign; it shows nothing before it has a state."""
        super().__init__()
        self._theme = theme
        self._state = RowState.NOT_DESCRIBED
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def set_state(self, state: RowState) -> None:
        """Show a state."""
        self._state = state
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size of a sign."""
        return QSize(self._theme.px(SIZE), self._theme.px(SIZE))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the sign."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._state in _FOUND:
            painter.drawPixmap(0, 0, self._theme.pixmap(_FOUND[self._state], SIZE))
            return
        painter.scale(self.width() / SIZE, self.height() / SIZE)
        draw_state(painter, self._theme, self._state)


def draw_state(painter: QPainter, theme: Theme, state: RowState) -> None:
    """Draw the sign of a state that is no finding, in a square of 16 by 16."""
    text, muted = theme.color("text"), theme.color("muted")
    ring = QRectF(1.5, 1.5, 13, 13)
    if state is RowState.CHECKED:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(text)
        painter.drawEllipse(QRectF(1, 1, 14, 14))
        _line(painter, theme.color("panel"), 1.8, ((4.6, 8.4), (7.0, 10.8), (11.4, 5.4)))
    elif state is RowState.NOT_NEEDED:
        _ring(painter, muted, ring)
        _line(painter, muted, 1.6, ((4.8, 8.0), (11.2, 8.0)))
    elif state is RowState.OUT_OF_DATE:
        _ring(painter, muted, ring)
        _line(painter, muted, 1.5, ((8.0, 4.2), (8.0, 8.0), (10.8, 9.6)))
    elif state is RowState.CHECKING:
        _ring(painter, theme.color("line"), ring)
        painter.setPen(QPen(theme.color("accent"), 1.8))
        painter.drawArc(ring, 90 * 16, -120 * 16)
    else:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        pen = QPen(muted, 1.4)
        pen.setDashPattern([2.2, 1.9])
        painter.setPen(pen)
        painter.drawEllipse(ring)


def _ring(painter: QPainter, color: QColor, ring: QRectF) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(color, 1.4))
    painter.drawEllipse(ring)


def _line(painter: QPainter, color: QColor, width: float, points: Sequence[tuple[float, float]]) -> None:
    pen = QPen(color, width)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in points]))


class CoverageBar(QWidget):
    """The bar of pieces, one a row."""

    def __init__(self, theme: Theme) -> None:
        """Make a bar without pieces."""
        super().__init__()
        self._theme = theme
        self._states: tuple[RowState, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def states(self) -> tuple[RowState, ...]:
        """The states of the pieces, in the order of the rows."""
        return self._states

    def set_states(self, states: Sequence[RowState]) -> None:
        """Show the states of all rows."""
        self._states = tuple(states)
        self.update()

    def sizeHint(self) -> QSize:
        """Return the height of the pieces; they take the width that is there."""
        return QSize(self._theme.px(160), self._theme.px(PIECE + 1))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the pieces."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        count, gap = max(1, len(self._states)), self._theme.px(GAP)
        wide = (self.width() - gap * (count - 1)) / count
        for number, state in enumerate(self._states):
            self._draw(painter, QRectF(number * (wide + gap), 0.5, wide, self.height() - 1), state)

    def _draw(self, painter: QPainter, place: QRectF, state: RowState) -> None:
        theme, round_by = self._theme, place.height() / 2
        place = place.adjusted(0.5, 0.5, -0.5, -0.5)
        token = _FILLED.get(state)
        painter.setPen(QPen(theme.color("edge" if token is None else token), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush if token is None else theme.color(token))
        painter.drawRoundedRect(place, round_by, round_by)
        if state in (RowState.OUT_OF_DATE, RowState.CHECKING):
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QBrush(theme.color("edge"), Qt.BrushStyle.BDiagPattern))
            painter.drawRoundedRect(place, round_by, round_by)
