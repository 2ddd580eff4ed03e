"""The crank dial: drag round it to turn the shaft; its hand shows the angle.

0° is at the top and angles grow clockwise on the dial, in the direction in which the machine runs,
whichever way the shaft turns.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QWidget

from shaftscore.base.angles import turn_to, wrap
from shaftscore_app.theme import Theme

TICKS = 12


class Dial(QWidget):
    """A 30 px dial.

    Signals: turned(deg) while the person turns it.
    """

    turned = Signal(float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """Make a dial at 0°."""
        super().__init__(parent)
        self._theme = theme
        self._deg = 0.0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Crank, degrees")
        self.setToolTip("Crank: drag round it to turn the shaft")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        theme.changed.connect(self.updateGeometry)

    def shown(self) -> float:
        """Return the angle shown."""
        return self._deg

    def set_shown(self, deg: float) -> None:
        """Show an angle."""
        self._deg = deg
        self.update()

    def sizeHint(self) -> QSize:
        """Return 30 px square."""
        return QSize(self._theme.px(34), self._theme.px(34))

    def minimumSizeHint(self) -> QSize:
        """Return the same."""
        return self.sizeHint()

    def _turn_by(self, deg: float) -> None:
        self._deg = wrap(self._deg + deg)
        self.update()
        self.turned.emit(self._deg)

    def _angle_at(self, place: QPointF) -> float:
        middle = QRectF(self.rect()).center()
        return wrap(math.degrees(math.atan2(place.x() - middle.x(), middle.y() - place.y())))

    # Events

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Turn the hand to the pointer."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._turn_by(turn_to(self._deg, self._angle_at(event.position())))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn the hand with the pointer."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._turn_by(turn_to(self._deg, self._angle_at(event.position())))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn one degree a notch."""
        self._turn_by(event.angleDelta().y() / 120.0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn one degree by the arrow keys, 30 degrees by the page keys."""
        steps = {
            Qt.Key.Key_Right: 1.0,
            Qt.Key.Key_Up: 1.0,
            Qt.Key.Key_Left: -1.0,
            Qt.Key.Key_Down: -1.0,
            Qt.Key.Key_PageUp: 30.0,
            Qt.Key.Key_PageDown: -30.0,
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self._turn_by(step)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw rim, ticks and hand."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        u = self._theme.u
        middle, radius = QRectF(self.rect()).center(), 14.5 * u
        focus = self.hasFocus()
        painter.setPen(QPen(self._theme.color("accent" if focus else "edge"), (2 if focus else 1.25) * u))
        painter.setBrush(self._theme.color("field"))
        painter.drawEllipse(middle, radius, radius)
        painter.setPen(QPen(self._theme.color("muted"), 1 * u))
        for tick in range(TICKS):
            along = _direction(360.0 * tick / TICKS)
            painter.drawLine(middle + along * (radius - 4 * u), middle + along * (radius - 2.2 * u))
        accent = self._theme.color("accent")
        tip = middle + _direction(self._deg) * (radius - 5.5 * u)
        painter.setPen(QPen(accent, 2 * u))
        painter.drawLine(middle, tip)
        painter.setBrush(accent)
        painter.drawEllipse(tip, 2.4 * u, 2.4 * u)


def _direction(deg: float) -> QPointF:
    """Return the unit vector of a dial angle on the screen."""
    return QPointF(math.sin(math.radians(deg)), -math.cos(math.radians(deg)))
