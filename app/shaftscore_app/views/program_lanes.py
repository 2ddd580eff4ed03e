"""Where the lanes sit: a grid of places into which lanes are dragged, and those that are left out.

Keys: arrows go by place, with Ctrl they move the lane; Del leaves it out; Enter puts the first lane that is
left out into an empty place.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.program.places import lane_at, with_place, without_place
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import lane_code

ARROWS = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}
HIGH, WIDE = 28.0, 44.0
"""Height of a place, and the width at which a code is easy to read, px of the design."""

CTRL = Qt.KeyboardModifier.ControlModifier
Place = tuple[int, int]


class LanePlaces(QWidget):
    """The grid; below it the lanes that are left out."""

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Show where the lanes of a session's draft sit."""
        super().__init__()
        self._session, self._theme = session, theme
        self._dragged: str | None = None
        self._at = QPointF()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Places of lanes")
        EventWatch(self, self._on_event)
        session.changed.connect(self._follow)
        theme.changed.connect(self.updateGeometry)

    @property
    def left_out(self) -> tuple[str, ...]:
        """Ids of the lanes without a place."""
        placed = set(self._session.draft.grid.lanes)
        return tuple(lane_id for lane_id in self._session.draft.meanings if lane_id not in placed)

    def place_rect(self, place: Place) -> QRectF:
        """Return where a place, row and column, is drawn."""
        high, wide = self._high, self.width() / self._session.draft.grid.columns
        return QRectF(place[1] * wide, place[0] * high, wide, high).adjusted(1.5, 1.5, -1.5, -1.5)

    def chip_rect(self, index: int) -> QRectF:
        """Return where a lane that is left out is drawn, counted from 0."""
        wide = self._theme.px(WIDE + 8)
        across = max(1, int(self.width() // wide))
        top = self._session.draft.grid.rows * self._high + self._theme.px(20)
        x, y = (index % across) * wide, top + (index // across) * self._high
        return QRectF(x, y, wide, self._high).adjusted(1.5, 1.5, -1.5, -1.5)

    @property
    def _high(self) -> float:
        rows = self._session.draft.grid.rows
        return (
            self._theme.px(HIGH) if rows <= 6 else max(float(self._theme.px(14)), self._theme.px(168) / rows)
        )

    def sizeHint(self) -> QSize:
        """Return room for the grid and for what is left out."""
        rows = self._session.draft.grid.rows * self._high
        out = len(self.left_out)
        if out:
            rows = self.chip_rect(min(out, 24) - 1).bottom()
        return QSize(self._theme.px(200), round(rows) + 4)

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(120), self.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make room for what is left out in more rows."""
        super().resizeEvent(event)
        self.updateGeometry()

    def _follow(self) -> None:
        self.setAccessibleDescription(self._text())
        self.updateGeometry()
        self.update()

    def _text(self) -> str:
        row, column = self._session.cell
        lane_id = self._session.lane_id
        who = "empty" if lane_id is None else f"lane {lane_code(self._session.project, lane_id)}"
        out = ", ".join(lane_code(self._session.project, own) for own in self.left_out)
        return f"Row {row + 1}, column {column + 1}: {who}." + (f" Left out: {out}." if out else "")

    # Mouse

    def _lane_under(self, point: QPointF) -> str | None:
        place = self._place_under(point)
        if place is not None:
            return lane_at(self._session.draft.grid, *place)
        for index, lane_id in enumerate(self.left_out[:24]):
            if self.chip_rect(index).contains(point):
                return lane_id
        return None

    def _place_under(self, point: QPointF) -> Place | None:
        grid = self._session.draft.grid
        row, column = int(point.y() // self._high), int(point.x() // (self.width() / grid.columns))
        return (row, column) if 0 <= row < grid.rows and 0 <= column < grid.columns else None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the lane under the pointer."""
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        self._dragged, self._at = self._lane_under(event.position()), event.position()
        place = self._place_under(event.position())
        if place is not None:
            self._session.choose_cell(self._session.frame, place)
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Carry the lane."""
        self._at = event.position()
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Put the lane where it is let go; below the grid it is left out."""
        lane_id, self._dragged = self._dragged, None
        if lane_id is None:
            return
        place, grid = self._place_under(event.position()), self._session.draft.grid
        if place is not None:
            self._session.set_grid(with_place(grid, lane_id, *place))
            self._session.choose_cell(self._session.frame, place)
        elif event.position().y() > grid.rows * self._high:
            self._session.set_grid(without_place(grid, lane_id))
        self.update()

    # Keys

    def _on_event(self, event: QEvent) -> bool:
        own = (*ARROWS, Qt.Key.Key_Delete, Qt.Key.Key_Return)
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.ShortcutOverride:
            return False
        if Qt.Key(event.key()) not in own:
            return False
        event.accept()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go by place; with Ctrl move the lane, Del leaves it out, Enter takes one that is left out."""
        key, session = Qt.Key(event.key()), self._session
        lane_id, grid = session.lane_id, session.draft.grid
        if key in ARROWS:
            row, column = (session.cell[0] + ARROWS[key][0], session.cell[1] + ARROWS[key][1])
            if not (0 <= row < grid.rows and 0 <= column < grid.columns):
                return
            if event.modifiers() & CTRL and lane_id is not None:
                session.set_grid(with_place(grid, lane_id, row, column))
            session.choose_cell(session.frame, (row, column))
            self._say()
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and lane_id is not None:
            session.set_grid(without_place(grid, lane_id))
            self._say()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and lane_id is None and self.left_out:
            session.set_grid(with_place(grid, self.left_out[0], *session.cell))
            self._say()
        else:
            super().keyPressEvent(event)

    def _say(self) -> None:
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, self._text()))

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw places, lanes, what is left out, and what is dragged."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        session, theme = self._session, self._theme
        painter.setFont(theme.font(12, 600))
        for row, lanes in enumerate(session.draft.grid.cells):
            for column, lane_id in enumerate(lanes):
                self._draw_place(painter, self.place_rect((row, column)), lane_id)
        if self.hasFocus():
            painter.setPen(QPen(theme.color("accent"), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(self.place_rect(session.cell), theme.px(4), theme.px(4))
        self._draw_left_out(painter)
        if self._dragged is not None:
            rect = QRectF(0, 0, theme.px(WIDE), self._high)
            rect.moveCenter(self._at)
            self._draw_place(painter, rect, self._dragged, held=True)

    def _draw_left_out(self, painter: QPainter) -> None:
        out, theme = self.left_out, self._theme
        if not out:
            return
        top = self._session.draft.grid.rows * self._high
        painter.setFont(theme.font(11))
        painter.setPen(theme.color("muted"))
        more = f", the first 24 of {len(out)}" if len(out) > 24 else ""
        room = QRectF(0, top, self.width(), theme.px(20))
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, f"Left out: keep their program{more}")
        painter.setFont(theme.font(12))
        for index, lane_id in enumerate(out[:24]):
            self._draw_place(painter, self.chip_rect(index), lane_id)

    def _draw_place(
        self, painter: QPainter, rect: QRectF, lane_id: str | None, *, held: bool = False
    ) -> None:
        theme = self._theme
        pen = QPen(theme.color("accent" if held else "edge" if lane_id else "line"), 1.0)
        if lane_id is None:
            pen.setStyle(Qt.PenStyle.DotLine)
        painter.setPen(pen)
        ground = "accent-soft" if held else "field"
        painter.setBrush(theme.color(ground) if lane_id else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(rect, theme.px(4), theme.px(4))
        if lane_id is not None:
            painter.setPen(theme.color("text"))
            text = lane_code(self._session.project, lane_id)
            shown = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, int(rect.width()) - 2)
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, shown)
