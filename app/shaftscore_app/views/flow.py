"""The Flow view: counts of magazines and items in channels over the turns, and whether the flow holds.

While a block is held the last result stays in `muted` until the new one is there.
"""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedLayout, QVBoxLayout

from shaftscore_app.document import Document
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import copy_button
from shaftscore_app.views.flow_canvas import FlowCanvas
from shaftscore_app.views.flow_rows import NO_FLOW, FlowPicture, picture_of
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.scrolling import upright_scroll


class FlowView(TabbedView):
    """The view.

    Signals: visited(key) when a failure was clicked: the person wants to see its place.
    """

    visited = Signal(object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's flow."""
        super().__init__()
        self._document, self._theme = document, theme
        self._picture: FlowPicture | None = None
        self.canvas = FlowCanvas(theme)
        self.title, self.remark, self.empty = QLabel(), QLabel(), QLabel(NO_FLOW)
        self.copy_button = copy_button("counts and items with their times", self.copy)
        self._build()
        document.report_changed.connect(self.refresh)
        document.cursor_changed.connect(self.canvas.set_cursor)
        self.canvas.failure_wanted.connect(self._visit)
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def picture(self) -> FlowPicture | None:
        """What is shown; None where there is nothing to show."""
        return self._picture

    def _show_now(self) -> None:
        """Show the flow as it is now."""
        found = picture_of(self._document.report)
        self._picture = found if isinstance(found, FlowPicture) else None
        self._pages.setCurrentIndex(0 if self._picture else 1)
        self.empty.setText(found if isinstance(found, str) else "")
        self.copy_button.setEnabled(self._picture is not None)
        self._show_head()
        if self._picture is not None:
            self.canvas.set_picture(self._picture)
            self.canvas.set_cursor(self._document.cursor_deg)
        self.setAccessibleDescription(self._picture.summary if self._picture else self.empty.text())

    def copy(self) -> None:
        """Copy counts and items as a table: a row a change, tabs between columns."""
        if self._picture is not None:
            QGuiApplication.clipboard().setText(self._picture.table)

    # Inside

    def _show_head(self) -> None:
        """Show whether the flow holds; stale words are muted like the rest."""
        picture = self._picture
        self.title.setText(picture.title if picture else "")
        stale = picture is not None and picture.stale
        self.remark.setText(UPDATING if stale else "")
        fails = picture is not None and picture.holds is False
        token = "muted" if stale else "error" if fails else "text"
        self.title.setStyleSheet(f"color: {self._theme.css(token)}")

    def _visit(self, key: object) -> None:
        self._document.select_finding(key)
        self.visited.emit(key)

    def _build(self) -> None:
        self.canvas.setAccessibleName("Flow")
        for label in (self.remark, self.empty):
            label.setObjectName("muted")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.setFocusProxy(self.canvas)
        self._head = QHBoxLayout()
        self.title.setWordWrap(True)  # a long sentence must not make the dock wider
        self._head.addWidget(self.title, 1)
        self._head.addWidget(self.remark)
        self._head.addWidget(self.copy_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        self._pages = QStackedLayout()
        self._pages.addWidget(upright_scroll(self.canvas))
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(2), px(8), px(2))
        self._head.setSpacing(px(8))
        self.title.setFont(theme.font(12, 600))
        self.remark.setFont(theme.font(12))
        self.empty.setFont(theme.font(12))
        self.empty.setContentsMargins(px(24), 0, px(24), 0)
        self.copy_button.setIcon(theme.icon("copy", 16))
        self.copy_button.setIconSize(QSize(px(16), px(16)))
        self.refresh()
