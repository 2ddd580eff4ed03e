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
from shaftscore.edits.lanes import add_lane
from shaftscore.edits.state_table import write_states
from shaftscore.model.lanes import Disc, Follower, Lane
from shaftscore.model.project import VERSION, Project
from shaftscore.model.shaft import Shaft, Stack, Turn

APART_MM = 8.0
"""Heights of levels that have none lie so far apart, mm; two levels `TWO_MM`."""

TWO_MM = 10.0

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
    """Make the project; lanes of `before` with the same name, levels and steps keep their blocks.

    Raises EditError with what is not allowed.
    """
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
    old = {lane.name: lane for lane in before.lanes} if before and before.shaft.steps == shaft.steps else {}
    lanes = [
        changed(lane, follower=wishes.follower, disc=disc, blocks=_kept(lane, old.get(lane.name)))
        for lane in project.lanes
    ]
    return consistent(changed(project, lanes=tuple(lanes)))


def _kept(lane: Lane, old: Lane | None) -> tuple[object, ...]:
    return old.blocks if old is not None and old.levels == lane.levels else ()


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


def wishes_of_table(cells: Sequence[Sequence[str]], wishes: Wishes) -> tuple[Wishes, Project]:
    """Begin with a table: heads name lanes, the first column steps, the words below a head its levels.

    Levels stand lowest first in the order in which they come. Returns the wishes and the project with its
    blocks. Raises EditError where there is no such table.
    """
    rows = [row for row in cells if any(row)]
    if len(rows) < 3 or len(rows[0]) < 2:
        raise EditError("A table has a row of lanes, a column of steps, and at least two steps")
    names = tuple(_bare_name(row[0]) for row in rows[1:])
    lanes, columns = [], {}
    for place, name in enumerate(rows[0][1:], start=1):
        words = [row[place] if place < len(row) else "" for row in rows[1:]]
        levels = list(dict.fromkeys(word for word in words if word))
        if not name or not levels:
            continue
        lanes.append(LaneWish(name, "", spaced(levels)))
        columns[len(lanes) - 1] = tuple(word or None for word in words)
    begun = replace(wishes, lanes=tuple(lanes), steps=len(names), step_names=names if any(names) else ())
    project = first_draft(begun)
    by_id = {project.lanes[number].id: column for number, column in columns.items()}
    return begun, write_states(project, by_id).project


def _bare_name(text: str) -> str:
    """Take the number off a step's name."""
    return re.sub(r"^(step\s*)?\d+\W*", "", text.strip(), flags=re.IGNORECASE)
