"""The line above the status bar: how far the project is, and what comes next, with one button.

It keeps its height and never moves; where there is little room, titles of marks give way first, then the end
of the sentence, which the tooltip has.
"""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QToolBar, QToolButton, QWidget

from shaftscore.judge.report import Report
from shaftscore_app.document import Document
from shaftscore_app.document.next_step import NextStep, next_step
from shaftscore_app.frame.next_step_marks import StepMarks, Titles
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.widgets.elided import ElidedLabel

HEIGHT = 36
"""Height of the line, px of the design."""

HELD_MS = 150
"""While something is held, the line follows so late."""

ALL_TITLES, NEXT_TITLE = 1180, 800
"""From these widths on all marks have their titles, and the next one has; px of the design."""


class NextStepBar(QToolBar):
    """The line.

    Signals: action_wanted(step) when the button was pressed; mark_visited(key) when a mark was chosen;
    leave_out_wanted(area) when the person says that an area is not needed; close_wanted().
    """

    action_wanted = Signal(object)
    mark_visited = Signal(str)
    leave_out_wanted = Signal(str)
    close_wanted = Signal()

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the line of a document; `set_exported` says whether its files are up to date."""
        super().__init__("Next step")
        self._document, self._theme = document, theme
        self._is_exported = self._is_narrow = False
        self.shown: NextStep | None = None
        self._shown_of: tuple[Report, bool] | None = None
        self.marks = StepMarks(theme)
        self.sentence = ElidedLabel()
        self.button, self.leave_out, self.close_button = QPushButton(), QPushButton(), QToolButton()
        self._next = QLabel("Next:")
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.file_changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def set_exported(self, exported: bool) -> None:
        """Set whether the files written last are those of the project."""
        self._is_exported = exported
        self.refresh()

    def refresh(self) -> None:
        """Show the next step of the whole project; does nothing while the line is not shown."""
        report, exported = self._document.whole_report, self._is_exported
        if self.isHidden() or not self._document.is_started or self._is_of(report, exported):
            return
        self._shown_of = (report, exported)
        step = next_step(report, exported=exported)
        self.shown = step
        self.marks.show_marks(step.marks)
        self.sentence.set_text(step.sentence)
        self.button.setText(step.action.text)
        self.button.setAccessibleName(f"Next: {step.sentence}. {step.action.text}")
        self.button.setToolTip(f"{step.sentence}.")
        self.leave_out.setText("Not needed")
        self._show_leave_out()
        self.leave_out.setAccessibleName(f"Not needed: {step.leave_out_text}")
        self.leave_out.setToolTip(f"{step.leave_out_text}: the verdict leaves it out; undo takes that back")

    def _is_of(self, report: Report, exported: bool) -> bool:
        """Return whether just this is shown."""
        was = self._shown_of
        return was is not None and was[0] is report and was[1] == exported

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let titles of marks go where there is no room for them."""
        super().resizeEvent(event)
        self._choose_titles()

    # Inside

    def _choose_titles(self) -> None:
        px, width = self._theme.px, self.width()
        titles: Titles = "all" if width >= px(ALL_TITLES) else "next" if width >= px(NEXT_TITLE) else "none"
        self.marks.set_titles(titles)
        self._is_narrow = titles == "none"
        self._show_leave_out()

    def _show_leave_out(self) -> None:
        """Show the button that leaves an area out; a narrow line leaves its place to the sentence."""
        asks = self.shown is not None and self.shown.area is not None
        self.leave_out.setVisible(asks and not self._is_narrow)

    def _build(self) -> None:
        self.setObjectName("next-step")
        self.setMovable(False)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        self.toggleViewAction().setVisible(False)  # View > Next step remembers what was chosen
        self.setAccessibleName("Next step")
        self.button.setObjectName("wanted")
        self.leave_out.setObjectName("link")
        self.close_button.setObjectName("plain")
        self.close_button.setAccessibleName("Close the next step")
        self.close_button.setToolTip("Close: View > Next step shows it again")
        self._next.setObjectName("muted")
        inner = QWidget()
        inner.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._row = QHBoxLayout(inner)
        self._row.addWidget(self.marks)
        self._row.addStretch(1)
        for widget in (self._next, self.sentence, self.leave_out, self.button, self.close_button):
            self._row.addWidget(widget, 1000 if widget is self.sentence else 0)
        self.addWidget(inner)
        self.marks.visited.connect(self.mark_visited)
        self.button.clicked.connect(lambda: self.action_wanted.emit(self.shown))
        self.leave_out.clicked.connect(self._leave_out)
        self.close_button.clicked.connect(self.close_wanted)

    def _leave_out(self) -> None:
        if self.shown is not None and self.shown.area is not None:
            self.leave_out_wanted.emit(self.shown.area)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.setFixedHeight(px(HEIGHT))
        self._row.setContentsMargins(px(8), 0, px(8), 0)
        self._row.setSpacing(px(8))
        for widget in (self._next, self.button, self.leave_out):
            widget.setFont(theme.font(12))
        self.sentence.setFont(theme.font(12, 600))
        self.close_button.setIcon(theme.icon("close", 16, on="accent"))
        self.close_button.setIconSize(QSize(px(14), px(14)))
        self.setStyleSheet(
            f"QToolBar#next-step {{ border: none; border-top: 1px solid {theme.css('line')}; }}"
        )
        self.marks.fit()
        self._choose_titles()
        self.refresh()
