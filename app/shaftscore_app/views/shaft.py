"""The Shaft view: a stack in its bearings from the side, with forces, bending line and heights.

Forces and bending are those at the cursor, or at the angle at which a disc is deflected most. They belong to
the last whole report; while a bearing is dragged the line is worked out for where it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QVBoxLayout,
)

from shaftscore.base import wording
from shaftscore.edits import Edited, set_stack
from shaftscore.judge.shaft import StackShaft
from shaftscore.make.drawing.shaft import (
    BearingEnd,
    RimTable,
    ShaftAtAngle,
    SideView,
    bearing_field,
    rim_table,
    shaft_at,
    side_view,
    worst_angle_deg,
)
from shaftscore.model import Project, Stack, replaced
from shaftscore.solution import LaneSolution
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.load import unbroken
from shaftscore_app.views.shaft_canvas import ShaftCanvas, ShaftPicture
from shaftscore_app.views.shaft_words import (
    EMPTY,
    NO_ROD,
    ShaftRow,
    bending_text,
    row_of,
    turn_figures,
)
from shaftscore_app.views.stack_choice import stack_shown
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.chooser import ViewChooser

HELD_MS = 60
"""While something else is held the drawing follows this late, ms."""

STACKS_FORM, DISC_FORM = "machine.stacks", "lane.disc"
"""Commands that open the form of the rod, and of a disc."""


@dataclass(frozen=True)
class ShaftToggle:
    """A button of the head: its text, the one in a narrow view, and its tooltip."""

    text: str
    brief: str
    tip: str


AT_CURSOR = ShaftToggle("At the cursor", "Cursor", "Forces and bending at the angle of the cursor")
AT_WORST = ShaftToggle("Worst angle", "Worst", "Forces and bending where a disc is deflected most (W)")
BENDING = ShaftToggle("Bending", "Bending", "Line of the bent shaft, exaggerated (B)")
HEIGHTS = ShaftToggle("Heights", "Heights", "Heights of the discs, and where the rollers may be (T)")


class ShaftView(TabbedView):
    """The view.

    Signals: form_wanted(command id) when a form is wanted.
    """

    form_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's shafts."""
        super().__init__()
        self._document, self._theme = document, theme
        self._stack_id: str | None = None
        self._kept = KeptThings()
        self._moved: Edited | None = None
        self.canvas = ShaftCanvas(theme)
        self.chooser = ViewChooser("Stack shown", "Stack: choose which one is shown")
        self._title, self._remark = QLabel(), QLabel()
        self._toggles = {toggle: QToolButton() for toggle in (AT_CURSOR, AT_WORST, BENDING, HEIGHTS)}
        self.at_cursor, self.at_worst, self.bending, self.heights = self._toggles.values()
        self.empty = EmptyPage(theme, EMPTY)
        self.empty.hide()  # until it is known that there is nothing to show
        self.why, self.describe, self.foot = QLabel(), QPushButton("Describe rod…"), QLabel()
        self._build()
        self._connect()
        self._fit()

    # What is shown

    @property
    def _project(self) -> Project:
        """The project that the report belongs to: all that is drawn is of it."""
        return self._document.report.project

    @property
    def _several(self) -> bool:
        return len(self._project.stacks) > 1

    @property
    def stack(self) -> Stack:
        """The stack shown: the one chosen, else that of the selected lane, else the first."""
        return stack_shown(self._project, self._stack_id, self._document.selection.lane_id)

    @property
    def shaft(self) -> StackShaft | None:
        """The shaft shown, on the rod that the project has now; None where it is not computed (yet)."""
        shafts, stack = self._document.report.shafts, self.stack
        found = shafts.stacks.get(stack.id) if shafts is not None else None
        if found is None or found.case.stack is stack:
            return found
        if stack.rod is None or replaced(stack, rod=found.case.rod) != found.case.stack:
            return None
        return self._kept.get("shaft", "", (found, stack), None, partial(self._on_rod, found))

    def _on_rod(self, found: StackShaft) -> StackShaft | None:
        made = found.case.on_rod(self._project)
        return None if isinstance(made, str) else StackShaft(made)

    @property
    def own_deg(self) -> float:
        """The angle of the stack that is shown."""
        shaft = self.shaft
        if self.at_worst.isChecked() and shaft is not None:
            return worst_angle_deg(shaft)
        return self._document.own_deg_of(self.stack)

    def choose(self, stack_id: str) -> None:
        """Show another stack, whatever is selected."""
        self._stack_id = stack_id
        self.refresh()

    def _show_now(self) -> None:
        """Show the shaft as it is now."""
        own_deg, shaft = self.own_deg, self.shaft
        side = side_view(self._document.report.solution, self.stack, own_deg, self._rim)
        at = shaft_at(shaft, own_deg) if shaft is not None else None
        rows = tuple(row_of(self._project, roller, at) for roller in side.rollers)
        self.canvas.show_picture(
            ShaftPicture(
                side=side,
                at=at,
                rows=rows,
                clamp=self._clamp_text(shaft),
                selected=self._document.selection.lane_id,
                bending=self.bending.isChecked(),
                heights=self.heights.isChecked(),
            )
        )
        self._write(side, shaft)
        self._describe(at, rows)

    # Inside

    def _rim(self, lane: LaneSolution) -> RimTable | None:
        """Return the rim of a lane's disc, made once for each profile."""
        profile = lane.profile
        if profile is None:
            return None
        return self._kept.get("rim", lane.lane.id, (profile,), None, lambda: rim_table(profile))

    def _clamp_text(self, shaft: StackShaft | None) -> str:
        rod = self.stack.rod
        if rod is None or rod.clamp_n is None:
            return ""
        nut = None if shaft is None else shaft.case.figures.nut_mm
        force = f"Clamp {wording.newtons(rod.clamp_n, 0)}"
        return force if nut is None else f"{force}, {rod.thread} nuts"

    def _write(self, side: SideView, shaft: StackShaft | None) -> None:
        project, stack = self._project, side.stack
        self.chooser.setVisible(self._several)
        for title in (self.chooser, self._title):
            title.setText(stack.label)
        shown = wording.degrees(self.own_deg / stack.turns)
        self._remark.setText(f"each lane cut along its own station line, at {shown}")
        why = self._why(side, shaft)
        self.why.setText(why)
        self.why.setVisible(bool(why) and bool(side.plan.discs))
        self.empty.setVisible(not side.plan.discs)
        self.empty.say(EMPTY, first_lane(self._document))
        self.describe.setVisible(bool(side.plan.discs) and not side.described)
        self.canvas.setVisible(bool(side.plan.discs))
        self.bending.setEnabled(shaft is not None)
        self.at_worst.setEnabled(shaft is not None)
        figures = turn_figures(shaft, project) if shaft is not None else ()
        self.foot.setText(unbroken(" ".join(figures)))
        self._make_room()

    def _why(self, side: SideView, shaft: StackShaft | None) -> str:
        """Return why no forces are drawn, or that they are of an older project; empty where all is well."""
        document = self._document
        if not side.plan.discs:
            return EMPTY
        if not side.described:
            return NO_ROD
        shafts = document.report.shafts
        if shaft is None and shafts is not None and document.is_late_current:
            refused = shafts.refused.get(side.stack.id)
            return f"Bending is not computed. {refused}" if refused else UPDATING
        return UPDATING if shaft is None or not document.is_late_current else ""

    def _describe(self, at: ShaftAtAngle | None, rows: tuple[ShaftRow, ...]) -> None:
        """Describe the picture to those who do not see it."""
        said = [f"{row.name} {row.force}, z {row.height} mm" for row in rows]
        if at is not None:
            said.insert(0, " ".join(bending_text(at, 1.0)[:2]))
        self.canvas.setAccessibleDescription("; ".join([*said, self.foot.text()]))

    # Dragging a bearing

    def _move(self, end: BearingEnd, z_mm: float, step_mm: float) -> None:
        committed = self._document.committed
        stack = next((one for one in committed.stacks if one.id == self.stack.id), None)
        if stack is None or stack.rod is None or self._document.is_read_only:
            return
        picture = self.canvas.picture
        assert picture is not None
        field, value = bearing_field(picture.side.plan, end, z_mm, step_mm)
        self._moved = set_stack(committed, stack.id, rod=replaced(stack.rod, **{field: value}))
        self._document.preview(self._moved)

    def _drop(self) -> None:
        moved, self._moved = self._moved, None
        if moved is not None:
            self._document.preview(None)
            commit(self._document, lambda: moved)

    def _cancel(self) -> None:
        self._moved = None
        self._document.preview(None)

    def _enter(self, lane_id: str | None) -> None:
        self.form_wanted.emit(STACKS_FORM if lane_id is None else DISC_FORM)

    def _switch(self, letter: str) -> None:
        button = {"B": self.bending, "T": self.heights}.get(letter)
        if button is None:
            button = self.at_cursor if self.at_worst.isChecked() else self.at_worst
        button.click()

    def _choose_from(self) -> None:
        stacks = self._project.stacks
        self.chooser.offer((stack.label, partial(self.choose, stack.id)) for stack in stacks)

    # Building

    def _build(self) -> None:
        for label in (self._remark, self.why, self.foot):
            label.setObjectName("muted")
        self.why.setWordWrap(True)
        self.foot.setWordWrap(True)
        self.describe.setObjectName("link")
        self._remark.setMinimumWidth(1)
        self._build_toggles()
        self._head, self._reason = QHBoxLayout(), QVBoxLayout()
        for widget in (self.chooser, self._title, self._remark):
            self._head.addWidget(widget)
        self._head.addStretch(1)
        for button in self._toggles.values():
            self._head.addWidget(button)
        self._reason.addWidget(self.why)
        self._reason.addWidget(self.empty)
        self._reason.addWidget(self.describe, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        column.addLayout(self._reason)
        column.addWidget(self.canvas, 1)
        column.addWidget(self.foot)
        self.setFocusProxy(self.canvas)

    def _build_toggles(self) -> None:
        for toggle, button in self._toggles.items():
            button.setAccessibleName(toggle.text)
            button.setMinimumWidth(1)  # gets narrower before it widens the dock
            button.setToolTip(toggle.tip)
            button.setCheckable(True)
            button.setChecked(button is not self.at_worst)
            button.clicked.connect(lambda _on: self.refresh())
        self._angle = QButtonGroup(self)
        for button in (self.at_cursor, self.at_worst):
            self._angle.addButton(button)

    def _connect(self) -> None:
        CalmRefresh(self, self._document, self.refresh, HELD_MS)
        self._document.cursor_changed.connect(self._follow)
        self.chooser.clicked.connect(self._choose_from)
        self.describe.clicked.connect(lambda: self.form_wanted.emit(STACKS_FORM))
        canvas = self.canvas
        canvas.lane_chosen.connect(self._document.select_lane)
        canvas.entered.connect(self._enter)
        canvas.switched.connect(self._switch)
        canvas.bearing_moved.connect(self._move)
        canvas.dropped.connect(self._drop)
        canvas.cancelled.connect(self._cancel)
        self._theme.changed.connect(self._fit)

    def _follow(self, _deg: float) -> None:
        """Follow the cursor, unless the worst angle is shown."""
        if not self.at_worst.isChecked():
            self.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Leave a small view to the drawing; its tooltip says then what the foot would."""
        text = self.foot.text()
        self._fit_head()
        room = self.height() - self._head.sizeHint().height() - self.canvas.sizeHint().height() / 2
        is_low = self.foot.heightForWidth(self.width()) > room
        self.foot.setVisible(bool(text) and not is_low)
        self.canvas.setToolTip(text if is_low else "")

    def _fit_head(self) -> None:
        """Drop the remark, then the long texts of the buttons, then the title, until the rest has room."""
        for dropped in range(4):
            self._remark.setVisible(dropped < 1)
            for toggle, button in self._toggles.items():
                button.setText(toggle.brief if dropped > 1 else toggle.text)
            self._title.setVisible(dropped < 3 and not self._several)
            self._head.invalidate()  # a layout within another keeps the size that it had
            if self._head.sizeHint().width() <= self.width():
                return

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(6), px(12), px(2))
        self._head.setSpacing(px(6))
        self._reason.setContentsMargins(px(12), 0, px(12), 0)
        self._reason.setSpacing(px(2))
        self.foot.setContentsMargins(px(12), 0, px(12), px(6))
        for widget in (self._remark, self.why, *self._toggles.values()):
            widget.setFont(theme.font(12))
        for bold in (self._title, self.describe):
            bold.setFont(theme.font(12, 600))
        self.foot.setFont(theme.font(11))
        self.chooser.fit(theme)
        self.refresh()
