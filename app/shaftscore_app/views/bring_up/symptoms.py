"""What likely build faults would look like, grouped by where each shows first; a click goes to that check.

The sheet is worked out beside the window, once it is looked at, and again when the machine is another one.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QLabel, QTreeWidget, QTreeWidgetItem, QVBoxLayout, QWidget

from shaftscore.base.progress import Progress
from shaftscore.bringup import SymptomGroup, SymptomSheet, group_text, symptom_sheet, symptom_text
from shaftscore_app.runtime.jobs import Jobs, ProgressReport, Task
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.ranking import made_of
from shaftscore_app.views.bring_up.session import BringUpSession, is_same

JOB = "bring-up symptoms"
"""Kind of the job that works the sheet out."""

HEAD = "If a lane is not where it should be, look for it here: faults by what shows first."
PLACE = Qt.ItemDataRole.UserRole
"""Role under which an item holds its group."""


class SymptomsPanel(QWidget):
    """The panel.

    Signals: status_message(sentence).
    """

    status_message = Signal(str)

    def __init__(self, session: BringUpSession, jobs: Jobs | None, theme: Theme) -> None:
        """Show the symptoms of a session's machine, once it is seen."""
        super().__init__()
        self._session, self._jobs, self._theme = session, jobs, theme
        self.head, self.tree = QLabel(HEAD), QTreeWidget()
        self.sheet: SymptomSheet | None = None
        self._of: tuple[object, ...] | None = None
        self._task: Task | None = None
        self._build()
        session.changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Work the sheet out where it is looked at and the machine is another one."""
        session = self._session
        wanted = (*made_of(session.solution), session.stops, session.project.flow)
        if not self.isVisible() or not session.stops or (self._of is not None and is_same(wanted, self._of)):
            return
        self._of = wanted
        self.head.setText("Working out what each fault would look like…")
        solution, angles = session.solution, tuple(stop.angle_deg for stop in session.stops)

        def work(progress: Progress | None = None) -> SymptomSheet:
            return symptom_sheet(solution, progress, angles=angles)

        if self._jobs is None:
            self._take(wanted, work())
            return
        if self._task is not None:
            self._task.cancel()
        self._task = self._jobs.request_watched(
            JOB,
            work,
            on_progress=self._on_progress,
            then=lambda sheet: self._take(wanted, sheet),
            failed=lambda error: self._fail(wanted, error),
        )

    # Inside

    def _on_progress(self, told: ProgressReport) -> None:
        if self.sheet is None:
            self.head.setText(f"Working out what each fault would look like: {told.fraction:.0%}")

    def _fail(self, of: tuple[object, ...], error: Exception) -> None:
        if of is self._of:
            self.head.setText(f"The symptoms could not be worked out: {error}")

    def _take(self, of: tuple[object, ...], sheet: SymptomSheet) -> None:
        if of is not self._of:
            return  # of an earlier machine: the newer sheet is on its way
        self.sheet = sheet
        project, theme = self._session.project, self._theme
        self.head.setText(HEAD)
        self.tree.clear()
        for group in sheet.groups:
            top = _item(f"{group_text(project, group)}", group)
            top.setFont(0, theme.font(12, 600))
            top.addChildren([_item(symptom_text(one), group) for one in group.symptoms])
            self.tree.addTopLevelItem(top)
        if sheet.invisible:
            last = _item("Would not show at these checks", None)
            last.setFont(0, theme.font(12, 600))
            last.addChildren([_item(f"{one.fault.statement}.", None) for one in sheet.invisible])
            self.tree.addTopLevelItem(last)

    def _go(self, item: QTreeWidgetItem) -> None:
        """Go to the check and the lane at which a group shows first."""
        group = item.data(0, PLACE)
        if isinstance(group, SymptomGroup) and group.lane:
            self._session.go_to_angle(group.angle_deg)
            self._session.choose(group.lane)
        self.status_message.emit(item.text(0))

    def _build(self) -> None:
        self.setAccessibleName("Symptoms")
        self.head.setWordWrap(True)
        self.head.setObjectName("muted")
        tree = self.tree
        tree.setHeaderHidden(True)
        tree.setFrameShape(QFrame.Shape.NoFrame)
        tree.setWordWrap(True)
        tree.setUniformRowHeights(False)
        tree.setAccessibleName("Symptoms: where a fault shows first, and the faults")
        tree.setTabKeyNavigation(False)
        tree.itemClicked.connect(lambda item, _column: self._go(item))
        tree.itemActivated.connect(lambda item, _column: self._go(item))
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(self.head)
        self._column.addWidget(tree, 1)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.head.setFont(theme.font(12))
        self.tree.setFont(theme.font(12))
        self.tree.setIndentation(px(16))
        self.head.setContentsMargins(px(12), px(8), px(12), px(4))
        self.tree.setStyleSheet(f"QTreeWidget {{ background: {theme.css('panel')}; }}")


def _item(text: str, group: SymptomGroup | None) -> QTreeWidgetItem:
    item = QTreeWidgetItem([text])
    item.setToolTip(0, text)
    item.setData(0, PLACE, group)
    return item
