"""Sheets of sightings as text: a CSV file written by hand, by a spreadsheet or by a logger.

The first line names the columns. `angle` is the master angle in degrees, `turn` (from 1; 1 if there is no
such column) the turn of the run. A column `arrived ID` has how many items came to that outlet or magazine in
the whole turn of its line, which may then be without an angle. Every other column is a lane, by its id, code
or name. A cell is the name of a level, a number (the output in mm), or empty where the lane was not seen.
Columns are separated by commas, semicolons or tabs; with semicolons and tabs numbers may have a decimal
comma.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, parse_angle, parse_number, part_name, plain
from shaftscore.bringup.arrivals import ends_of
from shaftscore.bringup.items import TURNS
from shaftscore.bringup.sightings import BenchCheck, Sighting, SightingSheet
from shaftscore.model import Lane, Project
from shaftscore.model.bench import MOST_ITEMS

ANGLE, TURN_COLUMN, ARRIVED = "angle", "turn", "arrived "

MOST_TEXT = 4_000_000
"""Longest text that is read, characters."""

MOST_ROWS = 10_000
"""Most checks that are read."""

MOST_FAULTS = 5
"""Faults that are named."""

MOST_MM = 2000.0
"""Largest output that is read, mm."""


@dataclass(frozen=True)
class EndColumn:
    """The column of counts at an outlet or a magazine, by its id."""

    end: str


Column = Lane | EndColumn | str
"""What a column holds: a lane, counts, or the angle or turn of the line."""


def read_sightings(project: Project, text: str) -> SightingSheet:
    """Read a sheet from text; raises EditError with every line that cannot be read (counted from 1)."""
    if len(text) > MOST_TEXT:
        raise EditError(f"the text has {len(text):,} characters; {MOST_TEXT:,} are the most")
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if len(lines) < 2:
        raise EditError("there are no checks: a line with the columns' names and a line a check are required")
    if len(lines) > MOST_ROWS + 1:
        raise EditError(f"there are {len(lines) - 1:,} checks; {MOST_ROWS:,} are the most")
    separator = next((one for one in "\t;" if one in lines[0][1]), ",")
    columns = _columns(project, _cells(lines[0][1], separator))
    checks: list[BenchCheck] = []
    counts: dict[str, dict[int, int]] = {}
    faults = []
    for number, line in lines[1:]:
        try:
            given = _given(columns, _cells(line, separator))
            _count_items(given, counts)
            if any(isinstance(column, Lane) for column, _ in given) or not _ends(given):
                checks.append(_check(project, given))
        except ValueError as error:
            faults.append(f"line {number}: {error}")
    if faults:
        more = f"; and {len(faults) - MOST_FAULTS} more" if len(faults) > MOST_FAULTS else ""
        raise EditError("; ".join(faults[:MOST_FAULTS]) + more)
    return SightingSheet(tuple(checks), {end: _by_turn(own) for end, own in counts.items()})


def _by_turn(counts: Mapping[int, int]) -> tuple[int | None, ...]:
    return tuple(counts.get(turn) for turn in range(1, max(counts) + 1))


def _cells(line: str, separator: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]


def _columns(project: Project, names: Sequence[str]) -> list[Column]:
    """Return what each column holds. Raises EditError for a name that is no lane, and without angles."""
    known: dict[str, Column] = {
        name: lane for lane in reversed(project.lanes) for name in (lane.name, lane.code, lane.id) if name
    }
    known |= {f"{ARRIVED}{end}": EndColumn(end) for end in (ends_of(project.flow) if project.flow else ())}
    found: dict[str, Column] = {}
    for name in names:
        folded = name.lstrip("\ufeff").casefold()
        column = folded if folded in (ANGLE, TURN_COLUMN) else known.get(name)
        if column is None:
            hint = did_you_mean(name, known)
            noun = "outlet or magazine" if folded.startswith(ARRIVED) else "lane"
            shown = name[len(ARRIVED) :] if folded.startswith(ARRIVED) else name
            raise EditError(f'line 1: there is no {noun} "{shown}"' + (f"; {hint}" if hint else ""))
        key = f"lane {column.id}" if isinstance(column, Lane) else str(column)
        if key in found:
            raise EditError(f'line 1: column "{name}" is there twice')
        found[key] = column
    if ANGLE not in found and any(isinstance(column, Lane) for column in found.values()):
        raise EditError(f'line 1: there is no column "{ANGLE}"')
    return list(found.values())


Given = Sequence[tuple[Column, str]]
"""The cells of a line that are not empty, with their columns."""


def _given(columns: Sequence[Column], cells: Sequence[str]) -> Given:
    """Return the cells of a line. Raises EditError where there are more than columns."""
    if len(cells) > len(columns) and any(cells[len(columns) :]):
        raise EditError(f"has {len(cells)} cells for {len(columns)} columns")
    return [(column, cell) for column, cell in zip(columns, cells, strict=False) if cell]


def _ends(given: Given) -> list[tuple[str, str]]:
    return [(column.end, cell) for column, cell in given if isinstance(column, EndColumn)]


def _count_items(given: Given, counts: dict[str, dict[int, int]]) -> None:
    """Take up the counts of a line. Raises EditError for one that is none, or is another than before."""
    turn = _turn(next((cell for column, cell in given if column == TURN_COLUMN), "1"))
    for end, cell in _ends(given):
        if not cell.isdecimal() or int(cell) > MOST_ITEMS:
            raise EditError(f'"{cell}" items in {part_name(end)}: not a whole number up to {MOST_ITEMS:,}')
        if turn > TURNS:
            raise EditError(f"items are counted in turns 1 to {TURNS}; this line is of turn {turn}")
        before = counts.setdefault(end, {}).setdefault(turn, int(cell))
        if before != int(cell):
            name = part_name(end)
            raise EditError(f"{name} has {cell} items in turn {turn}, and {before} in a line before")


def _check(project: Project, given: Given) -> BenchCheck:
    """Read one line. Raises EditError (a ValueError) with what is wrong."""
    named = {column: cell for column, cell in given if isinstance(column, str)}
    if ANGLE not in named:
        raise EditError("has no angle")
    angle = parse_angle(named[ANGLE])
    if not 0 <= angle < TURN:
        raise EditError(f"angle {plain(angle)}° is not 0° to under 360°")
    seen = dict(_sightings(project, [(column, cell) for column, cell in given if isinstance(column, Lane)]))
    return BenchCheck(angle, seen, _turn(named.get(TURN_COLUMN, "1")))


def _turn(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_ROWS:
        raise EditError(f'turn "{text}" is not a whole number from 1 to {MOST_ROWS:,}')
    return int(text)


def _sightings(project: Project, given: Sequence[tuple[Lane, str]]) -> Iterator[tuple[str, Sighting]]:
    for lane, cell in given:
        yield lane.id, read_sighting(project, lane, cell)


def read_sighting(project: Project, lane: Lane, text: str) -> Sighting:
    """Read what was seen of a lane: a level, or an output in mm. Raises EditError for anything else."""
    levels = project.levels_of(lane)
    if text in levels:
        return text
    folded = [level for level in levels if level.casefold() == text.casefold()]
    if len(folded) == 1:
        return folded[0]
    try:
        value = parse_number(text.removesuffix("mm").strip())
    except ValueError as error:
        hint = did_you_mean(text, levels)
        told = f'"{text}" is neither a level of {lane.label} ({", ".join(levels)}) nor a number of mm'
        raise EditError(f"{told}; {hint}" if hint else told) from error
    if not -MOST_MM <= value <= MOST_MM:
        raise EditError(f"{plain(value)} mm of {lane.label} is not −2000 to 2000 mm")
    return value
