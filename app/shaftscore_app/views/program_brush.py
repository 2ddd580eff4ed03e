"""The brush: the levels of the lane in the current cell, one of which is painted with.

With mixed lanes the brush goes by rank, from the lowest level up. Keys: Up and Down, or 1 to 9.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.base import wording
from shaftscore.program.frames import ranked_levels
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.program_session import ProgramSession

ROW = 28.0
"""Height of a row, px of the design."""


class BrushList(QWidget):
    """The list of levels."""

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Show the levels of the lane in the current cell of a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self._look = DiagramStyle(theme)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Paint with")
        session.changed.connect(self._follow)
        theme.changed.connect(self._restyle)
        self._follow()

    @property
    def levels(self) -> tuple[str, ...]:
        """The levels shown, the lowest first: of the current lane, else of the first lane with a place."""
        lane_id = self._session.lane_id or next(iter(self._session.draft.grid.lanes), None)
        return () if lane_id is None else ranked_levels(self._session.project, lane_id)

    def row_rect(self, rank: int) -> QRectF:
        """Return the place of a level's row."""
        high = self._theme.px(ROW)
        return QRectF(0, rank * high, self.width(), high)

    def sizeHint(self) -> QSize:
        """Return room for all levels."""
        return QSize(self._theme.px(180), max(1, len(self.levels)) * self._theme.px(ROW))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(100), self.sizeHint().height())

    def _restyle(self) -> None:
        self._look.forget()
        self.updateGeometry()
        self.update()

    def _follow(self) -> None:
        levels = self.levels
        shown = levels[min(self._session.brush, len(levels) - 1)] if levels else "none"
        self.setAccessibleDescription(f"{shown}; levels: {', '.join(levels)}")
        self.updateGeometry()
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the level under the pointer."""
        rank = int(event.position().y() // self._theme.px(ROW))
        if 0 <= rank < len(self.levels):
            self._session.set_brush(rank)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose by arrows or by number."""
        key, last = event.key(), len(self.levels) - 1
        now = min(self._session.brush, last)
        ranks = {int(Qt.Key.Key_Up): now - 1, int(Qt.Key.Key_Down): now + 1}
        rank = ranks.get(key, key - int(Qt.Key.Key_1))
        if 0 <= rank <= last and (key in ranks or key <= int(Qt.Key.Key_9)):
            self._session.set_brush(rank)
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        lane_id = self._session.lane_id or next(iter(self._session.draft.grid.lanes), None)
        if lane_id is None:
            return
        levels, heights = self.levels, self._session.project.lane(lane_id).levels
        for rank, level in enumerate(levels):
            chosen = rank == min(self._session.brush, len(levels) - 1)
            self._draw_row(painter, rank, level, wording.millimetres(heights[level], 0), chosen)

    def _draw_row(self, painter: QPainter, rank: int, level: str, height: str, chosen: bool) -> None:
        theme, look, px = self._theme, self._look, self._theme.px
        row = self.row_rect(rank).adjusted(1, 1, -1, -1)
        if chosen:
            width = 2.0 if self.hasFocus() else 1.0
            painter.setPen(QPen(theme.color("accent" if self.hasFocus() else "accent-line"), width))
            painter.setBrush(theme.color("accent-soft"))
            painter.drawRoundedRect(row, px(4), px(4))
        swatch = QRectF(row.left() + px(6), row.center().y() - px(8), px(24), px(16))
        style = look.level(rank)
        paint_body(painter, look, swatch, style)
        paint_edge(painter, swatch, style.edge, 1.25 * look.u, look.u)
        text = row.adjusted(px(38), 0, -px(24), 0)
        painter.setPen(theme.color("text"))
        painter.setFont(theme.font(12, 600))
        metrics = painter.fontMetrics()
        shown = metrics.elidedText(level, Qt.TextElideMode.ElideRight, int(text.width()))
        painter.drawText(text, Qt.AlignmentFlag.AlignVCenter, shown)
        painter.setFont(theme.font(12))
        painter.setPen(theme.color("muted"))
        rest = text.adjusted(metrics.horizontalAdvance(shown) + px(6), 0, 0, 0)
        if painter.fontMetrics().horizontalAdvance(height) < rest.width():
            painter.drawText(rest, Qt.AlignmentFlag.AlignVCenter, height)
        if rank < 9:
            right = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
            painter.drawText(row.adjusted(0, 0, -px(8), 0), right, str(rank + 1))
