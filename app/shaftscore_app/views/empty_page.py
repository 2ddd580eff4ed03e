"""What a view shows when it is empty: why, what to do about it, and the button for it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore_app.document.coverage import RowAction
from shaftscore_app.theme import Theme


class EmptyPage(QWidget):
    """A sentence in the middle, and a button below it.

    Signals: action_wanted(action) when the button was pressed.
    """

    action_wanted = Signal(object)

    def __init__(self, theme: Theme, text: str = "") -> None:
        """Make a page that says a text, without a button."""
        super().__init__()
        self._theme = theme
        self._action: RowAction | None = None
        self.label, self.button = QLabel(text), QPushButton()
        self.label.setObjectName("muted")
        self.label.setWordWrap(True)
        self.label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.button.setObjectName("wanted")
        self.button.setAutoDefault(False)
        self.button.clicked.connect(lambda: self.action_wanted.emit(self._action))
        self._column = QVBoxLayout(self)
        self._column.addStretch(1)
        self._column.addWidget(self.label)
        self._column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignHCenter)
        self._column.addStretch(1)
        theme.changed.connect(self._fit)
        self._fit()
        self.say(text, None)

    def say(self, text: str, action: RowAction | None) -> None:
        """Show why the view is empty; action: what its button does, None for no button."""
        self._action = action
        self.label.setText(text)
        self.label.setVisible(bool(text))
        self.button.setVisible(action is not None)
        if action is not None:
            self.button.setText(action.text)
            self.button.setAccessibleName(f"{text} {action.text}")

    def text(self) -> str:
        """Return what it says."""
        return self.label.text()

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(24), px(4), px(24), px(4))
        self._column.setSpacing(px(10))
        self.label.setFont(theme.font(12))
        self.button.setFont(theme.font(12, 600))
