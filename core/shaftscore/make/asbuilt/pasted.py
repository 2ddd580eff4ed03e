"""Rows of measurements as text, as a spreadsheet copies them: tabs between columns, a line a row.

Columns: lane (its name, id or code), level, edge (begin, end), angle in degrees, sense (forward,
backward). A first line with the columns' names, and empty lines, are left out.
"""

from __future__ import annotations

from shaftscore.base.angles import TURN
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, parse_angle, plain
from shaftscore.model.project import Measured, Project

COLUMNS = ("Lane", "Level", "Edge", "Angle", "Sense")
"""The columns of a row."""

EDGES, SENSES = ("begin", "end"), ("forward", "backward")
MOST_FAULTS = 5
MOST_TEXT = 4_000_000
"""Longest text that is read, characters."""


def read_rows(project: Project, text: str) -> tuple[Measured, ...]:
    """Read rows; raises EditError with all lines that cannot be read (counted from 1)."""
    if len(text) > MOST_TEXT:
        raise EditError(f"the text has {len(text):,} characters; {MOST_TEXT:,} are the most")
    rows, faults = [], []
    for number, line in enumerate(text.splitlines(), start=1):
        cells = [cell.strip() for cell in line.split("\t")]
        if not any(cells) or _is_head(cells):
            continue
        try:
            rows.append(read_row(project, cells))
        except ValueError as error:
            faults.append(f"line {number}: {error}")
        if len(faults) > MOST_FAULTS:
            break
    if faults:
        more = "; and more" if len(faults) > MOST_FAULTS else ""
        raise EditError("; ".join(faults[:MOST_FAULTS]) + more)
    return tuple(rows)


def _is_head(cells: list[str]) -> bool:
    return [cell.casefold() for cell in cells[:3]] == [name.casefold() for name in COLUMNS[:3]]


def read_row(project: Project, cells: list[str]) -> Measured:
    """Read the cells of one row. Raises EditError (a ValueError) with what is wrong."""
    while len(cells) > len(COLUMNS) and not cells[-1]:
        cells = cells[:-1]
    if len(cells) != len(COLUMNS):
        wanted = ", ".join(name.lower() for name in COLUMNS)
        raise EditError(f"has {len(cells)} columns; {len(COLUMNS)} are required: {wanted}")
    lane, level, edge, angle, sense = cells
    lane_id = _lane(project, lane)
    deg = parse_angle(angle)
    if not 0 <= deg < TURN:
        raise EditError(f"angle {plain(deg)}° is not 0° to under 360°")
    fields = {
        "lane": lane_id,
        "level": _one_of(level, tuple(project.levels_of(project.lane(lane_id))), "level"),
        "edge": _one_of(edge.casefold(), EDGES, "edge"),
        "angle_deg": deg,
        "sense": _one_of(sense.casefold(), SENSES, "sense"),
    }
    return Measured.model_validate(fields)


def _lane(project: Project, text: str) -> str:
    for lane in project.lanes:
        if text in (lane.id, lane.name, lane.code, f"{lane.code} {lane.label}"):
            return lane.id
    labels = [lane.label for lane in project.lanes]
    hint = did_you_mean(text, labels)
    raise EditError(f'there is no lane "{text}"' + (f"; {hint}" if hint else ""))


def _one_of(text: str, choices: tuple[str, ...], what: str) -> str:
    if text not in choices:
        raise EditError(f'{what} "{text}" is not one of {", ".join(choices)}')
    return text
