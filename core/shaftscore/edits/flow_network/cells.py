"""The flow as a table of text: a row a part, a column a field; what is typed is read back into one edit.

Parts are referred to by their shown names, lanes by code, name or id. A cell that a kind of part does not
have is not in the table (`is_open`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, parse_quantity, part_name, plain
from shaftscore.edits.base import Edited, changed, consistent
from shaftscore.edits.flow_network.adding import rename_part
from shaftscore.edits.flow_network.parts import (
    FIELDS,
    FlowPart,
    PartKey,
    flow_of,
    part_label,
    part_of,
    with_part,
)
from shaftscore.edits.machine import set_flow
from shaftscore.model.flow import Channel, Diverter, Flow, Gate
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState, RangeState, State

NONE_TEXTS = ("", "-", "–", "none")
"""What is typed for nothing."""

_RANGE = re.compile(r"(?P<low>[-−\d.,]+)\s*(?:mm)?\s*to\s*(?P<high>[-−\d.,]+)\s*(?:mm)?")


@dataclass(frozen=True, eq=False)
class TableColumn:
    """A column: heading, unit, and for each kind of part that has it the field it is about."""

    title: str
    fields: Mapping[str, str]
    unit: str = ""


COLUMNS: tuple[TableColumn, ...] = (
    TableColumn("Kind", {}),
    TableColumn("Name", dict.fromkeys(("supply", "magazine", "channel", "outlet"), "id")),
    TableColumn("Lane", {"gate": "lane", "channel": "diverter"}),
    TableColumn("Open while", {"gate": "state"}),
    TableColumn("From", {"magazine": "source", "gate": "source"}),
    TableColumn("To", {"gate": "to", "channel": "to"}),
    TableColumn("Item name", {"gate": "item"}),
    TableColumn("Items per opening", {"gate": "items"}),
    TableColumn("Time per item", {"gate": "item_s"}, "s"),
    TableColumn("Rate", {"supply": "rate_per_min"}, "per min"),
    TableColumn("Capacity", {"magazine": "capacity"}),
    TableColumn("Initial count", {"magazine": "start_count"}),
    TableColumn("Travel time", {"magazine": "travel_s", "channel": "travel_min_s"}, "s"),
    TableColumn("Longest travel", {"channel": "travel_max_s"}, "s"),
    TableColumn("Headway", {"channel": "headway_s"}, "s"),
    TableColumn("Expects", {"outlet": "expects"}),
)
"""The columns, left to right."""

WHOLE = frozenset({"items", "capacity", "start_count"})
TIMES = frozenset({"item_s", "travel_s", "travel_min_s", "travel_max_s", "headway_s"})


def table_rows(project: Project) -> tuple[PartKey, ...]:
    """Return the key of each row: supplies, magazines, gates, channels, outlets, in file order."""
    flow = flow_of(project)
    return tuple((kind, part.id) for kind, field in FIELDS.items() for part in getattr(flow, field))


def is_open(key: PartKey, column: TableColumn) -> bool:
    """Return whether a part has a field in a column that can be typed into."""
    return column.fields.get(key[0], "diverter") != "diverter"


def cell_text(project: Project, part: FlowPart, column: TableColumn) -> str:
    """Return what stands in a cell, without its unit; an empty text where the part has no such field."""
    kind = type(part).__name__.lower()
    if column.title == "Kind":
        return kind.capitalize()
    field = column.fields.get(kind)
    if isinstance(part, Gate) and column.title == "Name":
        return f"{_lane_text(project.lane(part.state.lane))} {state_words(part.state)}"
    if field is None:
        return ""
    if field in ("lane", "state") and isinstance(part, Gate):
        return _lane_text(project.lane(part.state.lane)) if field == "lane" else state_words(part.state)
    if isinstance(part, Channel) and field in ("to", "diverter"):
        return _end_text(project, part, field)
    return _value_text(field, getattr(part, field))


def _value_text(field: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, int | float):
        return plain(value)
    return part_name(str(value)) if field in ("id", "source", "to") else str(value)


def _end_text(project: Project, channel: Channel, field: str) -> str:
    to = channel.to
    if field == "diverter":
        return _lane_text(project.lane(to.lane)) if isinstance(to, Diverter) else ""
    ways = to.by_state if isinstance(to, Diverter) else ()
    by_way = "; ".join(f"{state_words(way.state)}: {part_name(way.to)}" for way in ways)
    return part_name(to) if isinstance(to, str) else by_way


def _lane_text(lane: Lane) -> str:
    return lane.code or lane.label


def state_words(state: State) -> str:
    """Write a state without its lane, as it is typed: "open", "2 to 5 mm"."""
    if isinstance(state, LevelState):
        return state.level
    return f"{plain(state.from_mm)} to {plain(state.to_mm)} mm"


def words_for(project: Project, key: PartKey, column: TableColumn) -> tuple[str, ...]:
    """Return what a cell may be completed to."""
    flow, field = flow_of(project), column.fields.get(key[0], "")
    if field == "lane":
        return tuple(_lane_text(lane) for lane in project.lanes)
    if field == "state":
        part = part_of(flow, key)
        return tuple(project.lane(part.state.lane).levels) if isinstance(part, Gate) else ()
    if field in ("source", "to"):
        return tuple(map(part_name, _ids(flow, key, field)))
    return ()


def _ids(flow: Flow, key: PartKey, field: str) -> list[str]:
    """Return the ids of what a part may come from, or lead to."""
    magazines = [part.id for part in flow.magazines]
    if field == "source":
        return [*(part.id for part in flow.supplies), *magazines] if key[0] == "magazine" else magazines
    return [*(part.id for part in flow.channels), *(part.id for part in flow.outlets), *magazines]


def write_flow_cells(project: Project, cells: Mapping[tuple[PartKey, int], str]) -> Edited:
    """Write typed texts into the cells of parts, by key and column, in one step.

    Cells that a part does not have are passed over. Raises EditError with the part, the column and what is
    wrong.
    """
    flow = flow_of(project)
    open_cells = {(key, COLUMNS[number]): text for (key, number), text in cells.items()}
    open_cells = {cell: text for cell, text in open_cells.items() if is_open(*cell)}
    for (key, column), text in open_cells.items():
        if column.fields[key[0]] != "id":
            flow = with_part(flow, key, _written(project, flow, key, column, text))
    made = consistent(set_flow(project, flow).project) if flow != flow_of(project) else project
    for (key, column), text in open_cells.items():
        if column.fields[key[0]] == "id" and part_name(key[1]) != text.strip():
            made = rename_part(made, key, text).project
    keys = {key for key, _ in cells}
    what = part_label(project, next(iter(keys))) if len(keys) == 1 else "the flow"
    return Edited(made, f"Change {what}")


def _written(project: Project, flow: Flow, key: PartKey, column: TableColumn, text: str) -> FlowPart:
    """Return a part with what was typed into one of its cells."""
    part, field, typed = part_of(flow, key), column.fields[key[0]], text.strip()
    try:
        if field in ("lane", "state") and isinstance(part, Gate):
            return changed(part, state=_state(project, part.state, field, typed))
        if field == "to" and isinstance(part, Channel) and isinstance(part.to, Diverter):
            if typed == _end_text(project, part, field):
                return part
            raise EditError("its ways are those of its diverter; change them in the network or in the form")
        value = _value(flow, key, field, typed)
        more = {"mode": "stream"} if field == "items" and value != 1 else {}
        return changed(part, **{field: value}, **more)
    except (EditError, ValueError) as error:
        raise EditError(f"{part_label(project, key)}, {column.title}: {error}") from error


def _value(flow: Flow, key: PartKey, field: str, typed: str) -> object:
    """Read a typed value; raises EditError or ValueError with why it cannot be."""
    if field in ("source", "to"):
        return _part_id(flow, key, field, typed)
    if field == "expects":
        return tuple(item.strip() for item in typed.split(",") if item.strip()) or None
    if field == "item":
        return typed
    if typed.lower() in NONE_TEXTS or (field == "rate_per_min" and typed.lower() == "endless"):
        if field == "rate_per_min":
            return None
        raise EditError("a number is wanted")
    units = {"rate_per_min": "per min"} | dict.fromkeys(TIMES, "s")
    value = parse_quantity(typed, units.get(field, ""))
    if field not in WHOLE:
        return value
    if value != int(value):
        raise EditError(f"a whole number is wanted, got {plain(value)}")
    return int(value)


def _part_id(flow: Flow, key: PartKey, field: str, typed: str) -> str | None:
    """Return the id of the part that is called so."""
    if typed.lower() in NONE_TEXTS:
        if (key[0] == "gate" and field == "to") or key[0] == "magazine":
            return None
        raise EditError("a part is wanted here")
    ids = _ids(flow, key, field)
    names = {part_name(own).lower(): own for own in ids} | {own.lower(): own for own in ids}
    found = names.get(typed.lower())
    if found is None:
        hint = did_you_mean(typed, map(part_name, ids))
        raise EditError(f'nothing is called "{typed}"' + (f"; {hint}" if hint else ""))
    return found


def _state(project: Project, state: State, field: str, typed: str) -> State:
    """Return the state that was typed: another lane at the same level, or another level or range."""
    if field == "lane":
        return changed(state, lane=_lane(project, typed).id)
    lane = project.lane(state.lane)
    level = next((own for own in lane.levels if own.lower() == typed.lower()), None)
    if level is not None:
        return LevelState(lane=lane.id, level=level)
    match = _RANGE.fullmatch(typed)
    if match is None:
        hint = did_you_mean(typed, lane.levels)
        raise EditError(f'{lane.label} has no level "{typed}"' + (f"; {hint}" if hint else ""))
    low, high = (parse_quantity(match[name], "mm") for name in ("low", "high"))
    return RangeState(lane=lane.id, from_mm=low, to_mm=high)


def _lane(project: Project, typed: str) -> Lane:
    names = {
        name.lower(): lane for lane in project.lanes for name in (lane.id, lane.label, lane.code or lane.id)
    }
    lane = names.get(typed.lower())
    if lane is None:
        hint = did_you_mean(typed, [lane.label for lane in project.lanes])
        raise EditError(f'there is no lane "{typed}"' + (f"; {hint}" if hint else ""))
    return lane
