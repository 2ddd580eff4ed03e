"""Help: the shortcut sheet, the cautions, and what this program is."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from importlib import metadata

from PySide6.QtCore import Qt, qVersion
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QMessageBox,
    QPlainTextEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from shaftscore_app.menus.actions import BENCH, COMMANDS, MENUS, MOUSE, NETWORK, PROGRAM, TABLE, key_text
from shaftscore_app.runtime.licences import notices_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog

CAUTIONS = (
    (
        "Turning parts pinch.",
        "Keep fingers, hair, sleeves and cables away from discs, followers and gears while "
        "the shaft can turn. Guard what others can reach.",
    ),
    (
        "Springs store energy.",
        "A follower can snap back when its disc is removed. Unhook the springs first, and "
        "wear eye protection.",
    ),
    (
        "Stalled motors grow hot.",
        "A motor that is held still draws its stall current: fuse it, and stop it by "
        "itself after a time. A geared motor can be strong enough to break fingers.",
    ),
    (
        "A turn by hand turns everything.",
        "Cut the power and remove the crank before you reach in. A part held up by a disc can fall.",
    ),
    (
        "Printed parts break.",
        "Layers part, plastics creep, soften when warm and tire with every turn. Try a new machine at low "
        "speed, behind a guard; inspect levers, hubs and dogs for cracks after its first hour and then at "
        "intervals (Check > Wear), and replace them in good time.",
    ),
    (
        "Visitors and children reach in.",
        "At an exhibition put the machine behind a guard that only a tool opens, with no gap that a finger "
        "enters, no small part within reach and a stop that everybody can reach; let somebody watch. "
        "Local rules for toys, playthings and exhibits come first.",
    ),
    (
        "A computed proof is not a measured one.",
        "Findings, margins and proofs are about the numbers in the file. "
        "Measure the built machine before anybody depends on it. Follow the local codes for machines, "
        "electricity and food, and have licensed people do what they are licensed for.",
    ),
)
"""Hazards of such machines, and precautions: the usual cautions of the trade."""

Rows = Sequence[tuple[str, str]]
"""Rows of the sheet: what, and by which keys or moves."""


SHEET, LEAST_SHEET = (1180, 640), 1000
"""Size of the shortcut sheet, and its least width in columns, px of the design."""


class ShortcutsDialog(Dialog):
    """All keys and mouse moves, from the table of commands."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Lay the sheet out in three columns; one below the other where the screen is too narrow."""
        super().__init__(parent, theme, "Shortcuts")
        room = self.screen().availableSize()
        wide, high = min(theme.px(SHEET[0]), room.width() - theme.px(96)), theme.px(SHEET[1])
        sheet = QWidget()
        sideways = wide >= theme.px(LEAST_SHEET)
        columns = QHBoxLayout(sheet) if sideways else QVBoxLayout(sheet)
        columns.setSpacing(theme.px(24))
        for menus in (("file", "edit", "lane", "block"), ("machine", "prove", "view", "help")):
            columns.addLayout(self._column([(_plain(MENUS[menu]), _keyed(menu)) for menu in menus]))
        views = (
            ("In the diagram", MOUSE),
            ("In the state table", TABLE),
            ("In the Program maker", PROGRAM),
            ("In Bring-up", BENCH),
            ("In the network of the flow", NETWORK),
        )
        columns.addLayout(self._column(views), 1)
        scroll = QScrollArea()
        scroll.setWidget(sheet)
        scroll.setWidgetResizable(True)
        scroll.setMinimumSize(wide, min(high, room.height() - theme.px(160)))
        self.body.addWidget(scroll)
        self.set_buttons((Button("Close", default=True),))
        self.resize(self.minimumSizeHint())  # Qt itself would take two thirds of the screen at most

    def _column(self, parts: Sequence[tuple[str, Rows]]) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(self._theme.px(12))
        grid.setVerticalSpacing(self._theme.px(3))
        grid.setColumnStretch(1, 1)
        row = 0
        for head, rows in parts:
            if rows:
                row = self._add_rows(grid, head, rows, row)
        grid.setRowStretch(row, 1)
        return grid

    def _add_rows(self, grid: QGridLayout, head: str, rows: Rows, row: int) -> int:
        """Add a heading and its rows; returns the next free row."""
        title = QLabel(head)
        title.setFont(self._theme.font(12, 600))
        title.setContentsMargins(0, self._theme.px(8) if row else 0, 0, 0)
        grid.addWidget(title, row, 0, 1, 2)
        for offset, (what, keys) in enumerate(rows, start=1):
            for column, text, name in ((0, what, ""), (1, keys, "muted")):
                label = QLabel(text)
                label.setObjectName(name)
                label.setFont(self._theme.font(12))
                label.setWordWrap(rows in (MOUSE, TABLE, PROGRAM, BENCH, NETWORK))
                label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
                grid.addWidget(label, row + offset, column)
        return row + len(rows) + 1


def _plain(title: str) -> str:
    return title.replace("&", "").rstrip("…")


def _keyed(menu: str) -> Rows:
    """Return the commands of a menu that have keys."""
    rows = ((_plain(command.title), key_text(command)) for command in COMMANDS if command.menu == menu)
    return tuple((title, keys) for title, keys in rows if keys)


class CautionsDialog(Dialog):
    """What can hurt."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Show the message."""
        super().__init__(parent, theme, "Cautions", "Before you build and run a machine")
        self.say("".join(f"<p><b>{head}</b> {text}</p>" for head, text in CAUTIONS))
        self.setMinimumWidth(theme.px(560))
        self.set_buttons((Button("Close", default=True),))


class AboutDialog(Dialog):
    """What this program is."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Show name, purpose, version and licence."""
        super().__init__(parent, theme, "About", f"Shaftscore {version()}")
        self.say(
            "An editor for machines in which one motor does everything: timing diagram, discs that work, and "
            "the proof before anything is made."
        )
        self.say("MIT licence. Comes without any warranty; see Help > Cautions.", muted=True)
        self.say(f"Python {platform.python_version()}, Qt {qVersion()} under the LGPL, version 3", muted=True)
        self.set_buttons(
            (
                Button("Licences…", lambda: LicencesDialog(parent, theme).open(), stays=True),
                Button("About Qt", lambda: QMessageBox.aboutQt(self), stays=True),
                Button("Close", default=True),
            )
        )


class LicencesDialog(Dialog):
    """The licences of the libraries that the program stands on."""

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        """Show them, whole."""
        super().__init__(parent, theme, "Licences", "Libraries used by Shaftscore")
        self.text = QPlainTextEdit(notices_text())
        self.text.setReadOnly(True)
        self.text.setFont(theme.font(11))
        self.text.setAccessibleName("Licences")
        self.text.setMinimumSize(theme.px(560), theme.px(360))
        self.body.addWidget(self.text)
        self.set_buttons((Button("Close", default=True),))


def version() -> str:
    """Return the installed version; from a bare checkout there is none."""
    try:
        return metadata.version("shaftscore")
    except metadata.PackageNotFoundError:
        return "(not installed)"
