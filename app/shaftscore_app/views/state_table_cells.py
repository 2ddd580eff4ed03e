"""How the state table's cells and heads are painted, and the line in which a cell is typed.

A cell says its level in words; a bar at its left says how high the level stands, in the level's colour. What
goes on from the step before is quiet; what is protected is hatched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import permutations

from PySide6.QtCore import QAbstractItemModel, QRect, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import (
    QHeaderView,
    QStyle,
    QStyleOptionViewItem,
    QWidget,
)

from shaftscore.edits.state_table import THEN
from shaftscore_app.theme import Theme
from shaftscore_app.views.state_table_model import CELL, STEPS, Cell, StateTableModel
from shaftscore_app.widgets.grid import GridCells, Index

MOST_PAIRED = 12
"""Visits of so many levels are completed."""

ROW, BAR = 24, 4
"""Height of a row, and width of the bar that shows the level; px of the design."""


class StateCells(GridCells):
    """Paints the cells; fonts and colours are made once, since a grid has many cells."""

    joiner = THEN

    def __init__(self, theme: Theme, parent: QWidget, words_of: Callable[[Index], Iterable[str]]) -> None:
        """Paint in a theme; words_of: what may be typed into a cell, for completing it."""
        super().__init__(theme, parent, words_of)
        self._colors: dict[tuple[str, float], QColor] = {}
        self._fonts: dict[int, QFont] = {}
        self._widths: dict[str, int] = {}
        theme.changed.connect(self._forget)

    def more_words(self, index: Index) -> Iterable[str]:
        """Return visits of two levels, those first that go back to where the lane comes from."""
        levels, model = list(self.words_of(index))[:MOST_PAIRED], index.model()
        back = model.level_into(index) if isinstance(model, StateTableModel) else None
        pairs = sorted(permutations(levels, 2), key=lambda pair: pair[1] != back)
        return [THEN.join(pair) for pair in pairs]

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return room for the text, and for every level that may be typed there."""
        theme = self._theme
        texts = {index.data(Qt.ItemDataRole.DisplayRole) or "", *self.words_of(index)}
        width = max(self._width(text, option.fontMetrics) for text in texts) + theme.px(2 * 8 + BAR)
        return QSize(max(theme.px(52), width), theme.px(ROW))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw ground, bar, text, and the ring of the current cell."""
        cell: Cell = index.data(CELL)
        theme, rect = self._theme, option.rect
        painter.save()
        painter.setFont(self._font(400 if cell.quiet else 500))
        room = rect.adjusted(theme.px(8 + BAR), 0, -theme.px(6), 0)
        text = painter.fontMetrics().elidedText(cell.text, Qt.TextElideMode.ElideRight, room.width())
        self._paint_ground(painter, option, index)
        if cell.protected:
            self._paint_hatch(painter, rect, room, text)
        self._paint_tints(painter, option, cell)
        if cell.rank >= 0:
            self._paint_bar(painter, rect, cell)
        painter.setPen(self._color("muted" if cell.quiet or cell.protected else "text"))
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(self._color("accent"), 2))
            painter.drawRect(rect.adjusted(1, 1, -1, -1))
        painter.restore()

    def _paint_ground(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        model = index.model()
        is_length = isinstance(model, StateTableModel) and model.place(index)[0] < STEPS
        painter.fillRect(option.rect, self._color("panel" if is_length else "strip"))

    def _paint_hatch(self, painter: QPainter, rect: QRect, room: QRect, text: str) -> None:
        """Hatch what is protected, but not under the letters."""
        metrics = painter.fontMetrics()
        painter.fillRect(rect, QBrush(self._color("edge", 0.45), Qt.BrushStyle.BDiagPattern))
        half = metrics.height() // 2
        free = QRect(room.left() - 2, room.center().y() - half, metrics.horizontalAdvance(text) + 4, 2 * half)
        if text:
            painter.fillRect(free, self._color("strip"))

    def _paint_tints(self, painter: QPainter, option: QStyleOptionViewItem, cell: Cell) -> None:
        """Tint the step in which the shaft stands, and what is chosen."""
        if cell.now:
            painter.fillRect(option.rect, self._color("accent", 0.13))
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, self._color("accent", 0.22))

    def _paint_bar(self, painter: QPainter, rect: QRect, cell: Cell) -> None:
        """Draw the level's height: the lowest is a foot, the highest fills the cell."""
        px = self._theme.px
        number = cell.rank if cell.rank <= 5 else (cell.rank - 1) % 5 + 1
        full = rect.height() - px(6)
        height = px(4) + round((full - px(4)) * cell.rank / max(1, cell.ranks - 1))
        bar = QRect(rect.left() + px(3), rect.bottom() - px(2) - height, px(BAR), height)
        painter.fillRect(bar, self._color(f"l{number}"))
        painter.setPen(self._color(f"l{number}-edge"))
        painter.drawRect(bar.adjusted(0, 0, -1, -1))

    def _color(self, token: str, alpha: float = 1.0) -> QColor:
        if (token, alpha) not in self._colors:
            self._colors[token, alpha] = self._theme.color(token, alpha)
        return self._colors[token, alpha]

    def _width(self, text: str, metrics: QFontMetrics) -> int:
        """Return a text's width in the table's font, px."""
        if text not in self._widths:
            self._widths[text] = metrics.horizontalAdvance(text)
        return self._widths[text]

    def _font(self, weight: int) -> QFont:
        if weight not in self._fonts:
            self._fonts[weight] = self._theme.font(12, weight)
        return self._fonts[weight]

    def _forget(self) -> None:
        self._colors.clear()
        self._fonts.clear()
        self._widths.clear()


class StateHeads(QHeaderView):
    """The heads of rows or columns: the step in which the shaft stands and the chosen lane are marked."""

    def __init__(self, orientation: Qt.Orientation, theme: Theme, marks: Callable[[int, bool], str]) -> None:
        """Paint in a theme; marks: gives of a section (number, is it a column's) "now", "chosen" or ""."""
        super().__init__(orientation)
        self._theme, self._marks = theme, marks
        self.setSectionsClickable(True)
        self.setHighlightSections(False)

    def sectionSizeFromContents(self, section: int) -> QSize:
        """Return room for the text."""
        theme = self._theme
        text = self._text(section)
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance(text) + theme.px(18), theme.px(ROW))

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        """Draw one head."""
        theme = self._theme
        across = self.orientation() == Qt.Orientation.Horizontal
        mark = self._marks(section, across)
        painter.save()
        painter.fillRect(rect, theme.color("accent-soft" if mark else "panel"))
        painter.setPen(QPen(theme.color("line"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.drawLine(rect.topRight(), rect.bottomRight())
        painter.setFont(theme.font(12, 600 if mark else 500))
        painter.setPen(self._pen(mark))
        text = self._text(section)
        room = rect.adjusted(theme.px(6), 0, -theme.px(4), 0)
        shown = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)
        painter.restore()

    def _text(self, section: int) -> str:
        model: QAbstractItemModel | None = self.model()  # None while the view goes away
        return "" if model is None else str(model.headerData(section, self.orientation()) or "")

    def _pen(self, mark: str) -> QColor:
        return self._theme.color("accent" if mark else "text")
