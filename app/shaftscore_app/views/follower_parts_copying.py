"""The menus of lanes that parts may be copied to, and of formats that the drawing may be saved as."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from shaftscore.base import wording
from shaftscore_app.views.follower_parts_edits import FollowerEdits
from shaftscore_app.widgets.menu import Menu


def copy_menu(parent: QWidget, edits: FollowerEdits, done: Callable[[], object]) -> Menu:
    """Return the menu: lanes alike together, then each alone with what differs there; done: called after."""
    menu = Menu(parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    choices = edits.copy_choices()
    alike = tuple(key for key, _, is_alike in choices if is_alike)
    offered = [(f"All {wording.counted(len(alike), 'lane')} alike", alike)] if len(alike) > 1 else []

    def copy(keys: tuple[str, ...]) -> None:
        edits.copy_to(keys)
        done()

    for text, keys in [*offered, *((text, (key,)) for key, text, _ in choices)]:
        action = menu.addAction(text)
        action.triggered.connect(lambda _on=False, keys=keys: copy(keys))
    if not choices:
        menu.addAction("There is no other lane with a disc").setEnabled(False)
    return menu


def kind_menu(parent: QWidget, save: Callable[[str], object]) -> Menu:
    """Return the menu of formats; save: is called with the one chosen."""
    from shaftscore.make.drawing.saved import KINDS  # kept off the start-up path

    menu = Menu(parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    for kind in KINDS:
        action = menu.addAction(f"{kind.upper()}, full size")
        action.triggered.connect(lambda _on=False, kind=kind: save(kind))
    return menu
