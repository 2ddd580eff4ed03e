"""Help: the shortcut sheet, the cautions, and what this program is."""

from __future__ import annotations

import platform
from importlib import metadata

from PySide6.QtCore import Qt, qVersion
from PySide6.QtWidgets import QGridLayout, QLabel, QScrollArea, QWidget

from app.actions import COMMANDS, MENUS, MOUSE, key_text
from app.dialogs.base import Button, Dialog
from app.theme import Theme

CAUTIONS = (
    (
        "Turning parts pinch.",
        "Keep fingers, hair, sleeves and cables away from discs, followers and gears while "
        "the shaft can turn. Guard what children can reach.",
    ),
    (
        "Springs store energy.",
        "A follower can snap back when its disc is taken out. Ease springs off first, and "
        "wear eye protection.",
    ),
    (
        "Stalled motors grow hot.",
        "A motor that is held still draws its stall current: fuse it, and stop it by "
        "itself after a time. A geared motor can be strong enough to break fingers.",
    ),
    (
        "A turn by hand turns everything.",
        "Cut the power, and take the crank off, before you reach in. What was held up by a disc can fall.",
    ),
    (
        "Printed parts break.",
        "Layers part, plastics creep and soften when warm. Try a new machine at low speed, "
        "behind a guard, and look at it again after its first hour.",
    ),
    (
        "A computed proof is not a measured one.",
        "Findings, margins and proofs are about the numbers in the file. "
        "Measure the built machine before anybody depends on it. Follow the local codes for machines, "
        "electricity and food, and have licensed people do what they are licensed for.",
    ),
)
"""What can hurt, and what to do about it: the usual cautions of the trade."""


class ShortcutsDialog(Dialog):
    """All keys and mouse moves, from the table of commands."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Lay the sheet out in three columns."""
        super().__init__(parent, theme, "Shortcuts")
        sheet = QWidget()
        grid = QGridLayout(sheet)
        grid.setHorizontalSpacing(theme.px(16))
        grid.setVerticalSpacing(theme.px(3))
        halves = (("file", "edit", "lane", "block"), ("machine", "prove", "view", "help"))
        for column, menus in enumerate(halves):
            row = 0
            for menu in menus:
                row = self._add_menu(grid, menu, row, 3 * column)
            grid.setRowStretch(row, 1)
        self._add_mouse(grid, 6)
        grid.setColumnMinimumWidth(2, theme.px(8))
        grid.setColumnMinimumWidth(5, theme.px(8))
        scroll = QScrollArea()
        scroll.setWidget(sheet)
        scroll.setWidgetResizable(True)
        scroll.setMinimumSize(theme.px(860), theme.px(480))
        self.body.addWidget(scroll)
        self.set_buttons((Button("Close", default=True),))

    def _add_menu(self, grid: QGridLayout, menu: str, row: int, column: int) -> int:
        rows = [(command.title, key_text(command)) for command in COMMANDS if command.menu == menu]
        keyed = [(title.replace("&", "").rstrip("…"), keys) for title, keys in rows if keys]
        return self._add_rows(grid, MENUS[menu].replace("&", ""), keyed, row, column)

    def _add_mouse(self, grid: QGridLayout, column: int) -> None:
        self._add_rows(grid, "In the diagram", list(MOUSE), 0, column)

    def _add_rows(
        self, grid: QGridLayout, head: str, rows: list[tuple[str, str]], row: int, column: int
    ) -> int:
        if not rows:
            return row
        title = QLabel(head)
        title.setFont(self._theme.font(12, 600))
        grid.addWidget(title, row, column, 1, 2)
        for offset, (what, keys) in enumerate(rows, start=1):
            for place, text, name in ((0, what, ""), (1, keys, "muted")):
                label = QLabel(text)
                label.setObjectName(name)
                label.setFont(self._theme.font(12))
                label.setWordWrap(column == 6)
                label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
                grid.addWidget(label, row + offset, column + place)
        return row + len(rows) + 1


class CautionsDialog(Dialog):
    """What can hurt."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Say it."""
        super().__init__(parent, theme, "Cautions", "Before you build and run a machine")
        for head, text in CAUTIONS:
            self.say(f"<b>{head}</b> {text}")
        self.setMinimumWidth(theme.px(560))
        self.set_buttons((Button("Close", default=True),))


class AboutDialog(Dialog):
    """What this program is."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Say name, purpose, version and licence."""
        super().__init__(parent, theme, "About", f"Shaftscore {version()}")
        self.say(
            "An editor for machines in which one motor does everything: timing diagram, discs that work, and "
            "the proof before anything is made."
        )
        self.say("MIT licence. Comes without any warranty; see Help > Cautions.", muted=True)
        self.say(f"Python {platform.python_version()}, Qt {qVersion()}", muted=True)
        self.set_buttons((Button("Close", default=True),))


def version() -> str:
    """Give the installed version; from a bare checkout there is none."""
    try:
        return metadata.version("shaftscore")
    except metadata.PackageNotFoundError:
        return "(not installed)"
