"""What the draft comes to, and the buttons that apply it; what is asked before unapplied work goes."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore.base.wording import counted
from shaftscore.program.laying import with_holds_that_fit
from shaftscore.program.summary import ProgramSummary, summary_of
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import problem_text, summary_rows
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.scrolling import upright_scroll

ROWS = 5
"""Most rows of the result."""


class ProgramResult(QWidget):
    """The result.

    Signals: apply_wanted(), apply_selected_wanted(), cancel_wanted().
    """

    apply_wanted = Signal()
    apply_selected_wanted = Signal()
    cancel_wanted = Signal()

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Show what a session's draft comes to."""
        super().__init__()
        self._session, self._theme = session, theme
        self.summary: ProgramSummary | None = None
        self.title, self.problem, self.note = QLabel("Result"), QLabel(), QLabel()
        self.names = [QLabel() for _ in range(ROWS)]
        self.values = [QLabel() for _ in range(ROWS)]
        self.fitting = QPushButton("Use the longest holds that fit")
        self.cancel, self.apply = QPushButton("Cancel"), QPushButton("Apply")
        self.selected = QPushButton("Apply to selected lanes")
        self._build()
        theme.changed.connect(self._fit)
        self._fit()

    def follow(self, *, has_selected: bool) -> None:
        """Show the draft as it is now; has_selected: whether lanes with a place are selected."""
        session = self._session
        self.summary = summary = summary_of(session.project, session.draft, session.written)
        rows = summary_rows(summary)
        for number in range(ROWS):
            name, value = rows[number] if number < len(rows) else ("", "")
            self.names[number].setText(name)
            self.values[number].setText(value)
        text = problem_text(session.project, summary)
        self.problem.setText(text)
        self.problem.setVisible(bool(text))
        self.problem.setObjectName("fault" if summary.refused else "muted")
        self.problem.style().polish(self.problem)
        self.fitting.setVisible(any(one.longest_deg is not None for one in summary.problems))
        self.note.setText(self._note(summary))
        self.apply.setEnabled(not summary.refused and session.is_unapplied)
        self.selected.setEnabled(has_selected and session.is_unapplied)

    def _note(self, summary: ProgramSummary) -> str:
        """Return what applying changes, and what it leaves."""
        session = self._session
        steps, frames = len(session.project.shaft.step_starts_deg), len(session.draft.frames)
        turns = f"The turn gets {frames} equal steps instead of {steps}. " if steps != frames else ""
        if not session.is_unapplied:
            return "Nothing to apply yet."
        lanes = counted(summary.written, "lane")
        return f"{turns}Replaces the program of {lanes}. Levels, followers and discs stay as they are."

    def _fit_holds(self) -> None:
        summary, session = self.summary, self._session
        if summary is not None:
            session.set_draft(with_holds_that_fit(session.draft, summary.problems))

    def _build(self) -> None:
        body = QWidget()
        self._column, self._grid, self._row = QVBoxLayout(body), QGridLayout(), QHBoxLayout()
        self._column.addWidget(self.title)
        for number, (name, value) in enumerate(zip(self.names, self.values, strict=True)):
            name.setObjectName("muted")
            value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            value.setWordWrap(True)
            self._grid.addWidget(name, number, 0)
            self._grid.addWidget(value, number, 1)
        self._grid.setColumnStretch(1, 1)
        self._column.addLayout(self._grid)
        for label in (self.problem, self.note):
            label.setWordWrap(True)
            self._column.addWidget(label)
        self.note.setObjectName("muted")
        self._column.insertWidget(2, self.fitting, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addStretch(1)
        self._row.addStretch(1)
        self.apply.setObjectName("wanted")
        self.fitting.setObjectName("link")
        self.fitting.setToolTip("Shorten the holds of the lanes that have no time, as little as needed")
        self.apply.setToolTip("Write the programs of all lanes with a place, as one step")
        self.selected.setToolTip("Write the programs of the selected lanes only, as one step")
        for button in (self.cancel, self.selected, self.apply):
            button.setAutoDefault(False)
            self._row.addWidget(button)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        outer.addWidget(upright_scroll(body), 1)
        outer.addLayout(self._row)
        self.fitting.clicked.connect(self._fit_holds)
        self.apply.clicked.connect(self.apply_wanted)
        self.selected.clicked.connect(self.apply_selected_wanted)
        self.cancel.clicked.connect(self.cancel_wanted)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(12), px(8), px(12), px(8))
        self._column.setSpacing(px(6))
        self._grid.setVerticalSpacing(px(3))
        self._row.setSpacing(px(8))
        self._row.setContentsMargins(px(12), px(4), px(12), px(8))
        self.title.setFont(theme.font(13, 600))
        for label in (*self.names, *self.values, self.problem, self.note):
            label.setFont(theme.font(12))
        for button in (self.fitting, self.cancel, self.selected):
            button.setFont(theme.font(12))
        self.apply.setFont(theme.font(12, 600))


class UnappliedDialog(Dialog):
    """Asks what to do with a program that is not applied; closing it means Cancel."""

    def __init__(
        self, parent: QWidget, theme: Theme, *, apply: Callable[[], object], discard: Callable[[], object]
    ) -> None:
        """Ask."""
        super().__init__(parent, theme, "Program not applied", "Apply the program that was made?")
        self.say("Frames, rows and cells that are not applied will be lost when discarded.")
        self.set_buttons((Button("Discard", discard), Button("Cancel"), Button("Apply", apply, default=True)))


class PaintedDialog(Dialog):
    """Asks before frames that a person painted are replaced; closing it means Cancel."""

    def __init__(self, parent: QWidget, theme: Theme, count: int, make: Callable[[], object]) -> None:
        """Ask about `count` frames."""
        what = f"{counted(count, 'frame')} {'was' if count == 1 else 'were'} painted by hand."
        super().__init__(parent, theme, "Make frames", what)
        self.say("Making frames replaces them. Undo restores them.")
        self.set_buttons((Button("Cancel", default=True), Button("Make frames", make)))
