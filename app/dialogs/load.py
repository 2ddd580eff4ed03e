"""What a lane's follower carries: mass, friction, spring and a steady force."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.dialogs.base import Button, Dialog
from app.theme import Theme
from app.widgets.choice import Choice, Option
from app.widgets.field import Field, Quantity
from core import wording
from core.model import Lane, Load

SET = "Set load"
TAKE_AWAY = "Take away"

FIELDS = (
    ("moving_mass_g", "Moving mass", "g", "grams"),
    ("friction_n", "Friction", "N", "newtons"),
    ("spring_preload_n", "Spring preload", "N", "newtons"),
    ("spring_rate_n_per_mm", "Spring rate", "N/mm", "newtons per millimetre"),
    ("external_n", "Steady force", "N", "newtons, towards the disc"),
)
"""Field of the record, name, unit, unit as spoken."""

CAUTION = "Springs store energy: a follower that is let go strikes. Ease it down before you reach in."


class LoadDialog(Dialog):
    """Asks for a load; a lane without one begins with nothing moved and no spring."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        lane: Lane,
        use: Callable[[dict[str, Any] | None], str],
    ) -> None:
        """Ask; use: sets the record's fields, None for no load; gives a fault or an empty text."""
        super().__init__(parent, theme, "Load", f"What {lane.label} carries")
        self._use = use
        load = lane.load or Load()
        self.fields = {key: _field(theme, name, unit, spoken) for key, name, unit, spoken in FIELDS}
        self.at = Choice(theme, "Where it acts")
        self.at.set_options([Option("roller", "at the roller"), Option("output", "at the output")])
        self.at.set_shown(load.at)
        self.at.chosen.connect(self.at.set_shown)
        grid = QGridLayout()
        for row, (key, name, _, _) in enumerate(FIELDS):
            self.fields[key].set_shown(getattr(load, key))
            self._add(grid, row, name, self.fields[key])
        self._add(grid, len(FIELDS), "Acts", self.at)
        self.body.addLayout(grid)
        self.say(CAUTION, muted=True)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        away = (Button(TAKE_AWAY, self._take_away, stays=True),) if lane.load is not None else ()
        self.set_buttons((*away, Button("Cancel"), Button(SET, self._set, default=True, stays=True)))
        self.fields["moving_mass_g"].setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def fault(self) -> str:
        """Why it cannot be set, as shown."""
        return self._fault.text()

    def _add(self, grid: QGridLayout, row: int, name: str, widget: QWidget) -> None:
        label = QLabel(name)
        label.setFont(self._theme.font(12))
        grid.addWidget(label, row, 0)
        grid.addWidget(widget, row, 1)

    def _set(self) -> None:
        for field in self.fields.values():
            field.editingFinished.emit()  # what is being typed is entered
        faults = [field.fault for field in self.fields.values() if field.fault]
        values = {key: field.shown() for key, field in self.fields.items()}
        self._try(faults[0] if faults else "", {**values, "at": self.at.shown()})

    def _take_away(self) -> None:
        self._try("", None)

    def _try(self, fault: str, values: dict[str, Any] | None) -> None:
        fault = fault or self._use(values)
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)


def _field(theme: Theme, name: str, unit: str, spoken: str) -> Field:
    read = partial(wording.parse_quantity, unit=unit)
    field = Field(theme, name, Quantity(unit, spoken, wording.plain, read))
    field.entered.connect(field.set_shown)
    return field
