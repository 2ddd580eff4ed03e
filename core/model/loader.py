"""From a file to a project, or to the full list of what is wrong with it.

Three passes, each only if the one before found nothing that makes it senseless: plain values within bounds
(`parse`); records one at a time, so that a file full of nonsense costs little; cross references. Lanes
without a code are given theirs at the end.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, get_args, get_origin

from annotated_types import MaxLen
from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from core.errors import Fault, ProjectError
from core.model.base import Record, replaced
from core.model.codes import with_codes
from core.model.faults import faults_of, joined, records_in, shown
from core.model.lanes import Lane
from core.model.parse import MOST_BYTES, MOST_FAULTS, parse, refuse
from core.model.project import FORMAT, VERSION, Project
from core.model.references import reference_faults
from core.model.shaft import Shaft


def load_project(path: Path) -> Project:
    """Read a project file; raises ProjectError with every fault, also where the file cannot be read."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise ProjectError(str(path), [Fault("", f"cannot be read: {error.strerror or error}")]) from error
    return read_project(data, str(path))


def read_project(data: bytes, source: str) -> Project:
    """Make a project of the bytes of a file; raises ProjectError with every fault.

    source: the name of the file in the error's text. A newer version is refused by that alone: what else
    seems wrong in it may be right there.
    """
    raw = parse(data, source)
    if not isinstance(raw, dict):
        refuse(source, [Fault("", f"a project is an object, got {shown(raw)}")])
    _refuse_other_formats(raw, source)
    reading = _Reading()
    project = reading.record(Project, raw, "")
    if isinstance(project, Project) and not reading.lost:
        reading.faults += reference_faults(project, reading.guessed)
    if reading.faults or not isinstance(project, Project):
        refuse(source, reading.faults)
    return replaced(project, lanes=with_codes(project.lanes))


def _refuse_other_formats(raw: dict[str, Any], source: str) -> None:
    if raw.get("format") != FORMAT:
        told = f"is {shown(raw['format'])}" if "format" in raw else "is missing"
        refuse(source, [Fault("format", f'{told}; a project file has "{FORMAT}"')])
    version = raw.get("version")
    if isinstance(version, int) and version > VERSION:
        what = f"Made by a newer Shaftscore (file version {version}; this one reads up to {VERSION})."
        refuse(source, [Fault("version", what)])


@dataclass
class _Reading:
    """Makes records of plain values and keeps the faults.

    A record with faults is made without the keys at fault, so that what refers to it can still be looked
    at. lost: some record could not be made even so. guessed: ids of lanes whose levels are not known.
    """

    faults: list[Fault] = field(default_factory=list)
    lost: bool = False
    guessed: set[str] = field(default_factory=set)

    @property
    def enough(self) -> bool:
        """Whether there are more faults than are told."""
        return len(self.faults) > MOST_FAULTS

    def record(self, kind: type[Record], raw: dict[str, Any], path: str) -> Record | None:
        """Make a record, its long lists entry by entry."""
        values = dict(raw)
        for name, info in kind.model_fields.items():
            key = info.alias or name
            if key in raw and _taken_apart(info, raw[key]):
                made = self._parts(info, raw[key], joined(path, key))
                values |= {key: made}
                if made is None:
                    del values[key]
        return self._made([kind], _adapter(kind), values, path)

    def _parts(self, info: FieldInfo, value: Any, path: str) -> Any:
        """Make what a field holds; None where it is lost."""
        if isinstance(value, dict):
            return self.record(records_in(info.annotation)[0], value, path)
        most = next((bound.max_length for bound in info.metadata if isinstance(bound, MaxLen)), len(value))
        if len(value) > most:
            self.faults.append(Fault(path, f"has {len(value):,} entries; {most:,} are the most"))
            self.lost = True
            return None
        kinds, adapter = records_in(info.annotation), _adapter(_item_type(info))
        made = [self._made(kinds, adapter, raw, f"{path}[{index}]") for index, raw in enumerate(value)]
        return None if None in made else tuple(made)

    def _made(
        self, kinds: list[type[Record]], adapter: TypeAdapter[Any], raw: Any, path: str
    ) -> Record | None:
        """Make one record; where there are faults, without the keys at fault."""
        if self.enough:
            return None
        try:
            made: Record = adapter.validate_python(raw)
            return made
        except ValidationError as error:
            found = faults_of(error, raw, kinds)
        self.faults += (Fault(joined(path, fault.path), fault.message) for fault in found)
        rest = self._rest(kinds, adapter, raw, found)
        self.lost = self.lost or rest is None
        if isinstance(rest, Lane) and "levels" in raw and "levels" not in rest.model_fields_set:
            self.guessed.add(rest.id)
        return rest

    def _rest(
        self, kinds: list[type[Record]], adapter: TypeAdapter[Any], raw: Any, found: list[Fault]
    ) -> Record | None:
        """Make a record without the keys at fault, taking out more where that brings new faults."""
        rest = dict(raw) if isinstance(raw, dict) else {}
        while rest and found:
            faulty = {_first_key(fault.path) for fault in found}
            kept = {key: value for key, value in rest.items() if key not in faulty}
            if kinds == [Project]:
                kept.setdefault("shaft", _STAND_IN)
            if kept.keys() == rest.keys() and kept.get("shaft") is rest.get("shaft"):
                return None
            rest = kept
            try:
                made: Record = adapter.validate_python(rest)
                return made
            except ValidationError as error:
                found = faults_of(error, rest, kinds)
        return None


_STAND_IN = Shaft(turn="clockwise", speed_rpm=1.0)
"""Lets the rest of a project be looked at whose shaft is at fault; nothing that refers reads it."""


def _first_key(path: str) -> str:
    return re.split(r"[.\[]", path, maxsplit=1)[0]


def _taken_apart(info: FieldInfo, value: object) -> bool:
    """Tell whether a field is made piece by piece: a list of records, or a record that holds such lists."""
    listed = _item_type(info) is not None
    if isinstance(value, tuple):
        return listed
    inner = [other for record in records_in(info.annotation) for other in record.model_fields.values()]
    return isinstance(value, dict) and not listed and any(_item_type(other) is not None for other in inner)


def _item_type(info: FieldInfo) -> Any:
    """Give the type of the entries of a field that is a list of records, else None."""
    if get_origin(info.annotation) is not tuple or not records_in(info.annotation):
        return None
    return get_args(info.annotation)[0]


@lru_cache(maxsize=64)
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
