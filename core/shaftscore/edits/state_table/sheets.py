"""Whole state tables as text: what a spreadsheet copies (tabs) or saves (commas, semicolons).

A *sheet* is cells of text. With a head it may hold any lanes in any order: the first row names lanes and
the first column steps, or the other way round; rows named Dwell and Move give lengths. Without a head its
cells are taken as they stand from a place on, lanes across and steps down.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, plain
from shaftscore.edits.state_table.reading import (
    Reading,
    level_before,
    lowest_level,
    read_states,
    with_cells,
)
from shaftscore.edits.state_table.table import Column, Timing, completed, sizes
from shaftscore.edits.state_table.typed import read_cell, read_length
from shaftscore.edits.state_table.visits import StepCell, shown_text
from shaftscore.model.cells import cell_text, text_cell
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project

Grid = Sequence[Sequence[str]]
"""Rows of cells."""

DWELL, MOVE = "Dwell", "Move"
"""Heads of the two rows of lengths."""


MOST_TEXT, MOST_ACROSS, MOST_CELLS = 2_000_000, 5_000, 200_000
"""Longest text, most rows or columns, and most cells that are read."""


@dataclass(frozen=True)
class CellFault:
    """A cell that cannot be used, counted from 0, and why."""

    row: int
    column: int
    message: str


@dataclass
class StateSheet:
    """What a sheet says: columns and timings by lane id, and the faults of its cells."""

    columns: dict[str, Column] = field(default_factory=dict)
    timings: dict[str, Timing] = field(default_factory=dict)
    faults: list[CellFault] = field(default_factory=list)


MARKS = "\t;,"
"""What may stand between cells; the first that a text has does."""


_VISIT, _KEPT = re.compile(r",(?=\s*then\b)", re.IGNORECASE), "\x1f"
"""A comma within a cell ("amber, then release"), and what stands for it while cells are split at commas."""


def split_text(text: str, marks: str = MARKS) -> list[list[str]]:
    """Split text into cells: by tabs where there are any, else semicolons, else commas; quotes as usual.

    marks: what may stand between cells, where fewer of these can. Raises EditError where there are more
    cells than any state table has, or quotes do not match.
    """
    if len(text) > MOST_TEXT:
        raise EditError(f"the table has {len(text):,} characters; {MOST_TEXT:,} are the most")
    bare = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    mark = next((mark for mark in marks if mark in bare), marks[-1])
    if mark == ",":
        bare = _VISIT.sub(_KEPT, bare)
    try:
        rows = [
            [cell_text(cell.replace(_KEPT, ",").strip()) for cell in row]
            for row in csv.reader(io.StringIO(bare.rstrip("\n")), delimiter=mark)
        ]
    except csv.Error as error:
        raise EditError(f"this is no table: {error}") from error
    wide = max(map(len, rows), default=0)
    if max(wide, len(rows)) > MOST_ACROSS or wide * len(rows) > MOST_CELLS:
        what = f"{MOST_ACROSS:,} rows or columns and {MOST_CELLS:,} cells are the most"
        raise EditError(f"the table has {len(rows):,} rows of up to {wide:,} cells; {what}")
    return rows


def cells_of(project: Project, lane: Lane) -> list[str]:
    """Return the text of a lane's cells: dwell, move, then the level of every step."""
    reading = read_states(project, lane)
    dwell = "" if reading.timing.dwell_deg is None else plain(reading.timing.dwell_deg)
    move = plain(reading.timing.move_deg)
    if reading.foreign:
        dwell = move = ""
    shown = [shown_text(cell) for cell in completed(reading.column)] or [""] * len(reading.column)
    return [dwell, move, *shown]


def table_text(project: Project, *, across: bool = False) -> str:
    """Return the whole table with its heads, tabs between cells; across: steps across, lanes down."""
    steps = [DWELL, MOVE, *step_labels(project)]
    columns = [["Step", *steps]]
    columns += [
        [name, *cells_of(project, lane)] for name, lane in zip(heads(project), project.lanes, strict=True)
    ]
    rows = columns if across else [list(row) for row in zip(*columns, strict=True)]
    out = io.StringIO()
    csv.writer(out, delimiter="\t", lineterminator="\n").writerows(map(text_cell, row) for row in rows)
    return out.getvalue()


def step_labels(project: Project) -> list[str]:
    """Name the steps: number and name."""
    names = project.shaft.step_names
    count = len(project.shaft.step_starts_deg)
    return [f"{i + 1} {names[i]}".strip() if i < len(names) else str(i + 1) for i in range(count)]


def heads(project: Project) -> list[str]:
    """Name the lanes; with their codes where several have one name."""
    count = Counter(lane.label for lane in project.lanes)
    return [f"{lane.code} {lane.label}" if count[lane.label] > 1 else lane.label for lane in project.lanes]


def read_sheet(project: Project, grid: Grid, lane_ids: Sequence[str] = (), first_step: int = 0) -> StateSheet:
    """Read a sheet; cells that cannot be used are its faults.

    lane_ids, first_step: where a sheet without a head begins: the lanes across, and the first step down
    (from 0; -1 is the row of moves, -2 that of dwells).
    """
    wide = max((len(row) for row in grid), default=0)
    cells = [[*row, *[""] * (wide - len(row))] for row in grid]
    if not wide:
        return StateSheet()
    if _names_lanes(project, cells[0]):
        return _headed(project, cells)
    if _names_lanes(project, [row[0] for row in cells]):
        turned = _headed(project, [list(row) for row in zip(*cells, strict=True)])
        turned.faults = [CellFault(fault.column, fault.row, fault.message) for fault in turned.faults]
        return turned
    return _bare(project, cells, lane_ids, first_step)


def _names_lanes(project: Project, cells: Sequence[str]) -> bool:
    """Return whether most of the cells after the first name lanes."""
    rest = [cell for cell in cells[1:] if cell]
    named = sum(lane_named(project, cell) is not None for cell in rest)
    return named > 0 and 2 * named >= len(rest)


def lane_named(project: Project, text: str) -> Lane | None:
    """Find a lane by its name (in any case), id or code, or code and name."""
    for lane in project.lanes:
        if text in (lane.id, lane.code, lane.label, f"{lane.code} {lane.label}"):
            return lane
    near = [lane for lane in project.lanes if lane.label.casefold() == text.casefold()]
    return near[0] if len(near) == 1 else None


def _headed(project: Project, cells: Grid) -> StateSheet:
    """Read a sheet whose first row names lanes and whose first column names steps."""
    sheet = StateSheet()
    steps = [_row_named(project, row[0], number, sheet) for number, row in enumerate(cells[1:], start=1)]
    seen: set[str] = set()
    for column, name in enumerate(cells[0][1:], start=1):
        texts = [row[column] for row in cells[1:]]
        if not name and not any(texts):
            continue
        lane = lane_named(project, name)
        if lane is None or lane.id in seen:
            sheet.faults.append(CellFault(0, column, _unknown_lane(project, name, lane)))
            continue
        seen.add(lane.id)
        placed = [(row, step, texts[row - 1]) for row, step in enumerate(steps, start=1) if step is not None]
        _read_lane(project, lane, placed, column, sheet)
    return sheet


def _unknown_lane(project: Project, name: str, lane: Lane | None) -> str:
    if lane is not None:
        return f'"{name}" is there twice'
    hint = did_you_mean(name, [lane.label for lane in project.lanes])
    return f'there is no lane "{name}"' + (f"; {hint}" if hint else "")


def _row_named(project: Project, text: str, number: int, sheet: StateSheet) -> int | str | None:
    """Return the step (from 0) that a row is of, or Dwell or Move; None with a fault where it is none."""
    for word in (DWELL, MOVE):
        if text.casefold() == word.casefold():
            return word
    labels = step_labels(project)
    names = [label.partition(" ")[2].casefold() for label in labels]
    first = text.casefold().removeprefix("step").split()[:1]
    if first and first[0].isdigit() and 1 <= int(first[0]) <= len(labels):
        return int(first[0]) - 1
    if text and names.count(text.casefold()) == 1:
        return names.index(text.casefold())
    sheet.faults.append(CellFault(number, 0, f'"{text}" is no step; they run from 1 to {len(labels)}'))
    return None


def _bare(project: Project, cells: Grid, lane_ids: Sequence[str], first_step: int) -> StateSheet:
    """Read a sheet without a head, from a place on."""
    sheet = StateSheet()
    for column in range(len(cells[0])):
        if column >= len(lane_ids):
            sheet.faults.append(CellFault(0, column, "there is no lane for this column"))
            continue
        lane = project.lane(lane_ids[column])
        placed = [(row, _item(first_step + row), texts[column]) for row, texts in enumerate(cells)]
        _read_lane(project, lane, placed, column, sheet)
    return sheet


def _item(step: int) -> int | str:
    return {-2: DWELL, -1: MOVE}.get(step, step)


def _read_lane(
    project: Project, lane: Lane, placed: Sequence[tuple[int, int | str, str]], column: int, sheet: StateSheet
) -> None:
    """Read cells of one lane: row of the sheet, step (or Dwell or Move) and text of each."""
    reading = read_states(project, lane)
    if not any(text for _, _, text in placed):
        return
    if reading.protected:
        told = f"{lane.label} is more than the state table can say: {reading.protected}"
        sheet.faults.append(CellFault(placed[0][0], column, told))
        return
    levels: dict[int, StepCell] = {}
    lengths: dict[str, float | None] = {}
    for row, step, text in placed:
        try:
            if isinstance(step, str):
                lengths[step] = _length(project, lane, step, text)
            elif step >= len(reading.column):
                if not text:
                    continue
                raise EditError(f"there are {len(reading.column)} steps; this would be step {step + 1}")
            else:
                before = _before(reading, levels, step) or lowest_level(lane.levels)
                levels[step] = read_cell(text, lane.levels, lane.label, before)
        except EditError as error:
            sheet.faults.append(CellFault(row, column, str(error)))
    if any(level is not None for level in levels.values()):
        sheet.columns[lane.id] = with_cells(lane, reading, levels)
    if lengths:
        sheet.timings[lane.id] = _timing(reading, lengths)


def _before(reading: Reading, typed: Mapping[int, StepCell], step: int) -> str | None:
    """Return the level at which the step before ends, as it is read."""
    cells: list[StepCell] = list(completed(reading.column)) or [None] * len(reading.column)
    return level_before([typed.get(number, cell) for number, cell in enumerate(cells)], step)


def _length(project: Project, lane: Lane, word: str, text: str) -> float | None:
    step = min(sizes(project.shaft.step_starts_deg))
    turns, shaft = project.rate_of(lane), project.shaft
    return read_length(text, step_deg=step, speed_rpm=shaft.speed_rpm, turns=turns, name=word)


def _timing(reading: Reading, lengths: Mapping[str, float | None]) -> Timing:
    """Return the timing with other lengths; an empty move keeps its own."""
    move = lengths.get(MOVE)
    dwell = lengths.get(DWELL, reading.timing.dwell_deg)
    return Timing(dwell, reading.timing.move_deg if move is None else move)
