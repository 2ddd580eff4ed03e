"""From a file to a project, or to the full list of what is wrong with it.

Three passes, each only if the one before found nothing that makes it senseless: plain values within bounds
(`parse`); records one at a time, so that a file full of nonsense costs little; cross references. Lanes
without a code are given theirs at the end.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from shaftscore.base.errors import Fault, ProjectError
from shaftscore.model.base import Record, replaced
from shaftscore.model.codes import with_codes
from shaftscore.model.faults import faults_of, joined, records_in, shown
from shaftscore.model.lanes import Lane
from shaftscore.model.migrations import migrated
from shaftscore.model.parse import MOST_BYTES, MOST_FAULTS, parse, refuse
from shaftscore.model.project import FORMAT, VERSION, Project
from shaftscore.model.references import reference_faults
from shaftscore.model.shaft import Shaft


@dataclass(frozen=True)
class LoadedProject:
    """A project with the version of the file that it was read from."""

    project: Project
    version: int

    @property
    def is_migrated(self) -> bool:
        """Whether the file was of an earlier version."""
        return self.version < VERSION


def load_project(path: Path) -> Project:
    """Read a project file; raises ProjectError with every fault, also where the file cannot be read."""
    return load_file(path).project


def load_file(path: Path) -> LoadedProject:
    """Read a project file with its version; raises ProjectError as `load_project`."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise ProjectError(str(path), [Fault("", f"cannot be read: {error.strerror or error}")]) from error
    return read_file(data, str(path))


def read_project(data: bytes, source: str) -> Project:
    """Make a project of the bytes of a file; raises ProjectError with every fault.

    source: the name of the file in the error's text. A newer version is refused by that alone: what else
    seems wrong in it may be right there.
    """
    return read_file(data, source).project


def read_file(data: bytes, source: str) -> LoadedProject:
    """Make a project of the bytes of a file, with its version; raises ProjectError as `read_project`."""
    raw = parse(data, source)
    if not isinstance(raw, dict):
        refuse(source, [Fault("", f"a project is an object, got {shown(raw)}")])
    _refuse_other_formats(raw, source)
    version = raw.get("version")
    raw = migrated(raw, VERSION)
    reading = _Reading()
    project = reading.record(Project, raw, "")
    if isinstance(project, Project) and not reading.lost:
        reading.faults += reference_faults(project, reading.guessed)
    if reading.faults or not isinstance(project, Project):
        refuse(source, reading.faults)
    made = replaced(project, lanes=with_codes(project.lanes))
    return LoadedProject(made, version if isinstance(version, int) else VERSION)


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
        if len(value) > min(_bounds(info.metadata), default=len(value)):
            self.faults += _lengths_of(info, value, path)
            self.lost = True
            return None
        kinds, adapter = records_in(info.annotation), _adapter(_item_type(info))
        made = [self._made(kinds, adapter, raw, f"{path}[{index}]") for index, raw in enumerate(value)]
        return None if None in made else tuple(made)

    def _made(
        self, kinds: list[type[Record]], adapter: TypeAdapter[Any], raw: Any, path: str
    ) -> Record | None:
        """Make one record; where there are faults, without the keys at fault; None where that fails too.

        What contradicts something else shows only when all fields are right by themselves, so faults of
        the second try count too, unless they come of a key that was taken out.
        """
        if self.enough:
            return None
        made: Record | list[Fault] | None = _tried(kinds, adapter, raw)
        gone: set[str] = set()
        rest = raw if isinstance(raw, dict) else {}
        while isinstance(made, list):
            told = [f for f in made if _first_key(f.path) not in gone and not gone & _CONTEXT]
            self.faults += (Fault(joined(path, fault.path), fault.message) for fault in told)
            fresh = {_first_key(fault.path) for fault in made} - gone
            gone |= fresh
            rest = {key: value for key, value in rest.items() if key not in gone}
            if kinds == [Project] and "shaft" in gone:
                rest["shaft"] = _STAND_IN
            made = _tried(kinds, adapter, rest) if fresh and rest else None
        self.lost = self.lost or made is None
        if isinstance(made, Lane) and "levels" in gone:
            self.guessed.add(made.id)
        return made


def _tried(kinds: list[type[Record]], adapter: TypeAdapter[Any], raw: Any) -> Record | list[Fault]:
    """Make a record, or give its faults; the lengths of lists are looked at before their entries."""
    faults = list(_lengths(kinds, raw, ""))
    if faults:
        return faults
    try:
        made: Record = adapter.validate_python(raw, by_name=False, by_alias=True)
        return made
    except ValidationError as error:
        return faults_of(error, raw, kinds)


def _lengths(kinds: Sequence[type[Record]], raw: Any, path: str) -> Iterator[Fault]:
    """Yield the lists in a plain value that are longer than the records allow."""
    if not isinstance(raw, dict):
        return
    for kind in kinds:
        for name, info in kind.model_fields.items():
            key = info.alias or name
            yield from _lengths_of(info, raw.get(key), joined(path, key))


def _lengths_of(info: FieldInfo, value: Any, path: str) -> Iterator[Fault]:
    inner = records_in(info.annotation)
    if not isinstance(value, tuple):
        yield from _lengths(inner, value, path)
        return
    most = next((bound for bound in _bounds([*info.metadata, info.annotation])), len(value))
    if len(value) > most:
        yield Fault(path, f"has {len(value):,} entries; {most:,} are the most")
        return
    for index, item in enumerate(value if inner else ()):
        yield from _lengths(inner, item, f"{path}[{index}]")


def _bounds(parts: Iterable[Any]) -> Iterator[int]:
    """Yield the greatest lengths that an annotation speaks of, through unions, not into lists."""
    for part in parts:
        bound = getattr(part, "max_length", None)
        if isinstance(bound, int):
            yield bound
        elif isinstance(part, FieldInfo):
            yield from _bounds(part.metadata)
        elif get_origin(part) in (Annotated, Union, UnionType):
            yield from _bounds(part.__metadata__ if get_origin(part) is Annotated else get_args(part))


_CONTEXT = frozenset({"levels", "kind", "points", "disc_of", "travel_max_s", "mode", "item_s"})
"""Keys without which others in their record would seem to contradict it."""

_STAND_IN = Shaft(turn="clockwise", speed_rpm=1.0)
"""Lets the rest of a project be looked at whose shaft is at fault; nothing that refers reads it."""


def _first_key(path: str) -> str:
    return re.split(r"[.\[]", path, maxsplit=1)[0]


def _taken_apart(info: FieldInfo, value: object) -> bool:
    """Return whether a field is made piece by piece: a list of records, or a record that holds such lists."""
    listed = _item_type(info) is not None
    if isinstance(value, tuple):
        return listed
    inner = [other for record in records_in(info.annotation) for other in record.model_fields.values()]
    return isinstance(value, dict) and not listed and any(_item_type(other) is not None for other in inner)


def _item_type(info: FieldInfo) -> Any:
    """Return the type of the entries of a field that is a list of records, else None."""
    if get_origin(info.annotation) is not tuple or not records_in(info.annotation):
        return None
    return get_args(info.annotation)[0]


@lru_cache(maxsize=64)
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
