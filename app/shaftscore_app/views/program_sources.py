"""What frames are made from, beside painting: a truth table, a counting sequence, pasted cells."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QColor, QTextCursor, QTextFormat
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QTextEdit,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base.errors import EditError
from shaftscore.program.frames import Frames
from shaftscore.program.pasted import frames_of_cells, is_table
from shaftscore.program.pictures import frames_of_text
from shaftscore.program.sequences import (
    CodeKind,
    CountingSequence,
    CourseKind,
    frames_of_sequence,
    read_numbers,
)
from shaftscore.program.truth import LineFault, contradictions_of, frames_of_truth, read_truth_table
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.widgets.abstract import AbstractWidgetType
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import text_quantity, whole_number

Maker = Callable[[], Frames]
"""Makes frames; raises EditError with why it cannot."""

CHECK_MS = 250
"""So long after the last key a truth table is checked, ms."""

QUICK = 40_000
"""Tables with more combinations times statements are checked only when frames are made of them."""

TRUTH_TEXT = (
    "A head of inputs and lanes, then a row for each combination; or expressions, a line each:\n"
    "p  q  A1\n0  0  rest\n0  1  left\nA2 = p and not q\nA3 right = p xor q\np: 0 0 1 1"
)
PASTE_TEXT = (
    "Paste cells of a state table, with or without heads, or text art: a line a row, an empty line between "
    "frames, . for rest, # or 1 to 9 for a level."
)
COURSES: tuple[Option[CourseKind], ...] = (
    Option("up", "Counting"),
    Option("up-down", "Up and down"),
    Option("list", "List of numbers"),
)
CODES: tuple[Option[CodeKind], ...] = (
    Option("binary", "Binary, a lane a digit"),
    Option("gray", "Gray code, a lane a digit"),
    Option("one", "One lane at a time"),
    Option("segments", "Seven segments"),
    Option("3x5", "Digits 3 x 5"),
    Option("4x7", "Digits 4 x 7"),
    Option("5x7", "Digits 5 x 7"),
)


class SourcePane(QWidget, metaclass=AbstractWidgetType):
    """A source: its widgets, the button that makes frames, and why it cannot.

    Signals: make_wanted(maker) when frames shall be made.
    """

    make_wanted = Signal(object)

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Make frames for a session's draft."""
        super().__init__()
        self._session, self._theme = session, theme
        self.fault = QLabel()
        self.fault.setObjectName("fault")
        self.fault.setWordWrap(True)
        self.make = QPushButton("Make frames")
        self.make.setAutoDefault(False)
        self.make.clicked.connect(lambda: self.make_wanted.emit(self.frames))
        self._column = QVBoxLayout(self)
        self._foot = QHBoxLayout()
        self._foot.addWidget(self.fault, 1)
        self._foot.addWidget(self.make)

    @abstractmethod
    def frames(self) -> Frames:
        """Make the frames. Raises EditError."""
        ...

    def show_fault(self, text: str) -> None:
        """Show why frames cannot be made; empty where they can."""
        self.fault.setText(text)

    def _end(self) -> None:
        self._column.addLayout(self._foot)
        self._theme.changed.connect(self._fit)
        self._fit()

    def _fit(self) -> None:
        px = self._theme.px
        self._column.setContentsMargins(px(12), px(8), px(12), px(8))
        self._column.setSpacing(px(6))
        self.fault.setFont(self._theme.font(12))
        self.make.setFont(self._theme.font(12, 600))


class TextPane(SourcePane):
    """A source that is typed or pasted as text; it remembers what it was last made into frames from."""

    def __init__(self, session: ProgramSession, theme: Theme, name: str, hint: str) -> None:
        """Make an empty text called `name`."""
        super().__init__(session, theme)
        self.text = QPlainTextEdit()
        self.text.setAccessibleName(name)
        self.text.setPlaceholderText(hint)
        self.text.setTabChangesFocus(False)
        self._made = ""
        self._column.addWidget(self.text, 1)

    @property
    def is_unmade(self) -> bool:
        """Whether anything is typed of which no frames were made."""
        return self.text.toPlainText().strip() not in ("", self._made)

    def take_made(self) -> None:
        """Remember that frames were made of what is typed."""
        self._made = self.text.toPlainText().strip()

    def forget(self) -> None:
        """Empty the text."""
        self.text.clear()

    def _fit(self) -> None:
        super()._fit()
        self.text.setFont(self._theme.font(12))
        self.text.setMinimumHeight(self._theme.px(64))


class TruthPane(TextPane):
    """A truth table: lines that cannot be used, or contradict one another, are marked."""

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Make an empty table."""
        super().__init__(session, theme, "Truth table", TRUTH_TEXT)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.check)
        self.text.textChanged.connect(lambda: self._soon.start(CHECK_MS))
        self.faults: tuple[LineFault, ...] = ()
        self._end()

    def frames(self) -> Frames:
        """Make the frames of the table. Raises EditError."""
        session = self._session
        table = read_truth_table(session.project, session.draft, self.text.toPlainText())
        self.faults = (*table.faults, *contradictions_of(table))
        self._mark()
        return frames_of_truth(table, session.draft)

    def check(self) -> None:
        """Mark lines that cannot be used, and those that contradict one another."""
        session = self._session
        table = read_truth_table(session.project, session.draft, self.text.toPlainText())
        quick = (1 << len(table.inputs)) * len(table.statements) <= QUICK
        self.faults = (*table.faults, *(contradictions_of(table) if quick else ()))
        self._mark()
        self.show_fault(" ".join(f"Line {one.line}: {one.message}." for one in self.faults[:2]))

    def _mark(self) -> None:
        """Tint the lines at fault."""
        marks = []
        for line in dict.fromkeys(fault.line for fault in self.faults):
            mark = QTextEdit.ExtraSelection()
            block = self.text.document().findBlockByNumber(line - 1)
            mark.cursor = QTextCursor(block)
            mark.format.setBackground(QColor(self._theme.color("error-soft")))
            mark.format.setProperty(QTextFormat.Property.FullWidthSelection, True)
            marks.append(mark)
        self.text.setExtraSelections(marks)


class PastePane(TextPane):
    """Cells of a state table, or text art.

    Signals: file_wanted() when a file shall be read into it.
    """

    file_wanted = Signal()

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Make an empty text."""
        super().__init__(session, theme, "Pasted cells", PASTE_TEXT)
        self.file = QPushButton("From a file…")
        self.file.setAutoDefault(False)
        self.file.setToolTip("Read a table that a spreadsheet saved, or text art")
        self.file.clicked.connect(self.file_wanted)
        self._foot.insertWidget(1, self.file)
        self._end()

    def frames(self) -> Frames:
        """Make the frames of the text. Raises EditError."""
        session, text = self._session, self.text.toPlainText()
        if not text.strip():
            raise EditError("there is nothing to make frames from: paste cells or text art first")
        if is_table(text):
            return frames_of_cells(session.project, session.draft, text)
        made = frames_of_text(session.project, session.draft, text)
        own = session.draft.frames
        return (*made, *own[len(made) :])

    def _fit(self) -> None:
        super()._fit()
        self.file.setFont(self._theme.font(12))


class SequencePane(SourcePane):
    """A counting sequence."""

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Begin with counting up in binary."""
        super().__init__(session, theme)
        self.course: Choice[CourseKind] = Choice(theme, "Numbers")
        self.code: Choice[CodeKind] = Choice(theme, "Shown as")
        self.first: Field[int] = Field(theme, "First number", whole_number("", 0, 10**9))
        self.increment: Field[int] = Field(theme, "Increment", whole_number("", -(10**9), 10**9))
        self.numbers: Field[str] = Field(theme, "List of numbers", text_quantity())
        self.lowest = Check(theme, "The first lane is the lowest digit", "Lowest digit first")
        self.zeros = Check(theme, "Leading zeros", "Leading zeros")
        self._grid, self._labels = QGridLayout(), list[QLabel]()
        self._build()
        self._end()

    def frames(self) -> Frames:
        """Make the frames of the sequence. Raises EditError."""
        course = self.course.given()
        sequence = CountingSequence(
            course=course,
            code=self.code.given(),
            first=self.first.given(),
            increment=self.increment.given(),
            numbers=read_numbers(str(self.numbers.shown() or "")) if course == "list" else (),
            lowest_first=self.lowest.isChecked(),
            leading_zeros=self.zeros.isChecked(),
        )
        return frames_of_sequence(self._session.project, self._session.draft, sequence)

    def _show_needed(self) -> None:
        """Show the fields that the course and the code have."""
        counts = self.course.given() != "list"
        for widget in (self.first, self.increment):
            widget.setEnabled(counts)
        self.numbers.setEnabled(not counts)
        digits = self.code.given() not in ("binary", "gray", "one")
        self.lowest.setEnabled(not digits)
        self.zeros.setEnabled(digits)

    def _build(self) -> None:
        self.course.set_options(COURSES)
        self.code.set_options(CODES)
        self.course.set_shown("up")
        self.code.set_shown("binary")
        self.first.set_shown(0)
        self.increment.set_shown(1)
        self.numbers.set_shown("")
        self.lowest.set_shown(True)
        for choice in (self.course, self.code):
            choice.chosen.connect(lambda value, choice=choice: self._choose(choice, value))
        for field in (self.first, self.increment, self.numbers):
            field.entered.connect(field.set_shown)
        rows: tuple[tuple[str, QWidget, str, QWidget], ...] = (
            ("Numbers", self.course, "Shown as", self.code),
            ("First", self.first, "Increment", self.increment),
            ("List", self.numbers, "", self.lowest),
        )
        for number, (name, widget, second, other) in enumerate(rows):
            for column, item in enumerate((self._label(name), widget, self._label(second), other)):
                self._grid.addWidget(item, number, column)
        self._grid.addWidget(self.zeros, 3, 3)
        self._grid.setColumnStretch(1, 1)
        self._grid.setColumnStretch(3, 1)
        self._column.addLayout(self._grid)
        self._show_needed()

    def _label(self, text: str) -> QLabel:
        label = QLabel(text)
        label.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self._labels.append(label)
        return label

    def _choose(self, choice: Choice[CourseKind] | Choice[CodeKind], value: object) -> None:
        choice.set_shown(value)  # type: ignore[arg-type]
        self._show_needed()

    def _fit(self) -> None:
        super()._fit()
        self._grid.setHorizontalSpacing(self._theme.px(8))
        self._grid.setVerticalSpacing(self._theme.px(4))
        for label in self._labels:
            label.setFont(self._theme.font(12))
