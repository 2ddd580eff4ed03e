"""A box for yes or no that goes through the same two helpers as fields and choices."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.field import DIFFERENT, Various


class Check(QCheckBox):
    """Yes, no, or both where several things differ.

    Signals: chosen(value) when the person chose.
    """

    chosen = Signal(object)

    def __init__(self, theme: Theme, name: str, text: str = "") -> None:
        """Make a box called `name`."""
        super().__init__(text)
        self._theme = theme
        self.setAccessibleName(name)
        self.setToolTip(name)
        self.clicked.connect(self._choose)
        theme.changed.connect(self._fit)
        self._fit()

    def shown(self) -> bool | Various:
        """Return the value shown, or `DIFFERENT`."""
        if self.checkState() is Qt.CheckState.PartiallyChecked:
            return DIFFERENT
        return self.isChecked()

    def set_shown(self, value: object) -> None:
        """Show a value, or `DIFFERENT`."""
        self.setTristate(value is DIFFERENT)
        if value is DIFFERENT:
            self.setCheckState(Qt.CheckState.PartiallyChecked)
        else:
            self.setChecked(bool(value))

    def _choose(self) -> None:
        self.setTristate(False)
        self.chosen.emit(self.isChecked())

    def _fit(self) -> None:
        self.setFont(self._theme.font(12))
