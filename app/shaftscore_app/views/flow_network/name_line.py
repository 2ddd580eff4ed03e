"""The line in which an element of the network is named, over its box."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from shaftscore.judge.flow.drawn import ElementKey
from shaftscore_app.runtime.watching import EventWatch

LONGEST = 200
"""Most letters of a name."""


class NameLine(QLineEdit):
    """The line; Enter and leaving it name, Esc does not.

    Signals: named(key, text) when there is another name; left() when the line is gone and had the focus.
    """

    named = Signal(object, str)
    left = Signal()

    def __init__(self, holder: QWidget) -> None:
        """Make a line that is hidden."""
        super().__init__(holder)
        self._key: ElementKey | None = None
        self._before = ""
        self.setAccessibleName("Name")
        self.setMaxLength(LONGEST)
        self.hide()
        self.returnPressed.connect(self.finish)
        EventWatch(self, self._heard)

    def begin(self, key: ElementKey, name: str, place: QRect) -> None:
        """Open the line for an element, at a place of its holder."""
        self._key, self._before = key, name
        self.setText(name)
        self.setGeometry(place)
        self.show()
        self.selectAll()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def finish(self) -> None:
        """Close the line, and name the element where the text is another one."""
        key, self._key = self._key, None
        if self.isHidden():
            return
        had_focus, text = self.hasFocus(), self.text().strip()
        self.hide()
        if had_focus:
            self.left.emit()
        if key is not None and text and text != self._before:
            self.named.emit(key, text)

    def _heard(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusOut:
            self.finish()
        if not isinstance(event, QKeyEvent) or event.key() != Qt.Key.Key_Escape:
            return False
        if event.type() == QEvent.Type.KeyPress:
            self._key = None
            self.finish()
        event.accept()
        return event.type() == QEvent.Type.KeyPress
