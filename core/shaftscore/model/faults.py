"""Turns what the validation of a record reports into faults with paths and words for people.

A validation error names its place by a *location*: keys and positions, mixed with the names of the
members of unions that were tried. The *path* of a fault keeps only what is in the file, as in
`lanes[3].blocks[1].level`.
"""

from __future__ import annotations

import json
import re
import types
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from shaftscore.base.errors import Fault
from shaftscore.base.wording import did_you_mean, plain
from shaftscore.model.base import Record

Location = tuple[str | int, ...]
"""Keys and positions from the outside in."""

_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_SHOWN = 60


def path_text(location: Iterable[str | int], start: str = "") -> str:
    """Write a location as a path: `lanes[3].blocks[1].level`; odd keys as `levels["half way"]`."""
    path = start
    for step in location:
        if isinstance(step, int):
            path += f"[{step}]"
        elif _PLAIN_KEY.fullmatch(step):
            path += f".{step}" if path else step
        else:
            path += f"[{shown(step)}]"
    return path


def joined(start: str, rest: str) -> str:
    """Join two paths."""
    return f"{start}.{rest}" if start and rest and not rest.startswith("[") else start + rest


def shown(value: object) -> str:
    """Show a value at fault as the file has it, cut where it is long."""
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, (tuple, list)):
        return "a list"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"


def faults_of(
    error: ValidationError, raw: object, kinds: Sequence[type[Record]], start: str = ""
) -> list[Fault]:
    """Return the faults of one refused record.

    raw: what was validated (lists as tuples). kinds: the records it could have become. start: the path
    of the record in the file. Several members of one union that all refuse a value make one fault.
    """
    found: dict[Location, list[Mapping[str, Any]]] = {}
    for entry in error.errors(include_url=False):
        found.setdefault(_place(entry, raw), []).append(entry)
    faults: list[Fault] = []
    for place, entries in found.items():
        if not _explained_deeper(place, entries, found):
            known = [key for record in _records_at(kinds, place[:-1], raw) for key in file_keys(record)]
            faults += _faults_at(path_text(place, start), _fitting(entries), known)
    return list(dict.fromkeys(faults))


def _place(entry: Mapping[str, Any], raw: object) -> Location:
    """Leave the names of union members out of a location by walking the value along it."""
    location: Location = entry["loc"]
    place: list[str | int] = []
    here: Any = raw
    for position, step in enumerate(location):
        last = position == len(location) - 1
        if _holds(here, step):
            here = here[step]
        elif not (last and entry["type"] == "missing"):
            continue
        place.append(step)
    return tuple(place)


def _holds(value: object, step: str | int) -> bool:
    if isinstance(step, int):
        return isinstance(value, tuple) and step < len(value)
    return isinstance(value, Mapping) and step in value


def _explained_deeper(
    place: Location, entries: list[Mapping[str, Any]], found: Mapping[Location, object]
) -> bool:
    """Return whether a type that an object does not have is explained by faults inside the object."""
    inside = any(len(other) > len(place) and other[: len(place)] == place for other in found)
    return inside and all(entry["type"].endswith("_type") for entry in entries)


_SUITS: tuple[tuple[type | tuple[type, ...], tuple[str, ...]], ...] = (
    (bool, ("bool",)),
    ((int, float), ("int", "float", "greater", "less", "finite")),
    (str, ("string", "literal", "letter", "no_day")),
    ((tuple, list), ("tuple", "too_")),
    (Mapping, ("model", "dict", "union", "contradiction", "too_")),
)


def _fitting(entries: list[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Of several errors at one place, keep those of the union member that the value resembles."""
    if len(entries) == 1:
        return entries
    value = entries[0]["input"]
    starts = next((starts for kinds, starts in _SUITS if isinstance(value, kinds)), ())
    return [entry for entry in entries if entry["type"].startswith(starts)][:1] or entries[:1]


def _faults_at(path: str, entries: list[Mapping[str, Any]], known: list[str]) -> Iterator[Fault]:
    """Yield the faults at one path; known: the keys that may stand there."""
    for entry in entries:
        if entry["type"] == "contradiction":
            yield from (Fault(joined(path, inner), what) for inner, what in entry["ctx"]["found"])
        elif entry["type"] == "extra_forbidden":
            hint = did_you_mean(str(entry["loc"][-1]), known)
            yield Fault(path, f"unknown key; {hint or 'known here: ' + ', '.join(dict.fromkeys(known))}")
        else:
            yield Fault(
                joined(path, "kind" if entry["type"].startswith("union_tag") else ""), _message(entry)
            )


def _message(entry: Mapping[str, Any]) -> str:
    """Describe what is wrong with a value, what the value is, and what would be right."""
    value = entry["input"]
    words = _MESSAGES.get(entry["type"])
    return words(value, entry.get("ctx", {})) if words else f"{entry['msg']}, got {shown(value)}"


def _choice(value: object, context: Mapping[str, Any]) -> str:
    expected = str(context.get("expected") or context.get("expected_tags") or "")
    choices = re.findall(r"'((?:[^'\\]|\\.)*)'", expected)
    told = shown(context.get("tag", value))
    hint = did_you_mean(str(context.get("tag", value)), choices)
    if not choices:
        return f"must be {expected}, got {told}"
    if len(choices) == 1:
        return f'{told} is not "{choices[0]}"' + (f"; {hint}" if hint else "")
    return f"{told} is not one of {', '.join(choices)}" + (f"; {hint}" if hint else "")


def _pattern(value: object, context: Mapping[str, Any]) -> str:
    if "A-Z]{1,2}" in context["pattern"]:
        return f"{shown(value)} is not a code: one or two capital letters, then one or two digits"
    if context["pattern"].startswith("^R"):
        return f"{shown(value)} is not a revision: R and three digits, 0 to 9 and A to F"
    if "[0-9]{4}-" in context["pattern"]:
        return f"{shown(value)} is not a date; write year, month and day, such as 2026-03-14"
    if "+._ " in context["pattern"]:
        return f"{shown(value)} is not a part’s code: 1 to 40 letters, digits, spaces and + . _ -"
    return f"{shown(value)} is not an id: 1 to 40 letters, digits, _ and -"


def _bound(words: str, key: str) -> Callable[[object, Mapping[str, Any]], str]:
    return lambda value, context: f"must be {words} {plain(context[key])}, got {shown(value)}"


def _type(words: str) -> Callable[[object, Mapping[str, Any]], str]:
    return lambda value, _: f"must be {words}, got {shown(value)}"


_MESSAGES: Mapping[str, Callable[[Any, Mapping[str, Any]], str]] = {
    "missing": lambda _value, _context: "is missing",
    "literal_error": _choice,
    "union_tag_invalid": _choice,
    "union_tag_not_found": lambda _value, context: (
        f"{str(context['discriminator']).strip(chr(39))} is missing"
    ),
    "string_pattern_mismatch": _pattern,
    "greater_than": _bound("greater than", "gt"),
    "greater_than_equal": _bound("at least", "ge"),
    "less_than": _bound("less than", "lt"),
    "less_than_equal": _bound("at most", "le"),
    "finite_number": _type("a finite number"),
    "float_type": _type("a number"),
    "int_type": _type("a whole number"),
    "int_from_float": _type("a whole number"),
    "bool_type": _type("true or false"),
    "string_type": _type("text"),
    "tuple_type": _type("a list"),
    "model_type": _type("an object"),
    "model_attributes_type": _type("an object"),
    "dict_type": _type("an object"),
    "mapping_type": _type("an object"),
    "letter": lambda value, context: (
        f"character {context['place']} ({context['code']}) {context['kind']}, which no text may hold, "
        f"got {shown(value)}"
    ),
    "no_day": lambda value, _context: f"{shown(value)} is not a day of the calendar",
    "sighting": _type("the name of a level, an output in mm, or null"),
    "string_too_short": lambda _value, _context: "must not be empty",
    "string_too_long": lambda value, context: (
        f"has {len(value)} characters; {context['max_length']} are the most, got {shown(value)}"
    ),
    "too_short": lambda _value, context: (
        f"has {context['actual_length']} entries; {context['min_length']} are the least"
    ),
    "too_long": lambda value, context: f"has {len(value)} entries; {context['max_length']} are the most",
}


def file_keys(record: type[Record]) -> list[str]:
    """Return the keys of a record as they are in files."""
    return [field.alias or name for name, field in record.model_fields.items()]


def _records_at(kinds: Sequence[type[Record]], place: Location, raw: object) -> list[type[Record]]:
    """Return the records that may stand at a place inside a record."""
    records, here = _of_kind(kinds, raw), raw
    for step in place:
        here = _inside(here, step)
        if isinstance(step, str):
            fields = [field for record in records for field in (_field(record, step),) if field is not None]
            records = [inner for field in fields for inner in records_in(field.annotation)]
        records = _of_kind(records, here)
    return records


def _inside(value: Any, step: str | int) -> object:
    if isinstance(value, Mapping):
        return value.get(step)
    return value[step] if isinstance(value, tuple) and isinstance(step, int) else None


def _of_kind(records: Sequence[type[Record]], raw: object) -> list[type[Record]]:
    """Of several records, keep those whose `kind` is the one that the value states, if any is."""
    kind = raw.get("kind") if isinstance(raw, Mapping) else None
    fields = [(record, record.model_fields.get("kind")) for record in records]
    same = [record for record, field in fields if field is not None and kind in get_args(field.annotation)]
    return same or list(records)


def _field(record: type[Record], key: str) -> FieldInfo | None:
    return next((f for name, f in record.model_fields.items() if key in (name, f.alias)), None)


def records_in(annotation: Any) -> list[type[Record]]:
    """Return the record classes that an annotation speaks of, through lists, unions and bounds."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return records_in(get_args(annotation)[0])
    if origin in (Union, types.UnionType, tuple):
        return [found for inner in get_args(annotation) for found in records_in(inner)]
    if origin is Literal or not isinstance(annotation, type) or not issubclass(annotation, Record):
        return []
    return [annotation]
