"""The dialog of a pasted or opened table: its cells as text, those at fault marked, and why.

Cells can be corrected in place; each change reads all of it again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QLabel, QListWidget, QTableWidget, QTableWidgetItem, QWidget

from shaftscore.base.wording import counted
from shaftscore.edits.state_table import CellFault, StateSheet, read_sheet
from shaftscore.edits.table_lanes import TableLanes, is_headed, lanes_of_table
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import muted
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog

WRITE, REST = "Write into the table", "Write without the marked cells"


@dataclass(frozen=True)
class SheetPlace:
    """Where cells without heads go: lanes (ids), first step (-2 dwell, -1 move); across: lanes go down."""

    lane_ids: Sequence[str]
    first_step: int = 0
    across: bool = False

    def read(self, project: Project, grid: Sequence[Sequence[str]]) -> StateSheet:
        """Read cells of text at this place."""
        if not self.across:
            return read_sheet(project, grid, self.lane_ids, self.first_step)
        sheet = read_sheet(project, _turned(grid), self.lane_ids, self.first_step)
        sheet.faults = [CellFault(fault.column, fault.row, fault.message) for fault in sheet.faults]
        return sheet

    def new_lanes(self, project: Project, grid: Sequence[Sequence[str]]) -> TableLanes | None:
        """Return the lanes of a table that the machine does not have; None where it has them all."""
        turned = _turned(grid)
        if is_headed(project, turned) and not is_headed(project, grid):
            return lanes_of_table(project, turned)
        placed = turned if self.across and not is_headed(project, grid) else grid
        return lanes_of_table(project, placed, self.lane_ids, self.first_step)


def _turned(grid: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return cells with rows for columns; short rows are filled."""
    wide = max(map(len, grid), default=0)
    return [[row[i] if i < len(row) else "" for row in grid] for i in range(wide)]


class StateSheetDialog(Dialog):
    """The dialog. Signals: write_wanted(sheet) with what shall be written."""

    write_wanted = Signal(object)

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        grid: Sequence[Sequence[str]],
        *,
        place: SheetPlace,
        name: str,
    ) -> None:
        """Show cells of text; name: of their file, empty where they were pasted."""
        heading = f"Write {name} into the state table?" if name else "Some of these cells cannot be read"
        super().__init__(parent, theme, "State table", heading)
        self._document, self._place = document, place
        self.sheet = StateSheet()
        wide = max((len(row) for row in grid), default=0)
        self.table, self.faults = QTableWidget(len(grid), wide), QListWidget()
        self._count = QLabel()
        self._build(grid)
        self.set_buttons(
            (
                Button("Cancel"),
                Button(REST, lambda: self.write_wanted.emit(self.sheet)),
                Button(WRITE, lambda: self.write_wanted.emit(self.sheet), default=True),
            )
        )
        self.table.cellChanged.connect(lambda _row, _column: self.refresh())
        self.faults.itemClicked.connect(lambda item: self._go(self.faults.row(item)))
        self.faults.itemActivated.connect(lambda item: self._go(self.faults.row(item)))
        self.refresh()
        self.resize(theme.px(760), theme.px(480))

    def grid(self) -> list[list[str]]:
        """Return the cells as they are now."""
        columns = range(self.table.columnCount())
        return [
            [self._item(row, column).text() for column in columns] for row in range(self.table.rowCount())
        ]

    def refresh(self) -> None:
        """Read the cells again and mark those at fault."""
        self.sheet = self._place.read(self._document.committed, self.grid())
        why = {(fault.row, fault.column): fault.message for fault in self.sheet.faults}
        with muted(self.table):
            for row in range(self.table.rowCount()):
                for column in range(self.table.columnCount()):
                    self._mark(self._item(row, column), why.get((row, column), ""))
        self.faults.clear()
        self.faults.addItems([self._said(fault) for fault in self.sheet.faults])
        found, some = len(why), bool(self.sheet.columns or self.sheet.timings)
        lanes = len({*self.sheet.columns, *self.sheet.timings})
        cells = (
            f"{counted(found, 'cell')} cannot be read; correct them here." if found else "Every cell is read."
        )
        self._count.setText(f"{cells} {counted(lanes, 'lane')} will be written.")
        self.button(WRITE).setEnabled(some and not found)
        self.button(REST).setEnabled(some and bool(found))

    # Inside

    def _item(self, row: int, column: int) -> QTableWidgetItem:
        item = self.table.item(row, column)
        if item is None:
            item = QTableWidgetItem("")
            self.table.setItem(row, column, item)
        return item

    def _mark(self, item: QTableWidgetItem, why: str) -> None:
        theme = self._theme
        item.setBackground(theme.color("error-soft" if why else "field"))
        item.setForeground(theme.color("error" if why else "text"))
        item.setIcon(theme.icon("severity-error", 12, "error") if why else QIcon())
        item.setToolTip(why)

    def _said(self, fault: CellFault) -> str:
        return f"Row {fault.row + 1}, column {fault.column + 1}: {fault.message}"

    def _go(self, number: int) -> None:
        fault = self.sheet.faults[number]
        self.table.setCurrentCell(fault.row, fault.column)
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _build(self, grid: Sequence[Sequence[str]]) -> None:
        theme = self._theme
        self.table.setAccessibleName("Cells of the table")
        self.table.setFont(theme.font(12))
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().setDefaultSectionSize(theme.px(24))
        columns = [str(number + 1) for number in range(self.table.columnCount())]
        self.table.setHorizontalHeaderLabels(columns)
        for row, cells in enumerate(grid):
            for column, text in enumerate(cells):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.table.resizeColumnsToContents()
        self.faults.setAccessibleName("Unreadable")
        self.faults.setFont(theme.font(12))
        self.faults.setWordWrap(True)
        self._count.setFont(theme.font(12))
        self.body.addWidget(self.table, 3)
        self.body.addWidget(self._count)
        self.body.addWidget(self.faults, 1)
