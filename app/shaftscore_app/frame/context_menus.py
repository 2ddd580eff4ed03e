"""The menus of a block and of a lane in the timing diagram."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from shaftscore_app.menus.actions import Actions
from shaftscore_app.widgets.menu import Menu

BLOCK_MENU = (
    "block.values",
    "block.up",
    "block.down",
    "block.lock",
    "block.window",
    "block.law",
    "",
    "block.rule",
    "block.gates",
    "",
    "block.repeat",
    "block.mirror",
    "",
    "edit.cut",
    "edit.copy",
    "edit.paste",
    "edit.duplicate",
    "edit.delete",
    "",
    "lane.rename",
    "lane.levels",
)
LANE_MENU = (
    "block.add",
    "edit.paste",
    "",
    "lane.rename",
    "lane.levels",
    "lane.shift",
    "block.mirror",
    "lane.new",
    "edit.duplicate",
    "",
    "lane.follower",
    "lane.disc",
    "lane.load",
    "",
    "lane.group",
    "lane.up",
    "lane.down",
    "",
    "lane.isolate",
    "lane.hide",
    "lane.show_all",
    "",
    "lane.delete",
)
"""Ids of what the menus of a block and of a lane hold; an empty one is a separator."""


def context_menu(parent: QWidget, actions: Actions, *, of_block: bool) -> Menu:
    """Return the menu of a block or of a lane; it goes when it is closed."""
    menu = Menu(parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    for command_id in BLOCK_MENU if of_block else LANE_MENU:
        if command_id:
            menu.addAction(actions[command_id])
        else:
            menu.addSeparator()
    return menu
