"""A histogram of margins: a column a range of degrees, failing ones hatched, and the limit at 0."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QPen
from PySide6.QtWidgets import QMenu, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.judge.spread import Histogram
from shaftscore_app.theme import Theme


class HistogramPlot(QWidget):
    """The columns; those under 0 are of machines that fail."""

    def __init__(self, theme: Theme) -> None:
        """Make an empty histogram."""
        super().__init__()
        self._theme = theme
        self._shown = Histogram((), ())
        self.setAccessibleName("Smallest margin of the machines drawn, degrees")
        self._view = pg.GraphicsLayoutWidget()
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._view)
        self._plot = self._made()
        self._bars = [pg.BarGraphItem(x0=[], x1=[], height=[]) for _ in range(2)]
        self._limit = pg.InfiniteLine(pos=0.0, angle=90)
        self._words = [pg.TextItem(anchor=(1, 0)), pg.TextItem(anchor=(0, 0))]
        for item in (*self._bars, self._limit, *self._words):
            self._plot.addItem(item, ignoreBounds=True)
        theme.changed.connect(self.fit)
        self.fit()

    @property
    def bars(self) -> tuple[int, int]:
        """How many columns stand under 0, and from 0 on."""
        failing, working = (len(bars.opts["height"]) for bars in self._bars)
        return failing, working

    def show_counts(self, histogram: Histogram) -> None:
        """Show other counts."""
        self._shown = histogram
        edges, counts = np.array(histogram.edges_deg), np.array(histogram.counts)
        fails = edges[:-1] < -1e-12 if len(edges) else np.zeros(0, bool)
        for bars, chosen in zip(self._bars, (fails, ~fails), strict=True):
            if len(edges):
                bars.setOpts(x0=edges[:-1][chosen], x1=edges[1:][chosen], height=counts[chosen])
            else:
                bars.setOpts(x0=[], x1=[], height=[])
        if len(edges):
            self._set_ranges(edges, float(counts.max()))

    def fit(self) -> None:
        """Dress it in the theme."""
        theme = self._theme
        self._view.setBackground(theme.color("panel"))
        self._view.ci.layout.setContentsMargins(theme.px(4), theme.px(4), theme.px(12), theme.px(4))
        for name, text in (("left", "machines"), ("bottom", "smallest margin, degrees")):
            axis = self._plot.getAxis(name)
            axis.setStyle(tickFont=theme.font(11), tickLength=-theme.px(4), maxTickLevel=0)
            axis.enableAutoSIPrefix(False)
            axis.setPen(theme.color("edge"))
            axis.setTextPen(theme.color("muted"))
            axis.setLabel(text, color=theme.color("muted").name(), **{"font-size": f"{theme.px(11)}px"})
        self._plot.showGrid(x=False, y=True, alpha=0.25)
        hatched = QBrush(theme.color("error"), Qt.BrushStyle.BDiagPattern)
        for bars, brush, token in zip(
            self._bars, (hatched, QBrush(theme.color("l2"))), ("error", "l2-edge"), strict=True
        ):
            bars.setOpts(brush=brush, pen=_pen(theme, token, 1.0))
        self._limit.setPen(_pen(theme, "text", 2.0))
        for word, text, token in zip(self._words, ("fails", "works"), ("error", "text"), strict=True):
            word.setText(text, color=theme.color(token))
            word.setFont(theme.font(11, 600))

    # Inside

    def _made(self) -> pg.PlotItem:
        plot = self._view.addPlot(enableMenu=False)
        for menu in (plot.ctrlMenu, *plot.ctrlMenu.findChildren(QMenu)):
            menu.setParent(self, menu.windowFlags())  # never shown; without a parent it outlives the plot
        plot.hideButtons()
        plot.setMouseEnabled(x=False, y=False)
        return plot

    def _set_ranges(self, edges: npt.NDArray[np.float64], highest: float) -> None:
        """Keep 0 in sight, and room over the columns for the words."""
        low, high = min(float(edges[0]), 0.0), max(float(edges[-1]), 0.0)
        room = 0.04 * (high - low)
        words = 0.14 * (high - low)
        self._plot.setXRange(min(low - room, -words), max(high + room, words), padding=0)
        self._plot.setYRange(0.0, highest * 1.18, padding=0)
        ticks = self._plot.getAxis("bottom").tickValues(low - room, high + room, max(self.width(), 300))
        shown = ticks[0][1] if ticks else []
        self._plot.getAxis("bottom").setTicks([[(tick, wording.plain(tick, 3)) for tick in shown]])
        for word in self._words:
            word.setPos(0.0, highest * 1.18)


def _pen(theme: Theme, token: str, width: float) -> QPen:
    pen = QPen(theme.color(token), width * theme.u)
    pen.setCosmetic(True)
    return pen
