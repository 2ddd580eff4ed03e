"""The four plots of the Motion view: a name at the left, the peaks at the right, no text on the curves.

The peaks of each lane are marked. A dashed line in the plot of accelerations says where a spring loses
contact, as far as it is within reach of the curves.
"""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPen, QResizeEvent
from PySide6.QtWidgets import QMenu, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore_app.theme import Theme
from shaftscore_app.views.motion_curves import INKS, MOST_LANES, NAMES, UNITS, Floats, LaneCurves

SHORT = ("s", "v", "a", "j")
ACCELERATION = 2

REACH = 0.6
"""A limit is drawn where it is no farther beyond the curves than this share of their range."""

NARROW_PX = 330
"""Narrower than this there is no room for words beside the curves, px of the design."""

MARGIN_PX = 16
"""Room beside the turn for half of what is written at 0 and 360 degrees, px of the design."""

DEGREES_PX = 32
"""Room that a mark of the angle needs, px."""

LINE_PX = 13
"""Height of a line of words, px."""

WORDS_PX = 140
"""Width of the words at the right: of a value of six figures with its unit, px."""


class MotionPlots(QWidget):
    """Output, velocity, acceleration and jerk, one below the other.

    Signals: moved(deg) while the person drags the cursor.
    """

    moved = Signal(float)

    def __init__(self, theme: Theme) -> None:
        """Make empty plots."""
        super().__init__()
        self._theme = theme
        self._shown: tuple[LaneCurves, ...] = ()
        self.setAccessibleName("Motion")
        self._view = pg.GraphicsLayoutWidget()
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._view)
        self._names = [self._view.addLabel("", row=row, col=0, justify="left") for row in range(4)]
        self._plots = [self._made(row) for row in range(4)]
        self._words = [self._view.addLabel("", row=row, col=2, justify="left") for row in range(4)]
        self._lines = [[plot.plot(antialias=True) for _ in range(MOST_LANES)] for plot in self._plots]
        self._limits = [self._plots[ACCELERATION].plot(antialias=True) for _ in range(MOST_LANES)]
        self._marks = [pg.ScatterPlotItem(size=7) for _ in range(3)]
        for plot, mark in zip(self._plots[1:], self._marks, strict=True):
            plot.addItem(mark)
        self._cursors = [self._cursor(plot) for plot in self._plots]
        self._plots[-1].vb.sigResized.connect(self._refit)
        theme.changed.connect(self._fit)
        self._fit()

    def show_lanes(self, lanes: tuple[LaneCurves, ...]) -> None:
        """Show the curves of lanes, at least one and at most `MOST_LANES`."""
        self._shown = lanes
        for row, items in enumerate(self._lines):
            for number, item in enumerate(items):
                if number < len(lanes):
                    curves = lanes[number].curves
                    item.setData(*one_turn(curves.theta_deg, curves.values[row]), connect="finite")
                item.setVisible(number < len(lanes))
        for order, mark in enumerate(self._marks):
            peaks = [lane.curves.peaks[order] for lane in lanes]
            moving = [peak for peak in peaks if peak[1] != 0]
            mark.setData([deg for deg, _ in moving], [value for _, value in moving])
        self._set_ranges()
        self._show_limits()
        self._write()

    @property
    def draws_limits(self) -> bool:
        """Whether a limit is within reach of the curves, and drawn."""
        return any(item.isVisible() for item in self._limits)

    def shown(self) -> float:
        """Return the angle of the cursor."""
        return float(self._cursors[0].value())

    def set_shown(self, deg: float) -> None:
        """Put the cursor at an angle."""
        for cursor in self._cursors:
            cursor.setValue(deg)

    # Inside

    def _made(self, row: int) -> pg.PlotItem:
        plot = self._view.addPlot(row=row, col=1, enableMenu=False)
        for menu in (plot.ctrlMenu, *plot.ctrlMenu.findChildren(QMenu)):
            menu.setParent(self, menu.windowFlags())  # never shown; without a parent it outlives the plot
        plot.hideButtons()
        plot.setMouseEnabled(x=False, y=False)
        plot.showAxis("bottom", row == 3)
        plot.setToolTip(f"{NAMES[row]}, {UNITS[row]}")
        return plot

    def _cursor(self, plot: pg.PlotItem) -> pg.InfiniteLine:
        cursor = pg.InfiniteLine(angle=90, movable=True)
        cursor.sigDragged.connect(lambda line: self.moved.emit(wrap(float(line.value()))))
        plot.addItem(cursor, ignoreBounds=True)
        return cursor

    def _set_ranges(self) -> None:
        label = self._theme.px(LINE_PX)
        for row, plot in enumerate(self._plots):
            low, high = self._span(row)
            room = 0.12 * (high - low) or 1.0
            plot.setYRange(low - room, high + room, padding=0)
            share = 1.3 * label / max(plot.vb.height(), 1.0)
            shown = ticks(low, high, share)
            plot.getAxis("left").setTicks([[(tick, wording.plain(tick)) for tick in shown]])

    def _refit(self, *_: object) -> None:
        """Mark and write as much as there is room for."""
        self._set_degrees()
        if self._shown:
            self._set_ranges()
            self._show_limits()
            self._write()

    def _set_degrees(self) -> None:
        """Mark every 30, 60 or 90 degrees, as there is room for, with room for the words at both ends."""
        width, margin = self._plots[-1].vb.width(), self._theme.px(MARGIN_PX)
        beside = 360 * margin / max(width - 2 * margin, 1.0)
        for plot in self._plots:
            plot.setXRange(-beside, 360 + beside, padding=0)
        step = next((step for step in (30, 60) if width * step / 360 > self._theme.px(DEGREES_PX)), 90)
        self._plots[-1].getAxis("bottom").setTicks([[(deg, f"{deg}°") for deg in range(0, 361, step)]])

    def _span(self, row: int) -> tuple[float, float]:
        """Return the least and greatest value of a plot, with the limits that are within reach."""
        values = [lane.curves.values[row] for lane in self._shown]
        low, high = min(map(np.min, values)), max(map(np.max, values))
        if row == ACCELERATION:
            near = [top for top in map(_top_limit, self._shown) if low - REACH * (high - low) <= top < low]
            low = min([low, *near])
        return float(low), float(high)

    def _show_limits(self) -> None:
        """Draw where contact is lost, as far as the plot reaches."""
        low, high = self._plots[ACCELERATION].viewRange()[1]
        for number, item in enumerate(self._limits):
            release = self._shown[number].release if number < len(self._shown) else None
            seen = release is not None and bool(np.any(release.limit >= low))
            item.setVisible(seen)
            if release is not None and seen:
                inside = np.where((release.limit >= low) & (release.limit <= high), release.limit, np.nan)
                item.setData(release.theta_deg, inside, connect="finite")

    def _write(self) -> None:
        """Write the range of the output and the peaks at the right, of as many lanes as there is room for.

        The tooltips say them too; where the view is narrow they alone do, and the room is left to the curves.
        The room is an equal share of the height: a plot's own height grows with the words beside it, and
        lines that were written once would never give way again.
        """
        height = self._view.height() - self._plots[-1].getAxis("bottom").height()
        room = max(2, int(height / len(self._plots) / self._theme.px(LINE_PX)))
        values: list[Floats] = [lane.curves.values[0] for lane in self._shown]
        for word, rows in zip(self._words, range(4), strict=True):
            lines = self._peak_lines(rows) if rows else _ranges(values)
            cut = len(self._shown) > 1 and len(lines) > room
            seen = [*lines[: room - 1], ("muted", "…")] if cut else lines[:room]
            self._put(word, [] if self._is_narrow else seen)
            self._plots[rows].setToolTip("\n".join([f"{NAMES[rows]}, {UNITS[rows]}", *(t for _, t in lines)]))

    def _peak_lines(self, row: int) -> list[tuple[str, str]]:
        """Return colour and words of the peaks of a plot: of one lane value and place, else a line a lane."""
        found: list[tuple[str, str]] = []
        for (token, _), lane in zip(INKS, self._shown, strict=False):
            deg, value = lane.curves.peaks[row - 1]
            at = f"at {wording.degrees(deg)}" if value else ""
            if len(self._shown) == 1:
                found += [("text", f"{three(abs(value))} {UNITS[row]}"), ("muted", at)]
            else:
                found.append((token, f"{three(abs(value))} {UNITS[row]} {at}".strip()))
            if row == ACCELERATION and lane.release is not None and len(self._shown) == 1:
                found.append(("muted", f"lost at {three(lane.release.slack[2])} {UNITS[row]}"))
        return found

    def _put(self, label: pg.LabelItem, lines: list[tuple[str, str]]) -> None:
        """Write lines of text, each in the colour of a token."""
        parts = [
            f'<span style="color:{self._theme.color(token).name()}">{text}</span>'
            for token, text in lines
            if text
        ]
        label.setText("<br>".join(parts), size=f"{self._theme.px(11)}px", justify="left")

    def _fit(self) -> None:
        theme = self._theme
        self._view.setBackground(theme.color("panel"))
        layout = self._view.ci.layout
        layout.setSpacing(0)
        layout.setContentsMargins(theme.px(12), 0, theme.px(4), theme.px(4))
        layout.setColumnFixedWidth(0, theme.px(56))
        self._share_room()
        for row, (plot, name) in enumerate(zip(self._plots, self._names, strict=True)):
            self._put(name, [("muted", f"{SHORT[row]}, {UNITS[row]}")])
            self._fit_axes(plot)
        self._ink()
        if self._shown:
            self._write()

    @property
    def _is_narrow(self) -> bool:
        return self.width() < self._theme.px(NARROW_PX)

    def _share_room(self) -> None:
        """Leave room for the words at the right, but not in a narrow view."""
        words = 0 if self._is_narrow else self._theme.px(WORDS_PX)
        self._view.ci.layout.setColumnFixedWidth(2, words)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the room between the plots."""
        super().resizeEvent(event)
        self._share_room()

    def _fit_axes(self, plot: pg.PlotItem) -> None:
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
        for number, (token, dashes) in enumerate(INKS):
            for items in self._lines:
                items[number].setPen(_pen(theme, token, 1.75 if number == 0 else 1.5, dashes))
            self._limits[number].setPen(_pen(theme, "text" if number == 0 else token, 1.25, (4.0, 2.0)))
        for mark in self._marks:
            mark.setBrush(theme.color("curve"))
            mark.setPen(_pen(theme, "panel", 1.0))
        for cursor in self._cursors:
            cursor.setPen(_pen(theme, "accent", 1.5))
            cursor.setHoverPen(_pen(theme, "accent", 2.5))


def one_turn(theta_deg: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Cut a curve, (n,) each, that begins before 0 and ends after 360 degrees to that turn."""
    inside = (theta_deg >= 0.0) & (theta_deg <= 360.0)
    first, last = np.interp([0.0, 360.0], theta_deg, values)
    return (
        np.concatenate([[0.0], theta_deg[inside], [360.0]]),
        np.concatenate([[first], values[inside], [last]]),
    )


def ticks(low: float, high: float, share: float) -> tuple[float, ...]:
    """Return 0 and the ends of a range, rounded inward to 1, 2 or 5 times a power of ten.

    share: of the range, that a label needs; an end nearer to 0 than that is left out.
    """
    least = share * (high - low)
    return tuple(sorted({0.0, *(end for end in (_inward(low), _inward(high)) if abs(end) >= least)}))


def _inward(value: float) -> float:
    if value == 0:
        return 0.0
    power = 10.0 ** math.floor(math.log10(abs(value)))
    return math.copysign(max(n * power for n in (1, 2, 5) if n * power <= abs(value) * (1 + 1e-9)), value)


def _ranges(values: list[Floats]) -> list[tuple[str, str]]:
    """Return colour and words of the range of each lane's output."""
    tokens = ("text",) if len(values) == 1 else tuple(token for token, _ in INKS)
    return [
        (
            token,
            f"{wording.plain(float(np.min(own)), 2)} to {wording.plain(float(np.max(own)), 2)} {UNITS[0]}",
        )
        for token, own in zip(tokens, values, strict=False)
    ]


def _top_limit(lane: LaneCurves) -> float:
    """Return the highest acceleration at which contact is lost; nothing reaches -inf."""
    return -math.inf if lane.release is None else float(np.max(lane.release.limit))


def three(value: float) -> str:
    """Write about three significant figures."""
    if value == 0 or not math.isfinite(value):
        return wording.number(value, 0)
    return wording.number(value, max(0, 2 - math.floor(math.log10(abs(value)))))


def _pen(theme: Theme, token: str, width: float, dashes: tuple[float, ...] = ()) -> QPen:
    pen = QPen(theme.color(token), width * theme.u)
    if dashes:
        pen.setDashPattern(list(dashes))
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen
