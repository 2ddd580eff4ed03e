"""A new project from what its maker wishes: shaft, lanes with levels, parts, and a table of states.

Levels are written as a maker says them: "closed, open", or with heights "tray 0, shut 8, cup 16". A table
from a spreadsheet can also be the beginning: its heads name the lanes, the words below them the levels.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from shaftscore.base.errors import EditError
from shaftscore.base.wording import parse_quantity
from shaftscore.edits.base import changed, consistent
from shaftscore.edits.beginnings import new_roller, new_stack
from shaftscore.edits.carried import CarriedStates, carry_states
from shaftscore.edits.lanes import add_lane
from shaftscore.edits.level_sets import Cells, level_sets, words_below
from shaftscore.edits.state_table import read_column, write_states
from shaftscore.model.lanes import Disc, Follower
from shaftscore.model.project import VERSION, Project
from shaftscore.model.shaft import Shaft, Stack, Turn

APART_MM = 8.0
"""Heights of levels that have none lie so far apart, mm; two levels `TWO_MM`."""

TWO_MM = 10.0

_STEP = re.compile(r"^(step\s*)?\d+\W*", re.IGNORECASE)
_LEVEL = re.compile(r"(?P<name>.*?)(?:[\s:=]+(?P<height>[+-]?[\d.]+)\s*(?P<unit>mm)?)?\s*")


@dataclass(frozen=True)
class LaneWish:
    """A lane that is wished for: name, group, and levels (name to output, mm)."""

    name: str
    group: str
    levels: Mapping[str, float]


@dataclass(frozen=True)
class Wishes:
    """What a maker wishes. steps: their count. follower, thickness_mm (of discs) and stack hold for all."""

    name: str = ""
    turn: Turn = "clockwise"
    speed_rpm: float = 6.0
    steps: int = 12
    step_names: tuple[str, ...] = ()
    lanes: tuple[LaneWish, ...] = ()
    follower: Follower = field(default_factory=new_roller)
    thickness_mm: float = 5.0
    stack: Stack = field(default_factory=new_stack)


def first_draft(wishes: Wishes, before: Project | None = None) -> Project:
    """Make the project; lanes keep the states that they have in `before`, by the names of their levels.

    Raises EditError with what is not allowed.
    """
    return draft_with_states(wishes, before).project


def draft_with_states(wishes: Wishes, before: Project | None = None) -> CarriedStates:
    """Make the project with the states of `before`, and say which of them find no place in it.

    Raises EditError with what is not allowed.
    """
    project = _bare_draft(wishes)
    return CarriedStates(project) if before is None else carry_states(before, project)


def _bare_draft(wishes: Wishes) -> Project:
    """Make the project without states."""
    shaft = Shaft(turn=wishes.turn, speed_rpm=6.0)
    bare = Project(format="shaftscore-project", version=VERSION, shaft=shaft, stacks=(wishes.stack,))
    shaft = changed(
        bare.shaft,
        speed_rpm=wishes.speed_rpm,
        steps=wishes.steps,
        step_names=wishes.step_names,
    )
    project = changed(bare, name=wishes.name or "Untitled", shaft=shaft)
    for wish in wishes.lanes:
        project = add_lane(project, wish.name, wish.group, wish.levels).project
    disc = changed(Disc(), thickness_mm=wishes.thickness_mm)
    lanes = [changed(lane, follower=wishes.follower, disc=disc) for lane in project.lanes]
    return consistent(changed(project, lanes=tuple(lanes)))


def read_levels(text: str, name: str) -> dict[str, float]:
    """Read the levels of a lane, lowest first where no heights are given.

    name: of the lane, for messages. Raises EditError with what cannot be read.
    """
    found = [
        match
        for part in re.split(r"[,;]", text)
        if (match := _LEVEL.fullmatch(part.strip())) and match["name"]
    ]
    heights = [match["height"] for match in found]
    names = [match["name"] for match in found]
    if len(set(names)) < len(names):
        raise EditError(f'{name}: a level is there twice in "{text}"')
    if not names:
        raise EditError(f"{name}: a lane has at least one level, such as: closed, open")
    if not any(heights):
        return spaced(names)
    if not all(heights):
        raise EditError(f'{name}: give every level a height, or none of them, in "{text}"')
    try:
        return {level: parse_quantity(height, "mm") for level, height in zip(names, heights, strict=True)}
    except ValueError as error:
        raise EditError(f"{name}: {error}") from error


def spaced(names: Sequence[str]) -> dict[str, float]:
    """Assign heights to levels in their order, the first at 0."""
    apart = TWO_MM if len(names) == 2 else APART_MM
    return {name: apart * place for place, name in enumerate(names)}


def wishes_of_table(
    cells: Cells, wishes: Wishes, levels: Sequence[Mapping[str, float]] = ()
) -> tuple[Wishes, Project]:
    """Begin with a table: heads name lanes, the first column steps, the words below a head its levels.

    levels: name to output in mm of each level set of the table (`level_sets`), by default its words in
    their order. Returns the wishes and the project with its blocks. Raises EditError where there is no such
    table, or a level is missing.
    """
    rows = table_rows(cells)
    names = tuple(_bare_name(row[0]) for row in rows[1:])
    sets = level_sets(rows)
    heights = levels or [spaced(one.words) for one in sets]
    by_column = {column: own for one, own in zip(sets, heights, strict=True) for column in one.columns}
    lanes = tuple(LaneWish(rows[0][column], "", by_column[column]) for column in sorted(by_column))
    begun = replace(wishes, lanes=lanes, steps=len(names), step_names=names if any(names) else ())
    project = first_draft(begun)
    columns = {
        lane.id: read_column(words_below(rows, column), lane.levels, lane.label)
        for lane, column in zip(project.lanes, sorted(by_column), strict=True)
    }
    return begun, write_states(project, columns).project


def table_rows(cells: Cells) -> list[Sequence[str]]:
    """Return the rows of a table of states. Raises EditError where there is no such table."""
    rows = [row for row in cells if any(row)]
    if len(rows) < 3 or len(rows[0]) < 2:
        raise EditError("A table has a row of lanes, a column of steps, and at least two steps")
    return rows


def is_state_table(rows: Cells) -> bool:
    """Return whether cells are a table of states: three rows or more, whose first column names steps."""
    if len(rows) < 3 or len(rows[0]) < 2:
        return False
    named = rows[0][0].casefold() in ("step", "steps")
    return named or all(_STEP.match(row[0]) for row in rows[1:] if row)


def _bare_name(text: str) -> str:
    """Take the number off a step's name."""
    return _STEP.sub("", text.strip())
