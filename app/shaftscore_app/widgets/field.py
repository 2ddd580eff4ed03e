"""A field for one quantity: the value at the left, its unit inside at the right.

What is typed is read at once, in any unit that the quantity knows; what cannot be read marks the field
and says why, in one sentence, as long as the field is being edited. Enter or leaving the field enters
the value, Esc puts back what was there. What cannot be read stays when the field is left, marked.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QHelpEvent, QHideEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QToolTip, QWidget

from shaftscore.base.errors import ShaftscoreError
from shaftscore.base.wording import plain
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.undoing import share_undo

T = TypeVar("T")
"""The kind of value that a field holds."""

_PATH = re.compile(r"^[a-z_]+(?:\[\d+\]|\.[a-z_]+)*: ")
"""The place in the file with which a refusal begins; beside the field itself nobody needs it."""

VARIOUS = "various"
"""What a field shows where the selected things differ."""


class Various:
    """The value of several things that differ."""

    def __repr__(self) -> str:
        """Describe what it is."""
        return "VARIOUS_VALUES"


DIFFERENT = Various()
"""The one `Various`."""


@dataclass(frozen=True)
class Quantity(Generic[T]):
    """How a quantity is written and read.

    unit: stands in the field. spoken: for the accessible name. write: value to text without unit.
    read: text, with or without a unit, to value; raises ShaftscoreError or ValueError with a sentence.
    empty: what an empty field means, in a word ("any", "auto"); None where it must have a value.
    """

    unit: str
    spoken: str
    write: Callable[[T], str]
    read: Callable[[str], T]
    empty: str | None = None


class Field(QLineEdit, Generic[T]):
    """An entry for a quantity.

    Signals: entered(value) when another value was entered; typed(value) while something that can be read
    is being typed; dropped() when what was being typed was put back; left_unread() when the field was left
    with what cannot be read.
    """

    entered = Signal(object)
    typed = Signal(object)
    dropped = Signal()
    left_unread = Signal()

    def __init__(self, theme: Theme, name: str, quantity: Quantity[T], parent: QWidget | None = None) -> None:
        """Make a field called `name` ("Start"); its accessible name adds the unit."""
        super().__init__(parent)
        self._theme = theme
        self._name, self._quantity = name, quantity
        self._value: T | Various | None = None
        self._message: QLabel | None = None
        self._call()
        self.setToolTip(self.accessibleName())
        self.textEdited.connect(self._check)
        self.editingFinished.connect(self._enter)
        theme.changed.connect(self._fit)
        share_undo(self)
        EventWatch(self, self._on_event)
        self._fit()
        self._write()

    def shown(self) -> T | Various | None:
        """Return the value shown; `DIFFERENT` or None where it shows a word."""
        return self._value

    def given(self) -> T:
        """Return the value shown; raises ValueError where the field shows a word instead."""
        if self._value is None or isinstance(self._value, Various):
            raise ValueError(f"{self._name} has no value")
        return self._value

    def set_shown(self, value: T | Various | None) -> None:
        """Show a value, `DIFFERENT`, or None."""
        self._value = value
        self._write()

    def set_quantity(self, quantity: Quantity[T]) -> None:
        """Read and write another way (the speed changed, so seconds mean other angles)."""
        self._quantity = quantity
        self._call()
        if not self.isModified():
            self._write()

    def set_fault(self, sentence: str) -> None:
        """Mark the field and say why; an empty sentence takes the mark away."""
        sentence = _PATH.sub("", sentence)
        if self.property("fault") != bool(sentence):
            self.setProperty("fault", bool(sentence))
            self.style().polish(self)
        self.setAccessibleDescription(sentence)
        self._say(sentence if self.hasFocus() else "")

    @property
    def fault(self) -> str:
        """Why the field is marked, else an empty text."""
        return self.accessibleDescription()

    # Inside

    def _call(self) -> None:
        spoken = self._quantity.spoken
        self.setAccessibleName(f"{self._name}, {spoken}" if spoken else self._name)

    def _write(self) -> None:
        value = self._value
        if value is None or isinstance(value, Various):
            self.setText("")
        else:
            self.setText(self._quantity.write(value))
        self.setPlaceholderText(VARIOUS if self._value is DIFFERENT else self._quantity.empty or "")
        self.setCursorPosition(0)
        self.setModified(False)
        self.set_fault("")

    def _read(self) -> tuple[T | None, str]:
        """Return the value typed and an empty text, or None and why it cannot be read."""
        text = self.text().strip()
        if not text and self._quantity.empty is not None:
            return None, ""
        try:
            return self._quantity.read(text), ""
        except (ShaftscoreError, ValueError) as error:
            return None, str(error)

    def unread(self) -> str:
        """Describe why what is being typed cannot be read; empty where it can, or nothing is being typed."""
        is_typed = self.isModified() and bool(self.text().strip()) and not self.isHidden()
        return self._read()[1] if is_typed else ""

    def put_back(self) -> None:
        """Show again what was there before somebody typed, unless it is still being typed in."""
        if self.isModified() and not self.hasFocus():
            self._drop()

    def _check(self) -> None:
        value, fault = self._read()
        self.set_fault(fault)
        if not fault:
            self.typed.emit(value)
        if not self.fault:
            self._say(self._converted(value) if self.hasFocus() else "", is_note=True)

    def _converted(self, value: T | None) -> str:
        """Return what a value that is typed in another unit is in the field's own; else an empty text."""
        own, text = self._quantity.unit, self.text().strip()
        other = re.search(r"[^\d\s.,+\-\u2212].*$", text)
        if not own or other is None or not isinstance(value, float) or other[0].strip() == own:
            return ""
        written = f"{plain(value, 4)} {own}"
        return "" if written.replace(" ", "") == text.replace(" ", "") else f"= {written}"

    def _enter(self) -> None:
        if not self.isModified():
            return
        value, fault = self._read()
        if fault:
            self.set_fault(fault)
            return
        self.setModified(False)
        if value == self._value:
            self._write()
        else:
            self.entered.emit(value)

    def _drop(self) -> None:
        self._write()
        self.dropped.emit()

    def _fit(self) -> None:
        metrics = QFontMetrics(self._theme.font(12))
        room = metrics.horizontalAdvance(self._quantity.unit) + self._theme.px(6)
        self.setFont(self._theme.font(12))
        self.setTextMargins(0, 0, room if self._quantity.unit else 0, 0)
        self.update()

    def _say(self, sentence: str, *, is_note: bool = False) -> None:
        """Show a sentence below the field: a fault, or a note."""
        if not sentence:
            if self._message is not None:
                self._message.hide()
            return
        if self._message is None:
            self._message = QLabel(self, Qt.WindowType.ToolTip)
            self._message.setObjectName("message")
            self._message.setWordWrap(True)
        if self._message.property("note") is not is_note:
            self._message.setProperty("note", is_note)
            self._message.style().polish(self._message)
        self._message.setText(sentence)
        self._message.setFixedWidth(max(self.width(), self._theme.px(220)))
        self._message.adjustSize()
        below = self.mapToGlobal(QPoint(0, self.height() + self._theme.px(2)))
        right = self.screen().availableGeometry().right() - self._message.width()
        self._message.move(min(below.x(), right), below.y())
        self._message.show()

    # Events

    def paintEvent(self, event: QPaintEvent) -> None:
        """Add the unit."""
        super().paintEvent(event)
        if not self._quantity.unit:
            return
        painter = QPainter(self)
        painter.setFont(self.font())
        painter.setPen(self._theme.color("muted" if self.isEnabled() else "disabled"))
        place = self.rect().adjusted(0, 0, -self._theme.px(8), 0)
        painter.drawText(
            place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._quantity.unit
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Esc put back what was there; a second Esc belongs to the window."""
        if event.key() == Qt.Key.Key_Escape and self.isModified():
            self._drop()
            self.selectAll()
            return
        super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Select everything, so that typing replaces it."""
        super().focusInEvent(event)
        if event.reason() != Qt.FocusReason.MouseFocusReason:
            self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Leave the field: what cannot be read stays, marked; nothing at all goes back to what was there."""
        super().focusOutEvent(event)
        self._say("")
        if not self.isModified() or event.reason() == Qt.FocusReason.PopupFocusReason:
            return
        if self.unread():
            self.left_unread.emit()
        else:
            self._drop()

    def _on_event(self, event: QEvent) -> bool:
        """Explain in the tooltip of a marked field why it is marked."""
        if event.type() == QEvent.Type.ToolTip and self.fault and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.fault, self)
            return True
        return False

    def hideEvent(self, event: QHideEvent) -> None:
        """Take the message away with the field."""
        self._say("")
        super().hideEvent(event)
