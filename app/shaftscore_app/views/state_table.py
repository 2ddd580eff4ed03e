"""The State table view: what every lane does in every step, written as in any grid.

Typing changes all chosen cells at once. What the diagram says beyond steps, dwells and moves is shown,
hatched and protected, until the person rewrites it on purpose. A line over the grid says why
something is refused, or what the keys do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QStackedLayout,
    QToolButton,
    QVBoxLayout,
)

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import rewrite_states
from shaftscore.edits.state_table import Reading, split_text, table_text
from shaftscore.edits.table_lanes import TableLanes, write_table
from shaftscore.model.cells import text_cell
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.runtime.files import read_within
from shaftscore_app.runtime.turns import UNPAINTED, Later
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh, copy_button
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.state_table_cells import ROW, StateCells, StateHeads
from shaftscore_app.views.state_table_model import STEPS, Place, StateTableModel, own_steps_text
from shaftscore_app.views.state_table_sheet import SheetPlace, StateSheetDialog
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.grid import Grid, Index, repeated_cells

HINT = 'Type a level or its first letter; "amber, then release" visits a level. Del: as the step before.'
HELD_MS = 100
"""While something is held the table follows so much later, ms: the drag comes first."""

EMPTY = "One row per step, one column per lane. Paste a table with its heads (Ctrl+V), or add a lane."
NO_MACHINE = "One row per step, one column per lane. Make a machine from a table, or open one."


class StateTableView(TabbedView):
    """The view: line, buttons and grid.

    Over 300 lines, since each thing that can be asked of the table is a small method of its own.

    Signals: import_wanted() when the person wants to choose a file; lanes_wanted(table, use, otherwise) when
    a table with new lanes was pasted: use takes their levels and returns a fault or an empty text, otherwise
    shows the table as it is.
    """

    import_wanted = Signal()
    lanes_wanted = Signal(object, object, object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document."""
        super().__init__()
        self._document, self._theme = document, theme
        self._fault = ""
        self.makes_lanes = False
        self._sized = 0.0
        self._sizing = Later(self, self._size, UNPAINTED)  # of many lanes it takes long
        self.model = StateTableModel(document)
        self.table = Grid("State table")
        self.cells = StateCells(theme, self.table, self._levels_of)
        self.turn_button, self.file_button = QToolButton(), QToolButton()
        self.copy_button = copy_button("the whole state table, for a spreadsheet", self.copy_all)
        self.rewrite_button = QPushButton("Rewrite lane from table")
        self.line, self.empty = QLabel(), EmptyPage(theme, EMPTY)
        self._line_text = ""
        self._build()
        self._connect()
        self._fit()

    # What can be asked of it

    def _show_now(self) -> None:
        """Show the document's lanes."""
        place = self.current
        self.model.refresh()
        self._pages.setCurrentIndex(0 if self.model.lanes else 1)
        started = self._document.is_started
        self.setFocusProxy(self.table if self.model.lanes else self.empty.button)
        self.empty.say(EMPTY if started else NO_MACHINE, first_lane(self._document))
        if self.model.lanes and self.current is None:
            item, lane = place or (STEPS, self._selected_lane())
            self.choose(min(item, self.model.items - 1), min(lane, len(self.model.lanes) - 1))
        self.copy_button.setEnabled(bool(self.model.lanes))
        if not self._document.is_previewing:  # nothing that these show changes while something is held
            self._show_heads()
            self._show_line()

    def set_across(self, across: bool) -> None:
        """Lay the steps across and the lanes down, or the usual way round."""
        place = self.current
        self.model.set_across(across)
        self.turn_button.setChecked(across)
        self._size()
        if place is not None:
            self.choose(*place)

    @property
    def current(self) -> Place | None:
        """Item and lane of the current cell."""
        index = self.table.currentIndex()
        return self.model.place(index) if index.isValid() else None

    def choose(self, item: int, lane: int) -> None:
        """Make a cell the current one: item (0 dwell, 1 move, then steps) and number of the lane."""
        self.table.setCurrentIndex(self.model.at(item, lane))

    def show_lane(self, lane_id: str) -> None:
        """Make the first step of a lane the current cell; does nothing for a lane that is not shown."""
        place = next((n for n, lane in enumerate(self.model.lanes) if lane.id == lane_id), None)
        if place is not None:
            self.choose(STEPS, place)

    def chosen(self) -> list[Place]:
        """Return item and lane of every chosen cell."""
        return [self.model.place(index) for index in self.table.selectionModel().selectedIndexes()]

    def enter(self, text: str, rows: int = 0, columns: int = 0) -> None:
        """Write a text into all chosen cells, then go on; stay where it cannot be written."""
        done = True
        current, places = self.table.currentIndex(), self.chosen()
        at = self.model.place(current)
        places = places if at in places else [at]
        if len(places) > 1 or text != self.model.edited_text(*at):
            lengths = [place for place in places if place[0] < STEPS]
            same = lengths if at[0] < STEPS else [place for place in places if place[0] >= STEPS]
            free = [place for place in same if not self.model.reading(place[1]).protected]
            done = self.model.write(dict.fromkeys(free, text))
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        if done and (rows or columns):
            self.table.go(rows, columns)

    def clear(self) -> None:
        """Empty the chosen cells: as the step before; usual lengths."""
        places = [place for place in self.chosen() if not self.model.reading(place[1]).protected]
        if places:
            self.model.write(dict.fromkeys(places, ""))

    def copy(self) -> None:
        """Copy the chosen cells as a spreadsheet does."""
        rows = self._rows_chosen()
        if rows:
            text = "\n".join(
                "\t".join(text_cell(self.model.edited_text(*place)) for place in row) for row in rows
            )
            QGuiApplication.clipboard().setText(text)

    def copy_all(self) -> None:
        """Copy the whole table with its heads."""
        text = table_text(self._document.project, across=self.model.across)
        QGuiApplication.clipboard().setText(text)

    def paste(self) -> None:
        """Write what was copied, from the current cell on; what cannot be read is shown in a dialog."""
        grid = self._split(copied_text())
        if not grid:
            return
        if len(grid) == len(grid[0]) == 1 and len(self.chosen()) > 1:
            self.enter(grid[0][0])
        else:
            cells, (item, lane) = self._pasted_at(grid)
            self.write_grid(cells, SheetPlace(self._lane_ids(lane), item - STEPS, self.model.across))

    def open_file(self, path: Path) -> None:
        """Write a table from a file (commas, semicolons or tabs); shown in a dialog before it is written."""
        try:
            text = read_within(path).decode("utf-8-sig")
        except (ProjectError, UnicodeDecodeError) as error:
            why = error.faults[0] if isinstance(error, ProjectError) else error
            self._show_fault(f"{path.name} cannot be read: {why}")
            return
        grid = self._split(text)
        if grid:
            self._show_sheet(grid, SheetPlace(self._lane_ids(0), 0, self.model.across), path.name)

    def write_grid(self, grid: Sequence[Sequence[str]], place: SheetPlace) -> None:
        """Write cells of text at a place, as one step; where some cannot be read, ask about them."""
        project = self._document.committed
        table = place.new_lanes(project, grid) if self.makes_lanes else None
        if table is not None:
            self._make_lanes(table, grid, place)
            return
        sheet = place.read(project, grid)
        if sheet.faults:
            self._show_sheet(grid, place, "")
        elif sheet.columns or sheet.timings:
            self.model.write_sheet(sheet.columns, sheet.timings)

    def _make_lanes(self, table: TableLanes, grid: Sequence[Sequence[str]], place: SheetPlace) -> None:
        """Ask for the levels of lanes that a table has and the machine has not, then write all of it."""
        document = self._document

        def use(levels: Sequence[Mapping[str, float]]) -> str:
            return commit(document, lambda: write_table(document.committed, table, levels))

        self.lanes_wanted.emit(table, use, lambda: self._show_sheet(grid, place, ""))

    def rewrite_lane(self) -> None:
        """Rewrite the current cell's lane from the table, though its timing goes."""
        place = self.current
        if place is not None:
            lane = self.model.lanes[place[1]]
            self._show_fault(
                commit(self._document, lambda: rewrite_states(self._document.committed, [lane.id]))
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Paste also while there are no lanes, and so no grid that could."""
        if event.matches(QKeySequence.StandardKey.Paste) and not self.model.lanes:
            self.paste()
        else:
            super().keyPressEvent(event)

    # Inside

    def _split(self, text: str) -> list[list[str]]:
        """Split text into cells; none where it is no table, which is told."""
        try:
            return split_text(text)
        except EditError as error:
            self._show_fault(f"Nothing was written: {error}")
            return []

    def _lane_ids(self, first: int) -> list[str]:
        return [lane.id for lane in self.model.lanes[first:]]

    def _show_sheet(self, grid: Sequence[Sequence[str]], place: SheetPlace, name: str) -> None:
        dialog = StateSheetDialog(self.window(), self._theme, self._document, grid, place=place, name=name)
        dialog.write_wanted.connect(lambda sheet: self.model.write_sheet(sheet.columns, sheet.timings))
        dialog.open()

    def _rows_chosen(self) -> list[list[Place]]:
        """Return the rectangle about the chosen cells, row by row."""
        indexes = self.table.selectionModel().selectedIndexes()
        rows, columns = [i.row() for i in indexes], [i.column() for i in indexes]
        if not indexes:
            return []
        across = range(min(columns), max(columns) + 1)
        down = range(min(rows), max(rows) + 1)
        return [[self.model.place(self.model.index(row, column)) for column in across] for row in down]

    def _pasted_at(self, grid: list[list[str]]) -> tuple[list[list[str]], Place]:
        """Return pasted cells, repeated where they fill what is chosen, and where their upper left one goes.

        Into whole lanes that are chosen they go from the first step on, unless there are lengths among them.
        """
        places = self.chosen() or [self.current or (STEPS, 0)]
        items, lanes = {item for item, _ in places}, {lane for _, lane in places}
        size = (len(items), len(lanes)) if not self.model.across else (len(lanes), len(items))
        pasted = max(len(grid), *map(len, grid))
        if len(items) == self.model.items and pasted < self.model.items:
            return grid, (STEPS, min(lanes))
        return repeated_cells(grid, *size), (min(items), min(lanes))

    def _selected_lane(self) -> int:
        """Return the number of the lane that is selected, else of the first."""
        return self._document.project.lane_index.get(self._document.selection.lane_id or "", 0)

    def _levels_of(self, index: Index) -> list[str]:
        item, lane = self.model.place(index)
        return list(self.model.lanes[lane].levels) if item >= STEPS else []

    def _choose_lane(self, now: QModelIndex, _before: QModelIndex) -> None:
        """Select the lane of the current cell, so that the other views show it."""
        self._show_fault("")
        if now.isValid() and self.table.hasFocus():
            lane_id = self.model.lanes[self.model.place(now)[1]].id
            if self._document.selection.lane_id != lane_id:
                self._document.select_lane(lane_id)

    def _turn_shaft(self, section: int, is_item: bool) -> None:
        """Turn the shaft to the start of the step whose head was clicked."""
        starts = self._document.project.shaft.step_starts_deg
        if is_item and section >= STEPS:
            self._document.set_cursor(starts[section - STEPS])

    def _mark(self, section: int, is_column: bool) -> str:
        """Return which heads are marked: the step of the shaft, the selected lane."""
        if is_column == self.model.across:
            return "now" if self.model.is_now(section) else ""
        chosen = self._document.selection.lane_id
        return "chosen" if self.model.lanes[section].id == chosen else ""

    def _show_cursor(self) -> None:
        if self._is_seen:
            self.model.show_cursor()
            self._show_heads()

    def _show_heads(self) -> None:
        for header in (self.table.horizontalHeader(), self.table.verticalHeader()):
            header.viewport().update()

    def _show_fault(self, fault: str) -> None:
        self._fault = fault
        self._show_line()

    def _show_line(self) -> None:
        """Show what stands in the way, or what the keys do."""
        place = self.current
        reading = self.model.reading(place[1]) if place is not None else None
        protected = "" if reading is None else _limits_text(reading)
        own = "" if place is None else own_steps_text(self._document.project, self.model.lanes[place[1]])
        said = self._fault or ". ".join(filter(None, [own, protected]))
        text = said or HINT
        self._line_text = text
        self._fit_line()
        self.line.setToolTip(text)
        style = f"color: {self._theme.css('error' if self._fault else 'muted')}"
        if style != self.line.styleSheet():  # setting it costs more than it looks
            self.line.setStyleSheet(style)
        self.rewrite_button.setVisible(bool(protected and reading is not None and not reading.foreign))

    def _fit_line(self) -> None:
        """Show as many words as two lines have room for; the tooltip says all of them."""
        words, line = self._line_text.split(), self.line
        line.setText(self._line_text)
        line.setAccessibleName(self._line_text)
        while len(words) > 1 and line.heightForWidth(line.width()) > line.maximumHeight():
            words.pop()
            line.setText(f"{' '.join(words)} …")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as many words as there is room for."""
        super().resizeEvent(event)
        self._fit_line()

    def _build(self) -> None:
        self.setFocusProxy(self.table)
        self.table.setModel(self.model)
        self.table.setItemDelegate(self.cells)
        for orientation in Qt.Orientation:
            self._set_header(orientation)
        _apply_style(self.turn_button, "Steps across", "Lay the steps across and the lanes down", checks=True)
        _apply_style(
            self.file_button, "Table from a file…", "Read a table that a spreadsheet saved (CSV, TSV)"
        )
        self.rewrite_button.setObjectName("link")
        self.rewrite_button.setToolTip(
            "Replace this lane's blocks by what the table shows; its own timing goes. Undo brings it back."
        )
        self.rewrite_button.hide()
        self.line.setMinimumWidth(1)
        self.line.setWordWrap(True)
        self._bar = QHBoxLayout()
        self._bar.addWidget(self.line, 1)
        self._bar.addWidget(self.rewrite_button)
        for button in (self.turn_button, self.file_button, self.copy_button):
            self._bar.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._bar)
        self._pages = QStackedLayout()
        self._pages.addWidget(self.table)
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)

    def _set_header(self, orientation: Qt.Orientation) -> None:
        header = StateHeads(orientation, self._theme, self._mark)
        is_column = orientation == Qt.Orientation.Horizontal
        header.sectionClicked.connect(lambda s: self._turn_shaft(s, is_column == self.model.across))
        if is_column:
            self.table.setHorizontalHeader(header)
        else:
            self.table.setVerticalHeader(header)
            header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def _connect(self) -> None:
        document, table = self._document, self.table
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.cursor_changed.connect(lambda _deg: self._show_cursor())
        document.cycle_changed.connect(lambda _cycle: self._show_cursor())
        document.file_changed.connect(self._forget)
        self.model.status_message.connect(self._show_fault)
        self.model.modelReset.connect(self._size)
        self.cells.entered.connect(self.enter)
        self.cells.table_pasted.connect(self.paste)
        table.copied.connect(self.copy)
        table.cut.connect(self._cut)
        table.pasted.connect(self.paste)
        table.cleared.connect(self.clear)
        table.selectionModel().currentChanged.connect(self._choose_lane)
        self.turn_button.clicked.connect(self.set_across)
        self.file_button.clicked.connect(self.import_wanted)
        self.rewrite_button.clicked.connect(self.rewrite_lane)
        self._theme.changed.connect(self._fit)

    def _cut(self) -> None:
        self.copy()
        self.clear()

    def _forget(self) -> None:
        if not self._document.can_undo:
            self.model.forget()

    def _fit(self) -> None:
        theme = self._theme
        self._bar.setContentsMargins(theme.px(12), theme.px(4), theme.px(12), theme.px(4))
        self._bar.setSpacing(theme.px(6))
        for label in (self.line, self.rewrite_button):
            label.setFont(theme.font(12))
        self.line.setFixedHeight(2 * self.line.fontMetrics().lineSpacing() + theme.px(2))
        icons = ((self.turn_button, "turn-table"), (self.file_button, "open"), (self.copy_button, "copy"))
        for button, icon in icons:
            button.setIcon(theme.icon(icon, 16, on="accent"))
            button.setIconSize(QSize(theme.px(16), theme.px(16)))
        self.table.setFont(theme.font(12, 500))
        for header in (self.table.horizontalHeader(), self.table.verticalHeader()):
            header.setFont(theme.font(12, 600))
        if self._sized != theme.u:
            self._sized = theme.u
            self._sizing.ask()
        self._show_line()

    def _size(self) -> None:
        """Set rows to one height and columns to the width of their texts."""
        self.table.verticalHeader().setDefaultSectionSize(self._theme.px(ROW))
        self.table.resizeColumnsToContents()


def _apply_style(button: QToolButton, name: str, does: str, *, checks: bool = False) -> None:
    button.setObjectName("plain")
    button.setAccessibleName(name.rstrip("…"))
    button.setToolTip(f"{name}: {does}")
    button.setCheckable(checks)


def _limits_text(reading: Reading) -> str:
    """Describe why a lane's cells cannot be edited, or what typing keeps of moves of their own."""
    if reading.protected:
        return f"Read-only: {reading.protected}."
    return f"Typing keeps each move: {reading.outgrown}." if reading.outgrown else ""
