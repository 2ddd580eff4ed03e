"""The form of the settings: how the program looks and works, apart from any machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from shaftscore.base import wording
from shaftscore_app.runtime.settings import Settings, Values
from shaftscore_app.theme import SCALES, Theme
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.quantities import grid_quantity

THEMES = (Option("system", "System"), Option("light", "Light"), Option("dark", "Dark"))

PAPERS = (Option("A4", "A4"), Option("Letter", "Letter"))

CHECKS = (
    ("snap", "Snap: dragging snaps to the grid and to other blocks"),
    ("moves_keep", "Keep move lengths: dwells beside a moved block grow or shrink"),
    ("zones", "Free zones: show where a held block could stand"),
    ("next_step", "Next step: show the next step of a project until it is first exported"),
    ("reduce_motion", "Reduce motion: no animations; playback advances step by step"),
)
"""Setting and what it means."""


class SettingsDialog(Dialog):
    """Asks for the settings; nothing changes before the button is pressed."""

    def __init__(
        self, parent: QWidget, theme: Theme, settings: Settings, use: Callable[[Mapping[str, object]], object]
    ) -> None:
        """Show the settings; use: takes the changed values."""
        super().__init__(parent, theme, "Settings", "Appearance and behaviour")
        self._values, self._use = settings.values, use
        self.theme: Choice[str] = Choice(theme, "Theme")
        self.theme.set_options(THEMES)
        self.paper: Choice[str] = Choice(theme, "Paper of the diagram")
        self.paper.set_options(PAPERS)
        self.scale = Field(theme, "Text size", _scale_quantity())
        self.grid = Field(theme, "Grid of the diagram", grid_quantity())
        self.checks = {key: Check(theme, text.partition(":")[0], text) for key, text in CHECKS}
        self._add()
        self._show(settings.values)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.set_buttons(
            (
                Button("Restore defaults", lambda: self._show(settings.usual), stays=True),
                Button("Cancel"),
                Button("OK", self._go, default=True, stays=True),
            )
        )
        self.theme.setFocus()

    @property
    def fault(self) -> str:
        """Why they cannot be used, as shown."""
        return self._fault.text()

    def _add(self) -> None:
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        rows = (
            ("Theme", self.theme),
            ("Text size", self.scale),
            ("Grid of the diagram", self.grid),
            ("Paper of the diagram", self.paper),
        )
        for row, (name, widget) in enumerate(rows):
            label = QLabel(name)
            label.setFont(self._theme.font(12))
            label.setBuddy(widget)
            grid.addWidget(label, row, 0)
            grid.addWidget(widget, row, 1)
        self.body.addLayout(grid)
        for check in self.checks.values():
            self.body.addWidget(check)
        for choice in (self.theme, self.paper):
            choice.chosen.connect(choice.set_shown)
        for field in (self.scale, self.grid):
            field.entered.connect(field.set_shown)

    def _show(self, values: Values) -> None:
        self.theme.set_shown(values.theme)
        self.scale.set_shown(values.text_scale)
        self.grid.set_shown(values.grid_deg)
        self.paper.set_shown(values.paper)
        for key, check in self.checks.items():
            check.set_shown(getattr(values, key))

    def _go(self) -> None:
        for field in (self.scale, self.grid):
            field.editingFinished.emit()  # what is being typed is entered
        faults = [field.fault for field in (self.scale, self.grid) if field.fault]
        self._fault.setText(faults[0] if faults else "")
        if not faults:
            asked = {
                "theme": self.theme.shown(),
                "text_scale": self.scale.shown(),
                "grid_deg": self.grid.shown(),
                "paper": self.paper.shown(),
            }
            asked |= {key: check.shown() for key, check in self.checks.items()}
            self.done(Dialog.DialogCode.Accepted)
            self._use({key: value for key, value in asked.items() if value != getattr(self._values, key)})


def _scale_quantity() -> Quantity[float]:
    return Quantity("%", "per cent", lambda scale: wording.plain(scale * 100, 1), _read_scale)


def _read_scale(text: str) -> float:
    value = wording.parse_quantity(text, "%") / 100
    if not SCALES[0] <= value <= SCALES[1]:
        raise ValueError(f"The text size is 80 % to 200 %, got {wording.percent(value * 100)}")
    return value
