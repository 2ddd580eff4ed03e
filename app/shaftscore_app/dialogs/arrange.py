"""Arrange timing: asks what comes first, shows how far it is, and lets the proposal be taken or dropped.

The proposal stands as ghosts over the diagram while the dialog shows it. It can be taken whole or lane by
lane, as one undo step. It belongs to the machine that it was made for: when that is edited, it goes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QLabel,
    QSizePolicy,
    QSpinBox,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from shaftscore.base.wording import counted
from shaftscore.model import Lane, Project
from shaftscore.model.loader import read_project
from shaftscore.placing.accept import accepted
from shaftscore.placing.changes import MayChange
from shaftscore_app.dialogs.running import Request, RunningDialog
from shaftscore_app.document import Document
from shaftscore_app.document.binding import muted
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.choice import Choice, Option

AIMS = (
    Option("margin", "Largest margin", "then lower torque"),
    Option("torque", "Lowest peak torque", "margins survive the errors"),
    Option("least-change", "Least change", "until all rules hold"),
)
"""What can come first. All rules hold in each, and nothing worse than the machine as drawn is proposed."""

CHANGES = (
    ("starts", "Start times", "Blocks may start at other angles; locked ones never do."),
    ("lengths", "Dwell lengths", "Dwells at rest may shrink or grow, others shrink to their minimum length."),
    ("order", "Order of steps", "Dwells may leave the step of the state table that they are in."),
    ("discs", "Disc sizes", "Discs may become larger than the largest disc is now."),
)
"""What may change: name, label, tooltip."""

CHANGED = "The machine was edited, so that the proposal no longer fits it. Arrange again."
PARTLY = "Some lanes are left out: the figures are those of all lanes together."
CANCELLED = "Cancelled. Nothing was changed."
NOTHING_BETTER = "Nothing better was found: the machine stays as drawn."


@dataclass(frozen=True)
class Proposal:
    """An arrangement from the process.

    data: the arranged file. figures: (what, before, after). best: what changes, in words. moved: what becomes
    of the blocks, in words, by lane. cancelled: the search was stopped, and this is the best until then.
    """

    data: bytes
    figures: tuple[tuple[str, str, str], ...]
    best: str
    moved: Mapping[str, tuple[str, ...]]
    cancelled: bool = False


@dataclass(frozen=True)
class Refused:
    """Why there is no arrangement, line by line."""

    lines: tuple[str, ...]


class ArrangeDialog(RunningDialog):
    """The dialog; stays open beside the window."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        *,
        start: Callable[[str, MayChange], Request[Proposal | Refused]],
        show: Callable[[Mapping[str, Lane]], object],
    ) -> None:
        """Ask. start: prepares the work for an aim and what may change; show: draws lanes as ghosts."""
        super().__init__(parent, theme, "Arrange timing", "Let the rules place the blocks")
        self._document, self._start, self._show = document, start, show
        self._arranged: Project | None = None
        self._base: Project | None = None
        self._build()
        document.project_changed.connect(self._look_at_project)
        self.finished.connect(lambda _result: self._drop())
        self._show_state()
        self.resize(theme.px(520), theme.px(240))

    def _build(self) -> None:
        theme = self._theme
        self.aim: Choice[str] = Choice(theme, "Goal")
        self.aim.set_options(AIMS)
        self.aim.set_shown("margin")
        self.aim.chosen.connect(self.aim.set_shown)
        self.body.addWidget(self.aim)
        self._build_changes()
        self.body.addWidget(self.bar)
        self.body.addWidget(self.doing)
        self.answer = self.say("")
        self.figures = QWidget()
        self.body.addWidget(self.figures)
        self.lanes = QTreeWidget()
        self.lanes.setHeaderHidden(True)
        self.lanes.setAccessibleName("Lanes that change")
        self.lanes.setFont(theme.font(12))
        self.lanes.itemChanged.connect(lambda _item, _column: self._choose())
        self.body.addWidget(self.lanes, 1)
        self.partly = self.say(PARTLY, muted=True)
        self._row.addStretch(1)
        self.go = self.push("Arrange", self.arrange)
        self.stop = self.push("Cancel", self.cancel)
        self.discard = self.push("Discard", self.close)
        self.accept_lanes = self.push("Accept", self.take)

    def _build_changes(self) -> None:
        """Add the options: what may change, and how much of a dwell is kept."""
        theme = self._theme
        self.changes = QWidget()
        grid = QGridLayout(self.changes)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.addWidget(self._cell("May change", muted=True), 0, 0, 1, 2)
        self.boxes: dict[str, QCheckBox] = {}
        usual = MayChange()
        for number, (name, label, tip) in enumerate(CHANGES):
            box = self.boxes[name] = TickBox(label)
            box.setFont(theme.font(13))
            box.setToolTip(tip)
            box.setChecked(getattr(usual, name))
            box.toggled.connect(lambda _on: self._check_changes())
            grid.addWidget(box, 1 + number // 2, number % 2)
        self.keep = QSpinBox()
        self.keep.setMinimumHeight(self._theme.px(24))
        self.keep.setRange(0, 100)
        self.keep.setValue(round(usual.keep_percent))
        self.keep.setSuffix(" %")
        self.keep.setFont(theme.font(13))
        self.keep.setToolTip("Least length of a dwell, in percent of the length drawn.")
        self.keep.setAccessibleName("Least length of a dwell, percent of the length drawn")
        keep = self._cell("Dwells keep at least")
        keep.setBuddy(self.keep)
        grid.addWidget(keep, 3, 0)
        grid.addWidget(self.keep, 3, 1)
        self.changes.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.body.addWidget(self.changes)

    def _check_changes(self) -> None:
        """Offer the length that is kept while lengths may change, and Arrange while anything may."""
        self.keep.setEnabled(self.boxes["lengths"].isChecked())
        self.go.setEnabled(any(self.boxes[name].isChecked() for name in ("starts", "lengths")))

    @property
    def may(self) -> MayChange:
        """What may change, as ticked."""
        ticked = {name: box.isChecked() for name, box in self.boxes.items()}
        return MayChange(**ticked, keep_percent=float(self.keep.value()))

    @property
    def chosen(self) -> tuple[str, ...]:
        """The lanes that are ticked."""
        items = [self.lanes.topLevelItem(row) for row in range(self.lanes.topLevelItemCount())]
        return tuple(
            str(item.data(0, Qt.ItemDataRole.UserRole))
            for item in items
            if item is not None and item.checkState(0) is Qt.CheckState.Checked
        )

    @property
    def has_proposal(self) -> bool:
        """Whether a proposal is shown."""
        return self._arranged is not None

    def showEvent(self, event: QShowEvent) -> None:
        """Stand at the right of the window, so that the diagram is seen beside the dialog."""
        super().showEvent(event)
        window, px = self.parentWidget(), self._theme.px
        if window is not None:
            place = window.mapToGlobal(QPoint(window.width() - self.width() - px(12), px(84)))
            self.move(place)

    # What it does

    def arrange(self) -> None:
        """Begin to arrange the project as it is now."""
        self._drop()
        self.answer.setText("")
        self._base = self._document.committed
        self.begin(self._start(self.aim.given(), self.may), self._on_done, self._on_failed)
        self._show_state()

    def take(self) -> None:
        """Take the ticked lanes over, as one step."""
        arranged, lanes = self._arranged, self.chosen
        self._drop()
        if arranged is not None and lanes:
            self._document.perform(accepted(self._document.committed, arranged, lanes))
        self.close()

    def _on_done(self, found: Proposal | Refused) -> None:
        if isinstance(found, Refused):
            self.answer.setText("\n".join(found.lines))
        elif self._document.committed is not self._base:
            self.answer.setText(CHANGED)
        elif not found.moved:
            self.answer.setText(NOTHING_BETTER)
        else:
            self._propose(found)
        self._show_state()
        self.raise_()

    def _on_failed(self, why: str) -> None:
        self.answer.setText(why or CANCELLED)
        self._show_state()

    def _propose(self, found: Proposal) -> None:
        self._arranged = read_project(found.data, self._document.name)
        self.answer.setText(found.best)
        self._fill_figures(found.figures)
        project = self._document.committed
        with muted(self.lanes):
            self.lanes.clear()
            for lane_id, lines in found.moved.items():
                item = QTreeWidgetItem([f"{project.lane(lane_id).label}: {counted(len(lines), 'block')}"])
                item.setData(0, Qt.ItemDataRole.UserRole, lane_id)
                item.setCheckState(0, Qt.CheckState.Checked)
                item.addChildren([QTreeWidgetItem([line]) for line in lines])
                self.lanes.addTopLevelItem(item)
        self._choose()
        bottom = self.screen().availableGeometry().bottom()
        self.resize(self.width(), min(self._theme.px(600), bottom - self.y()))

    def _fill_figures(self, figures: tuple[tuple[str, str, str], ...]) -> None:
        fresh = QWidget()
        grid = QGridLayout(fresh)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self._theme.px(24))
        for column, head in enumerate(("", "As drawn", "Arranged")):
            grid.addWidget(self._cell(head, muted=True), 0, column)
        for row, cells in enumerate(figures, start=1):
            for column, text in enumerate(cells):
                cell = self._cell(text)
                cell.setWordWrap(column > 0)
                cell.setMinimumWidth(0 if column else cell.sizeHint().width())
                grid.addWidget(cell, row, column, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(2, 1)
        self.body.replaceWidget(self.figures, fresh)
        self.figures.deleteLater()
        self.figures = fresh

    def _cell(self, text: str, *, muted: bool = False) -> QLabel:
        label = QLabel(text)
        label.setObjectName("muted" if muted else "")
        label.setFont(self._theme.font(12 if muted else 13))
        return label

    def _choose(self) -> None:
        """Show the ghosts of the ticked lanes."""
        if self._arranged is None:
            return
        chosen = self.chosen
        self._show({lane_id: self._arranged.lane(lane_id) for lane_id in chosen})
        self.accept_lanes.setText("Accept all" if len(chosen) == self.lanes.topLevelItemCount() else "Accept")
        self.accept_lanes.setEnabled(bool(chosen))
        self.partly.setVisible(len(chosen) < self.lanes.topLevelItemCount())

    def _look_at_project(self) -> None:
        """Let a proposal go when the machine is another one."""
        if self._arranged is not None and self._document.committed is not self._base:
            self._drop()
            self.answer.setText(CHANGED)
            self._show_state()

    def _drop(self) -> None:
        self._arranged = None
        self._show({})

    def _show_state(self) -> None:
        running, proposal = self.is_running, self.has_proposal
        for widget in (self.figures, self.lanes, self.accept_lanes, self.discard):
            widget.setVisible(proposal)
        self.partly.setVisible(proposal and self.partly.isVisible())
        self.answer.setVisible(bool(self.answer.text()))
        self.aim.setEnabled(not running)
        self.changes.setVisible(not proposal)
        self.changes.setEnabled(not running)
        self._check_changes()
        self.go.setVisible(not running)
        self.go.setText("Arrange again" if proposal else "Arrange")
        self.stop.setVisible(running)
        self._show_running(running)
        for button in (self.accept_lanes, self.go):
            button.setFont(self._theme.font(13, 600))
        (self.accept_lanes if proposal else self.go).setDefault(True)
        self.fit()
