"""The page of lanes: a grid with a row a lane, its name, its group and its levels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from shaftscore.base.errors import EditError
from shaftscore.base.wording import plain
from shaftscore.edits.first_draft import LaneWish, is_state_table, read_levels
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.grid import Index
from shaftscore_app.widgets.text_grid import TextGrid, TextModel

HEADS = ("Lane", "Group", "Levels, lowest first")
NAME, GROUP, LEVELS = range(3)
USUAL = "closed, open"
"""Levels of a lane where none are typed."""


class LanesModel(TextModel):
    """The cells, as text."""

    def __init__(self, theme: Theme) -> None:
        """Begin without a lane."""
        super().__init__(theme, HEADS)

    def assumed(self, row: int, column: int) -> str:
        """Return the usual levels where a lane has none typed."""
        return USUAL if column == LEVELS and self._rows[row][NAME] else ""

    def lanes(self) -> tuple[LaneWish, ...]:
        """Return the lanes. Raises EditError with the row at fault."""
        wishes = []
        for number, (name, group, levels) in enumerate(self.texts(), start=1):
            if not name and not levels:
                continue
            if not name:
                raise EditError(f"Row {number} has levels but no lane")
            wishes.append(LaneWish(name, group, read_levels(levels or USUAL, name)))
        return tuple(wishes)


def levels_text(levels: Mapping[str, float]) -> str:
    """Write levels, name to height in mm, as they are read."""
    return ", ".join(f"{level} {plain(mm)}" for level, mm in levels.items())


class LanesGrid(TextGrid):
    """The grid; a table of states that is pasted here is no rows of lanes."""

    def fits(self, grid: Sequence[Sequence[str]], column: int) -> bool:
        """Return whether pasted cells are names, groups and levels."""
        return super().fits(grid, column) and not is_state_table(grid)


class LanesPage(QWidget):
    """The page. Signals: table_wanted(text) when a whole table was pasted; file_wanted() to choose one."""

    table_wanted = Signal(str)
    file_wanted = Signal()

    def __init__(self, theme: Theme) -> None:
        """Make the page without lanes."""
        super().__init__()
        self.model = LanesModel(theme)
        self.grid = LanesGrid(theme, "Lanes: name, group, levels", self.model, self._words_of, marks="\t")
        self.paste_button = _button(
            theme, "Paste a table", "Heads are the lanes, words below them their levels"
        )
        self.file_button = _button(theme, "Table from a file…", "CSV or TSV, as a spreadsheet saves it")
        self.paste_button.clicked.connect(lambda: self.table_wanted.emit(copied_text()))
        self.file_button.clicked.connect(self.file_wanted)
        self.grid.paste_refused.connect(self.table_wanted)
        column, row = QVBoxLayout(self), QHBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.grid, 1)
        row.addWidget(self.paste_button)
        row.addWidget(self.file_button)
        row.addStretch(1)
        column.addLayout(row)
        self.setFocusProxy(self.grid)

    def show_lanes(self, wishes: Sequence[LaneWish]) -> None:
        """Show other lanes in place of all."""
        self.model.replace([(wish.name, wish.group, levels_text(wish.levels)) for wish in wishes])
        self.grid.setCurrentIndex(self.model.index(0, NAME))

    # Inside

    def _words_of(self, index: Index) -> list[str]:
        return [] if index.column() == NAME else self.model.words(index.column())


def _button(theme: Theme, text: str, tip: str) -> QPushButton:
    button = QPushButton(text)
    button.setFont(theme.font(12))
    button.setToolTip(tip)
    button.setAutoDefault(False)
    return button
