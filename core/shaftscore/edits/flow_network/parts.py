"""The parts of a flow by key: finding, naming and putting them back.

A *key* is a part's kind ("supply", "magazine", "gate", "channel", "diverter", "outlet") with its id; that of
a diverter has the id of its channel. Names are what people type; ids are made of them and hold them, so that
an id of the flow is read as a name again (`part_name`). Gates and diverters are named by their lanes.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Mapping
from itertools import chain

from shaftscore.base.errors import EditError
from shaftscore.base.wording import part_name
from shaftscore.edits.base import changed
from shaftscore.model.base import Record
from shaftscore.model.flow import Channel, Diverter, Flow, Gate, Magazine, Outlet, Supply
from shaftscore.model.project import Project

PartKey = tuple[str, str]
"""Kind and id of a part of the flow."""

FlowPart = Supply | Magazine | Gate | Channel | Outlet
"""A record of the flow that has an id."""

FIELDS: Mapping[str, str] = {
    "supply": "supplies",
    "magazine": "magazines",
    "gate": "gates",
    "channel": "channels",
    "outlet": "outlets",
}
"""Kind of a part: the field of the flow that holds it."""

LONGEST = 36
"""Most letters that an id takes of a name; what is left is for its number."""


def made_id(name: str, taken: Collection[str], otherwise: str) -> str:
    """Return an id that holds a name: letters without accents, digits, hyphens; numbered where that is taken.

    otherwise: what it is made of where the name has none of these.
    """
    return free_id(stem_of(name) or otherwise, {own.lower() for own in taken})


def stem_of(name: str) -> str:
    """Return what an id holds of a name; an empty text where that is nothing."""
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9-]+", "_", bare).strip("_")[:LONGEST].rstrip("_")


def free_id(stem: str, known: Collection[str]) -> str:
    """Return an id, numbered where it is taken; known: those that are, in small letters."""
    numbered = (f"{stem}_{n}" for n in range(2, len(known) + 3))
    return next(own for own in chain((stem,), numbered) if own.lower() not in known)


def flow_of(project: Project) -> Flow:
    """Return the project's flow, an empty one where it has none."""
    return project.flow or Flow()


def part_of(flow: Flow, key: PartKey) -> FlowPart:
    """Return the record of a key, for a diverter that of its channel; raises EditError if there is none."""
    kind, part_id = key
    field = FIELDS.get("channel" if kind == "diverter" else kind, "")
    found = next((part for part in getattr(flow, field, ()) if part.id == part_id), None)
    if found is None or (kind == "diverter" and not isinstance(found.to, Diverter)):
        raise EditError(f'the flow has no {kind} "{part_name(part_id)}"')
    return found  # type: ignore[no-any-return]


def with_part(flow: Flow, key: PartKey, part: FlowPart) -> Flow:
    """Put a changed part in the place of the one of the key."""
    field = FIELDS["channel" if key[0] == "diverter" else key[0]]
    parts = tuple(part if own.id == key[1] else own for own in getattr(flow, field))
    return changed(flow, **{field: parts})


def with_parts(flow: Flow, added: Iterable[FlowPart]) -> Flow:
    """Add parts behind those of their kinds."""
    fields = {field: [*getattr(flow, field)] for field in FIELDS.values()}
    for part in added:
        fields[FIELDS[type(part).__name__.lower()]].append(part)
    return changed(flow, **{field: tuple(parts) for field, parts in fields.items()})


def keys_of(flow: Flow) -> tuple[PartKey, ...]:
    """Return the keys of all parts, diverters among them."""
    own = [(kind, part.id) for kind, field in FIELDS.items() for part in getattr(flow, field)]
    return (*own, *(("diverter", one.id) for one in flow.channels if isinstance(one.to, Diverter)))


def new_keys(before: Project, after: Project) -> tuple[PartKey, ...]:
    """Return the keys of the parts that an edit added, to be selected."""
    there = set(keys_of(flow_of(before)))
    return tuple(key for key in keys_of(flow_of(after)) if key not in there)


def part_label(project: Project, key: PartKey) -> str:
    """Name a part for people: "Gate A4 right", "Magazine Coriander"; raises EditError if it is not there."""
    part = part_of(flow_of(project), key)
    if isinstance(part, Gate):
        state = part.state
        lane = project.lane(state.lane)
        level = getattr(state, "level", "")
        return f"Gate {lane.code or lane.label} {level}".rstrip()
    if key[0] == "diverter" and isinstance(part, Channel) and isinstance(part.to, Diverter):
        return f"Diverter {project.lane(part.to.lane).label}"
    return f"{key[0].capitalize()} {part_name(part.id)}"


Follow = Callable[[str | None], str | None]
"""Returns the id that stands in the place of another one, or None where nothing does."""


def redirected(part: FlowPart, source: Follow, to: Follow) -> FlowPart:
    """Let a part follow other ids: where it comes from, and where it leads."""
    changes: dict[str, object] = {}
    if isinstance(part, Magazine | Gate):
        changes["source"] = source(part.source)
    if isinstance(part, Gate):
        changes["to"] = to(part.to)
    if isinstance(part, Channel):
        changes["to"] = _end(part.to, to)
    kept = {name: value for name, value in changes.items() if value != getattr(part, name)}
    return changed(part, **kept) if kept else part


def _end(end: str | Diverter, to: Follow) -> str | Diverter | None:
    if not isinstance(end, Diverter):
        return to(end)
    ways = tuple(changed(way, to=there) for way in end.by_state if (there := to(way.to)) is not None)
    return changed(end, by_state=ways) if ways else None


def mapped(flow: Flow, change: Callable[[FlowPart], FlowPart]) -> Flow:
    """Change every part of a flow."""
    made: dict[str, tuple[Record, ...]] = {
        field: tuple(change(part) for part in getattr(flow, field)) for field in FIELDS.values()
    }
    return changed(flow, **made)
