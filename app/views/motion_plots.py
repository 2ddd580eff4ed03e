"""The four plots of the Motion view: a name at the left, the peak at the right, no text on the curves."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPen, QResizeEvent
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
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._view)
        self._names = [self._view.addLabel("", row=row, col=0, justify="left") for row in range(4)]
        self._plots = [self._made(row) for row in range(4)]
        self._words = [self._view.addLabel("", row=row, col=2, justify="left") for row in range(4)]
        self._lines = [plot.plot(antialias=True) for plot in self._plots]
        self._marks = [pg.ScatterPlotItem(size=7) for _ in range(3)]
        for plot, mark in zip(self._plots[1:], self._marks, strict=True):
            plot.addItem(mark)
        self._cursors = [self._cursor(plot) for plot in self._plots]
        theme.changed.connect(self._fit)
        self._fit()

    def show_curves(self, curves: Curves) -> None:
        """Show a lane's curves."""
        self._shown = curves
        for line, values in zip(self._lines, curves.values, strict=True):
            line.setData(curves.theta_deg, values, connect="finite")
        for mark, (deg, value) in zip(self._marks, curves.peaks, strict=True):
            mark.setData([deg], [value])
            mark.setVisible(value != 0)
        self._set_ranges(curves)
        self._write(curves)

    def shown(self) -> float:
        """Give the angle of the cursor."""
        return float(self._cursors[0].value())

    def set_shown(self, deg: float) -> None:
        """Put the cursor at an angle."""
        for cursor in self._cursors:
            cursor.setValue(deg)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Mark as many values as there is room for."""
        super().resizeEvent(event)
        if self._shown is not None:
            self._set_ranges(self._shown)

    # Inside

    def _made(self, row: int) -> Any:
        plot = self._view.addPlot(row=row, col=1, enableMenu=False)
        for menu in (plot.ctrlMenu, *plot.ctrlMenu.findChildren(QMenu)):
            menu.setParent(self, menu.windowFlags())  # never shown; without a parent it outlives the plot
        plot.hideButtons()
        plot.setMouseEnabled(x=False, y=False)
        plot.setXRange(0, 360, padding=0.012)
        plot.showAxis("bottom", row == 3)
        plot.getAxis("bottom").setTicks([[(deg, f"{deg}°") for deg in range(0, 361, 30)]])
        plot.setToolTip(f"{NAMES[row]}, {UNITS[row]}")
        return plot

    def _cursor(self, plot: Any) -> Any:
        cursor = pg.InfiniteLine(angle=90, movable=True)
        cursor.sigDragged.connect(lambda line: self.moved.emit(wrap(float(line.value()))))
        plot.addItem(cursor, ignoreBounds=True)
        return cursor

    def _set_ranges(self, curves: Curves) -> None:
        label = self._theme.px(15)
        for plot, values in zip(self._plots, curves.values, strict=True):
            low, high = float(np.min(values)), float(np.max(values))
            room = 0.12 * (high - low) or 1.0
            plot.setYRange(low - room, high + room, padding=0)
            share = 1.3 * label / max(plot.vb.height(), 1.0)
            shown = ticks(low, high, share)
            plot.getAxis("left").setTicks([[(tick, wording.plain(tick)) for tick in shown]])

    def _write(self, curves: Curves) -> None:
        """Write the range of the output and the peaks at the right."""
        low, high = float(np.min(curves.values[0])), float(np.max(curves.values[0]))
        self._put(self._words[0], "text", f"{wording.plain(low, 2)} to {wording.plain(high, 2)} mm", "")
        for word, (deg, value), unit in zip(self._words[1:], curves.peaks, UNITS[1:], strict=True):
            at = f"at {wording.degrees(deg)}" if value else ""
            self._put(word, "text", f"{three(abs(value))} {unit}", at)

    def _put(self, label: Any, token: str, first: str, second: str) -> None:
        color, muted = self._theme.color(token).name(), self._theme.color("muted").name()
        text = f'<span style="color:{color}">{first}</span>'
        text += f'<br><span style="color:{muted}">{second}</span>' if second else ""
        label.setText(text, size=f"{self._theme.px(11)}px", justify="left")

    def _fit(self) -> None:
        theme = self._theme
        self._view.setBackground(theme.color("panel"))
        layout = self._view.ci.layout
        layout.setSpacing(0)
        layout.setContentsMargins(theme.px(12), 0, theme.px(4), theme.px(4))
        layout.setColumnFixedWidth(0, theme.px(56))
        layout.setColumnFixedWidth(2, theme.px(104))
        for row, (plot, name) in enumerate(zip(self._plots, self._names, strict=True)):
            self._put(name, "muted", f"{SHORT[row]}, {UNITS[row]}", "")
            self._fit_axes(plot)
        self._ink()
        if self._shown is not None:
            self._write(self._shown)

    def _fit_axes(self, plot: Any) -> None:
        theme = self._theme
        left, bottom = plot.getAxis("left"), plot.getAxis("bottom")
        for axis in (left, bottom):
            axis.setStyle(tickFont=theme.font(11), tickLength=-theme.px(4), maxTickLevel=0)
            axis.setPen(theme.color("line"))
            axis.setTextPen(theme.color("muted"))
        left.setWidth(theme.px(44))
        bottom.setStyle(hideOverlappingLabels=False)
        plot.showGrid(x=True, y=True, alpha=0.25)

    def _ink(self) -> None:
        theme = self._theme
        for line in self._lines:
            line.setPen(_pen(theme, "curve", 1.75))
        for mark in self._marks:
            mark.setBrush(theme.color("curve"))
            mark.setPen(_pen(theme, "panel", 1.0))
        for cursor in self._cursors:
            cursor.setPen(_pen(theme, "accent", 1.5))
            cursor.setHoverPen(_pen(theme, "accent", 2.5))


def ticks(low: float, high: float, share: float) -> tuple[float, ...]:
    """Give 0 and the ends of a range, rounded inward to 1, 2 or 5 times a power of ten.

    share: of the range, that a label needs; an end nearer to 0 than that is left out.
    """
    least = share * (high - low)
    return tuple(sorted({0.0, *(end for end in (_inward(low), _inward(high)) if abs(end) >= least)}))


def _inward(value: float) -> float:
    if value == 0:
        return 0.0
    power = 10.0 ** math.floor(math.log10(abs(value)))
    return math.copysign(max(n * power for n in (1, 2, 5) if n * power <= abs(value) * (1 + 1e-9)), value)


def three(value: float) -> str:
    """Write about three significant figures."""
    if value == 0 or not math.isfinite(value):
        return wording.number(value, 0)
    return wording.number(value, max(0, 2 - math.floor(math.log10(value))))


def _pen(theme: Theme, token: str, width: float) -> QPen:
    pen = QPen(theme.color(token), width * theme.u)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen
