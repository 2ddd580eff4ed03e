"""The list beside the stack: its discs from the top down, with heights and stations."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor, QIcon
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from shaftscore.base import wording
from shaftscore_app.document.binding import muted
from shaftscore_app.theme import Theme
from shaftscore_app.views.stack_scene import DiscRow

HEADS = ("", "Top of the stack", "z, mm", "Station")
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter

ROW = 24
"""Height of a row where the rows do not stand beside their discs, px of the design."""

LEAST_ROW = 20
"""Rows nearer to one another than this do not stand beside their discs, px of the design."""


class StackList(QTableWidget):
    """The list.

    Signals: chosen(lane_id) when the person chose a row.
    """

    chosen = Signal(str)

    def __init__(self, theme: Theme) -> None:
        """Make an empty list."""
        super().__init__(0, len(HEADS))
        self._theme = theme
        self._rows: tuple[DiscRow, ...] = ()
        self._troubled: frozenset[str] = frozenset()
        self.setAccessibleName("Discs from the top of the stack down")
        self.setHorizontalHeaderLabels(list(HEADS))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setFrameShape(QTableWidget.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        head = self.horizontalHeader()
        head.setSectionsClickable(False)
        head.setHighlightSections(False)
        for column in range(len(HEADS)):
            stretch = column == 1
            head.setSectionResizeMode(
                column, QHeaderView.ResizeMode.Stretch if stretch else QHeaderView.ResizeMode.ResizeToContents
            )
            self._head(column).setTextAlignment(LEFT if column < 2 else RIGHT)
        self.itemSelectionChanged.connect(self._tell)
        theme.changed.connect(self._fit)
        self._fit()

    def show_rows(self, rows: Sequence[DiscRow], selected: str | None, troubled: frozenset[str]) -> None:
        """Show discs from the top down; troubled: lanes whose bodies meet others."""
        with muted(self):
            if tuple(rows) != self._rows or troubled != self._troubled:
                self._rows, self._troubled = tuple(rows), troubled
                self._fill()
            places = [place for place, row in enumerate(self._rows) if row.lane_id == selected]
            if places:
                self.selectRow(places[0])
                self.scrollToItem(self._cell(places[0], 0))
            else:
                self.clearSelection()
                self.setCurrentCell(-1, -1)

    def set_narrow(self, narrow: bool, *, slim: bool = False) -> None:
        """Leave out the stations where names would be cut, if slim the heights too; tooltips say them."""
        self.setColumnHidden(len(HEADS) - 1, narrow)
        self.setColumnHidden(len(HEADS) - 2, slim)

    def place_rows(self, middles: Sequence[float]) -> float | None:
        """Let rows stand where the middles of their discs are seen, px from the top of the view.

        Returns how far down the list must begin; None where that leaves rows no room, and rows then are
        as high as usual.
        """
        least = self._theme.px(LEAST_ROW)
        steps = [lower - upper for upper, lower in pairwise(middles)]
        if len(middles) != len(self._rows) or not steps or min(steps) < least:
            self._set_heights([self._theme.px(ROW)] * len(self._rows))
            return None
        bounds = [
            middles[0] - steps[0] / 2,
            *((a + b) / 2 for a, b in pairwise(middles)),
            middles[-1] + steps[-1] / 2,
        ]
        begin = bounds[0] - self.horizontalHeader().height()
        if begin < 0:
            self._set_heights([self._theme.px(ROW)] * len(self._rows))
            return None
        self._set_heights([round(after) - round(before) for before, after in pairwise(bounds)])
        return begin

    def _set_heights(self, heights: Sequence[int]) -> None:
        for row, height in enumerate(heights):
            if self.rowHeight(row) != height:
                self.setRowHeight(row, height)

    def texts(self) -> list[tuple[str, ...]]:
        """Return what stands in the cells, row by row."""
        return [
            tuple(self._cell(row, column).text() for column in range(len(HEADS)))
            for row in range(len(self._rows))
        ]

    def _head(self, column: int) -> QTableWidgetItem:
        item = self.horizontalHeaderItem(column)
        assert item is not None
        return item

    def _cell(self, row: int, column: int) -> QTableWidgetItem:
        item = self.item(row, column)
        assert item is not None
        return item

    def _fill(self) -> None:
        self.setRowCount(len(self._rows) + 1)
        for place, row in enumerate(self._rows):
            heights = f"{wording.plain(row.bottom_mm, 1)} to {wording.plain(row.top_mm, 1)}"
            cells = (row.code, row.name, heights, f"{wording.plain(row.station_deg, 1)}°")
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setTextAlignment(LEFT if column < 2 else RIGHT)
                item.setToolTip(f"{row.code} {row.name}: z {heights} mm, station {cells[3]}")
                self.setItem(place, column, item)
        for column in range(len(HEADS)):
            item = QTableWidgetItem("Bottom" if column == 1 else "")
            item.setFlags(Qt.ItemFlag.NoItemFlags)
            self.setItem(len(self._rows), column, item)
        self._ink()

    def _ink(self) -> None:
        theme = self._theme
        for place, row in enumerate(self._rows):
            troubled = row.lane_id in self._troubled
            for column in range(len(HEADS)):
                token = "error" if troubled else "muted" if column == 0 else "text"
                item = self._cell(place, column)
                item.setForeground(QColor(theme.color(token)))
                item.setFont(theme.font(12, 500 if column == 1 else 400))
                if column == 0:
                    item.setIcon(theme.icon("severity-error", 12, "error") if troubled else QIcon())
                    said = f"{item.text()}, overlaps another part" if troubled else item.text()
                    item.setData(Qt.ItemDataRole.AccessibleTextRole, said)
        bottom = self.item(len(self._rows), 1)
        if bottom is not None:
            bottom.setForeground(QColor(theme.color("muted")))
            bottom.setFont(theme.font(11))

    def _tell(self) -> None:
        places = {index.row() for index in self.selectedIndexes()}
        if len(places) == 1:
            self.chosen.emit(self._rows[places.pop()].lane_id)

    def _fit(self) -> None:
        theme = self._theme
        self.setStyleSheet(
            f"QTableWidget {{ background: {theme.css('panel')}; border: none;"
            f" selection-background-color: {theme.css('accent-soft')};"
            f" selection-color: {theme.css('text')}; }}"
            f"QTableWidget::item {{ padding: 0 {theme.px(4)}px; }}"
            f"QHeaderView, QHeaderView::section {{ background: {theme.css('panel')}; border: none;"
            f" color: {theme.css('muted')}; font-size: {theme.px(11)}px; padding: 0 {theme.px(4)}px; }}"
        )
        self.setFont(theme.font(12))
        self.horizontalHeader().setFont(theme.font(11))
        self.horizontalHeader().setFixedHeight(theme.px(22))
        self.verticalHeader().setDefaultSectionSize(theme.px(ROW))
        self.verticalHeader().setMinimumSectionSize(theme.px(20))
        self._ink()
