"""Points of a lane that moves by a table: reading them from comma-separated text, and setting them.

The table is as spreadsheets write it: a head line `theta_deg,output_mm`, then a line a point, separated by
commas, semicolons or tabs. With semicolons or tabs a number may have a decimal comma.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence

from pydantic import ValidationError

from shaftscore.base.angles import TURN
from shaftscore.base.errors import Fault, ProjectError
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.base.wording import counted, parse_number, plain
from shaftscore.edits.base import Edited, changed, consistent, lane_of, with_lane
from shaftscore.model.faults import faults_of, shown
from shaftscore.model.lanes import MotionPoint
from shaftscore.model.project import Project

HEADS = ("theta_deg", "output_mm")
"""Head of the table."""

LEAST, MOST = 3, 10_000
"""Fewest and most points of a lane."""

MOST_FAULTS = 20
"""Reading stops after this many faults."""

MOST_LINES = 100_000
"""Most lines of a table, empty ones too."""

MOST_WIDE = 200_000
"""Most characters of a line."""

_LINE = re.compile(r"([^\r\n]*)(?:\r\n|\r|\n|$)")

_Rows = Iterable[tuple[int, list[str]]]
"""Numbers and cells of lines."""


def read_points(data: bytes, source: str) -> tuple[MotionPoint, ...]:
    """Read points from the bytes of a table, sorted by angle; source names it in faults.

    A last point at 360 that repeats the first one's output is left out. Raises ProjectError with the
    faults, each with its line; lines below `MOST_FAULTS` faults, or below too many points, are not read.
    """
    return _points(_rows(data, source), source, "line")


def points_of(rows: Sequence[Sequence[str]], source: str) -> tuple[MotionPoint, ...]:
    """Read points from rows of two typed texts, angle and output; empty rows are left out.

    As `read_points` otherwise; faults name the row, the first one being 1.
    """
    cells = [(number, [text.strip() for text in row]) for number, row in enumerate(rows, start=1)]
    return _points([(number, row) for number, row in cells if any(row)], source, "row")


def _points(rows: _Rows, source: str, called: str) -> tuple[MotionPoint, ...]:
    """Read numbered rows; called: what a row is called in faults."""
    faults: list[Fault] = []
    points: dict[float, tuple[int, MotionPoint]] = {}
    for line, cells in _without_repeat(rows):
        read = _point(f"{called} {line}", cells)
        if isinstance(read, Fault):
            faults.append(read)
        elif read.theta_deg in points:
            what = f"{plain(read.theta_deg)}° was given in {called} {points[read.theta_deg][0]} already"
            faults.append(Fault(f"{called} {line}", what))
        else:
            points[read.theta_deg] = (line, read)
        if len(faults) > MOST_FAULTS or len(points) > MOST:
            break
    if not faults and not LEAST <= len(points) <= MOST:
        got = f"{len(points):,}" if len(points) < LEAST else "more"
        faults.append(Fault("", f"{LEAST} to {MOST:,} points are needed, got {got}"))
    _refuse(source, faults)
    return tuple(point for _, (_, point) in sorted(points.items()))


def _refuse(source: str, faults: Sequence[Fault]) -> None:
    if faults:
        raise ProjectError(source, faults[:MOST_FAULTS], more=len(faults) > MOST_FAULTS)


def _rows(data: bytes, source: str) -> _Rows:
    """Yield the lines below the head as they are asked for, with their numbers; empty lines are left out."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ProjectError(source, [Fault(f"byte {error.start}", "is not UTF-8 text")]) from error
    separator = next((mark for mark in "\t;" if mark in text), ",")
    rows = _split(text, separator, source)
    head = next(rows, (1, []))[1]
    if tuple(cell.lower() for cell in head) != HEADS:
        got = ", ".join(head) if head else "nothing"
        what = f'the head must be "{",".join(HEADS)}", got "{got[:80]}"'
        raise ProjectError(source, [Fault("line 1", what)])
    return rows


def _split(text: str, separator: str, source: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the cells of each line that has any. Raises ProjectError where a line is none of a table."""
    for number, match in enumerate(_LINE.finditer(text), start=1):
        line = match.group(1)
        if number > MOST_LINES:
            raise ProjectError(source, [Fault("", f"has over {MOST_LINES:,} lines")])
        if len(line) > MOST_WIDE:
            what = f"is not a table: the line has {len(line):,} characters"
            raise ProjectError(source, [Fault(f"line {number}", what)])
        try:
            cells = [cell.strip() for cell in next(csv.reader([line], delimiter=separator, strict=True), [])]
        except csv.Error as error:
            raise ProjectError(source, [Fault(f"line {number}", f"is not a table: {error}")]) from error
        if any(cells):
            yield number, cells


def _without_repeat(rows: _Rows) -> Iterator[tuple[int, list[str]]]:
    """Leave out a last line at 360 degrees that closes the turn on the first line's output."""
    first: tuple[int, list[str]] | None = None
    last: tuple[int, list[str]] | None = None
    for row in rows:
        if last is not None:
            yield last
        first, last = first or row, row
    if first is not None and last is not None and not _closes(first[1], last[1]):
        yield last


def _closes(first: list[str], last: list[str]) -> bool:
    """Return whether a last line stands a turn after the first one, with the same output."""
    if not all(len(cells) == len(HEADS) for cells in (first, last)):
        return False
    try:
        (start, low), (end, high) = ([parse_number(cell) for cell in cells] for cells in (first, last))
    except ValueError:  # the line is read again below, and its fault named there
        return False
    return abs(end - start - TURN) <= ANGLE_DEG and low == high


def _point(where: str, cells: list[str]) -> MotionPoint | Fault:
    if len(cells) != len(HEADS):
        return Fault(where, f"has {counted(len(cells), 'cell')}; two are needed, {' and '.join(HEADS)}")
    values: dict[str, float] = {}
    for head, cell in zip(HEADS, cells, strict=True):
        try:
            values[head] = parse_number(cell)
        except ValueError:
            return Fault(f"{where}, {head}", f"{shown(cell[:40])} is not a number")
    try:
        return MotionPoint(**values)
    except ValidationError as error:
        fault = next(iter(faults_of(error, values, [MotionPoint])))
        return Fault(f"{where}, {fault.path}", fault.message)


def set_points(project: Project, lane_id: str, points: Sequence[MotionPoint]) -> Edited:
    """Let a lane move by a table of points; blocks that it has give way to it.

    Raises EditError if there is no such lane, two points share an angle, or the lane cannot be so.
    """
    lane = lane_of(project, lane_id)
    made = changed(lane, kind="points", points=tuple(points), blocks=())
    edited = consistent(with_lane(project, made))
    return Edited(edited, f"Set {len(points)} points of {lane.label}", lane_id=lane_id)
