"""How a row of the Findings view is drawn: two lines; when chosen, all of its words and the cure.

What follows from a cause is drawn below it, further in: the line of the fold, and a line a consequence.
"""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QAbstractItemView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.stale import STALE_OPACITY
from shaftscore_app.theme import Theme
from shaftscore_app.views.finding_folds import FindingRow, RowKind

APPLY = "Apply"
HEIGHT, LINE, SLIM = 42, 17, 24
"""Height of a row of two lines, what each line more adds, and of a line of a fold, px of the design."""

MOST_WHOLE = 40
"""Of more rows none is measured: no screen has room for all of them."""

INDENT = 56
"""Where the words of what follows from a cause begin, px of the design."""

GONE = "gone once the cause is fixed"
"""Said beside the line of a fold."""

SIGNS = {"error": "severity-error", "warning": "severity-warning", "note": "severity-note"}

Index = QModelIndex | QPersistentModelIndex
_LEFT, _RIGHT = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight


class FindingRows(QStyledItemDelegate):
    """Draws rows; the model gives a row with `finding`, `words` and `stale` under the user role."""

    def __init__(self, theme: Theme, view: QAbstractItemView) -> None:
        """Draw for a list."""
        super().__init__(view)
        self._theme, self._view = theme, view
        self._has_room = False

    def find_room(self, rows: int) -> None:
        """Show the words of all rows whole where the list has room for that, whichever of them is chosen."""
        view, model = self._view, self._view.model()
        room, most_cure = view.viewport().height(), 0
        for number in range(rows if rows <= MOST_WHOLE else 0):
            index = model.index(number, 0)
            if not self._row(index).is_finding or self._row(index).kind is RowKind.CONSEQUENCE:
                room -= self._theme.px(SLIM)
                continue
            what, cure = self._heights(index)
            most_cure = max(most_cure, cure)
            room -= self._theme.px(HEIGHT - LINE) + what
        self._has_room = rows <= MOST_WHOLE and room >= most_cure

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height: as many lines as the words take where the row is chosen."""
        px = self._theme.px
        if self._is_slim(index):
            return QSize(option.rect.width(), px(SLIM))
        if not self._is_chosen(index) and not self._has_room:
            return QSize(option.rect.width(), px(HEIGHT))
        what, cure = self._heights(index)
        more = what - px(LINE) + (cure + px(2) if cure and self._is_chosen(index) else 0)
        return QSize(option.rect.width(), px(HEIGHT) + more)

    def cure_rect(self, index: Index, rect: QRect) -> QRect:
        """Return where "Apply" is in a row at `rect`; empty where the row has no such words."""
        cure = self._row(index).words.cure and self._row(index).finding.cure
        if not cure or cure.edit is None or not self._is_chosen(index):
            return QRect()
        px = self._theme.px
        width = QFontMetrics(self._theme.font(12, 600)).horizontalAdvance(APPLY) + px(16)
        top = rect.top() + px(2 + LINE) + self._heights(index)[0]
        return QRect(rect.right() - width - px(4), top, width, px(22))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one row."""
        painter.save()
        self._draw_ground(painter, option, index)
        row, px = self._row(index), self._theme.px
        painter.setOpacity(STALE_OPACITY if row.stale else 1.0)
        if self._is_slim(index):
            self._draw_slim(painter, option.rect, row)
            painter.restore()
            return
        rect = option.rect.adjusted(px(42), px(4), -px(12), 0)
        painter.drawPixmap(
            QRect(option.rect.left() + px(12), option.rect.top() + px(6), px(14), px(14)),
            self._theme.pixmap(SIGNS[row.finding.severity.value], 14),
        )
        self._draw_title(painter, QRect(rect.left(), rect.top(), rect.width(), px(17)), row)
        wrap = self._is_chosen(index) or self._has_room
        what, cure = self._heights(index) if wrap else (px(LINE), 0)
        second = QRect(rect.left(), rect.top() + px(LINE), rect.width(), what)
        self._text(painter, second, row.words.what, "text", wrap=wrap)
        if cure and self._is_chosen(index):
            self._draw_cure(
                painter, option.rect, index, QRect(rect.left(), second.bottom() + 2, rect.width(), cure)
            )
        painter.restore()

    # Inside

    def _row(self, index: Index) -> FindingRow:
        row: FindingRow = index.data(Qt.ItemDataRole.UserRole)
        return row

    def _is_chosen(self, index: Index) -> bool:
        return self._view.currentIndex() == index

    def _is_slim(self, index: Index) -> bool:
        """Return whether a row is one line: that of a fold, or a consequence that is not chosen."""
        row = self._row(index)
        return not row.is_finding or (row.kind is RowKind.CONSEQUENCE and not self._is_chosen(index))

    def _draw_ground(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, rect = self._theme, option.rect
        hovered = bool(option.state & QStyle.StateFlag.State_MouseOver)
        chosen = self._is_chosen(index)
        if chosen or hovered:
            painter.fillRect(rect, theme.color("accent-soft" if chosen else "hover"))
        painter.fillRect(QRect(rect.left(), rect.bottom(), rect.width(), 1), theme.color("line"))
        if chosen:
            painter.fillRect(
                QRect(rect.left(), rect.top(), theme.px(3), rect.height() - 1), theme.color("accent")
            )

    def _draw_slim(self, painter: QPainter, rect: QRect, row: FindingRow) -> None:
        """Draw a line of a fold, or a consequence in one line."""
        px = self._theme.px
        place = rect.adjusted(px(INDENT), 0, -px(12), 0)
        if row.kind is RowKind.FOLD:
            icon = "chevron-down" if row.is_open else "chevron-right"
            sign = QRect(rect.left() + px(38), rect.center().y() - px(7), px(14), px(14))
            painter.drawPixmap(sign, self._theme.pixmap(icon, 14))
            count, _, rest = row.line.partition(": ")
            wide = QFontMetrics(self._theme.font(12, 600)).horizontalAdvance(count) + px(8)
            self._text(painter, place, count, "text", weight=600)
            gone = QFontMetrics(self._theme.font(12)).horizontalAdvance(GONE) + px(12)
            beside = place.width() > wide + 2 * gone
            self._text(painter, place.adjusted(wide, 0, -gone if beside else 0, 0), rest, "muted")
            if beside:
                self._text(painter, place, GONE, "muted", align=_RIGHT)
        elif row.kind is RowKind.MORE:
            self._text(painter, place, row.line, "accent", weight=600)
        else:
            self._draw_title(painter, place, row)

    def _draw_title(self, painter: QPainter, place: QRect, row: FindingRow) -> None:
        theme, said = self._theme, row.words
        where = UPDATING if row.stale else said.where
        where_width = QFontMetrics(theme.font(12)).horizontalAdvance(where)
        self._text(painter, place, where, "muted", align=_RIGHT)
        left = place.adjusted(0, 0, -where_width - theme.px(12), 0)
        self._text(painter, left, said.title, "text", weight=600)
        used = QFontMetrics(theme.font(12, 600)).horizontalAdvance(said.title) + theme.px(8)
        self._text(painter, left.adjusted(used, 0, 0, 0), said.lanes, "muted")

    def _draw_cure(self, painter: QPainter, whole: QRect, index: Index, rect: QRect) -> None:
        button, place = self.cure_rect(index, whole), QRect(rect)
        if not button.isEmpty():
            first = QRect(rect.left(), button.top(), rect.width(), button.height())
            self._text(painter, first, APPLY, "accent", weight=600, align=_RIGHT)
            place.setRight(button.left())
        self._text(painter, place, self._row(index).cure_text, "text", wrap=True)

    def _heights(self, index: Index) -> tuple[int, int]:
        """Return the heights of a chosen row's words and of its cure, 0 without one."""
        px, said = self._theme.px, self._row(index).words
        cure_text = self._row(index).cure_text
        width = self._view.viewport().width() - px(42) - px(12)
        metrics = QFontMetrics(self._theme.font(12))
        cure = self._row(index).finding.cure
        beside = metrics.horizontalAdvance(APPLY) + px(28) if cure is not None and cure.is_edit else 0
        return self._height(metrics, said.what, width), (
            self._height(metrics, cure_text, width - beside) if cure_text else 0
        )

    def _height(self, metrics: QFontMetrics, text: str, width: int) -> int:
        flags = Qt.TextFlag.TextWordWrap
        return max(
            self._theme.px(LINE), metrics.boundingRect(0, 0, max(1, width), 10_000, flags, text).height()
        )

    def _text(
        self,
        painter: QPainter,
        place: QRect,
        text: str,
        token: str,
        *,
        weight: int = 400,
        align: Qt.AlignmentFlag = _LEFT,
        wrap: bool = False,
    ) -> None:
        font = self._theme.font(12, weight)
        painter.setFont(font)
        painter.setPen(self._theme.color(token))
        if wrap:
            painter.drawText(place, int(align | Qt.AlignmentFlag.AlignTop) | Qt.TextFlag.TextWordWrap, text)
            return
        fitted = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, max(0, place.width()))
        painter.drawText(place, align | Qt.AlignmentFlag.AlignVCenter, fitted)
