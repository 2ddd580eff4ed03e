"""A choice from a list: the text at the left, a muted remark at the right, a chevron."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QPaintEvent, QShowEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QLabel, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.field import DIFFERENT, VARIOUS, Various

T = TypeVar("T")
"""The kind of value that is chosen."""

T_co = TypeVar("T_co", covariant=True)
"""The kind of value of an option, which is only read."""


@dataclass(frozen=True)
class Option(Generic[T_co]):
    """One thing to choose; remark stands muted at the right."""

    value: T_co
    text: str
    remark: str = ""


class Choice(QComboBox, Generic[T]):
    """A list of options, one of which is shown.

    Signals: chosen(value) when the person chose.
    """

    chosen = Signal(object)

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None) -> None:
        """Make a choice with an accessible name."""
        super().__init__(parent)
        self._theme = theme
        self._options: tuple[Option[T], ...] = ()
        self._value: T | Various | None = None
        self.setAccessibleName(name)
        self.setToolTip(name)
        self.setMinimumContentsLength(6)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.activated.connect(self._choose)
        theme.changed.connect(self._fit)
        self._fit()

    def options(self) -> tuple[Option[T], ...]:
        """Return what can be chosen."""
        return self._options

    def set_options(self, options: Sequence[Option[T]]) -> None:
        """Offer other options; what is shown stays."""
        if tuple(options) == self._options:
            return
        self._options = tuple(options)
        self.clear()
        for option in self._options:
            self.addItem(f"{option.text}  ({option.remark})" if option.remark else option.text)
        self.set_shown(self._value)

    def shown(self) -> T | Various | None:
        """Return the value shown."""
        return self._value

    def given(self) -> T:
        """Return the value of the option shown; raises ValueError where none of them is."""
        for option in self._options:
            if option.value == self._value:
                return option.value
        raise ValueError(f"{self.accessibleName()} has no value")

    def put_back(self) -> None:
        """Show again what was shown, where the option that was chosen cannot be."""
        self.set_shown(self._value)

    def set_shown(self, value: T | Various | None) -> None:
        """Show a value, or `DIFFERENT`."""
        self._value = value
        values = [option.value for option in self._options]
        self.setCurrentIndex(values.index(value) if value in values else -1)
        self.update()

    def _choose(self, index: int) -> None:
        value = self._options[index].value
        if value != self._value:
            self.chosen.emit(value)

    def _fit(self) -> None:
        self.setFont(self._theme.font(12))

    def showEvent(self, event: QShowEvent) -> None:
        """Have a label beside it that names it for screen readers.

        On Linux Qt reads the value of a combo box as its name, and its name only from a label of which it is
        the buddy.
        """
        super().showEvent(event)
        holder = self.parentWidget()
        if holder is None:
            return
        beside = holder.findChildren(QLabel, options=Qt.FindChildOption.FindDirectChildrenOnly)
        if all(label.buddy() is not self for label in beside):
            label = QLabel(self.accessibleName(), holder)
            label.setBuddy(self)
            label.hide()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Let the wheel scroll the form that the choice stands in, unless the person is choosing."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw frame, text, remark and chevron."""
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        option.subControls = QStyle.SubControl.SC_ComboBoxFrame | QStyle.SubControl.SC_ComboBoxEditField
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        chevron = self._theme.pixmap("chevron-down", 14, "text" if self.isEnabled() else "disabled")
        size = self._theme.px(14)
        right = self.width() - self._theme.px(6) - size
        painter.drawPixmap(QRect(right, (self.height() - size) // 2, size, size), chevron)
        left, gap = self._theme.px(8), self._theme.px(6)
        self._draw_text(painter, QRect(left, 0, right - gap - left, self.height()))

    def _draw_text(self, painter: QStylePainter, place: QRect) -> None:
        index = self.currentIndex()
        shown = self._options[index] if 0 <= index < len(self._options) else None
        text = shown.text if shown else VARIOUS if self._value is DIFFERENT else ""
        middle = Qt.AlignmentFlag.AlignVCenter
        metrics = self.fontMetrics()
        painter.setPen(self._theme.color("muted" if shown is None or not self.isEnabled() else "text"))
        fitted = metrics.elidedText(text, Qt.TextElideMode.ElideRight, place.width())
        painter.drawText(place, Qt.AlignmentFlag.AlignLeft | middle, fitted)
        remark = shown.remark if shown else ""
        used = metrics.horizontalAdvance(text) + self._theme.px(12)
        if remark and used + metrics.horizontalAdvance(remark) < place.width():
            painter.setPen(self._theme.color("muted"))
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | middle, remark)
