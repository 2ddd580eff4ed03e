"""The cells of the state table: steps down and lanes across, or the other way round.

An *item* is what stands in a row of the usual way: 0 the dwell of a visit, 1 the length of a move, from 2 on
the steps. Lanes are read back from the diagram; one that did not change is not read again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt, Signal

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, plain
from shaftscore.edits import Edited, write_states
from shaftscore.edits.state_table import (
    THEN,
    Column,
    Reading,
    StepCell,
    Timing,
    completed,
    ending,
    heads,
    level_before,
    levels_of,
    lowest_level,
    read_cell,
    read_length,
    read_states,
    shown_text,
    step_at,
    step_labels,
    usual_timing,
    with_cells,
)
from shaftscore.edits.state_table.table import sizes
from shaftscore.model import Lane, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.widgets.grid import Index

Place = tuple[int, int]
"""An item and the number of a lane."""

DWELL, MOVE, STEPS = 0, 1, 2
"""The items that are lengths, and the first step."""

CELL = Qt.ItemDataRole.UserRole
"""Role under which a `Cell` is found."""

MASTER = ""
"""Stands for the master shaft where stacks are named."""

MEANINGS = {
    DWELL: "How long a dwell of one step lasts, in the middle of its step; empty: what the moves leave",
    MOVE: "Duration of each move; it is centred on the start of the step unless the dwell row differs",
}


@dataclass(frozen=True)
class Cell:
    """What a cell shows.

    text: level or length; quiet: that goes on from the step before, or a length that nobody set. rank, ranks:
    of the level among the lane's, lowest 0 (-1: none). now: the shaft stands in this step. protected: why it
    cannot be edited. crowded: it holds more than a cell can say.
    """

    text: str
    quiet: bool = False
    rank: int = -1
    ranks: int = 0
    now: bool = False
    protected: str = ""
    crowded: bool = False


class StateTableModel(QAbstractTableModel):
    """The cells. It has many small methods, since Qt asks for everything one by one.

    Signals: status_message(sentence) with why a cell could not be written, empty after one that could.
    """

    status_message = Signal(str)

    def __init__(self, document: Document) -> None:
        """Show a document's lanes, steps down."""
        super().__init__()
        self._document = document
        self._project: Project = document.project
        self._readings: dict[str, tuple[Lane, object, Reading]] = {}
        self._wanted: dict[str, Timing] = {}
        self._labels: tuple[list[str], list[str]] = ([], [])
        self._now: dict[str, int] = {}  # by stack, and of the master
        self.across = False
        self.refresh()

    # What is shown

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """The lanes, in order."""
        return self._project.lanes

    @property
    def items(self) -> int:
        """How many items there are."""
        return len(self._labels[0])

    def reading(self, lane: int) -> Reading:
        """Return the reading of a lane by its number."""
        return self._readings[self.lanes[lane].id][2]

    def timing(self, lane: int) -> Timing:
        """Return a lane's lengths; what was typed counts where the blocks tell none yet."""
        reading = self.reading(lane)
        return reading.timing if reading.timed else self._wanted.get(self.lanes[lane].id, reading.timing)

    def place(self, index: Index) -> Place:
        """Return item and lane of a cell."""
        return (index.column(), index.row()) if self.across else (index.row(), index.column())

    def at(self, item: int, lane: int) -> QModelIndex:
        """Return the cell of an item and a lane."""
        return self.index(lane, item) if self.across else self.index(item, lane)

    def refresh(self) -> None:
        """Show the document's lanes as they are now."""
        project = self._document.project
        labels = (["Dwell", "Move", *step_labels(project)], heads(project))
        is_other = labels != self._labels or [x.id for x in project.lanes] != [x.id for x in self.lanes]
        if is_other:
            self.beginResetModel()
        self._project, self._labels = project, labels
        others = self._read()
        self._find_now()
        if is_other:
            self.endResetModel()
            return
        for lane in others:
            self.dataChanged.emit(self.at(0, lane), self.at(self.items - 1, lane))

    def set_across(self, across: bool) -> None:
        """Lay the steps across (the lanes down), or down."""
        self.beginResetModel()
        self.across = across
        self.endResetModel()

    def forget(self) -> None:
        """Forget lengths typed for lanes without blocks: another project is open."""
        self._wanted.clear()

    def show_cursor(self) -> None:
        """Mark the step in which the shaft stands."""
        before = dict(self._now)
        self._find_now()
        if before != self._now and self.lanes:
            self._show_all()

    def is_now(self, item: int) -> bool:
        """Return whether the master shaft stands in the step of an item."""
        return item == STEPS + self._now.get(MASTER, -1)

    # Qt's side

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else (len(self.lanes) if self.across else self.items)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the columns."""
        return 0 if parent.isValid() else (self.items if self.across else len(self.lanes))

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let what is not protected be edited."""
        plain_flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        protected = self.reading(self.place(index)[1]).protected
        return plain_flags if protected else plain_flags | Qt.ItemFlag.ItemIsEditable

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name steps and lanes."""
        is_lane = (orientation == Qt.Orientation.Horizontal) != self.across
        labels = self._labels[1 if is_lane else 0]
        if not 0 <= section < len(labels):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return labels[section]
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._lane_tip(section) if is_lane else MEANINGS.get(section, f"Step {labels[section]}")
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return what a cell shows, says aloud, or begins to edit with."""
        item, lane = self.place(index)
        if role == CELL:
            return self.cell(item, lane)
        if role == Qt.ItemDataRole.DisplayRole:
            return self.cell(item, lane).text
        if role == Qt.ItemDataRole.EditRole:
            return self.edited_text(item, lane)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._tip(item, lane)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            cell = self.cell(item, lane)
            words = [self._labels[1][lane], self._labels[0][item], cell.text or "empty"]
            return ", ".join(words + ["protected"] * bool(cell.protected))
        return None

    # Cells

    def cell(self, item: int, lane: int) -> Cell:
        """Return what a cell shows."""
        reading = self.reading(lane)
        if item < STEPS:
            return self._length_cell(item, lane, reading)
        step, cells = item - STEPS, completed(reading.column)
        now = step == self._now.get(self._project.stack_of(self.lanes[lane]).id)
        if not cells:
            return Cell("", now=now, protected=reading.protected)
        crowded, heights = reading.crowded.get(step), self.lanes[lane].levels
        height = heights[levels_of(cells[step])[0]]
        return Cell(
            THEN.join(crowded) if crowded else shown_text(cells[step]),
            quiet=not crowded and cells[step] == ending(cells[step - 1]),
            rank=-1 if crowded else sum(other < height for other in heights.values()),
            ranks=len(heights),
            now=now,
            protected=reading.protected,
            crowded=bool(crowded),
        )

    def level_into(self, index: Index) -> str | None:
        """Return the level at which a lane comes into the step of a cell; None where nothing says it."""
        item, lane = self.place(index)
        return level_before(self.reading(lane).column, item - STEPS) if item >= STEPS else None

    def edited_text(self, item: int, lane: int) -> str:
        """Return the text with which editing a cell begins, and which is copied of it."""
        if item == DWELL:
            dwell = self.timing(lane).dwell_deg
            return "" if dwell is None else plain(dwell)
        return plain(self.timing(lane).move_deg) if item == MOVE else self.cell(item, lane).text

    def _length_cell(self, item: int, lane: int, reading: Reading) -> Cell:
        if reading.incomplete:
            return Cell("", protected=reading.incomplete)
        timing = self.timing(lane)
        if item == MOVE:
            return Cell(f"{plain(timing.move_deg, 2)}°", quiet=not reading.timed)
        if timing.dwell_deg is not None:
            return Cell(f"{plain(timing.dwell_deg, 2)}°")
        lengths = sizes(self._project.shaft.step_starts_deg)
        even = max(lengths) - min(lengths) < 1e-6 * max(lengths)
        rest = max(0.0, lengths[0] - timing.move_deg)
        return Cell(f"{plain(rest, 2)}°" if even else "rest", quiet=True)

    # Writing

    def write(self, cells: Mapping[Place, str]) -> bool:
        """Write typed texts into cells as one step; tell whether it was done."""
        wanted: dict[str, Timing] = {}

        def make() -> Edited:
            columns: dict[str, Column] = {}
            for lane in sorted({lane for _, lane in cells}):
                typed = {item: text for (item, at), text in cells.items() if at == lane}
                self._read_typed(lane, typed, columns, wanted)
            kept = {
                **wanted,
                **{x: self._wanted[x] for x in columns if x in self._wanted and x not in wanted},
            }
            return write_states(self._document.committed, columns, kept)

        return self._commit(make, wanted)

    def write_sheet(self, columns: Mapping[str, Column], timings: Mapping[str, Timing]) -> bool:
        """Write whole columns as one step; tell whether it was done."""
        return self._commit(lambda: write_states(self._document.committed, columns, timings), dict(timings))

    def _commit(self, make: Callable[[], Edited], wanted: Mapping[str, Timing]) -> bool:
        fault = commit(self._document, make)
        if not fault:
            self._wanted.update(wanted)
            self.refresh()
            if wanted:
                self._show_all()
        self.status_message.emit(fault)
        return not fault

    def _read_typed(
        self, number: int, typed: Mapping[int, str], columns: dict[str, Column], wanted: dict[str, Timing]
    ) -> None:
        """Read what was typed for one lane."""
        lane, reading = self.lanes[number], self.reading(number)
        if reading.protected:
            raise EditError(f"{lane.label} is more than this table can say: {reading.protected}")
        steps: dict[int, StepCell] = {}
        for item in sorted(item for item in typed if item >= STEPS):
            steps[item - STEPS] = self._read_cell(lane, reading, steps, item - STEPS, typed[item])
        if steps:
            columns[lane.id] = with_cells(lane, reading, steps)
        if DWELL in typed or MOVE in typed:
            wanted[lane.id] = self._typed_timing(number, typed)

    @staticmethod
    def _read_cell(
        lane: Lane, reading: Reading, typed: Mapping[int, StepCell], step: int, text: str
    ) -> StepCell:
        """Read what was typed into a step, counted from 0; typed: the steps that were read before it."""
        cells: list[StepCell] = list(completed(reading.column)) or [None] * len(reading.column)
        before = level_before([typed.get(number, cell) for number, cell in enumerate(cells)], step)
        return read_cell(text, lane.levels, lane.label, before or lowest_level(lane.levels))

    def _typed_timing(self, number: int, typed: Mapping[int, str]) -> Timing:
        shaft, old = self._project.shaft, self.timing(number)
        step = min(sizes(shaft.step_starts_deg))

        def length(item: int, name: str) -> float | None:
            turns = float(self._project.rate_of(self.lanes[number]))
            return read_length(typed[item], step_deg=step, speed_rpm=shaft.speed_rpm, turns=turns, name=name)

        dwell = length(DWELL, "Dwell") if DWELL in typed else old.dwell_deg
        move = length(MOVE, "Move") if MOVE in typed else old.move_deg
        return Timing(dwell, usual_timing(shaft.step_starts_deg).move_deg if move is None else move)

    # Inside

    def _read(self) -> list[int]:
        """Read the lanes that are others than before, and give their numbers."""
        project, before, others = self._project, self._readings, []
        self._readings = {}
        for number, lane in enumerate(project.lanes):
            known = before.get(lane.id)
            if known is not None and known[0] is lane and known[1] is project.shaft and lane.disc_of is None:
                self._readings[lane.id] = known
            else:
                self._readings[lane.id] = (lane, project.shaft, read_states(project, lane))
                others.append(number)
        return others

    def _find_now(self) -> None:
        starts, document = self._project.shaft.step_starts_deg, self._document
        self._now = {MASTER: step_at(starts, wrap(document.cursor_deg))}
        if document.project is not self._project:
            return
        self._now |= {
            stack.id: step_at(starts, wrap(document.own_deg_of(stack))) for stack in self._project.stacks
        }

    def _show_all(self) -> None:
        last = self.index(self.rowCount() - 1, self.columnCount() - 1)
        self.dataChanged.emit(self.index(0, 0), last)

    def _lane_tip(self, lane: int) -> str:
        own, reading = self.lanes[lane], self.reading(lane)
        lines = [f"{own.label}: {', '.join(own.levels) or 'no levels'}"]
        lines += filter(None, [own_steps_text(self._project, own)])
        if reading.protected:
            lines.append(f"Read-only: {reading.protected}")
        return "\n".join(lines)

    def _tip(self, item: int, lane: int) -> str:
        cell = self.cell(item, lane)
        if cell.protected:
            return f"Read-only: {cell.protected}"
        if item in MEANINGS:
            return MEANINGS[item]
        return f"{self._labels[1][lane]}, step {self._labels[0][item]}: {cell.text or 'nothing yet'}"


def own_steps_text(project: Project, lane: Lane) -> str:
    """Describe that the steps of a lane are those of its own turn; empty where that is the master's."""
    stack = project.stack_of(lane)
    rate = project.rates[stack.id]
    if rate == 1 and stack.steps_from is None:
        return ""
    often = f"{rate.numerator} times" if rate.numerator > 1 else "once"
    per = "a cycle" if rate.denominator == 1 else f"in {counted(rate.denominator, 'cycle')}"
    return f"Its shaft turns {often} {per}; these are the steps of its own turn"
