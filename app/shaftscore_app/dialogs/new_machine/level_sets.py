"""The dialog that asks once for the order and heights of the levels that a pasted table names."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import zip_longest

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHeaderView, QWidget

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, listed
from shaftscore.edits.first_draft import read_levels, spaced
from shaftscore.edits.level_sets import LevelSet
from shaftscore_app.dialogs.new_machine.lanes import levels_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.grid import Index
from shaftscore_app.widgets.text_grid import TextGrid, TextModel

TAKE = "Create lanes"
LANES, LEVELS = 0, 1
MOST_NAMED = 4
"""So many lanes are named in a row."""

EXPLAINED = (
    "Lanes with the same words get the same levels. Write the levels of each row from the lowest to the "
    "highest, with their heights in mm."
)

Levels = Sequence[Mapping[str, float]]


class LevelSetsModel(TextModel):
    """A row for each level set; the lanes in it can only be read."""

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let the levels be edited."""
        editable = Qt.ItemFlag.ItemIsEditable
        return super().flags(index) if index.column() == LEVELS else super().flags(index) & ~editable


class LevelSetsDialog(Dialog):
    """The dialog. It stays open, and says why, where levels cannot be read."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        sets: Sequence[LevelSet],
        *,
        replaced: int,
        use: Callable[[Levels], str],
        known: Sequence[Mapping[str, float] | None] = (),
    ) -> None:
        """Ask about level sets.

        replaced: how many lanes give way to those of the table. use: takes the levels of each set, and
        returns a fault or an empty text. known: levels to begin with of each set, mm; None for none.
        """
        super().__init__(parent, theme, "Levels of the table", "How high are the levels?")
        self._sets, self._use = tuple(sets), use
        self.model = LevelSetsModel(theme, ("Lanes", "Levels, lowest first"))
        self.grid = TextGrid(
            theme, "Levels: lanes, levels from the lowest", self.model, lambda _i: [], marks="\t"
        )
        begun = [own or spaced(one.words) for own, one in zip_longest(known, sets)]
        self._build(replaced, begun)

    @property
    def fault(self) -> str:
        """What stands in the way, as shown."""
        return self._fault.text()

    def levels(self) -> Levels:
        """Return the levels of each set, name to height in mm. Raises EditError with what cannot be read."""
        texts = self.model.texts()
        return [read_levels(texts[row][LEVELS], _lanes_of(one)) for row, one in enumerate(self._sets)]

    # Inside

    def _take(self) -> None:
        try:
            fault = self._use(self.levels())
        except EditError as error:
            fault = str(error)
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)

    def _build(self, replaced: int, begun: Levels) -> None:
        px = self._theme.px
        self.say(EXPLAINED, muted=True)
        rows = [(_lanes_of(one), levels_text(own)) for one, own in zip(self._sets, begun, strict=True)]
        self.model.replace(rows)
        header = self.grid.horizontalHeader()
        header.setSectionResizeMode(LANES, QHeaderView.ResizeMode.ResizeToContents)
        self.grid.setCurrentIndex(self.model.index(0, LEVELS))
        self.body.addWidget(self.grid, 1)
        if replaced:
            self.say(f"{counted(replaced, 'lane')} of the assistant will be replaced by those of the table.")
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.set_buttons((Button("Cancel"), Button(TAKE, self._take, default=True, stays=True)))
        self.resize(px(620), px(380))
        self.grid.setFocus(Qt.FocusReason.OtherFocusReason)


def _lanes_of(one: LevelSet) -> str:
    """Name the lanes of a set, by the first ones where there are many."""
    if len(one.lanes) <= MOST_NAMED:
        return listed(one.lanes)
    return f"{', '.join(one.lanes[: MOST_NAMED - 1])} and {len(one.lanes) - MOST_NAMED + 1} more"
