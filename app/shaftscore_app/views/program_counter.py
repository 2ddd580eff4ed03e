"""A counter with carry, made by the Program maker: how many digits, what steps them on, and their states."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore.program.counter import (
    FEWEST,
    MOST,
    NAMES,
    CarryKind,
    CounterWish,
    digit_states,
    first_of,
)
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import whole_number

CARRIES: tuple[Option[CarryKind], ...] = (
    Option("geneva", "Geneva wheel"),
    Option("counted-gear", "Gear with counted teeth"),
)

WHAT = (
    "A stack of seven bars a digit, each stepping the next one on. "
    "Their segments at ten places of a turn, from the zero mark on:"
)


class CounterPane(QWidget):
    """What a counter shall be, what its digits show, and the button that adds it.

    Signals: add_wanted(wish) when it shall be added.
    """

    add_wanted = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Begin with two digits and a Geneva wheel."""
        super().__init__()
        self._theme = theme
        self.digits: Field[int] = Field(theme, "Digits", whole_number("", FEWEST, MOST))
        self.carry: Choice[CarryKind] = Choice(theme, "Carry by")
        self.states, self.fault = QLabel(), QLabel()
        self.add = QPushButton("Add counter")
        self._words = [QLabel("Digits"), QLabel("Carry by"), QLabel(WHAT)]
        self._build()
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def wish(self) -> CounterWish:
        """What is entered."""
        return CounterWish(self.digits.given(), self.carry.given())

    def show_fault(self, text: str) -> None:
        """Show why a counter cannot be added; empty where it can."""
        self.fault.setText(text)

    def _build(self) -> None:
        self.digits.set_shown(FEWEST)
        self.carry.set_options(CARRIES)
        self.carry.set_shown("geneva")
        self.digits.entered.connect(self._take_digits)
        self.carry.chosen.connect(self.carry.set_shown)
        self.carry.setToolTip("The parts of both are made; Geneva wheels carry between two digits only")
        self.add.setAutoDefault(False)
        self.add.clicked.connect(lambda: self.add_wanted.emit(self.wish))
        self.fault.setObjectName("fault")
        for label in (self.fault, self.states, self._words[2]):
            label.setWordWrap(True)
        self.states.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._grid, foot, self._column = QGridLayout(), QHBoxLayout(), QVBoxLayout(self)
        for place, widget in enumerate((self._words[0], self.digits, self._words[1], self.carry)):
            self._grid.addWidget(widget, 0, place)
        self._grid.setColumnStretch(3, 1)
        foot.addWidget(self.fault, 1)
        foot.addWidget(self.add)
        self._column.addLayout(self._grid)
        for label in (self._words[2], self.states):
            self._column.addWidget(label)
        self._column.addStretch(1)
        self._column.addLayout(foot)
        self._say()

    def _take_digits(self, digits: int) -> None:
        self.digits.set_shown(digits)
        self._say()

    def _say(self) -> None:
        """Show the states of all digits."""
        digits = self.digits.given()
        lines = []
        for place in reversed(range(digits)):
            shown = "  ".join(f"{digit}\u00a0{bars}" for digit, bars in digit_states(first_of(place, digits)))
            lines.append(f"{NAMES[place]}: {shown}")
        self.states.setText("\n".join(lines))

    def _fit(self) -> None:
        px, font = self._theme.px, self._theme.font(12)
        self._column.setContentsMargins(px(12), px(8), px(12), px(8))
        self._column.setSpacing(px(6))
        self._grid.setHorizontalSpacing(px(8))
        for label in (*self._words, self.states, self.fault):
            label.setFont(font)
        self.add.setFont(self._theme.font(12, 600))
        self.digits.setFixedWidth(px(44))
