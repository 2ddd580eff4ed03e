"""Boxes for yes or no: one that is easy to hit, and one that shows values as fields do."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QStyle, QStyleOptionButton

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.field import DIFFERENT, Various


class TickBox(QCheckBox):
    """A check box that is hit over its whole height, not on the mark and the letters alone."""

    def hitButton(self, place: QPoint) -> bool:
        """Return whether a click at a place of it ticks it."""
        return self.hit_area().contains(place)

    def hit_area(self) -> QRect:
        """Return where a click ticks it: mark and text, over all of its height and as wide at least."""
        option = QStyleOptionButton()
        self.initStyleOption(option)
        inked = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxClickRect, option, self)
        least = min(self.height(), self.width())
        return QRect(inked.left(), 0, max(inked.width(), least), self.height())


class Check(TickBox):
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
