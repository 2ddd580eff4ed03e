"""Menus whose letters are not underlined, and whose greyed items can say why they are."""

from __future__ import annotations

from functools import cache

from PySide6.QtWidgets import (
    QApplication,
    QMenu,
    QProxyStyle,
    QStyle,
    QStyleHintReturn,
    QStyleOption,
    QWidget,
)


class PlainMenus(QProxyStyle):
    """The Fusion style without lines under the letters of menus; Alt and the letter work all the same.

    Greyed items can be pointed at, so that the status bar can say why they are greyed. It is the style of
    menus alone: a hint that is answered in Python slows down whatever asks for it.
    """

    def __init__(self) -> None:
        """Build on Fusion."""
        super().__init__("Fusion")

    def styleHint(
        self,
        hint: QStyle.StyleHint,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
        returnData: QStyleHintReturn | None = None,
    ) -> int:
        """Answer no to underlines, let greyed items say why they are, and do as Fusion does otherwise."""
        if hint == QStyle.StyleHint.SH_UnderlineShortcut:
            return 0
        if hint == QStyle.StyleHint.SH_Menu_AllowActiveAndDisabled:
            return 1
        return super().styleHint(hint, option, widget, returnData)


@cache
def menu_style() -> PlainMenus:
    """Return the style of all menus and of the menu bar; it lives as long as the application."""
    style = PlainMenus()
    style.setParent(QApplication.instance())
    return style


class Menu(QMenu):
    """A menu of the program."""

    def __init__(self, parent: QWidget | None = None, title: str = "") -> None:
        """Make an empty menu."""
        super().__init__(title, parent)
        self.setStyle(menu_style())
