"""A label of one line that gives way: it ends in an ellipsis where there is no room for its text."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy


class ElidedLabel(QLabel):
    """The label; the whole text is in its tooltip where it is cut, and always read aloud."""

    def __init__(self) -> None:
        """Make an empty label."""
        super().__init__()
        self._text = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    @property
    def whole_text(self) -> str:
        """The text, as much of it as there is, not only what is seen."""
        return self._text

    def set_text(self, text: str) -> None:
        """Show a text, as much of it as there is room for."""
        self._text = text
        self.setAccessibleName(text)
        self._fill()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the text again."""
        super().resizeEvent(event)
        self._fill()

    def _fill(self) -> None:
        fitted = self.fontMetrics().elidedText(self._text, Qt.TextElideMode.ElideRight, self.width())
        self.setText(fitted)
        self.setToolTip(self._text if fitted != self._text else "")
