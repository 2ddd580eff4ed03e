"""The switch of the faces, with the length of the run beside it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QLabel, QSizePolicy, QToolButton, QWidget

from shaftscore.judge.flow.drawn import MOST_TURNS, USUAL_TURNS
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import whole_number


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
        self.chooser = ViewChooser("Face", "How the flow is shown")
        self.chooser.clicked.connect(self._offer)
        self.label.setObjectName("muted")
        self.label.setBuddy(self.turns)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addStretch(1)
        for widget in (self.label, self.turns, *self.buttons.values(), self.chooser):
            self._row.addWidget(widget)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)  # it makes no dock wider
        theme.changed.connect(self._fit)
        self._fit()

    def show_face(self, face: str) -> None:
        """Press the button of a face."""
        self.buttons[face].setChecked(True)
        self.chooser.setText(face)
        self._make_room()

    @property
    def wanted_width(self) -> int:
        """How wide it is when all of it is shown, px."""
        return self._width(self.label, self.turns, *self.buttons.values())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Leave out the word first, then let a menu take the place of the buttons, then the field."""
        faces = tuple(self.buttons.values())
        choices = ((self.label, self.turns, *faces), (self.turns, *faces), (self.turns, self.chooser))
        fitting = next((one for one in choices if self._width(*one) <= self.width()), (self.chooser,))
        for widget in (self.label, self.turns, *faces, self.chooser):
            widget.setVisible(widget in fitting)

    def _width(self, *widgets: QWidget) -> int:
        """Return the room that widgets take beside one another, px."""
        own = sum(self.turns.width() if one is self.turns else one.sizeHint().width() for one in widgets)
        return own + self._row.spacing() * len(widgets)

    def _offer(self) -> None:
        self.chooser.offer([(face, partial(self.chosen.emit, face)) for face in self.buttons])

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
        self.chooser.fit(theme)
        self._make_room()
