"""The Coverage view: what the verdict covers, a row an area, and the form that describes what is missing.

What is not described is not judged, and says so; each such row has the button that opens the form. A row's
menu says that an area is not needed, which is a step that can be undone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QGuiApplication,
    QKeyEvent,
    QMouseEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from shaftscore.edits import set_not_needed
from shaftscore.model.project import Area
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.coverage import (
    CoverageRow,
    RowAction,
    coverage_rows,
    head_detail,
    head_text,
)
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.coverage_signs import CoverageBar, CoverageSign
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.menu import Menu
from shaftscore_app.widgets.scrolling import upright_scroll

HELD_MS = 150
"""While something is held, the rows follow so late."""

BESIDE = 420
"""From this width on the button is beside the words of a row, px of the design."""

FOOT = (
    "A dashed ring is not a pass: nothing is known there. The export lists the same areas before it writes, "
    "and the build manual prints them on its cover."
)


class CoverageView(TabbedView):
    """The view.

    Signals: command_wanted(id, path) opens a view, or a form at a field; findings_wanted(areas) shows what
    was found in some areas.
    """

    command_wanted = Signal(str, str)
    findings_wanted = Signal(object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's coverage."""
        super().__init__()
        self._document, self._theme = document, theme
        self.head, self.detail, self._foot = QLabel(), QLabel(), QLabel(FOOT)
        self.bar = CoverageBar(theme)
        self.rows: list[CoverageRowWidget] = []
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.file_changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def _show_now(self) -> None:
        """Show the rows as they are now."""
        report = self._document.whole_report
        rows = coverage_rows(report, late_coming=self._document.is_late_coming)
        self.head.setText(head_text(report))
        self.detail.setText(head_detail(report, rows))
        self.bar.set_states([row.state for row in rows])
        self.bar.setAccessibleName(", ".join(f"{row.title} {row.words}" for row in rows))
        for widget, row in zip(self._widgets(len(rows)), rows, strict=True):
            widget.show_row(row)
        self.setAccessibleDescription(f"{self.head.text()}. {self.detail.text()}")

    def row(self, key: str) -> CoverageRowWidget:
        """Return a row by its key; raises StopIteration for one that is not shown."""
        return next(widget for widget in self.rows if widget.shown is not None and widget.shown.key == key)

    def act(self, action: RowAction) -> None:
        """Do what the button of a row says."""
        if action.areas:
            self.findings_wanted.emit(action.areas)
            return
        if action.lane_id is not None:
            self._document.select_lane(action.lane_id)
        self.command_wanted.emit(action.command, action.path)

    def leave_out(self, area: Area) -> str:
        """Write down that an area is not needed, as one step; returns why not, or an empty text."""
        return self._set_not_needed([*self._document.committed.not_needed, area])

    def take_back(self, areas: Sequence[Area]) -> str:
        """Write down that areas are needed after all, as one step; returns why not, or an empty text."""
        left = [area for area in self._document.committed.not_needed if area not in areas]
        return self._set_not_needed(left)

    def copy(self) -> None:
        """Copy the rows as text, a line each."""
        lines = [widget.shown.text for widget in self.rows if widget.shown is not None]
        QGuiApplication.clipboard().setText("\n".join([self.head.text(), self.detail.text(), *lines]))

    def step(self, widget: QWidget, by: int) -> None:
        """Move the focus to the row after (1) or before (-1) one, not round the ends."""
        place = self.rows.index(widget) + by if widget in self.rows else 0
        if 0 <= place < len(self.rows):
            self.rows[place].setFocus(Qt.FocusReason.OtherFocusReason)
            self._scroll.ensureWidgetVisible(self.rows[place])

    # Inside

    def _set_not_needed(self, areas: Sequence[Area]) -> str:
        document = self._document
        return commit(document, lambda: set_not_needed(document.committed, areas))

    def _widgets(self, count: int) -> list[CoverageRowWidget]:
        """Return as many rows as are shown; they are made once."""
        while len(self.rows) < count:
            widget = CoverageRowWidget(self._theme, self)
            self.rows.append(widget)
            self._column.insertWidget(self._column.count() - 2, widget)
            widget.fit()
        return self.rows

    def _build(self) -> None:
        self.setAccessibleName("Coverage")
        for label in (self.head, self.detail, self._foot):
            label.setWordWrap(True)
        self._foot.setObjectName("muted")
        inner = QWidget()
        self._column = QVBoxLayout(inner)
        self._column.setSpacing(0)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._top = QVBoxLayout()
        for widget in (self.head, self.detail, self.bar):
            self._top.addWidget(widget)
        self._column.addLayout(self._top)
        self._column.addWidget(self._foot)
        self._column.addStretch(1)
        self._scroll = upright_scroll(inner)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._scroll)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Pass the focus on to the first row."""
        super().focusInEvent(event)
        if self.rows:
            self.rows[0].setFocus(event.reason())

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._top.setContentsMargins(px(12), px(10), px(12), px(10))
        self._top.setSpacing(px(4))
        self.head.setFont(theme.font(15, 600))
        self.detail.setFont(theme.font(12))
        self._foot.setFont(theme.font(11))
        self._foot.setContentsMargins(px(12), px(10), px(12), px(10))
        for widget in self.rows:
            widget.fit()
        self.bar.updateGeometry()
        self.refresh()


class CoverageRowWidget(QFrame):
    """A row: sign, title with the state in words, what it is about, and its button."""

    def __init__(self, theme: Theme, view: CoverageView) -> None:
        """Make a row of a view; it shows nothing before `show_row`."""
        super().__init__()
        self._theme, self._view = theme, view
        self.shown: CoverageRow | None = None
        self.sign, self.title, self.detail = CoverageSign(theme), QLabel(), QLabel()
        self.button = QPushButton()
        self.button.setAutoDefault(False)
        self.button.clicked.connect(self._press)
        self.setObjectName("coverage-row")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._build()

    def show_row(self, row: CoverageRow) -> None:
        """Show a row; the same one again costs nothing."""
        if row == self.shown:
            return
        self.shown = row
        self.sign.set_state(row.state)
        muted = self._theme.css("muted")
        self.title.setText(f'<b>{row.title}</b>&nbsp; <span style="color: {muted}">{row.words}</span>')
        self.detail.setText(row.detail)
        text = "Undo" if row.left_out else row.action.text if row.action is not None else ""
        self.button.setText(text)
        self.button.setVisible(bool(text))
        self.button.setAccessibleName(f"{row.title}: {text}" if text else "")
        self.setAccessibleName(row.text)
        self.setToolTip("" if not row.may_leave_out else "Right click: leave this area out")

    def menu(self) -> Menu:
        """Return the menu of the row: what its button does, what can be left out, and copying."""
        menu = Menu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        row = self.shown
        if row is None:
            return menu
        if self.button.text():
            menu.addAction(self.button.text(), self._press)
        describe = row.describe
        if describe is not None:
            menu.addAction(describe.text, lambda: self._view.act(describe))
        for area, text in row.may_leave_out:
            menu.addAction(text, self._leaving_out(area))
        menu.addSeparator()
        menu.addAction("&Copy coverage", self._view.copy)
        return menu

    def fit(self) -> None:
        """Take the size of the theme's text."""
        theme, px = self._theme, self._theme.px
        self._row.setContentsMargins(px(12), px(8), px(12), px(8))
        self._row.setSpacing(px(10))
        for label in (self.title, self.detail):
            label.setFont(theme.font(12))
        self.button.setFont(theme.font(12))
        line, ring = theme.css("line"), theme.css("accent")
        self.setStyleSheet(
            f"QFrame#coverage-row {{ border: 2px solid transparent; border-top: 1px solid {line}; }}"
            f" QFrame#coverage-row:focus {{ border: 2px solid {ring}; }}"
        )
        row, self.shown = self.shown, None
        if row is not None:
            self.show_row(row)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the next or previous row, do what the button says, or show the menu."""
        key = event.key()
        if key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self._view.step(self, 1 if key == Qt.Key.Key_Down else -1)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self.button.text():
            self._press()
        elif key == Qt.Key.Key_Menu:
            self._pop_up(self.mapToGlobal(self.rect().center()))
        else:
            super().keyPressEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Show the menu of the row."""
        self._pop_up(event.globalPos())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the focus."""
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        super().mousePressEvent(event)

    # Inside

    def _press(self) -> None:
        row = self.shown
        if row is not None and row.left_out:
            self._view.take_back(row.left_out)
        elif row is not None and row.action is not None:
            self._view.act(row.action)

    def _leaving_out(self, area: Area) -> Callable[[], object]:
        return lambda: self._view.leave_out(area)

    def _pop_up(self, place: QPoint) -> None:
        self.menu().popup(place)

    def _build(self) -> None:
        for label in (self.title, self.detail):
            label.setWordWrap(True)
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.detail.setObjectName("muted")
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.sign, 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.title)
        words.addWidget(self.detail)
        self._beside = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._beside.addLayout(words, 1)
        self._beside.addWidget(self.button, 0, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._row.addLayout(self._beside, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the button below the words where there is little room beside them."""
        super().resizeEvent(event)
        wide = event.size().width() >= self._theme.px(BESIDE)
        direction = QBoxLayout.Direction
        self._beside.setDirection(direction.LeftToRight if wide else direction.TopToBottom)
        self._beside.setSpacing(self._theme.px(10 if wide else 4))
