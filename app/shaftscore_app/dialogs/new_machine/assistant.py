"""The assistant: four pages, from a name to the first diagram.

Nothing is made before the last button is pressed; until then the state table writes into a document of the
assistant's own. Going back changes what went before, and what was written of unchanged lanes stays.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from pydantic import ValidationError
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QKeySequence, QShortcut
from PySide6.QtWidgets import QLabel, QStackedWidget, QVBoxLayout, QWidget

from shaftscore.base.errors import EditError, ShaftscoreError
from shaftscore.edits import set_name
from shaftscore.edits.first_draft import Wishes, draft_with_states, table_rows, wishes_of_table
from shaftscore.edits.level_sets import Cells, level_sets
from shaftscore.edits.state_table import split_text
from shaftscore.model import Project
from shaftscore_app.dialogs.new_machine.lanes import LanesPage
from shaftscore_app.dialogs.new_machine.level_sets import Levels, LevelSetsDialog
from shaftscore_app.dialogs.new_machine.pages import MachinePage, PartsPage
from shaftscore_app.document import Document
from shaftscore_app.document.binding import first_fault
from shaftscore_app.theme import Theme
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.widgets.dialog import Button, Dialog

BACK, NEXT, MAKE = "Back", "Next", "Create machine"
PROGRAM = "Create and make program…"
MACHINE, LANES, PARTS, STATES = range(4)

HEADINGS = (
    ("Machine", "Type a name, how fast its shaft turns, and how many steps a turn has."),
    (
        "Lanes",
        "A row for each lane: a thing that the machine moves. Levels may have heights in mm: down 0, up 18. "
        "Enter goes down, the arrow keys go everywhere.",
    ),
    ("Parts", "Parts that every lane starts with; each can be changed later, lane by lane."),
    (
        "States in each step",
        "The first letter of a level is enough. The two upper rows say how long a dwell and a move last.",
    ),
)

MOST_LOST = 2
"""So many lanes that lose states are named at once."""

SIZE = (820, 600)

Chooser = Callable[[], Path | None]
"""Lets the person choose a table."""


class NewMachine(Dialog):
    """The assistant. It has many small methods, one for each thing that a page asks of it."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        samples: Mapping[str, Callable[[], Project]],
        choose_table: Chooser,
        make: Callable[[Project], object],
        make_program: Callable[[Project], object],
    ) -> None:
        """Ask; samples: title to project. make: is told the project when it is to be made.

        make_program: is told it instead where the states shall be made by the Program maker.
        """
        super().__init__(parent, theme, "New machine")
        self._samples, self._choose_table, self._make = samples, choose_table, make
        self._make_program = make_program
        self._before: Project | None = None
        self._draft = Document(parent=self)
        self._warned = False
        self._accepted: tuple[str, ...] = ()
        self.machine, self.lanes = MachinePage(theme, samples), LanesPage(theme)
        self.parts, self.states = PartsPage(theme), QWidget()
        self.table: StateTableView | None = None
        self.pages = QStackedWidget()
        self._head, self._text = QLabel(), QLabel()
        self._build()
        self._connect()
        self.go_to(MACHINE)

    @property
    def fault(self) -> str:
        """What stands in the way, as shown."""
        return self._fault.text()

    @property
    def page(self) -> int:
        """The page shown."""
        return self.pages.currentIndex()

    def go_to(self, page: int) -> None:
        """Show a page; stays, and says why, where the pages before it are not complete."""
        self.setFocus()  # a field that is being typed in enters its value
        if page > self.page and not self._check(page):
            return
        self.pages.setCurrentIndex(page)
        head, text = HEADINGS[page]
        self._head.setText(head)
        self._text.setText(text)
        self._say("")
        self._show_buttons()
        (self.machine.name, self.lanes.grid, self.parts.follower, self.table or self.states)[page].setFocus(
            Qt.FocusReason.OtherFocusReason
        )

    def wishes(self) -> Wishes:
        """Return what is wished for now. Raises EditError or ValidationError with what is not allowed."""
        machine = self.machine
        return Wishes(
            name=machine.name.text().strip(),
            turn=machine.turn_shown(),
            speed_rpm=machine.speed.given(),
            steps=machine.steps.given(),
            step_names=machine.step_names(),
            lanes=self.lanes.model.lanes(),
            follower=self.parts.follower_made(),
            thickness_mm=self.parts.thickness.given(),
            stack=self.parts.stack_made(),
        )

    def begin_with_table(self, text: str) -> None:
        """Ask how high the levels of a table are, and take lanes, levels, steps and states from it."""
        try:
            rows = table_rows(split_text(text))
            sets = level_sets(rows)
            if not sets:
                raise EditError("The table has no words below the names of its lanes")
            bare = replace(self.wishes(), lanes=(), step_names=())
        except ShaftscoreError as error:
            self._say(str(error))
            return
        self._say("")
        replaced = len({row[0] for row in self.lanes.model.texts() if row[0]})
        LevelSetsDialog(
            self, self._theme, sets, replaced=replaced, use=partial(self._take_table, rows, bare)
        ).open()

    def _take_table(self, rows: Cells, bare: Wishes, levels: Levels) -> str:
        """Take a table with the levels of its sets; returns why it cannot be, else an empty text."""
        try:
            wishes, self._before = wishes_of_table(rows, bare, levels)
        except ShaftscoreError as error:
            return str(error)
        self._drop_table()
        self.machine.show_steps(wishes.steps, wishes.step_names)
        self.lanes.show_lanes(wishes.lanes)
        return ""

    def make(self) -> None:
        """Make the machine and close; stays, and says why, where it cannot be."""
        self._make_by(self._make)

    def make_and_program(self) -> None:
        """Make the machine, close and go on in the Program maker."""
        self._make_by(self._make_program)

    def _make_by(self, make: Callable[[Project], object]) -> None:
        self.setFocus()
        try:
            project, lost = self._project()
        except ShaftscoreError as error:
            self._say(str(error))
        except ValidationError as error:
            self._say(first_fault(error))
        else:
            if self._may_lose(lost):
                self.done(Dialog.DialogCode.Accepted)
                make(project)

    def reject(self) -> None:
        """Leave; where something was written, only when asked twice."""
        if not self._warned and self.lanes.model.words(0):
            self._warned = True
            self._say("Your entries will be lost. Press Esc or Cancel again to discard them.")
            return
        super().reject()

    # Inside

    def _project(self) -> tuple[Project, Sequence[str]]:
        """Make the project of all pages, and say which states go."""
        if self.machine.sample:
            project = self._samples[self.machine.sample]()
            name = self.machine.name.text().strip()
            return (set_name(project, name).project if name else project), ()
        carried = draft_with_states(self.wishes(), self._written())
        return carried.project, carried.lost

    def _written(self) -> Project | None:
        """Return the project with what was written into the state table."""
        return self._draft.committed if self.table is not None else self._before

    def _check(self, page: int) -> bool:
        """Return whether a page can be shown, and make the state table ready for the last."""
        try:
            carried = draft_with_states(self.wishes(), self._written())
        except ShaftscoreError as error:
            self._say(str(error))
            return False
        except ValidationError as error:
            self._say(first_fault(error))
            return False
        if page > LANES and not carried.project.lanes:
            self._say("Type the name of a lane first: something that the machine moves.")
            return False
        if page > LANES and not self._may_lose(carried.lost):
            return False
        if page == STATES:
            self._show_table(carried.project)
        return True

    def _may_lose(self, lost: Sequence[str]) -> bool:
        """Return whether states may go: there are none to go, or it was said and pressed again."""
        if not lost or self._accepted == tuple(lost):
            return True
        self._accepted = tuple(lost)
        more = f"; {len(lost) - MOST_LOST} lanes more" if len(lost) > MOST_LOST else ""
        self._say(
            f"States would be lost: {'; '.join(lost[:MOST_LOST])}{more}. Correct the levels or steps, "
            "or press again to go on."
        )
        return False

    def _show_table(self, project: Project) -> None:
        if self.table is not None and project == self._draft.committed:
            return
        self._before = project
        self._drop_table()
        self._draft = Document(project, parent=self)
        self.table = StateTableView(self._draft, self._theme)
        self.table.import_wanted.connect(self._import_states)
        layout = self.states.layout()
        assert layout is not None
        layout.addWidget(self.table)
        self.table.set_seen(True)

    def _drop_table(self) -> None:
        if self.table is not None:
            self.table.deleteLater()
            self._draft.deleteLater()
            self.table = None

    def _import_states(self) -> None:
        path = self._choose_table()
        if path is not None and self.table is not None:
            self.table.open_file(path)

    def _import_lanes(self) -> None:
        path = self._choose_table()
        if path is None:
            return
        try:
            text = path.read_text("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            self._say(f"{path.name} cannot be read: {error}")
            return
        self.begin_with_table(text)

    def _undo(self) -> None:
        if self.page == STATES:
            self._draft.undo()
        elif self.page == LANES:
            self.lanes.grid.undone.emit()

    def _redo(self) -> None:
        if self.page == STATES:
            self._draft.redo()
        elif self.page == LANES:
            self.lanes.grid.redone.emit()

    def _say(self, text: str) -> None:
        self._fault.setText(text)

    def _show_buttons(self) -> None:
        sample = bool(self.machine.sample)
        self.button(BACK).setEnabled(self.page > MACHINE)
        self.button(NEXT).setEnabled(self.page < STATES and not sample)
        last = self.page == STATES or sample
        self.button(NEXT).setDefault(not last)
        self.button(MAKE).setDefault(last)
        self.button(PROGRAM).setVisible(self.page == STATES)

    def _build(self) -> None:
        px = self._theme.px
        self._head.setFont(self._theme.font(15, 600))
        self._text.setFont(self._theme.font(12))
        self._text.setObjectName("muted")
        self._text.setWordWrap(True)
        QVBoxLayout(self.states).setContentsMargins(0, 0, 0, 0)
        for page in (self.machine, self.lanes, self.parts, self.states):
            self.pages.addWidget(page)
        for widget in (self._head, self._text):
            self.body.addWidget(widget)
        self.body.addWidget(self.pages, 1)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self._fault.setMinimumHeight(px(18))
        self.set_buttons(
            (
                Button("Cancel", self.reject, stays=True),
                Button(BACK, lambda: self.go_to(self.page - 1), stays=True),
                Button(NEXT, lambda: self.go_to(self.page + 1), stays=True),
                Button(PROGRAM, self.make_and_program, stays=True),
                Button(MAKE, self.make, stays=True),
            )
        )
        bold = QFontMetrics(self._theme.font(13, 600))  # what is the default is bold, and must not be cut
        for text in (NEXT, MAKE):
            self.button(text).setMinimumWidth(bold.horizontalAdvance(text) + px(28))
        room = self.screen().availableSize()
        self.resize(
            min(px(SIZE[0]), round(room.width() * 0.9)), min(px(SIZE[1]), round(room.height() * 0.85))
        )

    def _connect(self) -> None:
        self.machine.sample_chosen.connect(self._show_buttons)
        self.lanes.table_wanted.connect(self.begin_with_table)
        self.lanes.file_wanted.connect(self._import_lanes)
        self.lanes.model.edited.connect(self._write_again)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Undo), self, self._undo)
        for keys in ("Ctrl+Shift+Z", "Ctrl+Y"):  # on every system, as in the window
            QShortcut(QKeySequence(keys), self, self._redo)

    def _write_again(self) -> None:
        self._warned = False
