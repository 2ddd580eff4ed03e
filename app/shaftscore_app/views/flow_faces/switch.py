"""The switch of the faces, with the length of the run beside it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QLabel, QToolButton, QWidget

from shaftscore.judge.flow.drawn import MOST_TURNS, USUAL_TURNS
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_sources import whole_number
from shaftscore_app.widgets.field import Field


class FaceSwitch(QWidget):
    """The switch.

    Signals: chosen(face) with the name of a face; run_wanted(turns).
    """

    chosen = Signal(str)
    run_wanted = Signal(int)

    def __init__(self, theme: Theme, faces: Sequence[str]) -> None:
        """Make a button a face."""
        super().__init__()
        self._theme = theme
        self._group = QButtonGroup(self)
        self.buttons = {face: self._made(face) for face in faces}
        self.label = QLabel("Run")
        self.turns: Field[int] = Field(theme, "Run length", whole_number("turns", 1, MOST_TURNS))
        self.turns.setToolTip(f"How many turns of the machine are run and drawn, at most {MOST_TURNS:,}")
        self.turns.set_shown(USUAL_TURNS)
        self.turns.entered.connect(self._enter)
        self.label.setObjectName("muted")
        self.label.setBuddy(self.turns)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        for widget in (self.label, self.turns, *self.buttons.values()):
            self._row.addWidget(widget)
        theme.changed.connect(self._fit)
        self._fit()

    def show_face(self, face: str) -> None:
        """Press the button of a face."""
        self.buttons[face].setChecked(True)

    def _made(self, face: str) -> QToolButton:
        button = QToolButton()
        button.setText(face)
        button.setCheckable(True)
        button.setToolTip(f"Show the flow as {face.lower()}")
        button.clicked.connect(lambda: self.chosen.emit(face))
        self._group.addButton(button)
        return button

    def _enter(self, turns: int) -> None:
        self.turns.set_shown(turns)
        self.run_wanted.emit(turns)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._row.setSpacing(px(4))
        self.label.setFont(theme.font(12))
        self.turns.setFont(theme.font(12))
        self.turns.setFixedWidth(px(86))
        for button in self.buttons.values():
            button.setFont(theme.font(12, 500))
