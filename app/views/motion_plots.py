"""The four plots of the Motion view."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPen
from PySide6.QtWidgets import QMenu, QVBoxLayout, QWidget

from app.theme import Theme
from app.views.motion_curves import NAMES, UNITS, Curves
from core import wording
from core.angles import wrap

SHORT = ("s", "v", "a", "j")


class MotionPlots(QWidget):
    """Output, velocity, acceleration and jerk, one below the other.

    Signals: moved(deg) while the person drags the cursor.
    """

    moved = Signal(float)

    def __init__(self, theme: Theme) -> None:
        """Make empty plots."""
        super().__init__()
        self._theme = theme
        self._shown: Curves | None = None
        self.setAccessibleName("Motion")
        self._view: Any = pg.GraphicsLayoutWidget()
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.ci.layout.setSpacing(0)
        self._view.ci.layout.setContentsMargins(theme.px(4), 0, theme.px(14), theme.px(4))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._view)
        self._plots = [self._made(row) for row in range(4)]
        self._lines = [plot.plot(antialias=True) for plot in self._plots]
        self._names = [pg.TextItem(f"{SHORT[row]}, {UNITS[row]}", anchor=(0, 0)) for row in range(4)]
        for plot, name in zip(self._plots, self._names, strict=True):
            name.setParentItem(plot.vb)
        self._marks = [pg.ScatterPlotItem(size=7) for _ in range(3)]
        self._words = [pg.TextItem(anchor=(0.0, 0.5)) for _ in range(3)]
        for plot, mark, word in zip(self._plots[1:], self._marks, self._words, strict=True):
            plot.addItem(mark)
            plot.addItem(word, ignoreBounds=True)
        self._cursors = [self._cursor(plot) for plot in self._plots]
        theme.changed.connect(self._fit)
        self._fit()

    def show_curves(self, curves: Curves) -> None:
        """Show a lane's curves."""
        self._shown = curves
        for plot, line, values in zip(self._plots, self._lines, curves.values, strict=True):
            line.setData(curves.theta_deg, values, connect="finite")
            low, high = float(np.min(values)), float(np.max(values))
            room = 0.18 * (high - low) or 1.0
            plot.setYRange(low - room, high + room, padding=0)
            plot.getAxis("left").setTicks([[(tick, wording.plain(tick)) for tick in ticks(low, high)]])
        unlike = zip(self._marks, self._words, curves.peaks, UNITS[1:], strict=True)
        for mark, word, (deg, value), unit in unlike:
            mark.setData([deg], [value])
            mark.setVisible(value != 0)
            word.setText(f"{_three(abs(value))} {unit} at {wording.degrees(deg)}" if value else "")
            word.setAnchor((1.08, 0.5) if deg > 250 else (-0.08, 0.5))
            word.setPos(deg, value * 0.86)

    def shown(self) -> float:
        """Give the angle of the cursor."""
        return float(self._cursors[0].value())

    def set_shown(self, deg: float) -> None:
        """Put the cursor at an angle."""
        for cursor in self._cursors:
            cursor.setValue(deg)

    # Inside

    def _made(self, row: int) -> Any:
        plot = self._view.addPlot(row=row, col=0, enableMenu=False)
        for menu in (plot.ctrlMenu, *plot.ctrlMenu.findChildren(QMenu)):
            menu.setParent(self, menu.windowFlags())  # never shown; without a parent it outlives the plot
        plot.hideButtons()
        plot.setMouseEnabled(x=False, y=False)
        plot.setXRange(0, 360, padding=0.012)
        plot.showAxis("bottom", row == 3)
        bottom = plot.getAxis("bottom")
        bottom.setTicks([[(deg, f"{deg}°") for deg in range(0, 361, 30)]])
        plot.setToolTip(f"{NAMES[row]}, {UNITS[row]}")
        return plot

    def _cursor(self, plot: Any) -> Any:
        cursor = pg.InfiniteLine(angle=90, movable=True)
        cursor.sigDragged.connect(lambda line: self.moved.emit(wrap(float(line.value()))))
        plot.addItem(cursor, ignoreBounds=True)
        return cursor

    def _fit(self) -> None:
        theme = self._theme
        self._view.setBackground(theme.color("panel"))
        font = theme.font(11)
        for row, plot in enumerate(self._plots):
            left, bottom = plot.getAxis("left"), plot.getAxis("bottom")
            for axis in (left, bottom):
                axis.setStyle(tickFont=font, tickLength=round(-theme.px(4)), maxTickLevel=0)
                axis.setPen(theme.color("line"))
                axis.setTextPen(theme.color("muted"))
            left.setWidth(theme.px(52))
            bottom.setStyle(hideOverlappingLabels=False)
            plot.showGrid(x=True, y=True, alpha=0.25)
            self._names[row].setFont(font)
            self._names[row].setColor(theme.color("muted"))
        self._ink()

    def _ink(self) -> None:
        theme = self._theme
        for line in self._lines:
            line.setPen(_pen(theme, "curve", 1.75))
        for mark, word in zip(self._marks, self._words, strict=True):
            mark.setBrush(theme.color("curve"))
            mark.setPen(_pen(theme, "panel", 1.0))
            word.setFont(theme.font(11, 500))
            word.setColor(theme.color("text"))
            word.fill = pg.mkBrush(theme.color("panel", 0.8))
        for cursor in self._cursors:
            cursor.setPen(_pen(theme, "accent", 1.5))
            cursor.setHoverPen(_pen(theme, "accent", 2.5))


def ticks(low: float, high: float) -> tuple[float, ...]:
    """Give 0 and the ends of a range, rounded inward to 1, 2 or 5 times a power of ten.

    An end too near to 0 to be written beside it is left out.
    """

    def inward(value: float) -> float:
        if value == 0:
            return 0.0
        power = 10.0 ** math.floor(math.log10(abs(value)))
        return math.copysign(max(n * power for n in (1, 2, 5) if n * power <= abs(value) * (1 + 1e-9)), value)

    least = 0.3 * (high - low)
    return tuple(sorted({0.0, *(end for end in (inward(low), inward(high)) if abs(end) >= least)}))


def _pen(theme: Theme, token: str, width: float) -> QPen:
    pen = QPen(theme.color(token), width * theme.u)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


def _three(value: float) -> str:
    """Write about three significant figures."""
    if value == 0 or not math.isfinite(value):
        return wording.number(value, 0)
    return wording.number(value, max(0, 2 - math.floor(math.log10(value))))
