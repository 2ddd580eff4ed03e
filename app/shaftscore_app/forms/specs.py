"""What a form must know of each field of a record, read from the records themselves.

A `Spec` is one row of a form: which field (or, where degrees or seconds may be given, which two), what
kind of value, its unit by the field's suffix, its range, what an absent value means, and one sentence.
"""

from __future__ import annotations

import re
import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Literal, TypeVar, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic.fields import FieldInfo

from shaftscore.base.wording import plain
from shaftscore.edits.drafts import draft_of
from shaftscore.edits.machine import words_of
from shaftscore.model.base import Record
from shaftscore.model.rules import LevelState
from shaftscore_app.forms.draft import Value
from shaftscore_app.forms.tips import TIPS
from shaftscore_app.forms.words import EMPTY, FACTORS, LABELS, STARTERS, TITLES

T = TypeVar("T")

Kind = Literal[
    "number", "count", "flag", "choice", "text", "texts", "state", "record", "records", "either", "own"
]
"""What stands in a row; "own": something with a widget of its own, such as the steps of the shaft."""

UNITS = (
    ("_n_per_mm", "N/mm", "newtons per millimetre"),
    ("_per_min", "per min", "per minute"),
    ("_percent", "%", "per cent"),
    ("_deg", "°", "degrees"),
    ("_g_cm3", "g/cm³", "grams per cubic centimetre"),
    ("_mm3_nkm", "mm³/(N·km)", "cubic millimetres per newton and kilometre"),
    ("_mm3_s", "mm³/s", "cubic millimetres per second"),
    ("_rpm", "rev/min", "revolutions per minute"),
    ("_gpa", "GPa", "gigapascals"),
    ("_mpa", "MPa", "megapascals"),
    ("_mm", "mm", "millimetres"),
    ("_nm", "N·m", "newton metres"),
    ("_n", "N", "newtons"),
    ("_s", "s", "seconds"),
    ("_g", "g", "grams"),
)
"""Suffix of a field, its unit, the unit as spoken."""

OWN = {
    ("Shaft", "steps"),
    ("Channel", "to"),
    ("Stack", "order"),
    ("Lane", "levels"),
    ("Lane", "blocks"),
    ("Lane", "points"),
    ("Lane", "guarded"),
}
"""Fields with a widget of their own."""


@dataclass(frozen=True)
class Spec:
    """One row of a form.

    record, fields: what it edits. key: in the draft. choices: of kind "choice". records: of kinds
    "record" and "records". default: the draft's value where none is given. empty: what that means, in a
    word; None where a value must be there. auto: empty stands for the word "auto". span: the range, said.
    advice: the tooltip's sentence.
    """

    record: type[Record]
    fields: tuple[str, ...]
    key: str
    kind: Kind
    label: str
    unit: str = ""
    spoken: str = ""
    choices: tuple[str, ...] = ()
    records: tuple[type[Record], ...] = ()
    default: Value = None
    empty: str | None = None
    auto: bool = False
    span: str = ""
    advice: str = ""

    @property
    def tip(self) -> str:
        """What the row's tooltip says."""
        return ". ".join(filter(None, [self.advice or self.label, self.span]))


@lru_cache(maxsize=64)
def specs_of(record: type[Record]) -> tuple[Spec, ...]:
    """Return the rows of a record, in the order of its fields; a `kind` between records is none."""
    return tuple(_specs(record))


def _specs(record: type[Record]) -> Iterator[Spec]:
    fields = record.model_fields
    inherited = {name for base in record.__mro__[1:] for name in getattr(base, "model_fields", ())}
    for name, info in sorted(fields.items(), key=lambda item: item[0] in inherited):
        stem = name.removesuffix("_deg").removesuffix("_s")
        if name == "kind" and len(_literals(info.annotation)) == 1:
            continue
        if f"{stem}_deg" in fields and f"{stem}_s" in fields:
            if name.endswith("_deg"):
                yield _either(record, stem)
        else:
            yield _spec(record, name, info)


def _either(record: type[Record], stem: str) -> Spec:
    return Spec(
        record,
        (f"{stem}_deg", f"{stem}_s"),
        stem,
        "either",
        label_of(record, stem),
        empty=_worded(EMPTY, record, stem) or "none",
        advice=_worded(TIPS, record, stem) or "",
    )


def _spec(record: type[Record], name: str, info: FieldInfo) -> Spec:
    unit, spoken = unit_of(record, name)
    members = list(_members(info.annotation))
    optional = any(member is type(None) for member in members)
    records = tuple(m for m in members if isinstance(m, type) and issubclass(m, Record))
    auto = "auto" in _literals(info.annotation)
    kind = "own" if (record.__name__, name) in OWN else _kind(info, records)
    default = None if info.is_required() else draft_of(info.default)
    word = _worded(EMPTY, record, name)
    may_be_empty = optional or auto or (word is not None and info.is_required())
    empty = word or ("" if records else "none")
    return Spec(
        record,
        (name,),
        info.alias or name,
        kind,
        label_of(record, name),
        unit,
        spoken,
        tuple(choice for choice in _literals(info.annotation) if not auto),
        records or tuple(_items(info)),
        default,
        empty if may_be_empty else None,
        auto,
        _span(info, unit),
        _worded(TIPS, record, name) or "",
    )


def label_of(record: type[Record], name: str) -> str:
    """Return what people call a field."""
    own = _worded(LABELS, record, name)
    text = own or words_of([name]).replace("rpm", "speed")
    return text[:1].upper() + text[1:]


def title_of(record: type[Record]) -> str:
    """Return what people call a record."""
    return TITLES.get(record.__name__) or re.sub(r"(?<!^)([A-Z])", r" \1", record.__name__).capitalize()


def unit_of(record: type[Record], name: str) -> tuple[str, str]:
    """Return the unit of a field and how it is spoken; empty where it has none."""
    own = _worded(FACTORS, record, name)
    if own is not None:
        unit, spoken = own
        return unit, spoken
    return next(((unit, spoken) for suffix, unit, spoken in UNITS if name.endswith(suffix)), ("", ""))


def starter_of(record: type[Record]) -> dict[str, Value]:
    """Return a draft of a record with first values for what must have one (references are left open)."""
    fields = {
        info.alias or name: _worded(STARTERS, record, name) for name, info in record.model_fields.items()
    }
    made: dict[str, Value] = {key: value for key, value in fields.items() if value is not None}
    kind = record.model_fields.get("kind")
    names = _literals(kind.annotation) if kind is not None else ()
    return {"kind": names[0], **made} if len(names) == 1 else made


def kind_of(record: type[Record]) -> str:
    """Return the word that distinguishes a record in its union; empty where it is alone."""
    kind = record.model_fields.get("kind")
    names = _literals(kind.annotation) if kind is not None else ()
    return names[0] if len(names) == 1 else ""


def keys_of(record: type[Record]) -> set[str]:
    """Return the keys of a record as they stand in files."""
    return {info.alias or name for name, info in record.model_fields.items()}


# Inside


def _worded(table: Mapping[tuple[str, str], T], record: type[Record], name: str) -> T | None:
    """Look a field up under its record or the record that it inherits from."""
    return next((table[key] for base in record.__mro__ if (key := (base.__name__, name)) in table), None)


def _members(annotation: object) -> Iterator[object]:
    """Yield the members of an annotation, through unions and bounds."""
    origin = get_origin(annotation)
    if origin is Annotated:
        yield from _members(get_args(annotation)[0])
    elif origin in (Union, types.UnionType):
        for inner in get_args(annotation):
            yield from _members(inner)
    else:
        yield annotation


def _literals(annotation: object) -> tuple[str, ...]:
    found = (get_args(member) for member in _members(annotation) if get_origin(member) is Literal)
    return tuple(str(word) for words in found for word in words)


def _items(info: FieldInfo) -> Iterator[type[Record]]:
    """Yield the records of a field that is a list of them."""
    for member in _members(info.annotation):
        if get_origin(member) is tuple:
            inner = _members(get_args(member)[0])
            yield from (m for m in inner if isinstance(m, type) and issubclass(m, Record))


def _kind(info: FieldInfo, records: Sequence[type[Record]]) -> Kind:
    members = list(_members(info.annotation))
    if LevelState in records:
        return "state"
    if records:
        return "record"
    if any(get_origin(member) is tuple for member in members):
        return "records" if list(_items(info)) else "texts"
    simple: tuple[tuple[type, Kind], ...] = ((bool, "flag"), (float, "number"), (int, "count"))
    found = next((kind for type_, kind in simple if type_ in members), None)
    return found or ("choice" if _literals(info.annotation) else "text")


def _metadata(info: FieldInfo) -> Iterator[object]:
    yield from info.metadata
    pending: list[object] = [info.annotation]
    while pending:
        part = pending.pop()
        if get_origin(part) is Annotated:
            for mark in get_args(part)[1:]:
                yield from mark.metadata if isinstance(mark, FieldInfo) else [mark]
        elif get_origin(part) in (Union, types.UnionType):
            pending += get_args(part)


def _span(info: FieldInfo, unit: str) -> str:
    """Write the range of a number."""
    marks = list(_metadata(info))
    least = next((m.ge if isinstance(m, Ge) else m.gt for m in marks if isinstance(m, Ge | Gt)), None)
    most = next((m.le if isinstance(m, Le) else m.lt for m in marks if isinstance(m, Le | Lt)), None)
    if not isinstance(least, int | float) or not isinstance(most, int | float):
        return ""
    over = "over " if any(isinstance(m, Gt) for m in marks) else ""
    under = "under " if any(isinstance(m, Lt) for m in marks) else ""
    gap = "" if unit == "°" else " "
    said = f"{over}{plain(least)} to {under}{plain(most)}{gap}{unit}".strip()
    return said[:1].upper() + said[1:]
