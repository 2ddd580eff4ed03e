"""The Load view: torque of all lanes at the master shaft, or contact force or spring reserve of one lane.

The head names the curves and says how much of the drive is used; the foot says energy, start and what
springs do to the shaft. Torque is at the machine's nominal speed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Literal, get_args

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QActionGroup, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QStackedLayout, QToolButton, QVBoxLayout

from shaftscore.judge.loads import LaneLoads, MachineLoads
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.ways_out import first_lane, load_of
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh, copy_button, copy_columns
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.load_charts import LoadView, contact_view, cycles_of, torque_view
from shaftscore_app.views.load_cycle import ShownCycle
from shaftscore_app.views.reserve_charts import reserve_view
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.chart import ChartCanvas
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.legend import DASHES, Legend
from shaftscore_app.widgets.menu import Menu

HELD_MS = 60
"""While something is held the chart follows this late, ms."""

Subject = Literal["torque", "contact", "reserve"]
TITLES: dict[Subject, str] = {
    "torque": "Torque, N·m",
    "contact": "Contact force, N",
    "reserve": "Spring reserve",
}

PLOT, FOOT_LINES, FOOT_GAP = 150, (4, 2), 6
"""Height that the chart shall have, lines that the foot may have, the first that leaves the chart so much,
and the gap below the foot; px of the design."""

NO_LOADS = "No lane has a load yet: state mass, spring and friction to see torque and contact force."
NO_LOAD = "{} has no load yet: state its mass, spring and friction."
NO_FALL = "{} needs no spring: a groove holds it, or it never falls."
NO_DISC = "{} has no disc that it could press on."


class LoadsView(TabbedView):
    """The view."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's loads."""
        super().__init__()
        self._document, self._theme = document, theme
        self._subject: Subject = "torque"
        self._shown: LoadView | None = None
        self._foot_text = ""
        self._kept = KeptThings()
        self.canvas = ChartCanvas(theme, "Load")
        self.legend = Legend(theme)
        self.chooser = ViewChooser(
            "Curves shown",
            "Torque at the shaft, or one lane’s contact force or spring reserve",
        )
        self._copy = copy_button("the curves, a row an angle", self.copy)
        self.remark, self.foot, self.empty = QLabel(), QLabel(), EmptyPage(theme, NO_LOADS)
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.cursor_changed.connect(self._show_cursor)
        document.cycle_changed.connect(lambda _cycle: self.refresh())
        self.canvas.moved.connect(document.set_cursor)
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def shown(self) -> LoadView | None:
        """What is shown; None where there is no load."""
        return self._shown

    @property
    def subject(self) -> Subject:
        """Whether torque, contact force or spring reserve is shown."""
        return self._subject

    def show_subject(self, subject: Subject) -> None:
        """Show torque, contact force or spring reserve."""
        self._subject = subject
        self.refresh()

    def _show_now(self) -> None:
        """Show the loads as they are now."""
        self._shown, why = self._found()
        self.chooser.setText(TITLES[self._subject])
        for action in self._group.actions():
            action.setChecked(action.data() == self._subject)
        self._pages.setCurrentIndex(0 if self._shown else 1)
        self._copy.setEnabled(self._shown is not None)
        self.empty.say(why, self._way_out())
        self.legend.set_entries(
            tuple(
                (token, DASHES if dashed else (), name)
                for token, dashed, name in (self._shown.legend if self._shown else ())
            )
        )
        self.remark.setText(self._shown.remark if self._shown else "")
        self.legend.stand_in(self._head, 0, self.width())
        self._foot_text = unbroken("\n".join(self._shown.foot)) if self._shown else ""
        self._make_room()
        if self._shown is not None:
            self.canvas.set_chart(self._shown.chart)
            self.setAccessibleDescription(self._shown.chart.summary)
        self._show_cursor(self._document.cursor_deg)

    def copy(self) -> None:
        """Copy the curves as a table: a row an angle, tabs between columns."""
        if self._shown is None:
            return
        heads, columns = zip(*self._shown.table, strict=True)
        copy_columns(heads, columns)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the legend stand where there is room for it."""
        super().resizeEvent(event)
        self.legend.stand_in(self._head, 0, self.width())
        self._make_room()

    # Inside

    def _make_room(self) -> None:
        """Set the lines of the foot by the height of the view alone, so that the chart keeps its own.

        Lines that are longer end in an ellipsis; the tooltip says them whole, and in a low view all of it.
        """
        text, line = self._foot_text, self.foot.fontMetrics().lineSpacing()
        room = self.height() - self._head.sizeHint().height() - self._theme.px(FOOT_GAP)
        count = next((n for n in FOOT_LINES if room - n * line >= self._theme.px(PLOT)), FOOT_LINES[-1])
        is_low = room - count * line < self.canvas.minimumSizeHint().height()
        self.foot.setText(text)
        self.foot.setWordWrap(True)
        is_whole = self.foot.heightForWidth(self.width()) <= count * line + self._theme.px(FOOT_GAP)
        if not is_whole:
            self.foot.setWordWrap(False)
            self.foot.setText("\n".join(self._elided(text.split("\n")[:count])))
        self.foot.setAccessibleName(text)
        self.foot.setToolTip("" if is_whole else text)
        self.foot.setFixedHeight(count * line + self._theme.px(FOOT_GAP))
        self.foot.setVisible(self._shown is not None and not is_low)
        self.canvas.setToolTip(text if is_low else "")

    def _elided(self, lines: Sequence[str]) -> Iterator[str]:
        metrics, room = self.foot.fontMetrics(), self.width() - 2 * self._theme.px(12)
        return (metrics.elidedText(line, Qt.TextElideMode.ElideRight, room) for line in lines)

    def _found(self) -> tuple[LoadView | None, str]:
        """Return what to show, or the sentence why there is nothing."""
        report = self._document.report
        if report.loads is None or not report.loads.lanes:
            return None, NO_LOADS
        if self._subject == "torque":
            return self._torque(report.loads), NO_LOADS
        lane_id = self._lane_id()
        if lane_id in report.loads.lanes:
            return self._of_lane(report.project, report.loads.lanes[lane_id])
        lane = report.project.lane(lane_id)
        return None, (NO_LOAD if lane.load is None else NO_DISC).format(lane.label)

    def _way_out(self) -> RowAction | None:
        """Return what describes a load that is missing: of the lane shown, else of the first without."""
        project = self._document.project
        followers = [lane for lane in project.lanes if lane.kind != "index"]
        if self._subject != "torque" and self._lane_id():
            followers = [lane for lane in followers if lane.id == self._lane_id()]
        without = (load_of(lane) for lane in followers if lane.load is None)
        return first_lane(self._document) or next(without, None)

    def _of_lane(self, project: Project, loads: LaneLoads) -> tuple[LoadView | None, str]:
        if self._subject == "contact":
            return contact_view(project, loads, self._cycle(loads.solved.course.cycles)), ""
        at = self._cycle(loads.solved.course.cycles)
        return reserve_view(project, loads, at), NO_FALL.format(project.lane(loads.solved.lane.id).label)

    def _torque(self, loads: MachineLoads) -> LoadView | None:
        """Return the chart of the torque, worked out once as long as the loads are the same.

        Until the late parts of a report are there, the peak is that of the drawn curve.
        """
        hurried = self._document.is_late_coming
        at = self._cycle(cycles_of(loads.camshaft, self._document.report.cycles))
        key = (hurried, at.own)
        return self._kept.get("torque", "", (loads,), key, lambda: torque_view(loads, at, hurried=hurried))

    def _cycle(self, cycles: Fraction) -> ShownCycle:
        """Return the cycle shown, of a round of so many."""
        return ShownCycle(cycles, self._document.cycle)

    def _lane_id(self) -> str:
        """Return the selected lane, else the first with a load."""
        loads, selected = self._document.report.loads, self._document.selection.lane_id
        if selected is not None and selected in self._document.report.project.lane_index:
            return selected
        return next(iter(loads.lanes)) if loads is not None else ""

    def _show_cursor(self, deg: float) -> None:
        self.canvas.set_cursor(deg)

    def _build(self) -> None:
        for label in (self.remark, self.foot):
            label.setObjectName("muted")
        self.foot.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.foot.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._build_chooser()
        self._head = QHBoxLayout()
        self._head.addWidget(self.legend, 1)
        self._head.addStretch()
        for widget in (self.chooser, self.remark, self._copy):
            self._head.addWidget(widget)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        self._pages = QStackedLayout()
        self._pages.addWidget(self.canvas)
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)
        column.addWidget(self.foot)

    def _build_chooser(self) -> None:
        menu = Menu(self)
        self._group = QActionGroup(self)
        for subject in get_args(Subject):
            action = menu.addAction(TITLES[subject])
            action.setCheckable(True)
            action.setData(subject)
            self._group.addAction(action)
        self._group.triggered.connect(lambda action: self.show_subject(action.data()))
        self.chooser.setMenu(menu)
        self.chooser.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setFocusProxy(self.chooser)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(4), px(8), 0)
        self._head.setSpacing(px(8))
        self.foot.setContentsMargins(px(12), 0, px(12), px(6))
        self.remark.setFont(theme.font(12))
        self.foot.setFont(theme.font(11))
        self.chooser.fit(theme, weight=400)
        self._copy.setIcon(theme.icon("copy", 16))
        self._copy.setIconSize(QSize(px(16), px(16)))
        self.refresh()


def unbroken(text: str) -> str:
    """Keep every number and its unit on one line."""
    return re.sub(r"(?<=\d) (?=[^\d\s])", "\N{NO-BREAK SPACE}", text)
