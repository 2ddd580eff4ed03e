"""What was seen: checks down, lanes across; a click goes back to that check."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRect, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
)

from shaftscore.base.wording import degrees
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import code_of, expected_text, seen_text, stop_name

Index = QModelIndex | QPersistentModelIndex
Role = Qt.ItemDataRole

DIFFERS, HERE, QUIET = Role.UserRole, Role.UserRole + 1, Role.UserRole + 2
"""Roles: whether a cell differs, stands in the current check, and says nothing that was seen."""

LOWEST_QUIET = "·"
"""What stands for the lowest or usual level where nothing was seen yet."""


class SeenModel(QAbstractTableModel):
    """The cells."""

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Show a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self._shape: tuple[object, object] = ((), ())
        session.changed.connect(self.follow)

    def follow(self) -> None:
        """Show what has changed."""
        session = self._session
        shape = (session.stops, session.order)
        if shape != self._shape:
            self.beginResetModel()
            self._shape = shape
            self.endResetModel()
        elif self.rowCount() and self.columnCount():
            last = self.index(self.rowCount() - 1, self.columnCount() - 1)
            self.dataChanged.emit(self.index(0, 0), last)
            self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, self.rowCount() - 1)
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, self.columnCount() - 1)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Return the count of checks."""
        return 0 if parent.isValid() else len(self._session.stops)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Return the count of lanes."""
        return 0 if parent.isValid() else len(self._session.order)

    def data(self, index: Index, role: int = Role.DisplayRole) -> object:
        """Return a cell's text, and how it is painted."""
        session, place = self._session, index.row()
        if not (0 <= place < len(session.stops) and 0 <= index.column() < len(session.order)):
            return None
        lane_id = session.order[index.column()]
        answers: dict[int, Callable[[], object]] = {
            Role.DisplayRole: lambda: self._text(place, lane_id),
            DIFFERS: lambda: session.differs(lane_id, place),
            HERE: lambda: place == session.place,
            QUIET: lambda: session.sighting(lane_id, place) is None,
            Role.ToolTipRole: lambda: self._spoken(place, lane_id),
            Role.AccessibleTextRole: lambda: self._spoken(place, lane_id),
        }
        return answers[role]() if role in answers else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Role.DisplayRole) -> object:
        """Return the name of a check or the code of a lane."""
        session = self._session
        if orientation == Qt.Orientation.Vertical:
            if role == Role.DisplayRole and section < len(session.stops):
                stop = session.stops[section]
                return f"{stop_name(stop)}   {degrees(stop.angle_deg)}"
            return None
        return self._lane_head(session.order[section], role) if section < len(session.order) else None

    def _lane_head(self, lane_id: str, role: int) -> object:
        """Return a lane’s code, its name as tooltip, and a sign and its colour where it differed anywhere."""
        session = self._session
        if role == Role.DisplayRole:
            return code_of(session.project, lane_id)
        if role == Role.ToolTipRole:
            return session.project.lane(lane_id).label
        if lane_id not in session.wrong_lanes:
            return None
        if role == Role.DecorationRole:
            return self._theme.icon("severity-error", 12, "error")
        return self._theme.color("error") if role == Role.ForegroundRole else None

    # Inside

    def _text(self, place: int, lane_id: str) -> str:
        session = self._session
        if session.is_seen(lane_id, place):
            sighting = session.sighting(lane_id, place)
            return "–" if sighting is None else seen_text(sighting)
        if not session.is_resting(lane_id, place):
            return ""
        due = session.expected(lane_id, place)
        return "" if due is None else LOWEST_QUIET if self._is_usual(place, lane_id) else due.level

    def _is_usual(self, place: int, lane_id: str) -> bool:
        """Return whether a lane is where it is at the check before too."""
        due, before = self._session.expected(lane_id, place), self._session.expected(lane_id, place - 1)
        return due is not None and before is not None and due.level == before.level

    def _spoken(self, place: int, lane_id: str) -> str:
        session = self._session
        due = expected_text(session.expected(lane_id, place), resting=session.is_resting(lane_id, place))
        seen = (
            seen_text(session.sighting(lane_id, place)) if session.is_seen(lane_id, place) else "not ticked"
        )
        label = session.project.lane(lane_id).label
        return f"{label} at {degrees(session.stops[place].angle_deg)}: expected {due}, {seen}"


class SeenCells(QStyledItemDelegate):
    """Paints the cells: a frame and bold where something differs, muted where nothing was seen yet."""

    def __init__(self, theme: Theme, parent: QTableView) -> None:
        """Paint in a theme."""
        super().__init__(parent)
        self._theme = theme

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a cell."""
        theme, rect = self._theme, QRect(option.rect)
        differs, quiet = bool(index.data(DIFFERS)), bool(index.data(QUIET))
        painter.save()
        painter.setPen(QPen(theme.color("line"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        if index.data(HERE):
            painter.fillRect(rect, theme.color("accent-soft"))
        if differs:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(theme.color("error"), 1.5 * theme.u))
            painter.setBrush(theme.color("error-soft"))
            gap = theme.px(2)
            painter.drawRoundedRect(rect.adjusted(gap, gap, -gap, -gap), 3 * theme.u, 3 * theme.u)
        painter.setFont(theme.font(12, 600 if differs else 400))
        painter.setPen(theme.color("error" if differs else "muted" if quiet else "text"))
        text = painter.fontMetrics().elidedText(
            str(index.data() or ""), Qt.TextElideMode.ElideRight, rect.width() - theme.px(4)
        )
        painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, text)
        painter.restore()


class SeenTable(QTableView):
    """The table."""

    def __init__(self, session: BringUpSession, theme: Theme, go_back: Callable[[], object]) -> None:
        """Show a session; go_back: gives the focus back to the lanes after a check was chosen."""
        super().__init__()
        self._session, self._theme, self._go_back = session, theme, go_back
        self.cells = SeenModel(session, theme)
        self.cells.setParent(self)
        self.setModel(self.cells)
        self.setItemDelegate(SeenCells(theme, self))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setAccessibleName("What was seen: checks by lanes")
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for header in (self.horizontalHeader(), self.verticalHeader()):
            header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
            header.setHighlightSections(False)
        self.verticalHeader().setSectionsClickable(True)
        self.verticalHeader().sectionClicked.connect(self._go)
        self.clicked.connect(self._go_to)
        self.cells.modelReset.connect(self._fit)
        session.stopped.connect(self._show_stop)
        theme.changed.connect(self._fit)
        self._fit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the check of the current cell by Enter or Space; letters belong to the view."""
        arrows = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self._go_to(self.currentIndex())
        elif event.key() in (
            *arrows,
            Qt.Key.Key_Home,
            Qt.Key.Key_End,
            Qt.Key.Key_PageUp,
            Qt.Key.Key_PageDown,
        ):
            super().keyPressEvent(event)
        else:
            event.ignore()

    # Inside

    def _go_to(self, index: Index) -> None:
        if index.isValid():
            self._session.choose(self._session.order[index.column()])
            self._go(index.row())

    def _go(self, place: int) -> None:
        self._session.go(place)
        self._go_back()

    def _show_stop(self) -> None:
        index = self.cells.index(self._session.place, max(0, self.currentIndex().column()))
        if index.isValid():
            self.scrollTo(index)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        ground, line = theme.css("panel"), theme.css("line")
        self.setStyleSheet(
            f"QTableView {{ background: {ground}; border-top: 1px solid {line}; }}"
            f"QHeaderView, QTableCornerButton::section {{ background: {ground}; border: none; }}"
            f"QHeaderView::section {{ background: {ground}; border: none;"
            f" border-bottom: 1px solid {line}; padding: 0 {px(8)}px; }}"
        )
        self.setFont(theme.font(12))
        self.horizontalHeader().setFont(theme.font(12, 600))
        self.verticalHeader().setFont(theme.font(12))
        self.verticalHeader().setDefaultSectionSize(px(24))
        metrics = self.fontMetrics()
        session = self._session
        levels = {level for lane_id in session.order for level in session.levels(lane_id)}
        widest = max((metrics.horizontalAdvance(level) for level in levels), default=0)
        self.horizontalHeader().setDefaultSectionSize(min(px(140), max(px(52), widest + px(14))))
        self.horizontalHeader().setMinimumSectionSize(px(40))
        self.viewport().update()
