"""The Operation view: stuck lanes, the feed, home and restart, wear; a page is worked out when it is seen.

A page is worked out beside the window; until it is there the one before stays, marked as that of what was.
"""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication, QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.bringup.feed import FeedPlan, planned_flow
from shaftscore.bringup.home import RestartCard
from shaftscore.edits import set_flow, set_home
from shaftscore.model.cells import text_cell
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh, copy_button
from shaftscore_app.views.operation_feed import FeedOptions
from shaftscore_app.views.operation_pages import PAGES, OperationResult
from shaftscore_app.views.operation_table import SheetTableView
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.scrolling import upright_scroll

KIND = "operation"
"""Name of its jobs."""

HELD_MS = 400
"""While something is held, the page follows so late."""

NARROW, LEAST = 480, 160
"""Widths of the design below which the pages are in a menu, and which the view has at least."""

APPLY_TIP = "Raise rates, capacities and initial counts to what is required; nothing is made smaller"
HOME_TIP = "Write this home angle into the project"
SHOW_TIP = "Put the cursor of all views at the home angle"


class OperationView(TabbedView):
    """The view.

    Signals: form_wanted(command) opens a form; status_message(sentence) says why something cannot be.
    """

    form_wanted = Signal(str)
    status_message = Signal(str)

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Make the view of a document; jobs: works pages out."""
        super().__init__()
        self._document, self._theme, self._jobs = document, theme, jobs
        self.result: OperationResult | None = None
        self._key: tuple[str, int | None] = ("", None)
        self.pages = {name: QToolButton() for name in PAGES}
        self.head, self.remark, self.words, self.details, self.cautions = (QLabel() for _ in range(5))
        self.form, self.apply, self.keep, self.go = (QPushButton() for _ in range(4))
        self.feed = FeedOptions(document, theme)
        self.tables: list[SheetTableView] = []
        self.copy_button = copy_button("all tables of the page", self.copy)
        self.chooser = ViewChooser("Page shown", "Which page of Operation is shown")
        self._build()
        self._connect()
        document.report_changed.connect(self._let_go)
        self._fit()

    @property
    def page(self) -> str:
        """The name of the page in front."""
        return next(name for name, button in self.pages.items() if button.isChecked())

    def show_page(self, name: str) -> None:
        """Bring a page to the front; raises KeyError for an unknown one."""
        self.pages[name].setChecked(True)
        self._turn()

    def copy(self) -> None:
        """Copy the page: its sentences and tables, tabs between cells."""
        if self.result is None:
            return
        sheet = self.result.sheet
        lines = [sheet.head, *sheet.sentences]
        for table in sheet.tables:
            lines += [table.caption, "\t".join(table.heads)]
            lines += ["\t".join(map(text_cell, row)) for row in table.rows]
        QGuiApplication.clipboard().setText("\n".join(lines))

    # What it shows

    def _turn(self) -> None:
        """Show the page that was chosen; the focus comes to its button."""
        self.chooser.setText(self.page)
        self.setFocusProxy(self.chooser if self._is_narrow else self.pages[self.page])
        self.refresh()

    def _show_now(self) -> None:
        """Have the page worked out, unless it is that of this very report."""
        name, steps = self.page, self.feed.steps
        report = self._document.report
        key = (name, steps if name == "Feed" else None)
        self.feed.setVisible(name == "Feed")
        if self.result is not None and self._key == key and self.result.report is report:
            self._show_result(self.result)
            return
        self.remark.setText(UPDATING)
        self._jobs.request(KIND, partial(PAGES[name], report, steps), partial(self._arrived, key))

    def _let_go(self) -> None:
        """Out of sight, keep no page of a report that is past: with it the whole report would stay."""
        if not self._is_seen:
            self.result = None

    def _arrived(self, key: tuple[str, int | None], result: OperationResult) -> None:
        """Show what was worked out; what changed meanwhile is worked out again."""
        self.result, self._key = result, key
        self._show_result(result)
        self.refresh()

    def _show_result(self, result: OperationResult) -> None:
        sheet, report = result.sheet, self._document.report
        stale = result.report is not report or self._key[0] != self.page
        self.remark.setText(UPDATING if stale else "")
        self.head.setText(sheet.head)
        self.words.setText("\n".join(sheet.sentences))
        self.words.setVisible(bool(sheet.sentences))
        self.cautions.setText("\n".join(f"Caution: {caution}" for caution in sheet.cautions))
        self.cautions.setVisible(bool(sheet.cautions))
        self._show_tables(result)
        self._show_buttons(result, stale=stale)
        self._show_details()
        self.setAccessibleDescription(" ".join((sheet.head, *sheet.sentences)))

    def _show_tables(self, result: OperationResult) -> None:
        tables = result.sheet.tables
        while len(self.tables) < len(tables):
            made = SheetTableView(self._theme)
            made.row_chosen.connect(self._choose)
            self.tables.append(made)
            self._rows.addWidget(made)
        for widget, table in zip(self.tables, tables, strict=False):
            if widget.model.table != table:
                widget.show_table(table)
        for place, widget in enumerate(self.tables):
            widget.setVisible(place < len(tables))

    def _show_buttons(self, result: OperationResult, *, stale: bool) -> None:
        subject, project = result.subject, self._document.committed
        self.form.setVisible(result.form is not None)
        self.form.setText("" if result.form is None else result.form.text)
        plans = subject.supplies if isinstance(subject, FeedPlan) else ()
        changes = bool(plans) and project.flow is not None
        self.apply.setVisible(changes)
        self.apply.setEnabled(
            changes
            and not stale
            and project.flow is not None
            and planned_flow(project.flow, plans) != project.flow
        )
        is_home = isinstance(subject, RestartCard)
        self.keep.setVisible(is_home)
        self.go.setVisible(is_home)
        given = isinstance(subject, RestartCard) and subject.home.given
        self.keep.setText("Choose again" if given else "Keep this home")
        self.keep.setEnabled(not stale)
        self.feed.set_channels(result)

    def _show_details(self) -> None:
        """Show what is known of the lane that is selected, where a page has more of it."""
        lane = self._document.selection.lane_id
        lines = () if self.result is None or lane is None else self.result.details(lane)
        self.details.setText("\n".join(lines))
        self.details.setVisible(bool(lines))

    # What a person does

    def _choose(self, key: str) -> None:
        if key in self._document.project.lane_index:
            self._document.select_lane(key)

    def _open_form(self) -> None:
        if self.result is not None and self.result.form is not None:
            self.form_wanted.emit(self.result.form.command)

    def _apply(self) -> None:
        subject, document = self.result.subject if self.result else None, self._document
        if not isinstance(subject, FeedPlan) or document.committed.flow is None:
            return
        flow = planned_flow(document.committed.flow, subject.supplies)
        self._say(commit(document, lambda: set_flow(document.committed, flow)))

    def _keep_home(self) -> None:
        subject, document = self.result.subject if self.result else None, self._document
        if isinstance(subject, RestartCard):
            angle = None if subject.home.given else subject.home.angle_deg
            self._say(commit(document, lambda: set_home(document.committed, angle)))

    def _go_home(self) -> None:
        subject = self.result.subject if self.result else None
        if isinstance(subject, RestartCard):
            self._document.set_cursor(subject.home.angle_deg)

    def _say(self, why: str) -> None:
        if why:
            self.status_message.emit(why)

    # Inside

    def _build(self) -> None:
        self.setAccessibleName("Operation")
        self._group = QButtonGroup(self)
        self._head = QHBoxLayout()
        for name, button in self.pages.items():
            button.setText(name)
            button.setCheckable(True)
            button.setObjectName("chip")
            self._group.addButton(button)
            self._head.addWidget(button)
        self.pages["Stuck lane"].setChecked(True)
        self.chooser.setText("Stuck lane")
        self._head.addWidget(self.chooser)
        self.chooser.hide()
        self._head.addStretch(1)
        self._head.addWidget(self.remark)
        self._head.addWidget(self.copy_button)
        for label in (self.head, self.words, self.details, self.cautions):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        for label in (self.remark, self.cautions):
            label.setObjectName("muted")
        self._build_buttons()
        inner = QWidget()
        self._column = QVBoxLayout(inner)
        self._rows = QVBoxLayout()
        for widget in (self.head, self.words, self.feed):
            self._column.addWidget(widget)
        self._column.addLayout(self._buttons)
        self._column.addLayout(self._rows)
        for label in (self.details, self.cautions):
            self._column.addWidget(label)
        self._column.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        column.addWidget(upright_scroll(inner), 1)
        self.setFocusProxy(self.pages["Stuck lane"])

    def _build_buttons(self) -> None:
        self._buttons = QHBoxLayout()
        texts = (
            ("", ""),
            ("Apply numbers", APPLY_TIP),
            ("Keep this home", HOME_TIP),
            ("Go to home", SHOW_TIP),
        )
        for button, (text, tip) in zip((self.form, self.apply, self.keep, self.go), texts, strict=True):
            button.setText(text)
            button.setToolTip(tip)
            button.setAutoDefault(False)
            button.setVisible(False)
            self._buttons.addWidget(button)
        self._buttons.addStretch(1)

    def _connect(self) -> None:
        CalmRefresh(self, self._document, self.refresh, HELD_MS)
        for button in self.pages.values():
            button.clicked.connect(lambda _on: self._turn())
        self.chooser.clicked.connect(
            lambda: self.chooser.offer((name, partial(self.show_page, name)) for name in PAGES)
        )
        self.feed.changed.connect(self.refresh)
        self.feed.status_message.connect(self.status_message)
        self.form.clicked.connect(self._open_form)
        self.apply.clicked.connect(self._apply)
        self.keep.clicked.connect(self._keep_home)
        self.go.clicked.connect(self._go_home)
        self._theme.changed.connect(self._fit)

    @property
    def _is_narrow(self) -> bool:
        """Whether the pages are in a menu, since their buttons have no room."""
        return self.width() < self._theme.px(NARROW)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the pages into a menu where there is little room."""
        super().resizeEvent(event)
        self._make_room()

    def minimumSizeHint(self) -> QSize:
        """Return that of the menu of pages: the view gets narrower before it widens its dock."""
        px = self._theme.px
        return QSize(px(LEAST), px(LEAST))

    def _make_room(self) -> None:
        narrow = self._is_narrow
        self.chooser.setVisible(narrow)
        for button in self.pages.values():
            button.setVisible(not narrow)
        self.setFocusProxy(self.chooser if narrow else self.pages[self.page])

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(6), px(8), px(4))
        self._head.setSpacing(px(6))
        self._column.setContentsMargins(px(12), px(4), px(12), px(12))
        self._column.setSpacing(px(8))
        self._rows.setSpacing(px(10))
        self._buttons.setSpacing(px(6))
        self.head.setFont(theme.font(15, 600))
        for label in (self.words, self.details, self.remark):
            label.setFont(theme.font(12))
        self.cautions.setFont(theme.font(11))
        for button in (*self.pages.values(), self.form, self.apply, self.keep, self.go):
            button.setFont(theme.font(12))
        self.chooser.fit(theme)
        self._make_room()
        self.copy_button.setIcon(theme.icon("copy", 16))
        self.copy_button.setIconSize(QSize(px(16), px(16)))
        for table in self.tables:
            table.fit()
        self.refresh()
