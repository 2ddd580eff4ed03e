"""Points of a lane that moves by a table: reading them from comma-separated text, and setting them.

The table is as spreadsheets write it: a head line `theta_deg,output_mm`, then a line a point, separated by
commas, semicolons or tabs. With semicolons or tabs a number may have a decimal comma.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

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


def read_points(data: bytes, source: str) -> tuple[MotionPoint, ...]:
    """Read points from the bytes of a table, sorted by angle; source names it in faults.

    A last point at 360 that repeats the first one's output is left out. Raises ProjectError with all
    faults, each with its line.
    """
    return _points(_rows(data, source), source, "line")


def points_of(rows: Sequence[Sequence[str]], source: str) -> tuple[MotionPoint, ...]:
    """Read points from rows of two typed texts, angle and output; empty rows are left out.

    As `read_points` otherwise; faults name the row, the first one being 1.
    """
    cells = [(number, [text.strip() for text in row]) for number, row in enumerate(rows, start=1)]
    return _points([(number, row) for number, row in cells if any(row)], source, "row")


def _points(rows: list[tuple[int, list[str]]], source: str, called: str) -> tuple[MotionPoint, ...]:
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
    if not faults and not LEAST <= len(points) <= MOST:
        faults.append(Fault("", f"{LEAST} to {MOST:,} points are needed, got {len(points):,}"))
    _refuse(source, faults)
    return tuple(point for _, (_, point) in sorted(points.items()))


def _refuse(source: str, faults: Sequence[Fault]) -> None:
    if faults:
        raise ProjectError(source, faults[:MOST_FAULTS], more=len(faults) > MOST_FAULTS)


def _rows(data: bytes, source: str) -> list[tuple[int, list[str]]]:
    """Return the lines below the head, with their numbers; empty lines are left out."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ProjectError(source, [Fault(f"byte {error.start}", "is not UTF-8 text")]) from error
    separator = next((mark for mark in "\t;" if mark in text), ",")
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        raise ProjectError(source, [Fault("", f"is not a table: {error}")]) from error
    rows = [(n, [c.strip() for c in cells]) for n, cells in enumerate(lines, start=1) if any(cells)]
    if not rows or tuple(cell.lower() for cell in rows[0][1]) != HEADS:
        got = ", ".join(rows[0][1]) if rows else "nothing"
        raise ProjectError(
            source, [Fault("line 1", f'the head must be "{",".join(HEADS)}", got "{got[:80]}"')]
        )
    return rows[1:]


def _without_repeat(rows: list[tuple[int, list[str]]]) -> Iterable[tuple[int, list[str]]]:
    """Leave out a last line at 360 degrees that closes the turn on the first line's output."""
    if len(rows) < 2 or not all(len(cells) == 2 for _, cells in (rows[0], rows[-1])):
        return rows
    try:
        ends = [[parse_number(cell) for cell in cells] for _, cells in (rows[0], rows[-1])]
    except ValueError:  # the line is read again below, and its fault named there
        return rows
    (start, first), (end, last) = ends
    closes = abs(end - start - TURN) <= ANGLE_DEG and first == last
    return rows[:-1] if closes else rows


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
