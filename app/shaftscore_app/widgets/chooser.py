"""The button at the head of a view that names what is shown and opens the choice of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtWidgets import QToolButton

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.menu import Menu


class ViewChooser(QToolButton):
    """The button; its text is the name of what is shown."""

    def __init__(self, name: str, tip: str = "") -> None:
        """Make the button; name: for screen readers."""
        super().__init__()
        self.setObjectName("chooser")
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.setLayoutDirection(Qt.LayoutDirection.RightToLeft)  # the chevron after the name
        self.setAccessibleName(name)
        self.setToolTip(tip)

    def fit(self, theme: Theme, px: int = 12, weight: int = 600) -> None:
        """Take the theme's font, of px of the design, and icon."""
        self.setFont(theme.font(px, weight))
        self.setIcon(theme.icon("chevron-down", 14))
        self.setIconSize(QSize(theme.px(14), theme.px(14)))

    def offer(self, choices: Iterable[tuple[str, Callable[[], object]]]) -> None:
        """Show a menu of choices, each with its text and what it does, below the button."""
        menu = Menu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for text, choose in choices:
            action = menu.addAction(text)
            action.triggered.connect(lambda _checked=False, choose=choose: choose())
        menu.popup(self.mapToGlobal(QPoint(0, self.height())))
