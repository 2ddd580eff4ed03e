"""Dialogs that ask for numbers of the timing diagram: repeat, shift, insert time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from shaftscore.base import wording
from shaftscore.base.angles import TURN
from shaftscore.edits.copies import MOST_REPEATS
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.quantities import angle, read_angle


@dataclass(frozen=True)
class AskedRow:
    """One thing that a dialog asks for: its key, its name, its first value, and how it is typed."""

    key: str
    name: str
    value: float
    quantity: Quantity[float]


Lanes = tuple[str, ...] | None
"""Ids of the lanes that something is for; None for all."""


@dataclass(frozen=True)
class Asked:
    """What was entered: the numbers by the keys of their rows, and the lanes where they were asked for."""

    numbers: Mapping[str, float]
    lanes: Lanes = None


Use = Callable[[Asked], str]
"""Does what was asked for; gives why it cannot be, or an empty text."""


class AskDialog(Dialog):
    """Asks for a few values, and maybe which lanes; stays open with the reason while they cannot be used."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        title: str,
        heading: str,
        *,
        rows: Sequence[AskedRow],
        use: Use,
    ) -> None:
        """Make the dialog; its button carries the title."""
        super().__init__(parent, theme, title, heading)
        self._use = use
        self.fields: dict[str, Field[float]] = {}
        self.choice: Choice[Lanes] | None = None
        self._grid = QGridLayout()
        self.body.addLayout(self._grid)
        for row in rows:
            field = Field(theme, row.name, row.quantity)
            field.set_shown(row.value)
            field.entered.connect(field.set_shown)
            self.fields[row.key] = field
            self._add(row.name, field)
        self._fault = QLabel("")
        self._fault.setObjectName("fault")
        self._fault.setFont(theme.font(12))
        self._fault.setWordWrap(True)

    def offer(self, name: str, options: Sequence[Option[Lanes]]) -> None:
        """Ask also for lanes; the first option is shown."""
        self.choice = Choice(self._theme, name)
        self.choice.set_options(options)
        self.choice.set_shown(options[0].value)
        self.choice.chosen.connect(self.choice.set_shown)
        self._add(name, self.choice)

    def open(self) -> None:
        """Show the dialog with its buttons, the first field ready to be typed in."""
        self.body.addWidget(self._fault)
        use = Button(self.windowTitle(), self._try, default=True, stays=True)
        self.set_buttons((Button("Cancel"), use))
        next(iter(self.fields.values())).setFocus(Qt.FocusReason.OtherFocusReason)
        super().open()

    @property
    def fault(self) -> str:
        """Why it cannot be done, as shown."""
        return self._fault.text()

    def _add(self, name: str, widget: QWidget) -> None:
        label = QLabel(name)
        label.setFont(self._theme.font(12))
        label.setBuddy(widget)
        row = self._grid.rowCount()
        self._grid.addWidget(label, row, 0)
        self._grid.addWidget(widget, row, 1)

    def _try(self) -> None:
        for field in self.fields.values():
            field.editingFinished.emit()  # what is being typed is entered
        faults = [field.fault for field in self.fields.values() if field.fault]
        self._end(faults[0] if faults else self._use(self._asked()))

    def _asked(self) -> Asked:
        numbers = {key: field.given() for key, field in self.fields.items()}
        return Asked(numbers, None if self.choice is None else self.choice.given())

    def _end(self, fault: str) -> None:
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)


def count_quantity() -> Quantity[float]:
    """Return how many times blocks are repeated round the turn."""
    return Quantity("times", "times round the turn", str, _read_count)


def _read_count(text: str) -> int:
    value = wording.parse_number(text)
    if value != round(value) or not 2 <= value <= MOST_REPEATS:
        raise ValueError(f"Type a whole number from 2 to {MOST_REPEATS}, not {text}")
    return round(value)


def way_quantity(document: Document) -> Quantity[float]:
    """Return a way along the turn, degrees: negative is earlier; a time may be typed too."""
    plain = angle(document)
    return Quantity(
        plain.unit, "degrees, negative is earlier", plain.write, lambda text: _read_way(document, text)
    )


def _read_way(document: Document, text: str) -> float:
    """Read a way, its sign apart, so that times can be negative too."""
    bare = text.strip()
    sign = -1.0 if bare[:1] in ("-", "\N{MINUS SIGN}") else 1.0
    way = sign * read_angle(document, None, bare.lstrip("-+\N{MINUS SIGN}"))
    if abs(way) > TURN:
        raise ValueError(f"At most one turn, 360°, got {wording.degrees(abs(way))}")
    return way
