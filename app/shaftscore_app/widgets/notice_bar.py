"""A bar over the diagram that states something and offers what to do about it; it never stops the work."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy

from shaftscore_app.theme import Theme

Choice = tuple[str, str, Callable[[], object]]
"""A button: its text, what it does in a sentence, and doing it."""


class NoticeBar(QFrame):
    """The bar; it is there only while it has something to tell."""

    def __init__(self, theme: Theme, name: str) -> None:
        """Make an empty bar; name: for the style sheet and tests."""
        super().__init__()
        self._theme = theme
        self.setObjectName(name)
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.buttons: list[QPushButton] = []
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.text, 1)
        theme.changed.connect(self._fit)
        self._fit()
        self.hide()

    def tell(self, text: str, choices: Sequence[Choice]) -> None:
        """Show a text with its choices, in place of what was told before."""
        self._clear()
        self.text.setText(text)
        for label, does, choose in choices:
            button = QPushButton(label)
            button.setObjectName("link")
            button.setToolTip(f"{label}: {does}")
            button.setAccessibleDescription(does)
            button.clicked.connect(lambda _checked=False, chosen=choose: chosen())
            self._row.addWidget(button)
            self.buttons.append(button)
        self._fit()
        self.show()

    def end(self) -> None:
        """Go away."""
        self._clear()
        self.hide()

    def button(self, text: str) -> QPushButton:
        """Return a button by its text."""
        return next(button for button in self.buttons if button.text() == text)

    def _clear(self) -> None:
        for button in self.buttons:
            self._row.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.buttons.clear()

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._row.setContentsMargins(px(12), px(3), px(8), px(3))
        self._row.setSpacing(px(8))
        self.text.setFont(theme.font(12, 600))
        for button in self.buttons:
            button.setFont(theme.font(12, 600))
        self.setStyleSheet(
            f"QFrame#{self.objectName()} {{ background: {theme.css('accent-soft')};"
            f" border-bottom: 1px solid {theme.css('accent-line')}; }}"
        )
